"""Whether a pushrod goes in past its cups, as it is asked of a job."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing, Values
from tallstack.geometry.core.frames import array
from tallstack.geometry.fits.put_in import put_in
from tallstack.geometry.pushrod.goes_in import FINGERS_MM

TRAIN = "front.intake"
BENCH: dict[str, object] = {
    "cylinders": ("front",),
    "trains": (TRAIN,),
    f"{TRAIN}.lifter.kind": "hydraulic",
    f"{TRAIN}.lifter.preload": 1.2,
    f"{TRAIN}.lifter.plunger_travel": 3.6,
    f"{TRAIN}.rocker.ratio": 1.63,
    f"{TRAIN}.pushrod.cup_depth_low": 2.1,
    f"{TRAIN}.pushrod.cup_depth_high": 3.0,
}


def told(**more: object) -> Values:
    found = put_in(
        {**BENCH, **{f"{TRAIN}.{path.replace('__', '.')}": one for path, one in more.items()}}, TRAIN
    )
    assert not isinstance(found, Missing)
    return found


def test_a_pushrod_that_is_longer_by_its_preload_has_to_pass_the_deeper_cup() -> None:
    """Worked by hand: preload 1.2 and 3.0 of cup, of the plunger's 3.6 mm."""
    found = told()
    assert float(found["goes_in"].value) == pytest.approx(3.6 - 1.2 - 3.0 - FINGERS_MM)
    assert float(found["valve_to_open"].value) == pytest.approx((0.6 + FINGERS_MM) * 1.63)
    assert "piston at the bottom" in found["valve_to_open"].note


def test_a_valve_pushed_open_and_an_adjuster_turned_back_make_room() -> None:
    opened = told(assembly__valve_opened=1.63, rocker__ratio_at_seat=1.5)
    assert float(opened["goes_in"].value) == pytest.approx(-0.6 - FINGERS_MM + 1.63 / 1.5)
    assert "pushed open" in opened["goes_in"].note
    back = told(assembly__adjuster_back=2.5)
    assert float(back["goes_in"].value) == pytest.approx(1.9 - FINGERS_MM)
    assert "valve_to_open" not in back


def test_the_preload_that_a_pushrod_gives_counts_not_the_one_wanted() -> None:
    found = put_in(BENCH, TRAIN, array([0.0, 1.2]))
    assert not isinstance(found, Missing)
    assert found["goes_in"].value == pytest.approx(np.array([0.6, -0.6]) - FINGERS_MM)


@pytest.mark.parametrize("lash_at", ["valve", "pushrod"])
def test_a_solid_lifter_gives_way_by_its_lash_alone(lash_at: str) -> None:
    mapping = {path: one for path, one in BENCH.items() if "preload" not in path and "travel" not in path}
    mapping |= {
        f"{TRAIN}.lifter.kind": "solid",
        f"{TRAIN}.lifter.lash": 0.3,
        f"{TRAIN}.lifter.lash_at": lash_at,
    }
    found = put_in(mapping, TRAIN)
    assert not isinstance(found, Missing)
    lash = 0.3 / (1.63 if lash_at == "valve" else 1.0)
    assert float(found["goes_in"].value) == pytest.approx(lash - 3.0 - FINGERS_MM)


def test_a_rocker_fitted_afterwards_holds_its_valve_open_by_the_preload() -> None:
    found = told(assembly__rocker_box="off")
    assert list(found) == ["held_open"]
    assert float(found["held_open"].value) == pytest.approx(1.2 * 1.63)
    assert "do not turn the crank" in found["held_open"].note


@pytest.mark.parametrize("lacking", ["lifter.plunger_travel", "pushrod.cup_depth_high", "lifter.preload"])
def test_what_is_not_known_is_named(lacking: str) -> None:
    found = put_in({path: one for path, one in BENCH.items() if not path.endswith(lacking)}, TRAIN)
    assert isinstance(found, Missing)
    assert f"{TRAIN}.{lacking}" in found.entries
