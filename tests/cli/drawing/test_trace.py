"""A cylinder's clearances against the crank angle: every mark stands where its value belongs."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.lines import Circle, Fill, Line, Stroke, Text
from tallstack.cli.drawing.trace import STROKES, Frame, across, size, trace, traces
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
    assert across(50.0) - across(0.0) == pytest.approx(across(0.0) - across(-50.0))


def test_the_least_drop_is_marked_on_its_curve_and_nothing_of_it_lies_below(found: Clearances) -> None:
    (view,) = traces("mm", found).values()
    circles = [one for one in view.items if isinstance(one, Circle) and one.fill is Fill.WHITE]
    assert len(circles) == len(found.valves)
    for valve, mark in zip(found.valves, circles, strict=True):
        least = valve.drop[0]
        assert mark.centre[0] == pytest.approx(across(math.degrees(least.angle)))
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
    said = [one.words for one in view.items if isinstance(one, Text) and one.words.startswith("limit, ")]
    assert len(said) == len(limits)


def test_everything_stands_on_its_paper_and_nothing_known_is_no_picture(found: Clearances) -> None:
    wide, high = size()
    (view,) = traces("in", found).values()
    for one in view.items:
        for across_, up in getattr(one, "points", ()):
            assert -1e-9 <= across_ <= wide
            assert -1e-9 <= up <= high
    here = next(iter(found.situations.values()))
    assert trace("mm", here, [one._replace(piston=None) for one in found.valves]) is None
