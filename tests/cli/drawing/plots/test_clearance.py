"""The picture of clearances: each curve and mark stands at its value, in the job's first unit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tallstack.cli.drawing.plots.clearance import drawn
from tallstack.cli.job.loading import load

from ....commands import EXAMPLES
from ....seeded import few

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


@pytest.mark.parametrize("units", few(["in", "mm"], 1))
def test_least_drops_are_marked_on_their_curves(units: str) -> None:
    job = load(POCKETS)._replace(units=units)
    found = job.clearances
    scale = 25.4 if units == "in" else 1.0
    figure = drawn(job, found)
    (band,) = figure.subfigs
    trace, lifts = band.axes[:2]
    for valve in found.valves:
        least, port = valve.drop[0], valve.train.rpartition(".")[2]
        (curve,) = [one for one in trace.lines if one.get_label() == f"{port}, along the stem"]
        assert np.nanmin(curve.get_ydata()) == pytest.approx(least.value / scale, abs=0.02 / scale)
        marks = [one for one in trace.lines if len(one.get_xdata()) == 1]
        assert (math.degrees(least.angle), least.value / scale) in [
            pytest.approx((one.get_xdata()[0], one.get_ydata()[0])) for one in marks
        ]
        (lift,) = [one for one in lifts.lines if one.get_label() == f"lift, {port}"]
        here = found.situations[valve.train.rpartition(".")[0]].valves[valve.train]
        assert np.max(lift.get_ydata()) == pytest.approx(
            float(here.lift.at(np.radians(lift.get_xdata())).max()) / scale
        )
        assert valve.piston is not None
        assert any(
            one.get_ydata()[0] == pytest.approx(valve.piston.limit.value / scale) for one in trace.lines
        )
