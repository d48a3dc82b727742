"""`piston.bore_read` against figures worked out by hand, and what a sweep and a batch add."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.answer import of_cylinder
from tallstack.geometry.piston.bore_read import BoreRead, bore_read, play_in_bore

ACROSS, ALONG = (98.990, 98.972, 98.962), (98.975, 98.966, 98.960)


def engine(**more: Any) -> dict[str, Any]:
    heights = ("top", "middle", "bottom")
    rows = {f"front.bore_readings.{one}_across": value for one, value in zip(heights, ACROSS, strict=True)}
    rows |= {f"front.bore_readings.{one}_along": value for one, value in zip(heights, ALONG, strict=True)}
    return {"cylinders": ("front",), "trains": (), **rows, **more}


def read(mapping: dict[str, Any]) -> BoreRead:
    found = bore_read(of_cylinder(mapping, "front"))
    assert found is not None
    return found


def test_three_heights_by_two_directions() -> None:
    found = read(engine())
    assert float(found.tightest) == 98.960
    assert float(found.loosest) == 98.990
    assert found.taper == pytest.approx(0.028)
    assert found.out_of_round == pytest.approx(0.015)
    assert not found.is_swept


def test_a_swept_gauge_finds_more_wear_and_more_out_of_round() -> None:
    swept = {f"front.bore_readings.{one}_largest": 99.002 for one in ("top", "middle", "bottom")}
    found = read(engine(**swept))
    assert found.is_swept
    assert float(found.loosest) == 99.002
    assert found.out_of_round == pytest.approx(0.042)
    assert not read(engine(**dict(list(swept.items())[:2]))).is_swept


def test_one_reading_tells_neither_taper_nor_round() -> None:
    found = read({"cylinders": ("front",), "front.bore_readings.top_across": 98.99})
    assert found.taper is None
    assert found.out_of_round is None
    assert bore_read(of_cylinder({"cylinders": ("front",)}, "front")) is None


def test_a_batch_is_as_its_engines() -> None:
    tops = np.array([98.95, 98.99, 99.05])
    many = read(engine(**{"front.bore_readings.top_across": tops}))
    for place, top in enumerate(tops):
        one = read(engine(**{"front.bore_readings.top_across": float(top)}))
        for figure in ("tightest", "loosest", "taper", "out_of_round"):
            assert np.broadcast_to(getattr(many, figure), 3)[place] == getattr(one, figure)


def test_the_play_is_what_was_entered_else_the_loosest_else_the_one_bore() -> None:
    piston = {"piston.diameter": 98.895}
    assert play_in_bore(of_cylinder(engine(**piston), "front")) == pytest.approx(0.095)
    entered = engine(**piston, **{"piston.skirt_clearance": 0.06})
    assert play_in_bore(of_cylinder(entered, "front")) == 0.06
    plain = {"cylinders": ("front",), "stack.bore": 98.97, **piston}
    assert play_in_bore(of_cylinder(plain, "front")) == pytest.approx(0.075)
    assert play_in_bore(of_cylinder(engine(), "front")) is None
