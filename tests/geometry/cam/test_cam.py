"""Where a lobe stands on the crank: by readings from top centre, by a card's events, by what it lifts at top centre."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.cam import fit as lobe_fit
from tallstack.geometry.cam.cam import Cam, CamLobe, CardStands, Tables, card_of
from tallstack.geometry.core.mapping import Reader

from ...cli.job.checks.test_card import job_of

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


INCH = 25.4


DEG = np.pi / 180


@pytest.mark.parametrize("port", ["intake", "exhaust"])
def test_numbers_of_one_flank_stand_where_the_crank_stood(tmp_path: Path, port: str) -> None:
    """At overlap top centre an intake is on its opening flank, an exhaust on its closing one, centreline / 2 from the middle."""
    way = -1 if port == "intake" else 1
    flank = (
        "opening = { at = 0.205, opens = -16 }"
        if port == "intake"
        else "closing = { at = 0.205, closes = -16 }"
    )
    mapping = load(
        job_of(tmp_path, f", top_centre = 0.145, lift = {{ at = 0.23, angle = {-way * 22} }}, {flank}", port)
    ).mapping
    stands = card_of(Reader(mapping, ("",)), port, port)
    assert isinstance(stands, CardStands)
    found = {round(one.lift / INCH, 6): one.angle / DEG for one in stands.card.lifts}
    assert found == pytest.approx({0.145: way * 53, 0.23: way * 42, 0.205: way * 45})
    lobe = Cam(mapping, Tables()).lobe_of(f"single.{port}")
    assert isinstance(lobe, CamLobe)


def test_a_lift_at_top_centre_is_met_and_counts_in_the_doubt(tmp_path: Path) -> None:
    said = ", top_centre = 0.145"
    plain, beside = (
        Cam(load(job_of(tmp_path, more)).mapping, Tables()).lobe_of("single.intake") for more in ("", said)
    )
    assert isinstance(plain, CamLobe)
    assert isinstance(beside, CamLobe)
    at = np.array(0.0)
    assert float(beside.placed.lift(at)) / INCH == pytest.approx(0.145, abs=5e-4)
    assert plain.card is not None
    assert beside.card is not None
    cam = np.array(-53 * DEG)
    assert float(beside.card.lift_doubt(cam)) < 0.3 * float(plain.card.lift_doubt(cam))
