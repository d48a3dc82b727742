"""The loop of a valve gear: closed by the law of cosines, and where it has no slope."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array, dot, norm, point
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.train import close_loop, closed, lift_at, motion

from ...oracles.random_trains import TRAIN, random_mapping


@pytest.mark.parametrize(("length", "known"), [(5.0, True), (1.0, True), (5.1, False), (0.9, False)])
def test_at_its_toggle_a_loop_closes_and_has_no_slope(length: float, known: bool) -> None:
    """An arm of 2 mm and a ball 3 mm from its shaft: 1 mm apart at the least, 5 at the most."""
    arm, branch = array(2.0), array(1.0)
    spoke, turned, ball = point(1.0, 0.0, 0.0), point(0.0, 1.0, 0.0), point(0.0, 3.0, 0.0)
    cosine, sine, slope, reach = close_loop(spoke, turned, ball, array(length), arm, branch)
    assert bool(reach >= 0) == known
    if known:
        assert (float(reach), float(slope), float(cosine)) == (0.0, 0.0, 0.0)
        assert float(sine) == (-1.0 if length > 3.0 else 1.0)
    else:
        assert np.isnan(slope)


@pytest.mark.parametrize("length", [1.5, 2.0, 3.0, 4.5])
@pytest.mark.parametrize("branch", [1.0, -1.0])
def test_a_loop_closes_by_the_law_of_cosines(length: float, branch: float) -> None:
    """An arm of 2 mm and a ball 3 mm from its shaft."""
    spoke, turned, ball = point(1.0, 0.0, 0.0), point(0.0, 1.0, 0.0), point(0.0, 3.0, 0.0)
    cosine, sine, slope, _ = close_loop(spoke, turned, ball, array(length), array(2.0), array(branch))
    between = np.arccos((2.0**2 + 3.0**2 - length**2) / (2 * 2.0 * 3.0))
    assert float(sine) == pytest.approx(np.cos(between))
    assert float(cosine) == pytest.approx(branch * np.sin(between))
    assert float(slope) == pytest.approx(branch * 3.0 * np.sin(between))


@pytest.mark.parametrize("seed", range(4))
def test_the_lift_alone_is_what_the_motion_says(seed: int) -> None:
    """Of gears that lean every way, one lifter pressed in and one not; the ways the arms set out are square to them."""
    drawn = build(random_mapping(np.random.default_rng([seed, 17]))).train(TRAIN).drawn  # type: ignore[arg-type]
    assert drawn is not None
    pose, lifts = closed(drawn), np.linspace(0.0, 4.0, 9)
    for arm, moves in ((pose.valve_dir, pose.valve_moves), (pose.cup_dir, pose.cup_moves)):
        assert float(norm(moves)) == pytest.approx(1.0)
        assert float(dot(arm, moves)) == pytest.approx(0.0, abs=1e-12)
    assert pose.valve_moves[2] < 0  # towards the underside
    for down in (array(0.0), array(0.8)):
        length = norm(pose.cup - drawn.seat + down * drawn.lift_axis)
        whole = motion(drawn, pose, length, lifts, down)
        np.testing.assert_allclose(lift_at(drawn, pose, length, lifts, down), whole.lift, atol=1e-9)
        assert float(whole.lift[-1]) > 1.0
