"""The connecting rod's swing and how close it and the skirt come, against a scan of the turn."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import Array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.fits import skirt

from .test_volume import CONTRACT, figures, value


def swung(mapping: Flat, degrees: Array) -> tuple[Array, Array]:
    """Return crank pin and wrist pin, (K, 2) each, from first principles: throw counted from upright."""
    throw, length = float(mapping["crank.stroke"]) / 2, float(mapping["crank.conrod_length"])  # type: ignore[arg-type]
    offset = float(mapping["piston.pin_offset"])  # type: ignore[arg-type]
    turn = np.radians(degrees)
    pin = np.stack([throw * np.sin(turn), throw * np.cos(turn)], axis=-1)
    wrist = np.stack(
        [np.full(turn.shape, offset), pin[:, 1] + np.sqrt(length**2 - (offset - pin[:, 0]) ** 2)], axis=-1
    )
    return pin, wrist


def beside(pin: Array, wrist: Array, spot: Array) -> Array:
    """Return the distance of places (K, 2) from the lines through two pins."""
    way = (wrist - pin) / np.linalg.norm(wrist - pin, axis=1)[:, None]
    offset = spot - pin
    return np.abs(offset[:, 0] * way[:, 1] - offset[:, 1] * way[:, 0])


@pytest.mark.parametrize("offset", [0.0, 1.5, -1.5])
@pytest.mark.parametrize("turns", ["forward", "backward"])
def test_the_rods_swing_and_distances_against_a_scan(offset: float, turns: str) -> None:
    mapping: Flat = {
        **CONTRACT,
        "piston.pin_offset": offset,
        "crank.turns": turns,
        "stack.mouth_width": 104.0,
        "stack.mouth_below": 40.0,
    }
    degrees = np.arange(0.0, 360.0, 0.005)
    pin, wrist = swung(mapping, degrees)
    lean = np.degrees(np.arctan2(pin[:, 0] - wrist[:, 0], wrist[:, 1] - pin[:, 1]))
    found = figures(skirt.swing, mapping)
    assert float(found["swing_forward"].value) == pytest.approx(lean.max(), abs=1e-6)
    assert float(found["swing_backward"].value) == pytest.approx(-lean.min(), abs=1e-6)
    skirts = [
        beside(pin, wrist, np.stack([np.full(len(degrees), side * 43.0), wrist[:, 1] - 22.0], axis=-1)).min()
        - 12.0
        for side in (-1, 1)
    ]
    assert value(skirt.skirt_to_beam, "skirt_to_conrod", mapping) == pytest.approx(min(skirts), abs=1e-5)
    lowest = wrist[:, 1].min() - 22.0
    assert value(skirt.skirt_to_counterweight, "skirt_to_counterweight", mapping) == pytest.approx(
        lowest - 78.0, abs=1e-6
    )
    for part, key, half, high in (
        (skirt.beam_to_spigot, "conrod_to_spigot", 49.5, 143.65 - 34.0),
        (skirt.beam_to_mouth, "conrod_to_mouth", 52.0, 143.65 - 40.0),
    ):
        between = (pin[:, 1] <= high) & (wrist[:, 1] >= high)
        edges = [
            beside(pin[between], wrist[between], np.tile([side * half, high], (int(between.sum()), 1))).min()
            for side in (-1, 1)
        ]
        assert value(part, key, mapping) == pytest.approx(min(edges) - 12.0, abs=1e-4), key
    assert value(skirt.hanging, "skirt_hangs", mapping) == pytest.approx(143.65 - 34.0 - lowest, abs=1e-6)


@pytest.mark.parametrize(("turns", "way"), [("forward", 90.0), ("backward", -90.0)])
def test_a_rod_swings_furthest_where_the_throw_is_square_to_the_cylinder(turns: str, way: float) -> None:
    found = figures(skirt.swing, {**CONTRACT, "crank.turns": turns})
    at = [np.degrees(np.asarray(found[f"swing_{side}"].at, dtype=float)) for side in ("forward", "backward")]
    assert at == pytest.approx([way, -way])
    closest = figures(skirt.skirt_to_beam, {**CONTRACT, "crank.turns": turns})["skirt_to_conrod"].at
    assert float(np.degrees(np.asarray(closest, dtype=float))) == pytest.approx(way)  # as near on either side


def test_the_angle_of_a_least_distance_counts_from_the_pistons_own_top() -> None:
    at = figures(skirt.skirt_to_counterweight, CONTRACT)["skirt_to_counterweight"].at
    assert at is not None
    assert float(at) == pytest.approx(np.pi)
    mapping: Flat = {**CONTRACT, "piston.pin_offset": 1.6, "crank.stroke": 91.0, "crank.conrod_length": 151.0}
    at = figures(skirt.skirt_to_counterweight, mapping)["skirt_to_counterweight"].at
    assert at is not None
    assert np.degrees(float(at)) == pytest.approx(
        180.40243836980767, abs=1e-9
    )  # published dead centres with offset
