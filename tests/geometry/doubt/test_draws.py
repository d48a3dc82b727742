"""Draws of builds: one block after another, the interval that is told of them, and when it is steady."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.doubt import draws
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.sure.risk import Needed
from tallstack.geometry.sure.risk_clearance import Assembled


def test_some_builds_are_drawn_as_among_all() -> None:
    block = draws.block_of({"a": Doubt(0.1)}, 9, seed=4, number=2)
    chosen = np.array([1, 4, 6])
    for draw in (draws.Block.normal, draws.Block.rectangular):
        assert draw(block.some(chosen), "b").tolist() == draw(block, "b")[chosen].tolist()


def test_an_answer_is_steady_where_its_blocks_agree_with_each_other() -> None:
    """The same thousand numbers: each block the same, or each block above the one before it."""
    numbers = np.linspace(-1.0, 1.0, 1000)
    assert draws.told(numbers.reshape(100, 10).T.ravel()).steady
    assert not draws.told(numbers).steady


def test_a_budget_that_tells_the_interval_of_the_draws_does_not_differ() -> None:
    ends = draws.Interval(0.0, 2.0)
    drawn = draws.Drawn(1.0, 0.5, ends, ends, 1000, steady=True)
    assert not draws.differs(1.0, 1.0, drawn)
    assert draws.differs(1.0, 1.2, drawn)


@pytest.mark.parametrize(("share", "ends"), [(0.3, (2.0, 2.2)), (0.5, (0.0, 2.2)), (1.0, (0.0, 9.0))])
def test_the_shortest_interval_of_any_share(share: float, ends: tuple[float, float]) -> None:
    ordered = array([0.0, 1.0, 2.0, 2.1, 2.2, 4.0, 5.5, 7.0, 8.0, 9.0])
    held = math.floor(share * 10 + 0.5)
    found = draws.shortest(ordered, share)
    assert found == pytest.approx(ends)
    assert ((ordered >= found.low) & (ordered <= found.high)).sum() >= held


@pytest.mark.parametrize(("count", "steady"), [(99, False), (100, True)])
def test_ten_parts_of_a_hundred_draws_each_tell_whether_they_agree(count: int, steady: bool) -> None:
    """Rows that repeat every ten draws: their parts agree, but of 990 a tenth is less than a hundred."""
    assert draws.told(np.tile(np.linspace(-1.0, 1.0, 10), count)).steady == steady


@pytest.mark.parametrize("sigmas", [2.0, None])
def test_a_preload_that_was_set_is_off_by_its_own_draw(sigmas: float | None) -> None:
    block = draws.block_of({}, 5, seed=3)
    off = Needed({}, {"a": Doubt(0.2, sigmas)}, Assembled()).of("a", {}, block)
    drawn = block.rectangular if sigmas is None else block.normal
    assert off == pytest.approx(-drawn("a.lifter.preload") * (0.2 if sigmas is None else 0.1))
