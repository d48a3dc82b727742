"""Top centre by a positive stop: halfway, whichever reading comes first, also across the wheel's zero."""

from __future__ import annotations

import math

import pytest
from tallstack.geometry.crank.degree_wheel import by_positive_stop


@pytest.mark.parametrize(
    ("one", "other", "at", "held"),
    [(-30, 40, 5, 35), (40, -30, 5, 35), (350, 16, 3, 13), (170, -170, 180, 10), (20, 20, 20, 0)],
)
def test_top_centre_stands_halfway(one: float, other: float, at: float, held: float) -> None:
    found = by_positive_stop(math.radians(one), math.radians(other))
    assert math.cos(found.at - math.radians(at)) == pytest.approx(1.0)
    assert -math.pi <= found.at <= math.pi
    assert math.degrees(found.held) == pytest.approx(held)
