"""A small batch against a large one: what a pose costs of every degree of the cycle, and of a million.

What it costs now: the page of `figures`.
"""

from __future__ import annotations

import pytest

from .batches import prices
from .of_poses import FEW, MANY

MOST = 2.0  # times the price in a large batch


@pytest.mark.benchmark
def test_a_pose_of_a_small_batch_costs_little_more_than_one_of_a_large() -> None:
    found = prices(FEW, MANY)
    for name, (few, many) in found.items():
        print(f"\n{name}: {few:.0f} ns a pose against {many:.0f}, {few / many:.2f}", end="")
    assert {name: few / many for name, (few, many) in found.items() if few > MOST * many} == {}
