"""Readings of a lobe before anything is fitted: where the lifter rests."""

from __future__ import annotations

import numpy as np
from tallstack.geometry.cam import readings as lobe_readings


def test_a_lifter_that_never_moves_rests_at_the_ends_of_a_gap() -> None:
    (gap,) = lobe_readings.gaps(np.radians(np.arange(0.0, 300.0, 10.0)), np.zeros(30))
    assert gap.at_rest
