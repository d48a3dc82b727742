"""`fits.bore_fit` against figures by hand, thick rings in finite elements, and what is refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.result import results
from tallstack.geometry.fits.bore_fit import (
    DISAGREE,
    NOT_IN,
    ONE_READING,
    SWEEP,
    Ring,
    bore_fit,
    bore_growth,
    gripping,
)

from ..piston.test_bore_read import engine

IRON, ALUMINIUM = (110e3, 0.26, 11.4e-6), (72e3, 0.33, 21.5e-6)
PISTON = {"piston.diameter": 98.895, "front.bore_readings.lay_together": "yes"}
HOT = {
    "materials.cylinder": "cast aluminium",
    "materials.expansion_cylinder": 17.353,
    "materials.expansion_piston": 19.5,
    "running.hot_cylinder": 110.0,
    "running.hot_piston": 140.0,
}


def figures(mapping: dict[str, Any]) -> dict[str, Any]:
    found = bore_fit(mapping, "front")
    assert not isinstance(found, Missing), found
    return found


def value(key: str, mapping: dict[str, Any]) -> float:
    return float(figures(mapping)[key].value)


def test_a_worn_bore_and_its_piston() -> None:
    there = engine(**PISTON)
    expected = {
        "piston_clearance": 0.065,
        "piston_clearance_loosest": 0.095,
        "bore_taper": 0.028,
        "bore_out_of_round": 0.015,
        "bore_wear": 0.030,
    }
    for key, one in expected.items():
        assert value(key, there) == pytest.approx(one, abs=1e-9), key
    assert SWEEP in figures(there)["bore_out_of_round"].note
    assert value("bore_wear", {**there, "front.bore_readings.new_size": 98.950}) == pytest.approx(0.040)


def test_when_the_room_is_gone_and_what_is_left_hot() -> None:
    there = engine(**PISTON, **HOT)
    assert value("room_gone_cold", there) == pytest.approx(33.7, abs=0.05)
    assert value("room_gone_warm", there) == pytest.approx(23.8, abs=0.06)
    assert value("clearance_hot", there) == pytest.approx(-0.012, abs=5e-4)


def test_both_are_brought_to_twenty_degrees_where_their_heat_was_read() -> None:
    apart = engine(**PISTON, **HOT)
    del apart["front.bore_readings.lay_together"]
    warm = {"front.bore_readings.bore_temperature": 25.0, "front.bore_readings.piston_temperature": 24.0}
    cooled = value("piston_clearance", {**apart, **warm}) - 0.065
    assert cooled == pytest.approx(-98.960 * 17.353e-6 * 5 + 98.895 * 19.5e-6 * 4)
    assert figures(apart)["piston_clearance"].unsaid == ("front.bore_readings.lay_together",)
    assert figures({**apart, **warm})["piston_clearance"].unsaid == ()
    one_kelvin = {**apart, **warm, "front.bore_readings.piston_temperature": 25.0}
    assert value("piston_clearance", one_kelvin) - 0.065 - cooled == pytest.approx(0.0019, abs=5e-5)


@pytest.mark.parametrize(
    ("radii", "expected"), [((49.5, 53.5, 62.0), 17.353e-6), ((49.5, 52.0, 60.0), 18.276e-6)]
)
def test_a_liner_in_a_jacket(radii: tuple[float, float, float], expected: float) -> None:
    a, b, c = map(array, radii)
    liner, jacket = Ring(a, b, *IRON[:2], array(IRON[2])), Ring(b, c, *ALUMINIUM[:2], array(ALUMINIUM[2]))
    assert gripping(liner, jacket) == pytest.approx(expected, abs=5e-10)
    assert gripping(liner, jacket) == pytest.approx(in_elements(radii), rel=1e-9)


def in_elements(radii: tuple[float, float, float], count: int = 1000) -> float:
    """Return the bore's growth of two rings by radial finite elements in plane stress [1/K].

    Exact between nodes for u = A·r + B/r, of which each element has its own two.
    """
    a, b, c = radii
    nodes = np.concatenate([np.linspace(a, b, count + 1), np.linspace(b, c, count + 1)[1:]])
    stiff, load = np.zeros((3, len(nodes))), np.zeros(len(nodes))
    for place in range(len(nodes) - 1):
        modulus, poisson, alpha = IRON if place < count else ALUMINIUM
        low, high = nodes[place], nodes[place + 1]
        shape = np.array([[low, 1 / low], [high, 1 / high]])
        stress = (
            modulus
            / (1 - poisson**2)
            * np.array([[1 + poisson, -(1 - poisson) / low**2], [1 + poisson, -(1 - poisson) / high**2]])
        )
        force = np.diag([-low, high]) @ stress @ np.linalg.inv(shape)
        free = modulus / (1 - poisson) * alpha * np.array([-low, high])
        stiff[1, place] += force[0, 0]
        stiff[1, place + 1] += force[1, 1]
        stiff[0, place + 1] += force[0, 1]
        stiff[2, place] += force[1, 0]
        load[place : place + 2] += free
    from scipy.linalg import solve_banded

    return float(solve_banded((1, 1), stiff, load)[0] / a)


def test_a_liner_whose_radii_nobody_knows_grows_between_both() -> None:
    stuff = {"materials.cylinder": "cast aluminium", "materials.liner": "grey iron"}
    found = bore_growth(engine(**stuff), "front", array(99.0))
    assert found is not None
    assert (float(found.least), float(found.most)) == (11.4e-6, 21.5e-6)
    radii = {"front.liner.outer_diameter": 107.0, "front.liner.jacket_diameter": 124.0}
    held = bore_growth(engine(**stuff, **radii), "front", array(99.0))
    assert held is not None
    assert 11.4e-6 < float(held.least) == float(held.most) < 21.5e-6
    assert bore_growth(engine(), "front", array(99.0)) is None


def judged(mapping: dict[str, Any], **doubts: float) -> dict[str, Any]:
    quantities = {path: {path: 1.0} for path, one in mapping.items() if isinstance(one, float)}
    stated = {path: Doubt(doubts.get(path.rpartition(".")[2], 0.002)) for path in quantities}
    found = results(mapping, bore_fit, "front", quantities, stated)
    assert not isinstance(found, Missing)
    return found


def test_a_limit_is_the_owners_alone() -> None:
    plain = judged(engine(**PISTON))
    assert plain["piston_clearance"].verdict is None
    assert plain["bore_taper"].verdict is None
    tight = judged(engine(**PISTON, **{"targets.piston_clearance_least": 0.05, "targets.taper": 0.02}))
    assert tight["piston_clearance"].verdict is Verdict.OK
    assert tight["bore_taper"].verdict is Verdict.SHORT


def test_a_piston_larger_than_its_bore_does_not_go_in() -> None:
    found = judged(engine(**{**PISTON, "piston.diameter": 98.97}))
    assert found["piston_clearance"].verdict is Verdict.SHORT
    assert tuple(found["piston_clearance"].means) == (NOT_IN,)


def test_a_height_or_a_direction_that_was_not_read_proves_nothing() -> None:
    some = engine(**PISTON, **{"targets.piston_clearance_least": 0.05})
    del some["front.bore_readings.bottom_along"]
    found = judged(some)
    assert found["piston_clearance"].verdict is Verdict.UNPROVED
    assert "front.bore_readings.bottom_along" in found["piston_clearance"].budget.undoubted


def test_one_reading_is_not_a_bore() -> None:
    one = {"cylinders": ("front",), "front.bore_readings.top_across": 98.99, **PISTON}
    found = bore_fit(one, "front")
    assert isinstance(found, Missing)
    assert found.why == ONE_READING
    assert len(found.entries) == 5


@pytest.mark.parametrize(("top", "disagrees"), [(0.45 + np.pi * 0.0215, False), (0.60, True)])
def test_a_rings_gap_tells_the_bores_taper_again(top: float, disagrees: bool) -> None:
    gaps = {"front.bore_readings.gap_top": top, "front.bore_readings.gap_bottom": 0.45}
    found = judged(engine(**PISTON, **gaps), gap_top=0.01, gap_bottom=0.01)["gauge_less_gap"]
    assert found.value == pytest.approx((top - 0.45) / np.pi - 0.0215)
    assert found.look_again == ((DISAGREE,) if disagrees else ())
