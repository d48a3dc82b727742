"""Each screen's drawing gets the facts of the job, and nothing that is not known."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from tallstack.cli.bench.desk import OpenJob
from tallstack.cli.bench.posing import FACTS, posed
from tallstack.cli.bench.screens import ALL, CAM, GEARS, ROD, SCREENS, STACK
from tallstack.cli.bench.view import fields_of, shelves

from ...commands import DEMO
from .jobs import HALF, half, twin


def facts(job: OpenJob, screen: str, owner: str = "") -> dict[str, Any]:
    assert job.shown is not None
    return FACTS[screen](owner, job.shown, job.orders())


def test_every_screen_that_is_a_pose_has_its_drawing(tmp_path: Path) -> None:
    job = OpenJob(twin(tmp_path))
    assert job.shown is not None
    for screen in SCREENS.values():
        owner = "intake" if screen is CAM else "front.intake"
        fields = fields_of(shelves(job.shown, screen, owner)) if screen is not ALL else ()
        found = posed(screen, owner, job.shown, fields, job.orders(), {})
        assert (found is not None) == bool(screen.pose)
        assert found is None or found.caption


def test_the_gears_say_their_length_or_what_they_lack(tmp_path: Path) -> None:
    found = facts(OpenJob(twin(tmp_path)), GEARS.key)
    assert [one["lean"] for one in found["cylinders"]] == [
        math.degrees(math.radians(29)),
        math.degrees(math.radians(-29)),
    ]
    assert [(one["said"], one["state"]) for one in found["gears"]] == [
        ("11.056 in", "full"),
        ("10.983 in", "full"),
        ("11.063 in", "stop"),
        ("10.992 in", "stop"),
    ]
    begun = facts(OpenJob(half(tmp_path)), GEARS.key)
    assert [one["said"] for one in begun["gears"]] == ["277.00 mm", ""]
    assert [bool(one["lacks"]) for one in begun["gears"]] == [False, True]
    assert begun["cylinders"] == [{"name": "front", "lean": begun["cylinders"][0]["lean"]}]


def test_how_much_taller_it_stands_is_part_by_part(tmp_path: Path) -> None:
    path = half(tmp_path)
    grown = (
        HALF.replace('base_gasket = ""', 'base_gasket = "0.5"')
        + "\n[before]\nstack = { cylinder = 108.0, base_gasket = 0.6 }\n"
    )
    path.write_text(grown, encoding="utf-8")
    found = facts(OpenJob(path), STACK.key)
    assert found["then"] == "as it was"
    assert found["sum"] == "-0.10 +1.50 = 1.40 mm taller"
    assert facts(OpenJob(half(tmp_path)), STACK.key)["sum"] == ""


def test_the_rod_knows_its_lifter_and_its_order(tmp_path: Path) -> None:
    found = facts(OpenJob(twin(tmp_path)), ROD.key, "front.intake")
    assert found == {"solid": False, "as": "overall", "plunger": "top", "length": "11.056 in"}
    assert DEMO.exists()
