"""The smoothed series of a lobe: waves told exactly, derivatives and penalty against sums, its strength against every fit."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.cam import smooth as lobe_smooth


def test_a_single_wave_on_the_fine_grid() -> None:
    for order in (2, 3):
        wave = np.zeros(7)
        wave[order] = 1.0
        assert lobe_smooth.on_fine(wave) == pytest.approx(np.cos(order * lobe_smooth.FINE), abs=1e-12)


def test_the_spread_of_a_fit_is_that_of_its_readings() -> None:
    angle = np.radians(np.arange(-180.0, 180.0, 10.0)[:31])
    terms = np.r_[0:4, lobe_smooth.HARMONICS + 1 : lobe_smooth.HARMONICS + 4]
    design = lobe_smooth.columns(angle)[:, terms]
    found = lobe_smooth.smoothed(design, np.cos(angle) ** 2, np.diag(np.arange(1.0, 7.0)), 0.1)
    assert ((design @ found.spread) ** 2).sum(axis=1) == pytest.approx(found.leverage)
