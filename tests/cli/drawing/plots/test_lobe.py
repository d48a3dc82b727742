"""The picture of a lobe: readings where they were read, a wrong one crossed out at its line, what is left of the fit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing.plots.lobe import drawn
from tallstack.cli.lobe_found import examined
from tallstack.cli.lobe_leads import Asked

from ....known_lobes import CAM, noisy, written

WRONG = 60  # of its readings


@pytest.mark.parametrize(("units", "scale"), [("mm", 1.0), ("in", 25.4)])
def test_readings_and_what_is_wrong_among_them(tmp_path: Path, units: str, scale: float) -> None:
    lift = noisy()
    lift[WRONG] += 0.5
    path = written(tmp_path / "a.csv", CAM, lift, scale=25.4 if units == "in" else 1.0)
    found = examined(path, Asked(units=units), ())
    assert [one.row for one in found.fit.suspects] == [WRONG]
    figure = drawn(found)
    lifts, left, velocity, _ = figure.axes
    (curve,) = [one for one in lifts.lines if one.get_label() == "fitted"]
    assert np.max(curve.get_ydata()) == pytest.approx(found.peak[1] / scale, rel=1e-4)
    (crossed,) = [one for one in lifts.lines if one.get_marker() == "x"]
    assert len(crossed.get_xdata()) == 1
    (points,) = [one for one in left.lines if one.get_marker() == "o"]
    assert points.get_ydata() == pytest.approx(found.fit.off / scale)
    assert [one.get_text() for one in left.texts] == [f"line {found.table.lines[WRONG]}"]
    (speed,) = velocity.lines
    crank, lift_shown = curve.get_xdata(), curve.get_ydata()
    slope = np.gradient(lift_shown, crank / 2)
    assert np.abs(speed.get_ydata() - slope)[5:-5].max() < 2e-3 * np.abs(slope).max()
