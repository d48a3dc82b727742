"""What moves a least clearance, against differences of the whole.

Figures, measured on two cores with CPython 3.11:

- derivative of a least clearance at its angle against central differences of the minimum, 16 entries, with and
  without pockets: within 0.2 %; limit: 1 %
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance.clearances import clearances, judged_on, nearest
from tallstack.geometry.clearance.moving import by_the_cam, slopes
from tallstack.geometry.clearance.situation import Asked, Situation, situation
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat

from ...clearance_jobs import by_coordinates
from ...seeded import few


def varied(mapping: Flat, path: str, by: float) -> Flat:
    return {**mapping, path: float(array(mapping[path])) + by}  # type: ignore[arg-type]


def least(here: Situation, name: str, what: str) -> float:
    over = here.valves[name]
    drops, gap = nearest(over)
    if what == "wall":
        wall = over.least_wall()
        assert wall is not None
        return wall.value
    return judged_on(drops[0], gap)[1].value if what == "judged" else drops[0].value


@pytest.mark.parametrize("pockets", few([False, True], 1))
def test_the_derivative_of_a_minimum_is_that_at_its_angle(tmp_path: Path, pockets: bool) -> None:
    """The envelope: central differences of the minimum, its angle found anew each time."""
    job = load(by_coordinates(tmp_path, pockets))
    mapping, cam = job.mapping, Cam(job.mapping, Tables())
    here = situation(mapping, "one", cam)
    at = here.valves["one.intake"].least_drop()[0].angle
    asked = Asked("one.intake", "drop", at)
    entries = [
        "stack.cylinder",
        "stack.head_gasket",
        "crank.stroke",
        "crank.conrod_length",
        "piston.compression_height",
        "piston.pin_offset",
        "one.intake.valve.face.x",
        "one.intake.valve.face.z",
        "one.intake.valve.lean.x",
        "one.intake.valve.head_diameter",
        "one.intake.rocker.valve_arm",
        "one.intake.rocker.shaft.z",
        "one.intake.lifter.seat.z",
        "one.intake.lifter.preload",
    ]
    entries += ["one.intake.pocket.depth", "one.intake.pocket.lean.x"] if pockets else []
    table = slopes(mapping, here, (asked,), {entry: {entry: 1.0} for entry in entries}, Tables())[asked.key]
    for entry, slope in table.items():
        step = 2e-3
        ends = [
            least(situation(varied(mapping, entry, by), "one", cam), "one.intake", "drop")
            for by in (step, -step)
        ]
        assert slope == pytest.approx((ends[0] - ends[1]) / (2 * step), abs=2e-3, rel=2e-3), entry


@pytest.mark.parametrize(
    "entry",
    few(
        [
            "lobe.intake.centreline",
            "lobe.intake.law.peak",
            "lobe.intake.law.degrees",
            "lobe.exhaust.card.peak",
            "lobe.exhaust.card.duration.degrees",
        ],
        2,
    ),
)
def test_entries_of_the_cam_move_the_minimum_as_their_budget_says(tmp_path: Path, entry: str) -> None:
    job = load(by_coordinates(tmp_path, exhaust="exhaust" in entry))
    doubt = {entry: job.doubts[entry]}
    found = clearances(job.mapping, Tables(), {entry: {entry: 1.0}}, doubt)
    name = "one.intake" if "intake" in entry else "one.exhaust"
    answer = next(one for one in found.valves if one.train == name)
    assert answer.piston is not None
    assert answer.piston.budget is not None
    step = 1e-3
    ends = []
    for by in (step, -step):
        there = varied(job.mapping, entry, by)
        ends.append(least(situation(there, "one", Cam(there, Tables())), name, "judged"))
    slope = (ends[0] - ends[1]) / (2 * step)
    told = answer.piston.budget
    own = told.standard * np.sqrt(told.shares[entry])  # beside the shape that a card leaves open
    assert own == pytest.approx(abs(slope) * doubt[entry].standard, rel=5e-3)


@pytest.mark.parametrize("port", ["intake", "exhaust"])
def test_timing_moves_a_lobes_lift_the_way_that_it_is_entered(tmp_path: Path, port: str) -> None:
    """An intake's centreline counts after, an exhaust's before overlap, an advance is earlier for both: by differences."""
    mapping, name, angle = load(by_coordinates(tmp_path)).mapping, f"one.{port}", array(0.1)
    mapping = {**mapping, "cam.advance": 0.0}
    quantities = {path: {path: 1.0} for path in ("cam.advance", f"lobe.{port}.centreline")}

    def lift(flat: Flat) -> float:
        return float(situation(flat, "one", Cam(flat, Tables())).lifts[name].lobe.placed.lift(angle))

    here = situation(mapping, "one", Cam(mapping, Tables()))
    told, bare = by_the_cam(mapping, here, name, float(angle), quantities, {}, Tables())
    assert not bare
    for path in quantities:
        differs = (lift(varied(mapping, path, 1e-5)) - lift(varied(mapping, path, -1e-5))) / 2e-5
        assert abs(differs) > 1.0
        assert told[path] == pytest.approx(differs, rel=1e-4)
