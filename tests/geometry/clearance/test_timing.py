"""How the least drops move with the timing, against the cam turned."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.clearance import timing
from tallstack.geometry.clearance.clearances import Clearances, clearances
from tallstack.geometry.clearance.timing import against_timing
from tallstack.geometry.core.minima import Minimum

from ...clearance_jobs import by_coordinates
from .remedy.test_piston import _Sloped

NAME = "one.intake"


def test_timing_tells_the_least_of_several_drops(monkeypatch: pytest.MonkeyPatch) -> None:
    drops = Minimum(1.0, 0.2), Minimum(2.0, -0.3)
    monkeypatch.setattr(timing, "nearest", lambda _: (drops, None))
    over = _Sloped(0.0)
    here: Any = SimpleNamespace(valves={NAME: over}, apart=lambda: None)
    (row,) = timing.against_timing({"one": here}, [0.1])
    assert row.piston == {NAME: 1.0}


def found_in(job: JobFile) -> Clearances:
    return clearances(job.mapping, Tables(), job.quantities, job.doubts)


@pytest.mark.wide
def test_advance_turns_both_lobes_earlier(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path)
    one = found_in(load(path, ["cam.advance=4"]))
    other = found_in(load(path, ["lobe.intake.centreline=102", "lobe.exhaust.centreline=114"]))
    plain = found_in(load(path))
    for first, second, third in zip(one.valves, other.valves, plain.valves, strict=True):
        assert first.drop[0].value == pytest.approx(second.drop[0].value, abs=1e-7)
        assert abs(first.drop[0].value - third.drop[0].value) > 0.1
    rows = against_timing(plain.situations, (0.0, float(np.radians(4))))
    for valve, turned in zip(plain.valves, one.valves, strict=True):
        assert valve.piston is not None
        assert turned.piston is not None
        assert rows[0].piston[valve.train] == pytest.approx(valve.piston.value, abs=1e-7)
        assert rows[1].piston[valve.train] == pytest.approx(turned.piston.value, abs=1e-7)
    assert set(rows[1].between) == {"one"}
