"""A lobe from readings at many angles: in pieces against all its waves, within one run."""

from __future__ import annotations

import time

import numpy as np
import pytest
from tallstack.geometry.cam.lobe import Pieces, Series

TIMES = 5
LEAST = 8.0  # times as fast


@pytest.mark.benchmark
def test_a_series_in_pieces_is_many_times_as_fast() -> None:
    rng = np.random.default_rng(1)
    whole = Series(1.0, rng.normal(size=60), rng.normal(size=60))
    at = rng.uniform(-4, 4, 100_000)

    def taken(curve: Series | Pieces) -> float:
        started = time.perf_counter()
        curve.at(at, 0)
        return time.perf_counter() - started

    pieces = Pieces.of(whole)
    ratio = min(taken(whole) for _ in range(TIMES)) / min(taken(pieces) for _ in range(TIMES))
    print(f"\na lobe's lift at 100,000 angles, in pieces: {ratio:.1f} times as fast")
    assert ratio > LEAST
