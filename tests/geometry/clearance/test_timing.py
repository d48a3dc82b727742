"""How the least drops move with the timing, against the cam turned."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.geometry.clearance import timing
from tallstack.geometry.piston.cycle import Minimum

from .remedy.test_piston import _Sloped

NAME = "one.intake"


def test_timing_tells_the_least_of_several_drops(monkeypatch: pytest.MonkeyPatch) -> None:
    drops = Minimum(1.0, 0.2), Minimum(2.0, -0.3)
    monkeypatch.setattr(timing, "nearest", lambda _: (drops, None))
    over = _Sloped(0.0)
    here: Any = SimpleNamespace(valves={NAME: over}, heads_apart=lambda: None)
    (row,) = timing.against_timing({"one": here}, [0.1])
    assert row.piston == {NAME: 1.0}
