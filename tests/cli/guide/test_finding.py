"""Any entry by a word or its letter: everything that a job can hold is found, each in its own place."""

from __future__ import annotations

from tallstack.cli.guide.finding import matches
from tallstack.cli.job.entries.catalogue import kind_at

from ...cli.job.entries.test_catalogue import declared

JOB = {
    "cylinder": [{"name": "front"}, {"name": "rear"}],
    "train": [
        {"cylinder": "front", "port": "intake"},
        {"cylinder": "rear", "port": "exhaust"},
        {"cylinder": "rear", "port": "intake", "like": "front.intake"},
    ],
    "lobe": {"intake": {}},
}


def test_words_find_an_entry_of_one_place() -> None:
    (one,) = matches(JOB, "front intake plunger travel")
    assert (one.loc, one.path) == (
        ("train", 0, "lifter", "plunger_travel"),
        "front.intake.lifter.plunger_travel",
    )
    assert [one.path for one in matches(JOB, "spigot chamfer")] == [
        "front.spigot.chamfer",
        "rear.spigot.chamfer",
    ]
    assert [one.path for one in matches(JOB, "gear backlash")] == ["cam.gear_backlash"]
    assert matches(JOB, "flux") == ()
    assert [one.path for one in matches(JOB, "before gear backlash")] == ["before.cam.gear_backlash"]


def test_a_letter_finds_what_it_stands_for_in_every_drawing() -> None:
    assert {one.loc[-1] for one in matches(JOB, "fd")} == {"arch_width"}


def test_every_entry_that_can_be_set_is_found_by_its_path() -> None:
    """But those of rows that are not there yet: checks, instruments, pistons on offer, reliefs, and named points."""
    found = {one.loc for one in matches(JOB, "")}
    for loc, _ in declared():
        if (
            loc[0] in ("reading", "instrument", "oversize", "before")
            or {"reliefs", "points"} & {*loc}
            or len(loc) == 1
        ):
            continue
        plain = tuple(one for place, one in enumerate(loc) if place < 2 or not isinstance(one, int))
        assert kind_at(loc) is None or plain in found, loc
