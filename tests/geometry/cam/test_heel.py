"""Where the lift of a table is nothing."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.cam import heel as lobe_heel
from tallstack.geometry.cam import smooth as lobe_smooth


def test_a_heel_without_any_noise_is_where_the_lift_is_nothing() -> None:
    """A lobe that rises as a squared sine over 160 degrees and rests over 200; 5 degrees count off either end."""
    cam = np.degrees(lobe_smooth.FINE)
    curve = np.where(cam < 160.0, 8.0 * np.sin(np.pi * cam / 160.0) ** 2, 0.0)
    found = lobe_heel.find_heel(curve, lobe_smooth.FINE, curve, 0.0)
    assert found is not None
    flat = cam[found.flat]
    assert 160.0 < flat.min() < 190.0
    assert flat.min() + flat.max() == pytest.approx(160.0 + 360.0, abs=1.0)
    assert found.rest == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize(("scatter", "rests"), [(0.005, True), (0.1, False)])
def test_a_curve_that_waves_on_the_heel_rests_where_its_readings_do(scatter: float, rests: bool) -> None:
    """The same lobe, its curve 0.1 mm too high for 20 degrees amid the heel; the noise is said to be 0.01 mm."""
    cam = np.degrees(lobe_smooth.FINE)
    lift = np.where(cam < 160.0, 8.0 * np.sin(np.pi * cam / 160.0) ** 2, 0.0)
    curve = lift + np.where(np.abs(cam - 260.0) < 10.0, 0.1, 0.0)
    read = lift + scatter * np.resize([-1.0, 0.0, 1.0], len(cam))
    assert (lobe_heel.find_heel(curve, lobe_smooth.FINE, read, 0.01) is not None) == rests
