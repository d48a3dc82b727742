"""Metal left under a cut: what there was less the cut, and what was not measured is asked for."""

from __future__ import annotations

import pytest
from tallstack.geometry.engine.metal import metal

MEASURED = {"piston.crown_thickness": 6.5, "piston.ring_land": 5.0}


def test_what_is_left_is_what_there_was_less_the_cut() -> None:
    left = metal(MEASURED, "one", "one.intake.pocket.depth", 2.0)
    assert (left.under, left.land, left.lacks) == (4.5, 3.0, ())
    assert not left.cut_through


@pytest.mark.parametrize(("depth", "through"), [(4.99, False), (5.0, True), (7.0, True)])
def test_a_cut_as_deep_as_the_thinner_of_the_two_goes_through(depth: float, through: bool) -> None:
    assert metal(MEASURED, "one", "", depth).cut_through is through


def test_what_was_not_measured_is_named_and_nothing_is_taken_for_it() -> None:
    left = metal({"piston.ring_land": 5.0}, "one", "", 2.0)
    assert (left.under, left.land, left.lacks) == (None, 3.0, ("piston.crown_thickness",))
    blank = metal({}, "one", "one.intake.pocket.depth", None)
    assert blank.lacks == ("piston.crown_thickness", "piston.ring_land", "one.intake.pocket.depth")
    assert not blank.cut_through
    assert metal(MEASURED, "one", "", None) == (None, None, ())


def test_a_cylinders_own_piston_goes_before_the_others() -> None:
    assert metal(MEASURED | {"one.piston.crown_thickness": 8.0}, "one", "", 2.0).under == 6.0
    assert metal(MEASURED | {"one.piston.crown_thickness": 8.0}, "two", "", 2.0).under == 4.5
