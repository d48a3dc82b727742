"""Where a valve stands over its piston: by coordinates, by one dial reading, and where both are there."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.clearance import valve_over_piston
from tallstack.geometry.core.frames import Array, array


def test_a_valve_rests_on_its_coordinates_until_its_drop_was_read() -> None:
    nothing: Any = None
    plain = valve_over_piston.ByCoordinates(nothing, nothing, None, nothing, None)
    assert plain.basis == "coordinates"
    assert plain._replace(differ=array(0.2)).basis == "measured drop"


def test_a_drop_that_is_told_about_top_centre_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    reading: Any = SimpleNamespace(
        measured=None, forward=True, crank=SimpleNamespace(descent=lambda crank, _: np.abs(crank))
    )

    def within(_: object, descent: Array, __: Array) -> SimpleNamespace:
        return SimpleNamespace(known=descent < 0.003)

    monkeypatch.setattr(valve_over_piston, "traced", within)
    lift: Any = None
    found = valve_over_piston.ByReading(reading, lift).known()
    assert found is not None
    assert found == pytest.approx((-0.003, 0.003), abs=2e-5)
