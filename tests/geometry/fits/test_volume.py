"""Fits in the plane of swing, volumes, ports and tubes: exact special cases and independent scans.

Figures, measured on two cores with CPython 3.11:

- swing, skirt, spigot and mouth against a scan of the pins at 0.005°: within 1e-4 mm; limit: 1e-3 mm
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.answer import Group, Missing, Values
from tallstack.geometry.core.frames import array, from_lean, point
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.doubt.result import results
from tallstack.geometry.fits import skirt, studs, volume
from tallstack.geometry.piston.crown import pocket

from ...seeded import few
from ..engine.test_alternatives import PLAIN_ENGINE

CONTRACT: Flat = {
    "cylinders": ("front", "rear"),
    "trains": (),
    "crank.stroke": 112.4,
    "crank.conrod_length": 196.0,
    "crank.turns": "forward",
    "crank.counterweight_radius": 78.0,
    "crank.conrod_beam_width": 24.0,
    "piston.compression_height": 34.0,
    "piston.pin_offset": 0.0,
    "piston.skirt_below_pin": 22.0,
    "piston.skirt_inner": 86.0,
    "chamber.volume": 88.0e3,
    "chamber.gasket_bore": 100.0,
    "stack.bore": 99.0,
    "stack.case_deck": 143.65,
    "stack.base_gasket": 0.5,
    "stack.cylinder": 142.6,
    "stack.head_gasket": 1.1,
    "front.lean": np.radians(27),
    "rear.lean": np.radians(-27),
    "front.spigot.length": 34.0,
    **{
        f"front.intake_face.centre.{axis}": value
        for axis, value in zip("xyz", (-62.0, 0.0, 58.0), strict=True)
    },
    **{
        f"front.intake_face.normal.{axis}": value
        for axis, value in zip("xyz", (-0.94, 0.0, -0.34), strict=True)
    },
    **{
        f"rear.intake_face.centre.{axis}": value for axis, value in zip("xyz", (62.0, 0.0, 58.0), strict=True)
    },
    **{
        f"rear.intake_face.normal.{axis}": value
        for axis, value in zip("xyz", (0.94, 0.0, -0.34), strict=True)
    },
    **{f"front.points.steady.{axis}": value for axis, value in zip("xyz", (10.0, 0.0, 120.0), strict=True)},
}


def figures(part: Group[[Flat, str]], mapping: Flat, name: str = "front") -> Values:
    found = part(mapping, name)
    assert not isinstance(found, Missing), found
    return found


def value(part: Group[[Flat, str]], key: str, mapping: Flat, name: str = "front") -> float:
    return float(figures(part, mapping, name)[key].value)


def test_deck_squish_and_ratio_of_the_contracts_job() -> None:
    assert value(volume.squish, "deck", CONTRACT) == pytest.approx(0.55)
    assert value(volume.squish, "squish", CONTRACT) == pytest.approx(1.65)
    swept = np.pi / 4 * 9.9**2 * 11.24
    assert value(volume.displacement, "displacement", CONTRACT) == pytest.approx(swept)
    over = 88.0 + np.pi / 4 * (10.0**2 * 0.11 + 9.9**2 * 0.055)
    assert value(volume.compression, "compression_ratio", CONTRACT) == pytest.approx((swept + over) / over)


def test_the_gasket_that_is_offered_gives_the_ratio_and_the_squish() -> None:
    wanted: Flat = {**CONTRACT, "targets.compression_ratio": 9.0, "targets.squish_least": 1.2}
    found = figures(volume.compression, wanted)
    thicker = {**wanted, "stack.head_gasket": float(found["gasket_for_ratio"].value)}
    assert value(volume.compression, "compression_ratio", thicker) == pytest.approx(9.0)
    higher = {**wanted, "stack.cylinder": 142.6 + float(found["deck_for_ratio"].value) - 0.55}
    assert value(volume.compression, "compression_ratio", higher) == pytest.approx(9.0)
    gasket = value(volume.squish, "gasket_for_squish_least", wanted)
    assert value(volume.squish, "squish", {**wanted, "stack.head_gasket": gasket}) == pytest.approx(1.2)


def test_a_suggestion_says_what_squish_it_leaves() -> None:
    wanted: Flat = {**CONTRACT, "targets.compression_ratio": 9.0}
    found = figures(volume.compression, wanted)
    thicker = {**wanted, "stack.head_gasket": float(found["gasket_for_ratio"].value)}
    assert float(found["squish_with_gasket_for_ratio"].value) == pytest.approx(
        value(volume.squish, "squish", thicker)
    )
    taller = {**wanted, "stack.cylinder": 142.6 + float(found["deck_for_ratio"].value) - 0.55}
    assert float(found["squish_with_deck_for_ratio"].value) == pytest.approx(
        value(volume.squish, "squish", taller)
    )


def test_valves_sunk_since_add_to_the_chamber() -> None:
    two: Flat = {
        **CONTRACT,
        "trains": ("front.intake", "front.exhaust", "rear.intake"),
        "front.intake.valve.sink": 0.6,
        "front.intake.valve.head_diameter": 49.0,
        "front.exhaust.valve.sink": 0.4,
        "rear.intake.valve.sink": 5.0,
        "rear.intake.valve.head_diameter": 49.0,
    }
    plain, found = figures(volume.compression, CONTRACT), figures(volume.compression, two)
    assert "sunk_volume" not in plain
    added = np.pi / 4 * 4.9**2 * 0.06
    assert float(found["sunk_volume"].value) == pytest.approx(added)
    assert float(found["volume_at_top"].value) == pytest.approx(float(plain["volume_at_top"].value) + added)
    assert found["volume_at_top"].note == (
        "front.exhaust.valve.sink is not counted: that takes valve.head_diameter"
    )
    cut = figures(volume.compression, {**CONTRACT, "stack.head_cut": 0.3})
    assert "head_cut is not counted" in cut["volume_at_top"].note
    assert "chamber.volume" in cut["volume_at_top"].unsaid
    gone = figures(volume.compression, {**CONTRACT, "stack.head_cut": 0.3, "chamber.head_cut": 0.3})
    assert (
        gone["volume_at_top"] == figures(volume.compression, CONTRACT)["volume_at_top"]
    )  # measured after the cut
    half = figures(volume.compression, {**CONTRACT, "stack.head_cut": 0.3, "chamber.head_cut": 0.1})
    assert half["volume_at_top"].note == cut["volume_at_top"].note
    assert plain["volume_at_top"].note == ""


@pytest.mark.parametrize("seed", few(range(12), 3))
def test_a_pockets_volume_against_columns(seed: int) -> None:
    rng = np.random.default_rng([seed, 31])
    lean = from_lean(*np.radians(rng.uniform(-24, 24, 2)))
    one = pocket(array(rng.uniform(-4, 4, 2)), lean, array(rng.uniform(30, 50)), array(rng.uniform(0.5, 6)))
    count = 240
    across = (np.arange(count) + 0.5) / count * 90 - 45
    places = np.stack(np.meshgrid(across, across), axis=-1).reshape(-1, 2)
    levels = np.linspace(-8.0, 0.0, 129)
    middle = (levels[1:] + levels[:-1]) / 2
    counted = 0.0
    for level in middle:  # slices, which see under a lip too
        seen = point(places[:, 0], places[:, 1], level)
        offset = seen - one.centre
        along = offset @ lean
        out = np.linalg.norm(offset - along[:, None] * lean, axis=1)
        counted += float(((out < one.radius) & (along > -one.sunk)).sum())
    counted *= (90 / count) ** 2 * (levels[1] - levels[0])
    assert float(volume.pocket_volume(one)) == pytest.approx(counted, rel=1e-2, abs=4.0)


def test_upright_pocket_dome_and_dish_are_exact() -> None:
    upright = pocket(array([1.0, 2.0]), from_lean(0.0, 0.0), array(40.0), array(3.0))
    assert float(volume.pocket_volume(upright)) == pytest.approx(np.pi * 400 * 3)
    assert float(volume.cap_volume(array(20.0), array(20.0))) == pytest.approx(
        2 / 3 * np.pi * 8000
    )  # half a ball
    dish: Flat = {**CONTRACT, "piston.dish.depth": 2.0, "piston.dish.diameter": 70.0}
    plain, dished = (value(volume.compression, "crown_volume", one) for one in (CONTRACT, dish))
    assert plain == 0.0
    assert dished == pytest.approx(float(volume.cap_volume(array(2.0), array(35.0))) / 1000)


def test_pockets_that_meet_ask_for_the_measured_volume() -> None:
    def cut(name: str, x: float) -> dict[str, float]:
        return {
            f"{name}.pocket.centre.x": x,
            f"{name}.pocket.centre.y": 0.0,
            f"{name}.pocket.lean.x": 0.0,
            f"{name}.pocket.lean.y": 0.0,
            f"{name}.pocket.diameter": 40.0,
            f"{name}.pocket.depth": 3.0,
        }

    two = ("front.intake", "front.exhaust")
    apart: Flat = {**CONTRACT, "trains": two, **cut(two[0], -20.5), **cut(two[1], 20.5)}
    together: Flat = {**CONTRACT, "trains": two, **cut(two[0], -18.0), **cut(two[1], 18.0)}
    assert value(volume.compression, "crown_volume", apart) == pytest.approx(2 * np.pi * 400 * 3 / 1000)
    found = volume.compression(together, "front")
    assert isinstance(found, Missing)
    assert found.entries == ("piston.crown_volume",)
    entered: Flat = {**together, "piston.crown_volume": 7000.0}
    assert value(volume.compression, "crown_volume", entered) == pytest.approx(7.0)


@pytest.mark.parametrize("turn", range(0, 360, 30))
@pytest.mark.parametrize(("apart", "meet"), [(39.99, True), (40.01, False)])
def test_pockets_meet_by_a_hundredth_whichever_way_they_lie(turn: int, apart: float, meet: bool) -> None:
    """Of `_meet` alone, all the way round."""
    aside = apart / 2 * np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
    two = [pocket(way * aside, from_lean(0.0, 0.0), array(40.0), array(3.0)) for way in (1.0, -1.0)]
    assert volume._meet(two) == meet


def test_doubts_and_undoubted_entries_of_a_fit() -> None:
    quantities = {path: {path: 1.0} for path in ("stack.cylinder", "crank.stroke", "stack.bore")}
    from tallstack.geometry.doubt.budget import Doubt

    found = results(
        CONTRACT,
        volume.squish,
        "front",
        quantities,
        {"stack.cylinder": Doubt(0.03), "crank.stroke": Doubt(0.04)},
    )
    assert not isinstance(found, Missing)
    squish = found["squish"]
    assert squish.slopes["stack.cylinder"] == pytest.approx(1.0)
    assert squish.slopes["crank.stroke"] == pytest.approx(-0.5)
    assert squish.budget.standard == pytest.approx(np.hypot(0.03, 0.02) / np.sqrt(3))
    assert squish.budget.undoubted == ()


def test_batches_are_singles() -> None:
    varied: Flat = {
        **CONTRACT,
        "stack.cylinder": np.array([[141.0], [142.6]]),
        "crank.stroke": np.array([108.0, 112.4, 114.0]),
    }
    for part in (
        volume.squish,
        volume.compression,
        skirt.swing,
        skirt.skirt_to_beam,
        skirt.beam_to_spigot,
        skirt.skirt_to_counterweight,
    ):
        batch = figures(part, varied)
        for index in np.ndindex(2, 3):
            single = figures(
                part,
                {
                    **CONTRACT,
                    "stack.cylinder": [141.0, 142.6][index[0]],
                    "crank.stroke": [108.0, 112.4, 114.0][index[1]],
                },
            )
            for key, figure in single.items():
                there = np.broadcast_to(batch[key].value, (2, 3))[index]
                assert there == pytest.approx(float(figure.value), abs=1e-9), (part, key)


def test_what_is_taken_for_crown_gasket_and_washer_is_said_and_proves_nothing() -> None:
    told: Flat = {**CONTRACT, "piston.crown_volume": 0.0}
    assert figures(volume.compression, told)["compression_ratio"].unsaid == ()
    flat = figures(volume.compression, CONTRACT)["compression_ratio"]
    assert flat.unsaid == ("piston.crown_volume",)
    open_ring = {path: value for path, value in told.items() if path != "chamber.gasket_bore"}
    assert figures(volume.compression, open_ring)["compression_ratio"].unsaid == ("chamber.gasket_bore",)
    assert "gasket_bore" in figures(volume.compression, open_ring)["volume_at_top"].note
    found = results(open_ring, volume.compression, "front", {}, {})
    assert not isinstance(found, Missing)
    assert not found["compression_ratio"].proved
    stud: Flat = {**CONTRACT, "studs.stands": 170.0, "studs.head_seat": 10.0, "studs.diameter": 10.0}
    thread = figures(studs.engagement, stud)["thread_diameters"]
    assert thread.unsaid == ("studs.washer",)
    assert figures(studs.engagement, {**stud, "studs.washer": 0.0})["thread_diameters"].unsaid == ()


@pytest.mark.parametrize("deck", [0.3, 0.0, -0.3])
def test_the_gasket_for_a_squish_makes_up_for_a_piston_that_stands_out(deck: float) -> None:
    """Where the crown plane is 239 mm above the crank."""
    mapping: Any = {
        **PLAIN_ENGINE,
        "stack.case_deck": 239.0 - 100.5 + deck,
        "targets.squish_least": 1.2,
        "targets.squish_most": 1.5,
    }
    found = volume.squish(mapping, "one")
    assert not isinstance(found, Missing)
    assert float(found["squish"].value) == pytest.approx(1.0 + deck)
    assert float(found["gasket_for_squish_least"].value) == pytest.approx(1.2 - deck)
    assert float(found["gasket_for_squish_most"].value) == pytest.approx(1.5 - deck)
