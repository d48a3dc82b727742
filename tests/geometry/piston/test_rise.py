"""`piston.rise` against finite differences, slices of a bar, a rectangle turned in a slot, and figures of its own kind."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq
from tallstack.geometry.core.answer import Missing, of_cylinder
from tallstack.geometry.core.frames import array
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.piston.rise import (
    ALLOWED,
    BENDING,
    EXPLAINED,
    NEEDS_ROD,
    Rise,
    acceleration,
    arm_of_rim,
    rise,
    stretch_of,
)

OMEGA = 6000.0 * 2 * np.pi / 60
ENGINE: dict[str, Any] = {
    "cylinders": ("front",),
    "trains": (),
    "running.speed": OMEGA,
    "crank.stroke": 2 * 58.73,
    "crank.conrod_length": 194.82,
    "crank.conrod_area": 260.0,
    "crank.conrod_modulus": 207000.0,
    "crank.conrod_beam_mass": 0.28,
    "crank.big_end_clearance": 0.033,
    "crank.main_clearance": 0.010,
    "piston.mass": 0.62,
    "piston.pin_clearance": 0.018,
    "piston.skirt_clearance": 0.08,
    "piston.skirt_contact_length": 45.0,
    "stack.bore": 99.0,
}


def found(**more: Any) -> Rise:
    there = rise({**ENGINE, **more}, "front")
    assert isinstance(there, Rise)
    return there


def crank(offset: float = 0.0) -> Crank:
    return Crank(array(58.73), array(194.82), array(0.0), array(offset))


@pytest.mark.parametrize(("degrees", "metres"), [(0, 30175.2), (8, 29696.8), (15, 28507.3)])
def test_the_acceleration_of_a_long_stroke_at_six_thousand(degrees: float, metres: float) -> None:
    there = float(acceleration(crank(), array(np.radians(degrees)), True)) * OMEGA**2 / 1000
    assert there == pytest.approx(metres, abs=0.05)


@pytest.mark.parametrize("offset", [0.0, 1.5, -2.0])
@pytest.mark.parametrize("forward", [True, False])
def test_the_acceleration_is_the_second_difference_of_the_place(offset: float, forward: bool) -> None:
    moving, step = crank(offset), 1e-4
    angle = np.radians(np.arange(-180.0, 181.0, 7.0))
    ahead, here, back = (moving.height(angle + by, forward) for by in (step, 0.0, -step))
    assert acceleration(moving, angle, forward) == pytest.approx(
        -(ahead - 2 * here + back) / step**2, abs=2e-4
    )


def test_parts_of_a_long_stroke_at_six_thousand() -> None:
    there = found()
    assert float(there.stretch) == pytest.approx(0.08183, abs=5e-6)
    assert float(there.play) == pytest.approx(0.061)
    assert float(there.crank) == pytest.approx(0.05)
    assert float(there.rock) == pytest.approx(0.001778, abs=5e-7)
    assert float(there.rock * 49.5) == pytest.approx(0.0880, abs=5e-5)
    assert float(there.at(arm_of_rim(of_cylinder(ENGINE, "front")))) == pytest.approx(0.281, abs=5e-4)
    assert float(there.at(array(0.0))) == pytest.approx(0.193, abs=5e-4)


def test_all_of_the_rods_mass_on_its_piston_would_be_too_much() -> None:
    whole = stretch_of(
        of_cylinder({**ENGINE, "piston.mass": 0.62 + 0.28}, "front"), crank(), True, array(0.0)
    )
    assert float(whole) * OMEGA**2 > found().stretch * 1.1


def test_the_stretch_is_that_of_a_bar_in_slices() -> None:
    """The beam's slices swing from the small end's pull to the big end's circle; each pulls on all above it."""
    slices = 20000
    share = (np.arange(slices) + 0.5) / slices  # from the wrist pin down
    top = float(acceleration(crank(), array(0.0), True)) / 1000 * OMEGA**2
    low = 58.73 / 1000 * OMEGA**2
    own = 0.28 / slices * (top * (1 - share) + low * share)
    pull = 0.62 * top + np.cumsum(own) - own / 2
    stretch = float(np.sum(pull) / slices * 194.82 / (207000.0 * 260.0))
    assert found().stretch == pytest.approx(stretch, rel=1e-6)


