"""Screens are data: every entry that one names is declared, and every way can be told from the others."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tallstack.cli.bench.fields import entry_at
from tallstack.cli.bench.screens import SCREENS, Of, Part, Way, named
from tallstack.cli.job.entries.catalogue import table_at
from tallstack.cli.job.faults import Loc

OWNERS: dict[Of, Loc] = {
    Of.ENGINE: (),
    Of.STACK: (),
    Of.CYLINDER: ("cylinder", 0),
    Of.TRAIN: ("train", 0),
    Of.LOBE: ("lobe", "intake"),
}


def parts() -> Iterator[Part]:
    for screen in SCREENS.values():
        yield from screen.parts


@pytest.mark.parametrize("part", list(parts()), ids=lambda part: part.title)
def test_every_entry_of_a_part_is_declared(part: Part) -> None:
    assert [one for one in named(part) if entry_at((*OWNERS[part.of], *one.split("."))) is None] == []


@pytest.mark.parametrize("part", list(parts()), ids=lambda part: part.title)
def test_every_choice_tells_its_options_apart(part: Part) -> None:
    for way in (one for one in part.entries if isinstance(one, Way)):
        words = [one.word for one in way.options]
        assert len(set(words)) == len(words) >= 2
        said = [(one.entries, tuple(one.writes.items())) for one in way.options]
        assert len(set(said)) == len(said), way.key


def test_the_screens_stand_in_the_order_of_the_hands() -> None:
    assert list(SCREENS) == ["stack", "gears", "rod", "drop", "cam", "set", "next", "all"]


@pytest.mark.parametrize("part", list(parts()), ids=lambda part: part.title)
def test_what_is_asked_under_a_condition_is_of_the_part(part: Part) -> None:
    there = {*named(part), *(one.key for one in part.entries if isinstance(one, Way))}
    for rule in part.only:
        assert set(rule.names) <= there
        if rule.way is not None:
            assert rule.word in [one.word for one in rule.way.options]
        else:
            owner = () if rule.entry.startswith("/") else OWNERS[part.of]
            loc = (*owner, *rule.entry.removeprefix("/").split("."))
            assert (entry_at(loc) if rule.word else table_at(loc)) is not None
