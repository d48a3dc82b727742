"""Lengths required of a gear, what a given rod does in it, and how a rod stood where it was read."""

from __future__ import annotations

import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.engine.engine import build
from tallstack.geometry.pushrod.pushrods import fit, required

NAME = "one.intake"


MEASURED: Flat = {
    "cylinders": ("one",),
    "trains": (NAME,),
    f"{NAME}.lifter.kind": "solid",
    f"{NAME}.lifter.lash": 0.0,
    f"{NAME}.lifter.lash_at": "pushrod",
    f"{NAME}.rocker.ratio": 1.6,
    f"{NAME}.measured_pushrod.length": 260.0,
    f"{NAME}.measured_pushrod.as": "overall",
    f"{NAME}.measured_pushrod.lean": 0.0,
}


def test_a_rod_whose_ends_were_not_measured_is_known_as_it_was_read_and_lacks_the_rest() -> None:
    found = required(build(MEASURED).train(NAME))
    assert set(found.lengths) == {"overall"}
    assert set(found.lacks) == {"centres", "theoretical", "gauge"}


@pytest.mark.parametrize(("long", "held"), [(0.5, 0.8), (0.0, 0.0), (-0.5, 0.0)])
def test_too_long_a_rod_holds_the_valve_open_by_its_ratio(long: float, held: float) -> None:
    found = fit(build(MEASURED).train(NAME), array(260.0 + long))
    assert found.lash is not None
    assert found.held_open is not None
    assert float(found.lash) == pytest.approx(-long)
    assert float(found.held_open) == pytest.approx(held)
