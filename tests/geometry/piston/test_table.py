"""Measured heights of a crown as a surface: which points are one, its highest diagonal, its widest hole."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.frames import Array, array, norm, point
from tallstack.geometry.piston import table as crown_table
from tallstack.geometry.piston.table import Heights, heights, widest_hole

UPRIGHT = point(0.0, 0.0, 1.0)


def grid(count: int, half: float = 45.0) -> Array:
    steps = np.linspace(-half, half, count)
    return np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)


def raised(flat: Array, high: Array) -> Heights:
    return heights(np.column_stack([flat, np.broadcast_to(high, flat.shape[:1])]))


def test_of_two_heights_at_one_place_the_higher_counts() -> None:
    flat = grid(5)
    points = np.column_stack([flat, np.zeros(len(flat))])
    twice = heights(np.concatenate([points, points[7:8] + 0.08 * UPRIGHT, points[7:8] + 0.03 * UPRIGHT]))
    assert twice.measured == len(flat)
    assert twice.highest == pytest.approx(0.08)


@pytest.mark.parametrize(
    "points",
    [
        np.zeros((1, 3)),
        np.eye(3),
        np.column_stack([np.arange(9.0), 2 * np.arange(9.0), np.zeros(9)]),
        np.zeros((9, 3)),
    ],
)
def test_points_that_are_no_surface_are_refused(points: Array) -> None:
    with pytest.raises(GeometryError, match="are no crown"):
        heights(points)


def test_the_widest_hole_is_found() -> None:
    flat = grid(46)
    hole = np.array([8.0, -4.0])
    ground = raised(flat[norm(flat - hole) > 9.0], array(0.0))
    wide, place = widest_hole(ground, array([4.0, 0.0]), 18.0)
    assert wide == pytest.approx(18.0, abs=2.0)
    assert norm(place - hole) < 1.5
    assert widest_hole(ground, array([-20.0, 20.0]), 12.0)[0] < 3.0
    beside, _ = widest_hole(ground, array([60.0, 0.0]), 10.0)  # beyond the table
    assert beside == pytest.approx(2 * 25.0, abs=2.0)


def test_one_diagonal_above_another_away_from_the_origin() -> None:
    """Of `_above` alone: a number that only its sign is used of."""
    low = array([[[1.0, 1.0, 0.0]], [[3.0, 3.0, 2.0]]])
    high = array([[[1.0, 3.0, 5.0]], [[3.0, 1.0, 5.0]]])
    assert crown_table._above(low, high) == pytest.approx([4.0])
    assert crown_table._above(high, low) == pytest.approx([-4.0])


@pytest.mark.parametrize(("off", "on"), [(0.0, True), (0.3, False)])
def test_ends_on_one_circle(off: float, on: bool) -> None:
    """Of 5 mm about (2, 1).

    Of `_on_one_circle` alone: which diagonal was chosen is in no answer where both are as high.
    """
    low = array([[[5.0, 5.0, 0.0]], [[-2.0, -2.0, 0.0]]])
    high = array([[[6.0, -2.0, 0.0]], [[2.0, 6.0 + off, 0.0]]])
    assert crown_table._on_one_circle(low, high).tolist() == [on]
