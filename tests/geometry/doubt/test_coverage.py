"""The freedom of a budget and what it widens an interval by."""

from __future__ import annotations

import math

import pytest
from tallstack.geometry.doubt.coverage import effective


@pytest.mark.parametrize(
    ("parts", "free"),
    [
        ([(1.0, 4.0)], 4.0),
        ([(1.0, 4.0), (1.0, 4.0)], 8.0),
        ([(1.0, 4.0), (0.0, 2.0)], 4.0),
        ([(1.0, math.inf), (0.0, 2.0)], math.inf),
    ],
)
def test_the_freedom_of_one_part_is_its_own_and_that_of_two_equal_ones_twice_it(
    parts: list[tuple[float, float]], free: float
) -> None:
    assert effective(parts) == pytest.approx(free)
