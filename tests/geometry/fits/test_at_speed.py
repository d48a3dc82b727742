"""`fits.at_speed`: squish against sums by hand, and heat against an engine of one material."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.result import results
from tallstack.geometry.fits import at_speed, volume

from ..piston.test_rise import ENGINE, OMEGA

REST: dict[str, Any] = {
    **ENGINE,
    "stack.case_deck": 150.0,
    "stack.base_gasket": 0.5,
    "stack.cylinder": 130.0,
    "stack.case_cut": 0.0,
    "stack.head_cut": 0.0,
    "stack.head_gasket": 1.05,
    "piston.compression_height": 25.5,
}
HOT = {
    "running.cold": 20.0,
    **{f"running.hot_{one}": 120.0 for one in ("case", "cylinder", "piston", "conrod", "crank")},
    **{f"materials.{one}": "aluminium" for one in ("case", "cylinder", "piston", "conrod", "crank")},
}


def value(group: Any, key: str, mapping: dict[str, Any]) -> float:
    found = group(mapping, "front")
    assert not isinstance(found, Missing), found
    return float(found[key].value)


def test_a_conrods_stretch_at_speed() -> None:
    """Inertia at the top: 0.5 kg, 50 mm, 400 rad/s and a quarter more for a rod of four throws: 5000 N."""
    fast = {
        **REST,
        "crank.stroke": 100.0,
        "crank.conrod_length": 200.0,
        "crank.conrod_area": 200.0,
        "crank.conrod_modulus": 200000.0,
        "piston.mass": 0.5,
        "crank.conrod_beam_mass": 0.0,
        "running.speed": 400.0,
    }
    assert value(at_speed.squish_at_speed, "conrod_stretch", fast) == pytest.approx(0.025)
    at_rest = value(volume.squish, "squish", fast)
    assert value(at_speed.squish_at_speed, "squish_at_speed", fast) == pytest.approx(at_rest - 0.025)


def test_a_beam_whose_mass_nobody_weighed_is_left_out_and_proves_nothing() -> None:
    bare = {path: one for path, one in REST.items() if path != "crank.conrod_beam_mass"}
    found = at_speed.squish_at_speed(bare, "front")
    assert not isinstance(found, Missing)
    assert found["squish_at_speed"].unsaid == ("crank.conrod_beam_mass",)
    assert found["squish_at_speed"].value > value(at_speed.squish_at_speed, "squish_at_speed", REST)
    assert isinstance(at_speed.squish_at_least(bare, "front"), Missing)


def test_the_least_squish_is_what_is_left_of_all_parts_together() -> None:
    rest = value(volume.squish, "squish", REST)
    parts = [f"rise_by_{one}" for one in ("rod", "play", "crank", "rock")]
    whole = sum(value(at_speed.squish_at_least, one, REST) for one in parts)
    assert whole == pytest.approx(0.281, abs=5e-4)
    assert value(at_speed.squish_at_least, "piston_rise", REST) == pytest.approx(whole)
    assert value(at_speed.squish_at_least, "squish_at_least", REST) == pytest.approx(rest - whole)


def test_one_figure_for_all_growth_needs_neither_rod_nor_play() -> None:
    plain = {
        path: one for path, one in REST.items() if not path.startswith(("crank.conrod_b", "piston.mass"))
    }
    found = at_speed.squish_at_least({**plain, "running.growth": 0.3}, "front")
    assert not isinstance(found, Missing)
    assert "rise_by_rod" not in found
    assert float(found["squish_at_least"].value) == pytest.approx(value(volume.squish, "squish", REST) - 0.3)


@pytest.mark.parametrize(("growth", "verdict"), [(0.3, Verdict.OK), (5.0, Verdict.SHORT)])
def test_contact_at_speed_is_short(growth: float, verdict: Verdict) -> None:
    mapping = {**REST, "running.growth": growth}
    quantities = {path: {path: 1.0} for path, one in mapping.items() if isinstance(one, float)}
    doubts = dict.fromkeys(quantities, Doubt(0.001))
    found = results(mapping, at_speed.squish_at_least, "front", quantities, doubts)
    assert not isinstance(found, Missing)
    if verdict is Verdict.OK:  # an allowance for the crank that nobody measured
        assert found["squish_at_least"].verdict is Verdict.UNPROVED
        stated = {**mapping, "crank.bending": 0.05, "crank.bending_at": OMEGA}
        quantities |= {path: {path: 1.0} for path in ("crank.bending", "crank.bending_at")}
        doubts = dict.fromkeys(quantities, Doubt(0.001))
        again = results(stated, at_speed.squish_at_least, "front", quantities, doubts)
        assert not isinstance(again, Missing)
        found = again
    assert found["squish_at_least"].verdict is verdict


def test_an_engine_of_one_material_keeps_its_squish_but_for_the_growth_of_its_gap() -> None:
    """Case, cylinder, rod, crank and piston grow alike: squish less gaskets grows as they do."""
    rest = value(volume.squish, "squish", REST)
    grows = 23.6e-6 * 100.0
    warm = value(at_speed.squish_hot, "squish_warm_through", {**REST, **HOT})
    assert warm - rest == pytest.approx((rest - 1.05 - 0.5) * grows, abs=1e-9)


def test_heat_of_a_long_aluminium_rod_is_of_the_size_of_everything_else() -> None:
    """A 196 mm rod of aluminium under iron: a fifth of a mm either way."""
    rest = value(volume.squish, "squish", REST)
    hot = {**REST, **HOT, "crank.conrod_length": 194.82}
    first = value(at_speed.squish_hot, "squish_piston_first", hot)
    lost = (194.82 + 58.73 + 25.5) * 23.6e-6 * 100.0
    assert rest - first == pytest.approx(lost, rel=1e-9)
    cold = {**hot, **{path: 20.0 for path in hot if path.startswith("running.hot_")}}
    for key in ("squish_warm_through", "squish_piston_first"):
        assert value(at_speed.squish_hot, key, cold) == pytest.approx(rest)


@pytest.mark.parametrize("entry", ["running.hot_piston", "running.cold", "materials.crank", "stack.cylinder"])
def test_heat_that_nobody_read_is_lacking(entry: str) -> None:
    mapping = {path: one for path, one in {**REST, **HOT}.items() if path != entry}
    found = at_speed.squish_hot(mapping, "front")
    assert isinstance(found, Missing)
    assert any(one.endswith(entry) for one in found.entries)


def test_a_batch_is_as_its_engines() -> None:
    masses = np.array([0.4, 0.62, 0.9])
    many = at_speed.squish_at_least({**REST, "piston.mass": masses}, "front")
    assert not isinstance(many, Missing)
    for place, mass in enumerate(masses):
        one = value(at_speed.squish_at_least, "squish_at_least", {**REST, "piston.mass": float(mass)})
        assert many["squish_at_least"].value[place] == pytest.approx(one, rel=1e-13)
