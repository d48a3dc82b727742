"""What a lobe looks like, against roots of its law, and how degrees counted as the other's are found out."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.cam.law import law_lobe
from tallstack.geometry.cam.lobe import Lobe
from tallstack.geometry.cam.looks import LONG_RAMP, LONGEST, SHORTEST, looks

PEAK, LENGTH = 8.0, np.radians(260.0)


def half_at(lift: float) -> float:
    """Return how far from the nose the textbook curve has a lift, as a share of the rise, by a root."""
    return 1 - brentq(
        lambda x: PEAK * x**4 * (35 - 84 * x + 70 * x**2 - 20 * x**3) - lift, 0.0, 1.0, xtol=1e-14
    )


def test_durations_of_a_law_against_its_roots() -> None:
    found = looks(law_lobe("4-5-6-7", PEAK, LENGTH))
    assert found.check == pytest.approx(1.27)
    assert found.open_for == pytest.approx(LENGTH * half_at(1.27))
    ramp = LENGTH / 2 * (half_at(0.05) - half_at(0.508))
    assert found.ramps == pytest.approx((ramp, ramp))
    assert found.nose == pytest.approx(LENGTH * half_at(0.995 * PEAK))


@pytest.mark.parametrize(
    ("degrees", "lobe", "twice", "half"),
    [(150, False, True, False), (280, True, False, False), (560, False, False, True)],
)
def test_degrees_counted_as_the_others_are_found_out(
    degrees: float, lobe: bool, twice: bool, half: bool
) -> None:
    found = looks(law_lobe("4-5-6-7", PEAK, np.radians(degrees)))
    assert (found.is_a_lobe, found.would_be(2.0), found.would_be(0.5)) == (lobe, twice, half)


def test_a_lobe_that_never_comes_back_is_none() -> None:
    class Rising:
        def at(self, angle: np.ndarray, order: int) -> np.ndarray:
            return 5.0 + np.cos(angle) if order == 0 else -np.sin(angle) if order == 1 else -np.cos(angle)

    found = looks(Lobe(Rising()))
    assert np.isnan(found.open_for)
    assert not found.is_a_lobe
    assert SHORTEST < LONGEST


def test_a_flank_that_creeps_and_a_nose_that_stands_are_told() -> None:
    plain = looks(law_lobe("4-5-6-7", PEAK, LENGTH))
    assert not plain.long_ramps
    assert not plain.flat_nose
    assert plain._replace(ramps=(0.1, LONG_RAMP + 1e-9)).long_ramps  # either flank
    assert plain._replace(nose=np.radians(32.1)).flat_nose
