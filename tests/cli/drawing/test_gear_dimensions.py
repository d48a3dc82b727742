"""Dimension lines of a valve gear: each as long as its entry says, each moved by it."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.job.entries.letters import REQUIRED

from ...drawn import CUTS, dimensions, measured, outlines, subject

MOVED = {  # every numeric entry that is drawn, and another value for it, in mm or degrees
    "stack.base_gasket": "2.45 mm",
    "stack.cylinder": "144.3 mm",
    "stack.head_gasket": "3.05 mm",
    "stack.bore": "99.5 mm",
    "stack.case_deck": "141.2 mm",
    "stack.case_cut": "3.2 mm",
    "stack.head_cut": "3.0 mm",
    "crank.stroke": "112 mm",
    "crank.conrod_length": "191 mm",
    "piston.compression_height": "33 mm",
    "piston.pin_offset": "3.0 mm",
    "front.intake.lifter.seat.x": "-23.5 mm",
    "front.intake.lifter.seat.y": "60 mm",
    "front.intake.lifter.seat.z": "-11 mm",
    "front.intake.lifter.lean.x": "4",
    "front.intake.lifter.lean.y": "2",
    "front.intake.lifter.lowered": "3.4 mm",
    "front.intake.rocker.shaft.x": "-35.4 mm",
    "front.intake.rocker.shaft.y": "31 mm",
    "front.intake.rocker.shaft.z": "126 mm",
    "front.intake.rocker.direction": "[0.05, 1, 0.05]",
    "front.intake.rocker.valve_arm": "37 mm",
    "front.intake.rocker.pushrod_arm": "24 mm",
    "front.intake.rocker.arm_angle": "163",
    "front.intake.rocker.valve_station": "-31 mm",
    "front.intake.rocker.pushrod_station": "26 mm",
    "front.intake.rocker.tip_radius": "7.5 mm",
    "front.intake.valve.face.x": "-21 mm",
    "front.intake.valve.face.y": "3 mm",
    "front.intake.valve.face.z": "15 mm",
    "front.intake.valve.lean.x": "-24",
    "front.intake.valve.lean.y": "3",
    "front.intake.valve.length": "111 mm",
    "front.intake.valve.head_diameter": "50 mm",
    "front.intake.valve.margin": "3.3 mm",
    "front.intake.valve.stem_diameter": "10 mm",
    "front.intake.valve.sink": "2.6 mm",
}


SEEN_ASLANT = {"lifter.lowered", "valve.margin"}  # along a part that leans out of the view


NO_LINE = {"rocker.direction"}  # it has a label, but it is a direction: what moves is the shaft


@pytest.mark.parametrize("entry", MOVED)
def test_another_value_moves_the_dimension_line_or_the_outline(entry: str) -> None:
    train = "front.intake"
    other = (*CUTS, f"{entry}={MOVED[entry]}")
    name = entry.removeprefix(f"{train}.")
    before, after = dimensions(train, CUTS), dimensions(train, other)
    assert name in before
    assert before[name].value != after[name].value
    if name in NO_LINE:
        assert outlines(train, CUTS) != outlines(train, other)
    else:
        assert measured(before[name]) != measured(after[name])


def test_every_entry_that_is_drawn_has_a_case_above() -> None:
    drawn = {f"front.intake.{name}" for name in dimensions("front.intake", CUTS)} | set(
        dimensions("front.intake", CUTS)
    )
    drawn = {one for one in drawn if one in MOVED}
    names = {one.removeprefix("front.intake.") for one in drawn}
    assert names == {name for name in dimensions("front.intake", CUTS) if name != REQUIRED}


@pytest.mark.parametrize("entry", MOVED)
def test_a_dimension_line_is_as_long_as_its_entry_says(entry: str) -> None:
    name = entry.removeprefix("front.intake.")
    one, value = dimensions("front.intake", CUTS)[name], subject("front.intake", CUTS).number(name)
    if value is None:
        return
    shown = {"x": 0, "y": 0, "z": 1}
    if name.rpartition(".")[2] in shown and "lean" not in name:
        axis = shown[name.rpartition(".")[2]]
        assert one.end[axis] - one.start[axis] == pytest.approx(value, abs=1e-9)
    elif "lean" in name:
        up, across = one.end[1] - one.apex[1], one.end[0] - one.apex[0]
        assert math.atan2(across, up) == pytest.approx(value, abs=1e-9)
    elif name == "rocker.arm_angle":
        first, last = (
            math.atan2(point[1] - one.apex[1], point[0] - one.apex[0]) for point in (one.start, one.end)
        )
        assert (last - first) * one.side % (2 * math.pi) == pytest.approx(value, abs=1e-9)
    elif name in SEEN_ASLANT:
        assert 0.9 * value < math.dist(one.start, one.end) <= value
    elif name.endswith("_station"):
        assert one.end[0] - one.start[0] == pytest.approx(value, abs=1e-9)
    else:
        assert math.dist(one.start, one.end) == pytest.approx(value, abs=1e-9)
