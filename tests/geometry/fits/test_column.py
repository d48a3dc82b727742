"""What presses a pushrod, and what that does to it and to its cups."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.fits import column

from .test_springs import GEAR, NAME, known

COLUMN: Flat = {
    **GEAR,
    f"{NAME}.pushrod.diameter": 8.0,
    f"{NAME}.pushrod.wall": 2.0,
    f"{NAME}.pushrod.material": "steel",
    f"{NAME}.measured_pushrod.length": 260.0,
    f"{NAME}.measured_pushrod.as": "centres",
    f"{NAME}.measured_pushrod.lean": np.radians(2),
    f"{NAME}.valve.head_diameter": 38.0,
    "running.pressure_at_opening": 0.5,
}


def test_a_pushrods_loads() -> None:
    found = known(column.column(COLUMN, NAME, 12.8, 1.65, 1.6))
    assert found["load_at_seat"] == pytest.approx(45 * 8 * 1.6)
    assert found["load_at_full_lift"] == pytest.approx(45 * 20.8 * 1.65)
    pressed = np.pi / 4 * 38**2 * 0.5 * 1.6
    assert found["load_at_opening"] == pytest.approx(45 * 8 * 1.6 + pressed)
    worst = max(found["load_at_full_lift"], found["load_at_opening"])
    area = np.pi / 4 * (64 - 16)
    assert found["pushrod_shortens"] == pytest.approx(worst * 260.0 / (207000.0 * area), rel=1e-6)
    assert found["lift_lost"] == pytest.approx(found["pushrod_shortens"] * 1.65)
    assert found["buckling_margin"] == pytest.approx(found["buckling_load"] / worst)


def test_a_ball_in_its_cup_is_a_part_of_its_own() -> None:
    lacks = column.cups(COLUMN, NAME, 12.8, 1.65, 1.6)
    assert isinstance(lacks, Missing)
    assert {one.rpartition(".")[2] for one in lacks.entries} == {
        f"{part}_{end}" for part in ("ball_diameter", "cup_radius") for end in ("low", "high")
    }
    sized: Flat = {
        **COLUMN,
        f"{NAME}.pushrod.ball_diameter_high": 8.0,
        f"{NAME}.pushrod.cup_radius_high": 4.1,
    }
    found = column.cups(sized, NAME, 12.8, 1.65, 1.6)
    worst = known(column.column(COLUMN, NAME, 12.8, 1.65, 1.6))["load_at_full_lift"]
    pressed = column.contact_pressure(
        np.asarray(worst), np.asarray(4.0), np.asarray(4.1), np.asarray(207000.0)
    )
    assert known(found) == pytest.approx({"contact_high": float(pressed)})
    assert not isinstance(found, Missing)
    assert (
        found["contact_high"].note == "the other takes pushrod.ball_diameter_low and pushrod.cup_radius_low"
    )


def test_the_pressure_on_the_valve_is_a_gauges() -> None:
    """At the air's own pressure nothing but the springs opposes the opening."""
    loads = column.column({**COLUMN, "running.pressure_at_opening": 0.0}, NAME, 12.8, 1.65, 1.6)
    assert known(loads)["load_at_opening"] == pytest.approx(known(loads)["load_at_seat"])
    assert not isinstance(loads, Missing)
    assert "above the air's (gauge)" in loads["load_at_opening"].note
