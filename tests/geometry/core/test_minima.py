"""Minima of a row that goes round: at its ends, of two within a step, and which of two equals is told."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core import minima
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.core.minima import Minimum


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_least_is_looked_for_one_step_beyond_the_row(way: float) -> None:
    angles = array(np.arange(-5.0, 6.0) * minima.STEP)
    (found,) = minima.minima(lambda angle, _: way * angle, angles)
    assert found.angle == pytest.approx(-6.0 * way * minima.STEP, abs=1e-12)


@pytest.mark.parametrize(("apart", "count"), [(0.4, 1), (0.7, 2)])
def test_minima_are_two_where_they_are_more_than_half_a_step_apart(apart: float, count: int) -> None:
    """Of `_distinct` alone: a curve has no two minima exactly so far apart."""
    found = [Minimum(1.0, 0.1), Minimum(1.0, 0.1 + apart * minima.STEP)]
    assert len(minima._distinct(found)) == count


def test_of_two_valleys_within_a_step_the_lower_one_is_told() -> None:
    """The other comes after it, less than its first rise higher."""
    angles = array(np.arange(-5.0, 6.0) * minima.STEP)
    low, high = -0.25 * minima.STEP, 0.25 * minima.STEP

    def curve(angle: Array, _: bool) -> Array:
        return np.minimum(10.0 * np.abs(angle - low), 10.0 * np.abs(angle - high) + 0.01)

    least = minima.minima(curve, angles)[0]
    assert least == pytest.approx((0.0, low), abs=1e-7)


def test_of_equal_minima_the_one_nearest_top_centre_comes_first() -> None:
    """Of `_least_first` alone: rounding makes them differ as another processor would."""
    for noise in (-1e-10, 0.0, 1e-10):
        pair = [Minimum(2.0 + noise, 0.5), Minimum(2.0, -0.5), Minimum(2.0, 0.9), Minimum(3.0, 0.0)]
        assert [one.angle for one in minima._least_first(pair)] == [-0.5, 0.5, 0.9, 0.0]
