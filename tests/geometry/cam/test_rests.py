"""Two rests of one lobe at different levels: made with a step that is known, and what is none."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.cam.rests import two_rests
from tallstack.geometry.cam.smooth import FINE

from ...known_lobes import NOISE, dwelling

DEGREES = np.arange(-180.0, 180.0, 5.0)
ANGLE = np.radians(DEGREES)


def read(step: float, seed: int = 1) -> np.ndarray:
    """Return readings of a lobe whose dial stands so much higher behind its lift than before."""
    rng = np.random.default_rng(seed)
    return dwelling(DEGREES) + np.where(DEGREES > 0, step, 0.0) + rng.normal(0.0, NOISE / 5, len(DEGREES))


@pytest.mark.parametrize("step", [0.2, -0.2])
def test_a_dial_that_slipped_by_a_known_step(step: float) -> None:
    found = two_rests(ANGLE, read(step))
    assert found is not None
    assert found.high - found.low == pytest.approx(0.2, abs=0.01)
    higher = np.degrees(FINE)[found.above] % 360
    assert (higher > 175).all() == (step < 0)
    assert (higher < 185).all() == (step > 0)


@pytest.mark.parametrize("step", [0.0, 0.01])
def test_one_rest_and_what_no_dial_repeats_is_one(step: float) -> None:
    assert two_rests(ANGLE, read(step)) is None


def test_a_heel_that_slopes_all_along_is_no_step() -> None:
    away = np.mod(DEGREES, 360.0)
    assert two_rests(ANGLE, dwelling(DEGREES) + 0.3 * away / 360) is None


def test_a_heel_that_was_not_read_tells_nothing() -> None:
    lifted = np.abs(DEGREES) < 75
    assert two_rests(ANGLE[lifted], read(0.2)[lifted]) is None
