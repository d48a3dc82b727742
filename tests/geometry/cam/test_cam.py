"""Where a lobe stands on the crank: by readings from top centre, by a card's events, by what it lifts at top centre."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.cam import fit as lobe_fit
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables

NAME = "one.intake"


@pytest.mark.parametrize(("zero", "at"), [("top centre", 1.8), ("peak", None)])
def test_readings_from_top_centre_stand_where_they_were_read(
    monkeypatch: pytest.MonkeyPatch, zero: str, at: float | None
) -> None:
    lobe = SimpleNamespace(middle=lambda _: 0.9, peak=lambda: (0.9, 8.0), curve=None)
    none: Any = None
    cam = Cam({"lobe.intake.zero": zero}, Tables({"intake": none}))
    fitted: Any = SimpleNamespace(lobe=lobe)
    monkeypatch.setattr(lobe_fit, "fit_once", lambda *_: fitted)
    found = cam.lobe_of(NAME)
    if at is None:
        assert found == ("lobe.intake.centreline",)
    else:
        assert isinstance(found, CamLobe)
        assert found.placed.at == pytest.approx(at)


@pytest.mark.parametrize(("port", "opens", "closes"), [("intake", 20.0, 60.0), ("exhaust", 60.0, 20.0)])
def test_a_card_of_events_stands_halfway_between_them(port: str, opens: float, closes: float) -> None:
    """Open for 20 + 180 + 60 degrees: the middle of that is 130 - 20 degrees after overlap, or before it."""
    card = f"lobe.{port}.card"
    said = {"peak": 8.0, "events.at": 1.27}
    said |= {f"events.{name}": np.radians(one) for name, one in (("opens", opens), ("closes", closes))}
    found = Cam({f"{card}.{name}": one for name, one in said.items()}, Tables()).lobe_of(f"one.{port}")
    assert isinstance(found, CamLobe)
    assert found.placed.at == pytest.approx(np.radians(110.0 if port == "intake" else -110.0))
