"""Clearances with the lifter pumped up."""

from __future__ import annotations

import pytest
from tallstack.geometry.clearance import moving as clearance_doubt
from tallstack.geometry.clearance import pumped
from tallstack.geometry.doubt.budget import Budget, Doubt

NAME = "one.intake"


@pytest.mark.parametrize(("half_width", "moves"), [(0.0, {}), (0.1, {f"{NAME}.lifter.preload": 0.7})])
def test_a_preload_moves_a_pumped_up_clearance_where_it_has_a_doubt(
    half_width: float, moves: dict[str, float]
) -> None:
    before = clearance_doubt.Weighed(Budget(0.0, {}, ()), {})
    doubts = {f"{NAME}.lifter.preload": Doubt(half_width)}
    assert pumped.with_preload(before, {NAME: 0.7}, {}, doubts).slopes == moves
