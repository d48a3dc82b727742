"""How deep a plunger is wanted: a hydraulic lifter's preload, and nothing of a solid one."""

from __future__ import annotations

from tallstack.geometry.core.frames import array
from tallstack.geometry.gear.lifter import Lifter


def test_only_a_hydraulic_lifter_has_a_depth_that_is_wanted() -> None:
    preload = array(1.1)
    assert Lifter("hydraulic", preload, array(3.8), None, "valve").down is preload
    assert Lifter("hydraulic", None, array(3.8), None, "valve").down is None
    assert Lifter("solid", preload, None, array(0.1), "valve").down is None
