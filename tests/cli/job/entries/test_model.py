"""What has to hold of every declaration of the model: ranges within bounds, letters once, words that say something."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tallstack.cli.job.entries.fields import Choice, Kind, Parts, Quantity, Sign
from tallstack.cli.job.entries.model import JOB, TARGETS, VERSIONS
from tallstack.cli.job.entries.tables import Either, Named, Part, Rows, Table


def kinds(part: Part, path: tuple[str, ...] = ()) -> Iterator[tuple[str, Kind]]:
    """Yield every entry that a part of the model holds, by its path."""
    if isinstance(part, Kind):
        yield ".".join(path), part
    elif isinstance(part, Table):
        for name, inner in part.parts.items():
            yield from kinds(inner, (*path, name))
    elif isinstance(part, Either):
        yield from kinds(part.table, path)
        yield from kinds(part.other, path)
    elif isinstance(part, Rows):
        yield from kinds(part.table, path)
    elif isinstance(part, Named):
        yield from kinds(part.part, (*path, "NAME"))


EVERY = list(kinds(JOB))


def test_the_usual_range_lies_within_the_bounds() -> None:
    assert len(EVERY) > 150
    for path, kind in EVERY:
        if not isinstance(kind, (Quantity, Parts)) or kind.usual is None:
            continue
        low, high = kind.usual
        assert low < high, path
        if kind.below is not None:
            assert max(abs(low), abs(high)) < kind.below, path
        if isinstance(kind, Quantity) and kind.sign is not Sign.ANY:
            assert low >= 0, path


def test_the_same_meaning_is_not_given_to_two_entries_of_one_table() -> None:
    said: dict[tuple[str, str], str] = {}
    for path, kind in EVERY:
        assert kind.words.strip(), path
        table = path.rpartition(".")[0]
        assert said.setdefault((table, kind.words), path) == path


def test_words_to_choose_from_differ_and_are_small() -> None:
    for path, kind in EVERY:
        if isinstance(kind, Choice):
            assert len(set(kind.options)) == len(kind.options), path
            assert all(one == one.strip() and one for one in kind.options), path


@pytest.mark.parametrize("name", sorted(TARGETS.parts))
def test_every_limit_is_a_wish(name: str) -> None:
    part = TARGETS.parts[name]
    assert isinstance(part, Kind)
    assert part.wish
    assert not part.is_measured


def test_versions_stand_in_their_order_and_what_ties_a_file_together_is_there() -> None:
    assert list(VERSIONS) == sorted(VERSIONS, key=lambda one: [int(part) for part in one.split(".")])
    for table in [JOB, *(part.table for part in JOB.parts.values() if isinstance(part, Rows))]:
        assert set(table.needs) <= set(table.parts)
