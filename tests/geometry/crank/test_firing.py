"""Top centres of pistons whose pins and leans differ, against a scan."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.crank.firing import places

STEP_DEG = 0.01


def highest(lean: float, pin: float, offset: float, forward: bool, throw: float, rod: float) -> float:
    """Return the degrees turned at which a piston is highest, by points: crank pin, and wrist pin on its line."""
    turned = np.arange(0.0, 360.0, STEP_DEG)
    angle = np.radians((1.0 if forward else -1.0) * (turned + pin))
    axis = np.array([np.sin(np.radians(lean)), np.cos(np.radians(lean))])  # X forward, Z up
    across = np.array([axis[1], -axis[0]])  # the cylinder's x: forward, square to its axis
    crank_pin = throw * np.stack([np.sin(angle), np.cos(angle)], axis=-1)
    height = crank_pin @ axis + np.sqrt(rod**2 - (offset - crank_pin @ across) ** 2)
    return float(turned[height.argmax()])


@pytest.mark.parametrize("forward", [True, False])
@pytest.mark.parametrize("seed", range(8))
def test_top_centres_of_pistons_whose_wrist_pins_differ_against_a_scan(seed: int, forward: bool) -> None:
    """One piston turned round, for instance: its top centre moves, and what was counted by leans alone with it."""
    rng = np.random.default_rng([seed, 16])
    leans, pin = rng.uniform(-45.0, 45.0, 2), rng.choice([0.0, 76.0, 180.0])
    offset = rng.uniform(0.8, 2.0)
    offsets = (offset, -offset) if seed % 2 else (offset, 0.3)
    throw, rod = rng.uniform(40.0, 60.0), rng.uniform(140.0, 200.0)
    mapping: dict[str, object] = {
        "cylinders": ("one", "two"),
        "trains": (),
        "crank.turns": "forward" if forward else "backward",
        "crank.stroke": 2 * throw,
        "crank.conrod_length": rod,
        "one.lean": np.radians(leans[0]),
        "two.lean": np.radians(leans[1]),
        "two.pin": np.radians(pin),
        "one.piston.pin_offset": offsets[0],
        "two.piston.pin_offset": offsets[1],
    }
    first, second = (highest(leans[i], (0.0, pin)[i], offsets[i], forward, throw, rod) for i in (0, 1))
    gap = (second - first) % 360.0
    for turn in (0.0, 360.0):
        _, place = places({**mapping, "two.fires_at": np.radians(gap + turn)})  # type: ignore[dict-item]
        assert place.disagrees is None
        assert np.degrees(place.top_centre) == pytest.approx(gap, abs=1.5 * STEP_DEG)
        assert np.degrees(place.fires_at or 0.0) == pytest.approx((gap + turn) % 720, abs=1e-9)
    way = 1.0 if forward else -1.0
    by_leans = (way * (leans[1] - leans[0]) - pin) % 360.0
    _, place = places({**mapping, "two.fires_at": np.radians(by_leans)})  # type: ignore[dict-item]
    assert place.disagrees is None
    moved = (np.degrees(place.fires_at or 0.0) - gap + 180.0) % 360.0 - 180.0
    assert abs(moved) < 0.51
    _, place = places({**mapping, "two.fires_at": np.radians(gap + 3.0)})  # type: ignore[dict-item]
    assert place.disagrees == pytest.approx(np.radians(3.0), abs=np.radians(1.5 * STEP_DEG))
    unknown = {entry: value for entry, value in mapping.items() if entry != "crank.stroke"}
    _, place = places({**unknown, "two.fires_at": np.radians(gap + 3.0)})  # type: ignore[dict-item]
    assert place.disagrees is None  # by how much a top centre moves is not known
