"""Rows of dimension lines: the shortest next to the view, none over another, each as long as what it measures."""

from __future__ import annotations

import math

import pytest
from tallstack.cli.drawing.lines import Dimension, Line, Text, Way
from tallstack.cli.drawing.rows import Box, middles, row_width, rows, sideways, upward

ROOM = Box(-100.0, -100.0, 100.0, 100.0)


def across(entry: str, first: float, last: float) -> Dimension:
    return Dimension("A", entry, "1 mm", Way.ACROSS, (first, 0.0), (last, 0.0))


def test_the_shortest_stands_next_to_the_view_and_those_apart_share_a_row() -> None:
    short, long, beside = across("b", -20.0, 20.0), across("a", -60.0, 60.0), across("c", 30.0, 75.0)
    placed = {one.entry: depth for depth, _, one in rows([long, short, beside], ROOM, 1.0, 0)}
    assert placed == {"b": 0, "c": 0, "a": 1}


def test_of_equals_the_order_is_that_of_their_entries() -> None:
    some = [across(entry, -20.0, 20.0) for entry in ("z", "a", "m")]
    assert [one.entry for _, _, one in rows(some, ROOM, 1.0, 0)] == ["a", "m", "z"]
    assert [depth for depth, _, _ in rows(some, ROOM, 1.0, 0)] == [0, 1, 2]


def test_a_label_stays_within_the_room() -> None:
    one = across("entry", 95.0, 99.0)
    half = row_width(one) / 2
    for middle in middles(one, ROOM, 1.0, 0):
        assert ROOM.left <= middle - half
        assert middle + half <= ROOM.right + 1e-9
    assert ROOM.wide == 200.0


@pytest.mark.parametrize("scale", [0.5, 2.0])
def test_a_line_is_as_long_as_what_it_measures_at_any_scale(scale: float) -> None:
    """Its marks are in mm of the view: 40 there, whatever the paper's scale."""
    level = sideways(across("x", -20.0, 20.0), 12.0, 0.0, scale)
    lines = [one for one in level.marks if isinstance(one, Line) and not one.closed]
    assert 40.0 in [pytest.approx(math.dist(*one.points)) for one in lines]
    assert all(one.at[1] * scale == pytest.approx(12.9) for one in level.marks if isinstance(one, Text))
    upright = upward(Dimension("A", "x", "1 mm", Way.UP, (3.0, -20.0), (3.0, 20.0)), -9.0, 0.0, scale)
    assert all(one.turn == 90.0 for one in upright.marks if isinstance(one, Text))
    assert all(one.at[0] * scale == pytest.approx(-9.9) for one in upright.marks if isinstance(one, Text))
