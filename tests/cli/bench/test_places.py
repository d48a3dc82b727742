"""Whose screens there are, where their entries stand, and where an entry is asked for."""

from __future__ import annotations

import tomllib

from tallstack.cli.bench.places import cylinders, home, lobes, owners, placed, spread, trains
from tallstack.cli.bench.screens import ALL, CAM, DROP, ROD, SET, STACK, Of
from tallstack.cli.bench.view import place_of
from tallstack.cli.job.document import leaves
from tallstack.cli.job.entries.catalogue import kind_at

from ...commands import DEMO
from ...job_texts import BENCH

TWIN = tomllib.loads(DEMO.read_text(encoding="utf-8"))
APART = tomllib.loads(BENCH)  # its rear cylinder has a stack of its own


def test_owners_stand_in_the_order_of_the_file() -> None:
    gears = ("front.intake", "front.exhaust", "rear.intake", "rear.exhaust")
    assert trains(TWIN) == owners(ROD, TWIN) == owners(DROP, TWIN) == gears
    assert owners(SET, TWIN) == (*gears, *cylinders(TWIN))
    assert lobes(TWIN) == owners(CAM, TWIN) == ("intake", "exhaust")
    assert owners(STACK, TWIN) == ("",)
    assert owners(STACK, APART) == ("front", "rear")
    assert owners(STACK, {}) == ("",)
    assert owners(ROD, {"train": "slip"}) == ()


def test_a_stack_of_its_own_is_where_its_entries_stand() -> None:
    part, whose = next(
        one for one in placed(STACK, "rear", APART) if one.part.title.startswith("The stack as")
    )
    assert place_of(part, whose, APART)("stack.cylinder") == ("cylinder", 1, "stack", "cylinder")
    part, whose = next(one for one in placed(STACK, "", TWIN) if one.part.title.startswith("The stack as"))
    assert place_of(part, whose, TWIN)("stack.cylinder") == ("stack", "cylinder")


def test_what_is_of_each_cylinder_stands_once_for_each() -> None:
    spigots = [
        whose
        for part, whose in placed(STACK, "", TWIN)
        if part.of is Of.CYLINDER and part.title == "The spigot"
    ]
    assert spigots == ["front", "rear"]


def test_rows_of_a_table_are_found_one_by_one() -> None:
    job = {"lobe": {"intake": {"dialled": [{"lifter": 1}, {"lifter": 2}]}}}
    assert spread(("lobe", "intake", "dialled", "lifter"), job) == (
        ("lobe", "intake", "dialled", 0, "lifter"),
        ("lobe", "intake", "dialled", 1, "lifter"),
    )
    assert spread(("lobe", "intake", "centreline"), job) == (("lobe", "intake", "centreline"),)


def test_every_entry_of_a_job_has_a_home_that_there_is() -> None:
    for job in (TWIN, APART):
        for loc, _ in leaves(job):
            if kind_at(loc) is not None:
                found = home(loc, job)
                assert found.owner in owners(found.screen, job), loc


def test_an_entry_is_asked_for_where_its_part_is_in_hand() -> None:
    assert home(("train", 2, "measured_pushrod", "lean"), TWIN) == (ROD, "rear.intake")
    assert home(("train", 1, "measured_drop", "drop"), TWIN) == (DROP, "front.exhaust")
    assert home(("stack", "head_gasket"), TWIN) == (STACK, "")
    assert home(("cylinder", 1, "stack", "cylinder"), APART) == (STACK, "rear")
    assert home(("lobe", "exhaust", "centreline"), TWIN) == (CAM, "exhaust")
    assert home(("cylinder", 0, "lean"), TWIN) == (STACK, "")
    assert home(("piston", "crown_table"), TWIN) == (ALL, "")
