"""Kinds of fact: what is the same thing in a job is read as there, and every kind can be written down."""

from __future__ import annotations

import pytest
from tallstack.cli.job.entries.catalogue import kind_at
from tallstack.cli.job.entries.fields import Quantity
from tallstack.cli.record.recordkinds import CONVENTIONS_OF, CYLINDER, KINDS, OF_NOTHING, TRAIN


@pytest.mark.parametrize(
    ("what", "loc"),
    [
        ("pushrod", ("train", 0, "measured_pushrod", "length")),
        ("preload", ("train", 0, "lifter", "preload")),
        ("lash", ("train", 0, "lifter", "lash")),
        ("drop", ("train", 0, "measured_drop", "drop")),
        ("deck", ("stack", "measured_deck", "below")),
    ],
)
def test_what_a_job_has_too_is_read_as_there(what: str, loc: tuple[str | int, ...]) -> None:
    assert KINDS[what].kind is kind_at(loc)


def test_every_kind_is_of_a_gear_or_a_cylinder_and_has_a_name_of_its_own() -> None:
    for what, recorded in KINDS.items():
        assert recorded.of in (TRAIN, CYLINDER), what
        assert isinstance(recorded.kind, Quantity), what
        assert recorded.kind.words.strip(), what
    assert not set(OF_NOTHING) & set(KINDS)
    assert set(CONVENTIONS_OF) <= set(KINDS)
    assert all(len(set(words)) == len(words) > 1 for words in CONVENTIONS_OF.values())
