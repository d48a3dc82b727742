"""The strokes of a dimension: arrows stand with their tips at the ends, arcs keep their radius."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.arrows import ARROW, BEYOND, arc, arrowed, extension
from tallstack.cli.drawing.lines import Circle, Line


def test_an_extension_line_goes_just_past_the_dimension_line() -> None:
    """3, 4, 5: one further along the same line."""
    (line,) = extension((1.0, 1.0), (4.0, 5.0))
    assert isinstance(line, Line)
    assert line.points[0] == (1.0, 1.0)
    assert line.points[1] == pytest.approx((4.0 + 0.6 * BEYOND, 5.0 + 0.8 * BEYOND))
    assert extension((1.0, 1.0), (1.2, 1.0)) == []


@pytest.mark.parametrize("away", [20.0, 3.0])
def test_arrows_have_their_tips_at_the_ends_whether_long_or_short(away: float) -> None:
    start, end = (2.0, 3.0), (2.0 + 0.6 * away, 3.0 + 0.8 * away)
    line, *arrows = arrowed(start, end)
    assert isinstance(line, Line)
    tips = {tuple(round(one, 9) for one in each.points[0]) for each in arrows if isinstance(each, Line)}
    assert tips == {tuple(round(one, 9) for one in each) for each in (start, end)}
    longer = math.dist(*line.points) - away
    assert longer == pytest.approx(0.0 if away > 2.5 * ARROW else 4 * ARROW)


def test_where_both_ends_are_one_a_dot_stands() -> None:
    (dot,) = arrowed((1.0, 2.0), (1.0, 2.0))
    assert isinstance(dot, Circle)
    assert dot.centre == (1.0, 2.0)


@pytest.mark.parametrize(("turn", "middle"), [(1.0, 45.0), (-1.0, 225.0)])
def test_an_arc_runs_the_way_it_is_told_at_one_radius(turn: float, middle: float) -> None:
    """From 0 to 90 degrees the short way, or the long way round."""
    apex = (5.0, -2.0)
    marks, half_way = arc((15.0, -2.0), (5.0, 8.0), apex, turn)
    curve = marks[0]
    assert isinstance(curve, Line)
    assert [math.dist(one, apex) for one in curve.points] == pytest.approx([10.0] * len(curve.points))
    assert curve.points[-1] == pytest.approx((5.0, 8.0))
    at = math.radians(middle)
    assert half_way == pytest.approx((apex[0] + 10 * math.cos(at), apex[1] + 10 * math.sin(at)))
