"""How deep a plunger is wanted, and what is lacking of how far it rises: nothing of a solid lifter."""

from __future__ import annotations

from tallstack.geometry.core.frames import array
from tallstack.geometry.gear.lifter import Lifter


def test_only_a_hydraulic_lifter_has_a_depth_that_is_wanted() -> None:
    preload = array(1.1)
    assert Lifter("hydraulic", preload, array(3.8), None, "valve").down is preload
    assert Lifter("hydraulic", None, array(3.8), None, "valve").down is None
    assert Lifter("solid", preload, None, array(0.1), "valve").down is None


def test_how_far_it_rises_lacks_what_heat_adds_unless_less_than_the_preload_counts() -> None:
    lacks = ("running.hot_valve",)
    hydraulic = Lifter("hydraulic", array(1.1), array(3.8), None, "valve", hot_lacks=lacks)
    assert hydraulic.pumped_lacks == lacks
    assert hydraulic._replace(pumped_rise=array(1.5)).pumped_lacks == lacks
    assert hydraulic._replace(pumped_rise=array(1.0)).pumped_lacks == ()
    assert hydraulic._replace(kind="solid").pumped_lacks == ()
    assert hydraulic._replace(hot_lacks=()).pumped_lacks == ()
