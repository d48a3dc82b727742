"""A cylinder's clearances against the crank angle: every mark stands where its value belongs."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.lines import Circle, Fill, Line, Stroke, Text
from tallstack.cli.drawing.trace import HALF_WAY, SCREEN, STROKES, Frame, on_screen, size, trace, traces
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.clearances import Clearances

from ...commands import EXAMPLES

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


@pytest.fixture(scope="module")
def found() -> Clearances:
    return load(POCKETS).clearances


def test_a_value_stands_in_its_share_of_the_frame() -> None:
    frame = Frame(-1.0, 9.0, 20.0, 50.0)
    assert [frame.up(value) for value in (-1.0, 4.0, 9.0)] == [20.0, 45.0, 70.0]
    assert frame.across(50.0) - frame.across(0.0) == pytest.approx(frame.across(0.0) - frame.across(-50.0))
    narrow = Frame(-1.0, 9.0, 20.0, 50.0, 11.0, 30.0)
    assert [narrow.across(one) for one in (-HALF_WAY, HALF_WAY)] == [11.0, narrow.right] == [11.0, 41.0]


def test_the_least_drop_is_marked_on_its_curve_and_nothing_of_it_lies_below(found: Clearances) -> None:
    (view,) = traces("mm", found).values()
    circles = [one for one in view.items if isinstance(one, Circle) and one.fill is Fill.WHITE]
    assert len(circles) == len(found.valves)
    for valve, mark in zip(found.valves, circles, strict=True):
        least = valve.drop[0]
        assert mark.centre[0] == pytest.approx(Frame(0, 1, 0, 1).across(math.degrees(least.angle)))
        curve = [
            point
            for one in view.items
            if isinstance(one, Line) and one.stroke is STROKES[valve.train.rpartition(".")[2]]
            for point in one.points
            if point[1] > mark.centre[1] - 5
        ]
        near = [up for at, up in curve if abs(at - mark.centre[0]) < 1.0]
        assert min(near) == pytest.approx(mark.centre[1], abs=0.05)


def test_a_limit_is_drawn_at_its_height_above_nought(found: Clearances) -> None:
    (view,) = traces("mm", found).values()
    limits = {valve.piston.limit.value for valve in found.valves if valve.piston is not None}
    lines = [one for one in view.items if isinstance(one, Line) and one.stroke is Stroke.LIMIT]
    assert len(lines) == len(limits)
    said = [one for one in view.items if isinstance(one, Text) and one.words.startswith("limit, ")]
    assert len(said) == len(limits)
    for one, limit in zip(said, sorted(limits), strict=True):
        assert one.words.endswith(f": {limit:.2f} mm")
        assert one.other.endswith(f": {limit / 25.4:.3f} in")


@pytest.mark.parametrize("units", ["mm", "in"])
def test_beside_an_engine_each_valve_has_a_mark_that_moves_on_its_curve(
    found: Clearances, units: str
) -> None:
    (here,) = found.situations.values()
    shown = on_screen(units, here, found.valves)
    assert shown is not None
    (view,) = shown.drawing.views
    groups = dict(shown.groups)
    assert list(groups) == ["cursor", *(one.train for one in found.valves)]
    for valve in found.valves:
        least = valve.drop[0]
        (dot,) = groups[valve.train]
        assert isinstance(dot, Circle)
        frame = shown.frame
        degree, mm = frame.wide / (2 * HALF_WAY), frame.tall / (frame.high - frame.low)
        moved = (dot.centre[0] + math.degrees(least.angle) * degree, dot.centre[1] + least.value * mm)
        points = [
            point
            for one in view.items
            if isinstance(one, Line) and one.stroke is STROKES[valve.train.rpartition(".")[2]]
            for point in one.points
        ]
        assert min(math.dist(moved, one) for one in points) < 0.3
    numbers = [one for one in view.items if isinstance(one, Text) and one.unit]
    assert {one.unit for one in numbers if one.at[0] < frame.left} == {units}
    assert {one.unit for one in numbers if one.at[0] > frame.right} == {"in" if units == "mm" else "mm"}
    for one in view.items:
        for across, up in getattr(one, "points", ()):
            assert -1e-9 <= across <= SCREEN[0]
            assert -1e-9 <= up <= SCREEN[1]
    assert on_screen(units, here, [one._replace(piston=None) for one in found.valves]) is None


def test_everything_stands_on_its_paper_and_nothing_known_is_no_picture(found: Clearances) -> None:
    wide, high = size()
    (view,) = traces("in", found).values()
    for one in view.items:
        for across_, up in getattr(one, "points", ()):
            assert -1e-9 <= across_ <= wide
            assert -1e-9 <= up <= high
    here = next(iter(found.situations.values()))
    assert trace("mm", here, [one._replace(piston=None) for one in found.valves]) is None
