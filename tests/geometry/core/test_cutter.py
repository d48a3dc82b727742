"""The pocket's two ways to say where it stands, against brute force on the floor's rim.

The floor is a disc square to the cutter's axis. Its rim is walked point by point; where it is lowest
the pocket is deepest, and how far that is below the crown plane is what a depth gauge reads.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import brentq  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.core.cutter import centre_from_deepest, deepest_from_centre
from tallstack.geometry.core.frames import Array, array, from_lean, point

SEEDS = range(20)
CLOSE_MM = 1e-10


@dataclass(frozen=True)
class Pocket:
    """A cut made by sinking a cutter along its axis; mm."""

    mouth: Array  # (2,) where the axis meets the crown plane
    axis: Array  # (3,) unit, out of the crown
    radius: float
    sunk: float  # along the axis, crown plane to floor

    def rim(self, turn: float) -> Array:
        """Return one point of the floor's rim, z from the crown plane."""
        first = np.cross(self.axis, [0.3, -0.5, 0.8])
        first /= np.linalg.norm(first)
        second = np.cross(self.axis, first)
        floor = np.append(self.mouth, 0.0) - self.sunk * self.axis
        around: Array = floor + self.radius * (np.cos(turn) * first + np.sin(turn) * second)
        return around

    def lowest(self) -> Array:
        """Return the rim's lowest point: the lowest of 720, then where the rim is level beside it."""
        turns = np.linspace(-np.pi, np.pi, 721)
        best = turns[int(np.argmin([self.rim(turn)[2] for turn in turns]))]

        def climb(turn: float) -> float:
            return float(self.rim(turn + 0.1)[2] - self.rim(turn - 0.1)[2])

        return self.rim(brentq(climb, best - 0.02, best + 0.02, xtol=1e-15))


def invented(seed: int, least_lean_deg: float = 1.0) -> Pocket:
    rng = np.random.default_rng([51, seed])
    axis = from_lean(*np.radians(rng.uniform(least_lean_deg, 30.0, 2) * rng.choice([-1.0, 1.0], 2)))
    return Pocket(rng.uniform(-25.0, 25.0, 2), axis, rng.uniform(12.0, 26.0), rng.uniform(0.5, 9.0))


@pytest.mark.parametrize("seed", SEEDS)
def test_both_against_the_lowest_point_of_the_rim(seed: int) -> None:
    cut = invented(seed)
    lowest = cut.lowest()
    diameter, depth = array(2 * cut.radius), array(-lowest[2])
    assert deepest_from_centre(cut.mouth, cut.axis, diameter, depth) == pytest.approx(
        lowest[:2], abs=CLOSE_MM
    )
    assert centre_from_deepest(lowest[:2], cut.axis, diameter, depth) == pytest.approx(
        cut.mouth, abs=CLOSE_MM
    )


def test_lean_towards_one_side_goes_deepest_on_that_side() -> None:
    """By hand: a cutter leaning 30° towards +x, 20 across, whose floor's centre stands under its mouth's -x.

    Floor's centre 4 down the axis: x -2, z -2√3; lowest rim point 10·cos 30° further out, 10·sin 30° down.
    """
    axis = from_lean(np.radians(30.0), 0.0)
    depth = array(2 * np.sqrt(3.0) + 5.0)
    deepest = deepest_from_centre(array([0.0, 0.0]), axis, array(20.0), depth)
    assert deepest == pytest.approx([-2.0 + 5 * np.sqrt(3.0), 0.0], abs=1e-13)


@pytest.mark.parametrize("seed", SEEDS)
def test_round_trip(seed: int) -> None:
    cut = invented(seed, 0.01)
    sizes = (cut.axis, array(2 * cut.radius), array(6.3))
    there = deepest_from_centre(cut.mouth, *sizes)
    assert centre_from_deepest(there, *sizes) == pytest.approx(cut.mouth, abs=1e-12)
    back = centre_from_deepest(cut.mouth, *sizes)
    assert deepest_from_centre(back, *sizes) == pytest.approx(cut.mouth, abs=1e-12)


def test_upright_cutter_has_no_deepest_point() -> None:
    """NaN, without a warning, in its own element of a batch alone."""
    upright = point(0.0, 0.0, 1.0)
    here = array([3.0, -4.0])
    for pair in (centre_from_deepest, deepest_from_centre):
        assert np.isnan(pair(here, upright, array(30.0), array(5.0))).all()
        both = pair(here, np.stack([upright, from_lean(0.2, -0.1)]), array(30.0), array(5.0))
        assert np.isfinite(both).tolist() == [[False, False], [True, True]]


def test_mirrored_pocket_is_mirrored() -> None:
    cut = invented(3)
    sizes = (array(2 * cut.radius), array(5.0))
    mirror = np.array([-1.0, 1.0, 1.0])
    plain = centre_from_deepest(cut.mouth, cut.axis, *sizes)
    assert centre_from_deepest(cut.mouth * mirror[:2], cut.axis * mirror, *sizes) == pytest.approx(
        plain * mirror[:2], abs=1e-13
    )


@pytest.mark.parametrize("shape", [(1,), (2,), (3,), (4,), (2, 3)])
def test_batches_are_their_elements(shape: tuple[int, ...]) -> None:
    """Shapes of length 2 and 3 are those of a place and a direction; they must not be taken for them."""
    count = int(np.prod(shape))
    cuts = [invented(seed) for seed in range(count)]
    mouths = np.array([cut.mouth for cut in cuts]).reshape(*shape, 2)
    axes = np.array([cut.axis for cut in cuts]).reshape(*shape, 3)
    diameters = np.array([2 * cut.radius for cut in cuts]).reshape(shape)
    depths = np.linspace(2.0, 9.0, count).reshape(shape)
    for pair in (centre_from_deepest, deepest_from_centre):
        together = pair(mouths, axes, diameters, depths)
        assert together.shape == (*shape, 2)
        for at in np.ndindex(*shape):
            alone = pair(mouths[at], axes[at], diameters[at], depths[at])
            assert together[at] == pytest.approx(alone, abs=1e-13)
