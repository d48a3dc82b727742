"""One valve over its crown from near: where valve and metal stand is where they were computed to stand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tallstack.cli.drawing.close_up import GROUPS, MIDDLE, WIDTHS, CloseUp, close_up, drawn
from tallstack.cli.drawing.lines import Line, Stroke
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.valve_over_piston import ByReading
from tallstack.geometry.core.frames import array

from ...commands import DEMO, EXAMPLES

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


def face_of(one: CloseUp, lift: float) -> np.ndarray:
    """Return points along the valve's face as drawn, carried along its stem."""
    (head,) = one.valve
    assert isinstance(head, Line)
    first, last = np.array(head.points[0]), np.array(head.points[-1])
    along = np.linspace(0.0, 1.0, 2001)[:, None]
    return first + along * (last - first) + lift * np.array(one.opens)


def metal_of(one: CloseUp, descent: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the crown's line as drawn, carried along the cylinder."""
    line = one.crown[1]
    assert isinstance(line, Line)
    across, up = (np.array(row) for row in zip(*line.points, strict=True))
    return across, up - descent


def test_by_coordinates_the_face_pushed_by_the_drop_touches_the_crown_at_every_angle() -> None:
    """The pocket's floor lies square under the face: in this plane the drop of the whole valve is met."""
    job = load(POCKETS)
    found = job.clearances
    (here,) = found.situations.values()
    for valve in found.valves:
        over = here.valves[valve.train]
        one = close_up(job.mapping, valve.train, over, valve.drop[0].angle)
        assert one.is_to_scale
        for angle in (valve.drop[0].angle, math.radians(-12.0), math.radians(15.0)):
            lift = over.lift.at(array(angle))
            drop = float(over.drop(array(angle), lift))
            face = face_of(one, float(lift) + drop)
            across, up = metal_of(one, float(over.descent(array(angle))))
            assert (face[:, 1] - np.interp(face[:, 0], across, up)).min() == pytest.approx(0.0, abs=0.03)
        assert abs(one.aside) <= float(over.head.radius)  # type: ignore[union-attr]


@pytest.mark.parametrize("meets", ["pocket", "crown"])
def test_by_a_reading_floor_and_face_stand_a_drop_apart_along_the_stem(meets: str) -> None:
    job = load(DEMO)
    here = job.clearances.situations["front"]
    over = here.valves["front.intake"]
    assert isinstance(over, ByReading)
    over = over._replace(reading=over.reading._replace(measured=over.reading.measured._replace(meets=meets)))
    one = close_up(job.mapping, "front.intake", over, 0.1)
    assert not one.is_to_scale
    assert all(isinstance(mark, Line) and mark.stroke is Stroke.INDICATED for mark in one.valve)
    for degrees in (0.0, 8.0, -15.0):
        angle = array(math.radians(degrees))
        lift = over.lift.at(angle)
        drop = float(over.drop(angle, lift))
        face = face_of(one, float(lift) + drop)
        across, up = metal_of(one, float(over.descent(angle)))
        assert (face[:, 1] - np.interp(face[:, 0], across, up)).min() == pytest.approx(0.0, abs=1e-6)
    assert math.hypot(*one.opens) == pytest.approx(1.0)
    assert math.acos(-one.opens[1]) == pytest.approx(float(over.reading.measured.lean))


def test_where_the_rim_leaves_the_floor_it_stands_at_the_wall_as_drawn() -> None:
    """The reading tells the drop until the rim has gone aside by the room it had."""
    job = load(DEMO)
    over = job.clearances.situations["front"].valves["front.intake"]
    assert isinstance(over, ByReading)
    known = over.known()
    assert known is not None
    one = close_up(job.mapping, "front.intake", over, 0.1)
    line = one.crown[1]
    assert isinstance(line, Line)
    foot = np.array(line.points[2])  # of the wall that the head goes towards
    descent, lift = float(over.descent(array(known.ends))), float(over.lift.at(array(known.ends)))
    rim = face_of(one, lift)[[0, -1]]
    rim = rim[np.argmin(rim[:, 0])]
    stem = -np.array(one.opens)
    square = np.array([stem[1], -stem[0]])
    assert (foot - [0.0, descent] - rim) @ square == pytest.approx(0.0, abs=0.01)


def test_each_closed_face_stands_in_the_middle_and_every_valve_has_its_groups() -> None:
    job = load(DEMO)
    near = {
        name: close_up(job.mapping, name, over, 0.0)
        for here in job.clearances.situations.values()
        for name, over in here.valves.items()
    }
    drawing, groups = drawn(near)
    assert drawing.width == drawing.height == 2 * MIDDLE
    assert [name for name, _ in groups] == [f"near-{place}-{name}" for place in range(4) for name in GROUPS]
    for name, marks in groups:
        if name.endswith("valve"):
            (head,) = marks
            assert isinstance(head, Line)
            middle = (np.array(head.points[0]) + head.points[-1]) / 2
            assert middle == pytest.approx([MIDDLE, MIDDLE])


def test_the_crown_ends_at_the_bore_where_that_is_entered_and_nowhere_near_where_it_is_not() -> None:
    job = load(POCKETS)
    (here,) = job.clearances.situations.values()
    over = here.valves["barrel.intake"]
    unbored = {path: value for path, value in job.mapping.items() if path not in WIDTHS}
    across, _ = metal_of(close_up(unbored, "barrel.intake", over, 0.1), 0.0)
    assert np.ptp(across) > 150.0
    across, _ = metal_of(close_up({**unbored, "stack.bore": 94.0}, "barrel.intake", over, 0.1), 0.0)
    middle = over.head.centre  # type: ignore[union-attr]
    ends = [np.hypot(middle[0] + one, middle[1]) for one in (across[0], across[-1])]  # the stem leans along x
    assert ends == pytest.approx([47.0, 47.0], abs=0.1)
