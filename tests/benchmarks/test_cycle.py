"""How long the minima through the cycle take, by processor time, on crowns with two pockets and without.

The least room to a pocket's wall is searched over every angle at which the rim is below the crown.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
import pytest
from tallstack.geometry.piston.cycle import drop_at, gap_at, least_between, least_drop, least_gap, least_wall

from ..geometry.piston.test_cycle import engine

ENGINES = 5
TIMES = 3
POSES = np.radians(np.linspace(-12.0, 12.0, 160))
GRID = np.linspace(0.1, 3.0, 96 * 60).reshape(60, 96)
REFERENCE_MS = (
    6.0  # of `reference` where the bounds were set, by how much slower the search is where it takes 14
)
MOST_MS = {
    ("plane", "drop"): 3.0,
    ("plane", "gap"): 3.0,
    ("pockets", "drop"): 40.0,
    ("pockets", "gap"): 80.0,
    ("pockets", "wall"): 60.0,
    ("pockets", "between"): 60.0,
    ("pockets", "drop of 160 poses"): 40.0,
    ("pockets", "gap of 160 poses"): 80.0,
}


def milliseconds(asked: Callable[[], object]) -> float:
    """Return the processor time of one call, the median of some."""
    asked()
    found = []
    for _ in range(TIMES):
        started = time.process_time()
        asked()
        found.append((time.process_time() - started) * 1e3)
    return statistics.median(found)


def reference() -> None:
    """Do so much of what the search is made of: arrays of some thousand numbers, one pass after another."""
    for _ in range(100):
        np.where(np.hypot(np.cos(GRID), GRID) < 1.0, GRID, np.sqrt(GRID)).min(axis=-1)


def timings(kind: str, seed: int) -> dict[str, float]:
    below, valves = engine(np.random.default_rng([seed, 99]), kind)
    valve = valves[0]
    least = least_drop(below, valve)[0].angle
    return {
        "drop": milliseconds(lambda: least_drop(below, valve)),
        "gap": milliseconds(lambda: least_gap(below, valve, least)),
        "wall": milliseconds(lambda: least_wall(below, valve)),
        "between": milliseconds(lambda: least_between(*valves)),
        "drop of 160 poses": milliseconds(lambda: drop_at(below, valve, least + POSES)),
        "gap of 160 poses": milliseconds(lambda: gap_at(below, valve, least + POSES)),
    }


@pytest.mark.benchmark
@pytest.mark.parametrize("kind", ["plane", "pockets"])
def test_minima_through_the_cycle(kind: str) -> None:
    """The bounds are about twice the medians, to notice what has become slow, on a machine of this one's speed."""
    slowness = max(1.0, milliseconds(reference) / REFERENCE_MS)
    rows = [timings(kind, seed) for seed in range(ENGINES)]
    print(f"\n{kind}, ms of processor time, median (longest) of {ENGINES} engines")
    for name in rows[0]:
        found = [row[name] for row in rows]
        print(f"  {name:18} {statistics.median(found):7.2f} ({max(found):.2f})")
        assert statistics.median(found) < slowness * MOST_MS.get((kind, name), np.inf)
