"""Inch and metric threads: what a turn and a flat are worth.

Source: ASME B1.1 and ISO 261 designations and pitches as read in the package bd_warehouse 0.4.0,
`data/tap_hole_sizes.csv` (M5-0.8, M6-1, M8-1.25, M8-1, #10-32, 1/4-28, 5/16-24, 3/8-24, 7/16-20) and
`fastener.py` (pitch is 1 in over the threads per inch). Status: VERIFIED; the standards themselves were not
readable. The decimals are DERIVED, one turn is one pitch and one flat a sixth of it.
A public worked example (VERIFIED, a forum page): 0.008 in on a 1.0 mm pitch is "73.15 degrees".
"""

from __future__ import annotations

import pytest
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine.alternatives import pitch

INCH_THREADS = [  # threads per inch, turn in, turn mm, flat in, flat mm
    (32, 0.03125, 0.79375, 0.005208333333333333, 0.13229166666666667),
    (28, 0.03571428571428571, 0.9071428571428571, 0.005952380952380952, 0.15119047619047618),
    (24, 0.041666666666666664, 1.0583333333333333, 0.006944444444444444, 0.17638888888888887),
    (20, 0.05, 1.27, 0.008333333333333333, 0.21166666666666667),
]
METRIC_THREADS = [  # pitch mm, turn in, flat mm
    (0.8, 0.031496062992125984, 0.13333333333333333),
    (1.0, 0.03937007874015748, 0.16666666666666666),
    (1.25, 0.04921259842519685, 0.20833333333333334),
]


def of(**entries: float) -> float:
    """Return the pitch that these entries of an adjuster say, mm."""
    found = pitch(Reader({f"t.{name}": value for name, value in entries.items()}, ("",)), "t")
    assert found is not None
    return float(found)


@pytest.mark.parametrize(("threads", "turn_in", "turn_mm", "flat_in", "flat_mm"), INCH_THREADS)
def test_inch_threads(threads: int, turn_in: float, turn_mm: float, flat_in: float, flat_mm: float) -> None:
    turn = of(threads_per_inch=threads)
    assert turn == pytest.approx(turn_mm, rel=1e-15)
    assert turn / 25.4 == pytest.approx(turn_in, rel=1e-15)
    assert turn / 6 == pytest.approx(flat_mm, rel=1e-15)
    assert turn / 6 / 25.4 == pytest.approx(flat_in, rel=1e-15)


@pytest.mark.parametrize(("metric", "turn_in", "flat_mm"), METRIC_THREADS)
def test_metric_threads(metric: float, turn_in: float, flat_mm: float) -> None:
    assert of(pitch=metric) / 25.4 == pytest.approx(turn_in, rel=1e-15)
    assert of(pitch=metric) / 6 == pytest.approx(flat_mm, rel=1e-15)


def test_degrees_of_a_turn_for_eight_thou() -> None:
    assert 0.008 * 25.4 / of(pitch=1.0) * 360 == pytest.approx(73.15, abs=0.005)
