"""Windows in which a cylinder can be lowered, and reliefs that make one."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.fits import cut_tube, drop_on


def test_a_relief_grows_as_far_to_the_sides_as_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of `_relief` alone, with rooms that no two cylinders leave exactly so."""
    begun = cut_tube.Relief(0.0, 0.2, 3.0)
    body = SimpleNamespace(distance=lambda seen: np.zeros(seen.shape[:-1]))
    fitted: Any = SimpleNamespace(tube=lambda _: body, rod=lambda _: body)
    rooms = iter([0.1, 0.2, 2.0])
    monkeypatch.setattr(drop_on, "relief_around", lambda *_: begun)
    monkeypatch.setattr(drop_on, "clearance", lambda *_: array([next(rooms)]))
    lowered = cut_tube.CutTube(50.0, 53.0, 80.0, 120.0, (), 0.0, 0.0)
    found = drop_on._relief(fitted, lowered, 0.0, 1.0)
    assert found is not None
    up, aside = found.height - begun.height, (found.half - begun.half) * lowered.inner
    assert up > 0
    assert aside == pytest.approx(up)


def test_windows_are_whole_across_bottom_centre(monkeypatch: pytest.MonkeyPatch) -> None:
    """Clear from 350 degrees of the row to its 10th, and from the 100th to the 120th.

    Of `_windows` alone, its row as it stands in place of `_closed_in`.
    """
    monkeypatch.setattr(drop_on, "_closed_in", lambda _, __, clear, *___: clear)
    angles = np.linspace(-np.pi, np.pi, drop_on.ROW)
    gaps = np.full(drop_on.ROW, -1.0)
    gaps[[*range(350, 361), *range(11), *range(100, 121)]] = 1.0
    nothing: Any = None
    found = drop_on._windows(nothing, nothing, angles, gaps, 0.0)
    ends = [(angles[100], angles[120]), (angles[350], angles[10] + 2 * np.pi)]
    assert [(one.begins, one.ends) for one in found] == [pytest.approx(one) for one in ends]
