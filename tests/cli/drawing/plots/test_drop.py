"""The picture of lowering: where it is held, its windows, and the room told beside it."""

from __future__ import annotations

import math
from typing import Any

import pytest
from matplotlib.figure import Figure
from tallstack.cli.drawing.plots.drop import RAISED_MM, drawn
from tallstack.cli.job.loading import load
from tallstack.geometry.fits.drop_on import drop_on

from ....commands import BENCH
from ....geometry.fits.test_across import layout


@pytest.mark.wide
@pytest.mark.parametrize(("units", "scale"), [("in", 25.4), ("mm", 1.0)])
def test_where_to_hold_the_crank_is_drawn_where_it_was_found(units: str, scale: float) -> None:
    fitted, lowered = layout(103)
    found = drop_on(fitted, lowered, "b")
    assert found.safest is not None
    job: Any = load(BENCH)._replace(units=units)
    figure = drawn(job, [(found, fitted, lowered)], 3.0)
    assert isinstance(figure, Figure)
    (axes,) = figure.axes
    upright = [line for line in axes.lines if len(set(line.get_xdata())) == 1]
    assert math.degrees(found.safest) in [pytest.approx(line.get_xdata()[0]) for line in upright]
    for window in found.windows if not found.always else ():
        for end in (window.begins, window.ends):
            degrees = (math.degrees(end) + 180) % 360 - 180
            assert degrees in [pytest.approx(line.get_xdata()[0]) for line in upright]
    said = [one.get_text() for one in axes.texts]
    assert any(one.startswith(f"hold at {math.degrees(found.safest):.0f}") for one in said)
    assert axes.get_ylim()[1] == pytest.approx(RAISED_MM / scale)


@pytest.mark.wide
def test_without_a_window_it_says_so() -> None:
    fitted, lowered = layout(103)
    found = drop_on(fitted, lowered, "b")._replace(windows=(), safest=None, always=False)
    job: Any = load(BENCH)
    (axes,) = drawn(job, [(found, fitted, lowered)], 3.0).axes
    assert "NO window" in axes.get_title(loc="left")
    assert not [one for one in axes.texts if one.get_text().startswith("hold at")]
