"""The connecting rod's swing and how close it and the skirt come, against a scan of the turn."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import Array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.result import Result, results
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


SPIGOT: Flat = {**CONTRACT, "piston.pin_offset": 1.2, "piston.oil_ring": 24.0, "piston.boss_below_pin": 17.0}


def lowest_pin(mapping: Flat) -> float:
    """Return the wrist pin's least height, from first principles."""
    return float(swung(mapping, np.arange(179.0, 181.0, 0.0005))[1][:, 1].min())


def test_the_oil_ring_at_bottom_centre_against_a_scan() -> None:
    ring = lowest_pin(SPIGOT) + float(SPIGOT["piston.compression_height"]) - 24.0  # type: ignore[arg-type]
    edge = 143.65 - 34.0
    own = figures(skirt.oil_ring_room, {**SPIGOT, "front.spigot.chamfer": 1.5})["oil_ring_room"]
    assert float(own.value) == pytest.approx(ring - edge - 1.5, abs=1e-6)
    assert own.unsaid == ()
    bare = figures(skirt.oil_ring_room, SPIGOT)["oil_ring_room"]
    assert float(bare.value) == pytest.approx(ring - edge, abs=1e-6)
    assert bare.unsaid == ("front.spigot.chamfer",)  # nobody entered it: nothing is proved without
    assert skirt.NO_CHAMFER in bare.note
    hangs = value(skirt.hanging, "oil_ring_hangs", SPIGOT)  # the name it has had
    assert hangs == pytest.approx(-(ring - edge), abs=1e-6)


def test_the_bore_ends_for_the_oil_ring_at_its_highest_relief() -> None:
    cut: Flat = {
        **SPIGOT,
        "front.spigot.chamfer": 1.0,
        "front.spigot.reliefs.0.height": 6.0,
        "front.spigot.reliefs.1.height": 9.0,
    }
    plain = value(skirt.oil_ring_room, "oil_ring_room", {**SPIGOT, "front.spigot.chamfer": 1.0})
    assert value(skirt.oil_ring_room, "oil_ring_room", cut) == pytest.approx(plain - 9.0)
    assert "highest relief" in figures(skirt.oil_ring_room, cut)["oil_ring_room"].note
    batch = value_of({**cut, "front.spigot.reliefs.0.height": np.array([6.0, 11.0])})
    assert batch == pytest.approx([plain - 9.0, plain - 11.0])


def value_of(mapping: Flat) -> list[float]:
    return np.asarray(figures(skirt.oil_ring_room, mapping)["oil_ring_room"].value, dtype=float).tolist()


def test_an_oil_ring_that_leaves_the_bore_is_short_in_those_words() -> None:
    declared = skirt.oil_ring_room.figures["oil_ring_room"]
    low: Flat = {**SPIGOT, "front.spigot.chamfer": 1.5, "piston.oil_ring": 64.0}
    for mapping in (low, {**low, "targets.oil_ring_least": 0.0}):
        (one,) = judged(mapping)
        assert one.verdict is Verdict.SHORT
        assert list(one.means) == [
            "the oil ring leaves the bore and will catch going back up: do not assemble"
        ]
    assert declared.least is not None
    assert declared.least.common == pytest.approx(0.060 * 25.4)
    (kept,) = judged({**low, "piston.oil_ring": 24.0})
    assert kept.verdict is Verdict.OK
    bare = {path: one for path, one in low.items() if not path.endswith("chamfer")}
    (unsaid,) = judged({**bare, "piston.oil_ring": 24.0})
    assert unsaid.verdict is Verdict.UNPROVED


def judged(mapping: Flat) -> list[Result]:
    entries = [path for path, one in mapping.items() if isinstance(one, float)]
    found = results(
        mapping,
        skirt.oil_ring_room,
        "front",
        {one: {one: 1.0} for one in entries},
        {one: Doubt(0.05) for one in entries},
    )
    assert not isinstance(found, Missing)
    return list(found.values())


def test_what_the_oil_ring_lacks_names_the_chamfer_too() -> None:
    bare: Flat = {path: one for path, one in SPIGOT.items() if path != "piston.oil_ring"}
    found = skirt.oil_ring_room(bare, "front")
    assert isinstance(found, Missing)
    assert found.entries == ("piston.oil_ring", "front.spigot.chamfer")


def test_the_skirt_out_of_the_bore_counts_its_chamfer() -> None:
    low: Flat = {**SPIGOT, "front.spigot.chamfer": 2.0, "piston.skirt_below_pin": 50.0}
    found = figures(skirt.hanging, low)
    out = (143.65 - 34.0 + 2.0) - (lowest_pin(low) - 50.0)
    assert float(found["skirt_out"].value) == pytest.approx(out, abs=1e-6)
    assert out > 0
    assert float(found["skirt_out_share"].value) == pytest.approx(out / 50.0, abs=1e-6)
    assert float(found["skirt_hangs"].value) == pytest.approx(out - 2.0, abs=1e-6)
    short = figures(skirt.hanging, {**low, "piston.skirt_below_pin": 6.0})
    assert float(short["skirt_out"].value) < 0
    assert float(short["skirt_out_share"].value) == 0.0


@pytest.mark.parametrize("offset", [0.0, 1.5, -1.5])
def test_pin_bosses_over_the_counterweights_against_a_scan(offset: float) -> None:
    mapping: Flat = {**SPIGOT, "piston.pin_offset": offset}
    found = figures(skirt.bosses_to_counterweight, mapping)["bosses_to_counterweight"]
    assert float(found.value) == pytest.approx(lowest_pin(mapping) - 17.0 - 78.0, abs=1e-6)
    if offset == 0.0:
        short = float(mapping["crank.conrod_length"]) - float(mapping["crank.stroke"]) / 2  # type: ignore[arg-type]
        assert float(found.value) == pytest.approx(short - 17.0 - 78.0)
    skirts = figures(skirt.skirt_to_counterweight, mapping)["skirt_to_counterweight"]
    assert found.at == pytest.approx(skirts.at)
