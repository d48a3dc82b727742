"""What keeps a valve gear from going together, and where it comes apart: against the raw loop."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.train import closed, motion
from tallstack.geometry.pushrod.assembly import comes_apart_at
from tallstack.geometry.pushrod.pushrods import required

from ...oracles.random_trains import PEAK, TRAIN, random_unreachable


@pytest.mark.parametrize("seed", range(6))
def test_a_solid_lifter_comes_apart_where_its_loop_just_closes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    train = build(random_unreachable(rng, why="toggle")).train(TRAIN)  # type: ignore[arg-type]
    train = train._replace(lifter=train.lifter._replace(kind="solid", preload=None))
    assert train.drawn is not None
    assert train.lifter.down is None
    length = required(train._replace(lifter=train.lifter._replace(lash=array(0.0)))).lengths["centres"]
    found = comes_apart_at(train, length, 2 * PEAK)
    assert found is not None
    if found > 0:
        ends = motion(train.drawn, closed(train.drawn), length, array([found - 1e-6, found]), array(0.0))
        assert ends.reach[0] >= 0
        assert not ends.reach[1] >= 0
