"""Rows of dimension lines: the shortest next to the view, none over another, each as long as what it measures."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.lines import Circle, Dimension, Line, Text, Way
from tallstack.cli.drawing.rows import Box, rows, scaled, sideways, upward, with_marks


def across(entry: str, first: float, last: float) -> Dimension:
    return Dimension("A", entry, "1", "", Way.ACROSS, (first, 0.0), (last, 0.0))


def test_the_shortest_stands_next_to_the_view_and_those_apart_share_a_row() -> None:
    short, long, beside = across("b", -20.0, 20.0), across("a", -60.0, 60.0), across("c", 30.0, 75.0)
    placed = {one.entry: depth for depth, one in rows([long, short, beside], 1.0, 0)}
    assert placed == {"b": 0, "c": 0, "a": 1}


def test_of_equals_the_order_is_that_of_their_entries() -> None:
    some = [across(entry, -20.0, 20.0) for entry in ("z", "a", "m")]
    assert [one.entry for _, one in rows(some, 1.0, 0)] == ["a", "m", "z"]
    assert [depth for depth, _ in rows(some, 1.0, 0)] == [0, 1, 2]


def test_short_ones_leave_room_for_their_letters() -> None:
    """Two that do not overlap but whose arrows and letters would have rows of their own."""
    apart = [across("a", 0.0, 2.0), across("b", 4.0, 6.0)]
    assert [depth for depth, _ in rows(apart, 1.0, 0)] == [0, 1]
    assert [depth for depth, _ in rows(apart, 10.0, 0)] == [0, 0]


@pytest.mark.parametrize("scale", [0.5, 2.0])
def test_a_line_is_as_long_as_what_it_measures_at_any_scale(scale: float) -> None:
    """And its letter may stand beside its middle first."""
    for laid, at in (
        (sideways(across("x", -20.0, 20.0), 12.0, scale), (0.0, 12.0)),
        (upward(Dimension("A", "x", "1", "", Way.UP, (3.0, -20.0), (3.0, 20.0)), -9.0, scale), (-9.0, 0.0)),
    ):
        lines = [one for one in laid.marks if isinstance(one, Line) and not one.closed]
        assert 40.0 * scale in [pytest.approx(math.dist(*one.points)) for one in lines]
        assert laid.label.target == pytest.approx(at)
        assert math.dist(laid.label.spots[0], at) < 3.0
        back = with_marks(laid.dimension, laid.marks, scale)
        assert 40.0 in [
            pytest.approx(math.dist(*one.points))
            for one in back.marks
            if isinstance(one, Line) and len(one.points) == 2
        ]


def test_marks_are_scaled_about_the_origin_and_boxes_take_points_in() -> None:
    assert scaled(Line(((1.0, 2.0), (3.0, 4.0))), 2.0).points == ((2.0, 4.0), (6.0, 8.0))
    circle = scaled(Circle((1.0, 2.0), 3.0), 2.0)
    assert (circle.centre, circle.radius) == ((2.0, 4.0), 6.0)
    assert scaled(Text((1.0, 2.0), "a", 3.0), 2.0) == Text((2.0, 4.0), "a", 3.0)
    assert Box(0.0, 0.0, 1.0, 1.0).with_([(-2.0, 0.5), (0.5, 3.0)]) == Box(-2.0, 0.0, 1.0, 3.0)
    assert Box(-1.0, 0.0, 1.0, 1.0).wide == 2.0
