"""Kinds of fact: what is the same thing in a job is read as there, and every kind can be written down."""

from __future__ import annotations

import pytest
from tallstack.cli.job.entries.catalogue import kind_at
from tallstack.cli.job.entries.fields import Quantity
from tallstack.cli.record.recordkinds import CONVENTIONS_OF, CYLINDER, OF_NOTHING, TRAIN, figures, kinds


@pytest.mark.parametrize(
    ("what", "loc"),
    [
        ("pushrod", ("train", 0, "measured_pushrod", "length")),
        ("preload", ("train", 0, "lifter", "preload")),
        ("lash", ("train", 0, "lifter", "lash")),
        ("drop", ("train", 0, "measured_drop", "drop")),
    ],
)
def test_what_a_job_has_too_is_read_as_there(what: str, loc: tuple[str | int, ...]) -> None:
    assert kinds()[what].kind is kind_at(loc)


def test_every_kind_is_of_a_gear_or_a_cylinder_and_has_a_name_of_its_own() -> None:
    for what, recorded in kinds().items():
        assert recorded.of in (TRAIN, CYLINDER), what
        assert isinstance(recorded.kind, Quantity), what
        assert recorded.kind.words.strip(), what
    assert not set(OF_NOTHING) & set(kinds())
    assert set(CONVENTIONS_OF) <= set(kinds())
    assert all(len(set(words)) == len(words) > 1 for words in CONVENTIONS_OF.values())


def test_what_a_hand_can_measure_is_read_as_its_answer_is_declared() -> None:
    assert {"deck", "squish"} <= set(figures())
    for name, (group, key) in figures().items():
        measured = group.figures[key].measured
        kind = kinds()[name].kind
        assert measured is not None
        assert isinstance(kind, Quantity)
        assert (kind.words, kind.usual, kinds()[name].of) == (measured.words, measured.usual, group.of)
        assert name == key.replace("_", " ")
    assert list(kinds())[-1] == "crank"  # where it stood is written down last