@pytest.mark.parametrize(
    ("said", "share"), [("", 1.0), ("pressed down", 1.0), ("drawings", 0.5), ("pulled up", 0.0)]
)
def test_how_the_play_lay_decides_what_is_still_to_come(said: str, share: float) -> None:
    more = {"running.play_was": said} if said else {}
    assert float(found(**more).play) == pytest.approx(0.061 * share)


@pytest.mark.parametrize(("clearance", "length", "radius"), [(0.08, 45.0, 49.5), (0.15, 30.0, 40.0)])
def test_the_rock_is_that_of_a_rectangle_turned_in_a_slot(
    clearance: float, length: float, radius: float
) -> None:
    """The angle c / L is less than the exact one by two thousandths where L is much longer than c."""
    turned = brentq(
        lambda phi: length * np.sin(phi) - 2 * radius * (1 - np.cos(phi)) - clearance,
        0.0,
        clearance / length * 2,
    )
    there = found(**{"piston.skirt_clearance": clearance, "piston.skirt_contact_length": length})
    assert float(there.rock) == pytest.approx(turned, rel=0.01)
    assert float(there.rock) <= turned


def test_a_deck_read_at_the_rim_with_that_side_up_holds_the_rock_already() -> None:
    assert float(found(**{"running.deck_read": "rocked, at the rim"}).rock) == 0.0


def test_a_crank_that_nobody_measured_is_an_allowance_and_proves_nothing() -> None:
    there = found(**{"running.speed": OMEGA / 2})
    assert float(there.crank) == pytest.approx(0.05 / 4)
    assert there.unsaid == (BENDING,)
    assert there.allowed == pytest.approx(0.05 / 4)
    assert there.why == ALLOWED


def test_a_stated_bending_grows_with_the_square_of_the_speed() -> None:
    there = found(**{BENDING: 0.2, f"{BENDING}_at": OMEGA / 2})
    assert float(there.crank) == pytest.approx(0.8)
    assert there.unsaid == ()
    assert found(**{BENDING: 0.2}).unsaid == (f"{BENDING}_at",)


def test_an_engine_that_just_touched_tells_what_its_crank_bends() -> None:
    touched = {"crank.just_touched.squish": 0.35, "crank.just_touched.speed": OMEGA}
    there = found(**touched)
    arm = array(49.5)
    assert float(there.at(arm)) == pytest.approx(0.35)
    assert there.unsaid == ()
    explained = found(**{**touched, "crank.just_touched.squish": 0.2})
    assert float(explained.crank) == 0.0
    assert explained.why == EXPLAINED


def test_one_figure_for_all_growth_stands_alone_or_counts_where_it_is_the_greater() -> None:
    alone = rise({"cylinders": ("front",), "running.speed": OMEGA, "running.growth": 0.4}, "front")
    assert isinstance(alone, Rise)
    assert float(alone.at(array(49.5))) == 0.4
    assert not alone.in_parts
    assert float(found(**{"running.growth": 0.4}).at(array(49.5))) == 0.4
    less = found(**{"running.growth": 0.1})
    assert float(less.at(array(49.5))) == pytest.approx(0.281, abs=5e-4)
    assert "come to more" in less.told(array(49.5))


@pytest.mark.parametrize("entry", sorted(one for one in ENGINE if one.startswith(("crank", "piston"))))
def test_whatever_is_left_out_is_lacking(entry: str) -> None:
    there = rise({path: one for path, one in ENGINE.items() if path != entry}, "front")
    assert isinstance(there, Missing)
    assert any(one.endswith(entry) for one in there.entries)
    of_rod = entry in ("piston.mass", "crank.conrod_area", "crank.conrod_modulus")
    assert (there.why == NEEDS_ROD) == of_rod


def test_a_batch_is_as_its_engines() -> None:
    speeds = np.array([200.0, 400.0, 600.0])
    many = found(**{"running.speed": speeds, BENDING: 0.05, f"{BENDING}_at": OMEGA})
    for place, speed in enumerate(speeds):
        one = found(**{"running.speed": float(speed), BENDING: 0.05, f"{BENDING}_at": OMEGA})
        assert many.at(array(49.5))[place] == pytest.approx(float(one.at(array(49.5))), rel=1e-14)
