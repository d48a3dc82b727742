"""Clearances of a job: verdicts by their doubts, and what is asked for."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance import clearances as clearance
from tallstack.geometry.clearance import moving as clearance_doubt
from tallstack.geometry.clearance.clearances import Clearances, clearances
from tallstack.geometry.clearance.situation import situation
from tallstack.geometry.core.minima import Minimum
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Budget

from ...clearance_jobs import by_coordinates
from ...commands import EXAMPLES
from ...results import result


def found_in(job: JobFile) -> Clearances:
    return clearances(job.mapping, Tables(), job.quantities, job.doubts)


def at_valve(folder: Path, lifter: str, more: str = "") -> Path:
    """Write a job known by readings, with the intake's lifts read at the valve."""
    example = EXAMPLES / "cam_known_from_36_readings"
    for name in ("intake.csv", "exhaust.csv"):
        (folder / name).write_text((example / name).read_text(encoding="utf-8"), encoding="utf-8")
    text = (example / "job.toml").read_text(encoding="utf-8")
    old = 'lifter = { kind = "hydraulic", preload = "0.040 +/- 0.005", plunger_travel = "0.150 +/- 0.002" }'
    assert old in text
    text = text.replace(old, f"lifter = {lifter}").replace(
        'centreline = "106 +/- 1"', f'measured_at = "valve"\n{more}centreline = "106 +/- 1"'
    )
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_lash_a_table_was_read_with_is_asked_for_and_counts(tmp_path: Path) -> None:
    from tallstack.cli.commands import clearance, risk

    solid = '{ kind = "solid", lash = "0.012 +/- 0.001" }'
    met = ("targets.drop_intake=0.02 in", "targets.drop_exhaust=0.02 in")
    unknown = clearance.answer(load(at_valve(tmp_path, solid), met))
    assert unknown.document["valves"][0]["verdict"] == "unproved"
    assert "lobe.intake.lash_read" in unknown.document["valves"][0]["without_doubt"]
    assert "the lash that these lifts were read with is not entered" in unknown.text
    assert (
        unknown.status == 1
    )  # entered, it could only take away: leaving it out ends no better than SHORT does
    assert risk.answer(load(at_valve(tmp_path, solid), met), 200, 1).status == 1
    same = clearance.answer(load(at_valve(tmp_path, solid, 'lash_read = "0.012 +/- 0.001"\n'), met)).document
    more = load(at_valve(tmp_path, solid, 'lash_read = "0.020 +/- 0.001"\n'), met)
    found = clearance.answer(more).document
    assert same["valves"][0]["drop_mm"] == pytest.approx(unknown.document["valves"][0]["drop_mm"], abs=1e-9)
    assert found["valves"][0]["drop_mm"] == pytest.approx(
        same["valves"][0]["drop_mm"] - 0.008 * 25.4, abs=1e-3
    )
    assert found["valves"][0]["verdict"] in ("ok", "tight")
    assert clearance.answer(more).status == 0
    drawn = risk.answer(more, 200, 1).document["answers"]
    intake = next(one for one in drawn if one["kind"] == "clearances" and one["of"] == "single.intake")
    assert intake["shares"]["lobe.intake.lash_read"] > 0
    hydraulic = '{ kind = "hydraulic", preload = "0.040 +/- 0.005", plunger_travel = "0.150 +/- 0.002" }'
    taken = clearance.answer(load(at_valve(tmp_path, hydraulic), met)).document
    assert taken["valves"][0]["lash_read_needs"] is None
    assert any(one["entry"] == "lobe.intake.lash_read" for one in taken["assumed"])


def test_verdicts_follow_the_doubt(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path, exhaust=False)
    plain = found_in(load(path)).valves[0].piston
    assert plain is not None
    assert plain.budget is not None
    value, doubt = plain.value, plain.budget.expanded
    for target, verdict in (
        (value - 1.1 * doubt, Verdict.OK),
        (value - 0.9 * doubt, Verdict.TIGHT),
    ):
        judged = found_in(load(path, [f"targets.drop_intake={target:.5f} mm"])).valves[0].piston
        assert judged is not None
        assert judged.verdict is verdict
        assert judged.limit.is_set
    bare = found_in(load(path, ["stack.cylinder=125.2 mm"])).valves[0].piston
    assert bare is not None
    assert bare.verdict is Verdict.UNPROVED
    assert bare.budget is not None
    assert bare.budget.undoubted == ("stack.cylinder",)


def test_a_lifter_that_pumps_up_into_the_piston_is_short_whatever_the_headline(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path, exhaust=False)
    found = found_in(load(path, ["one.intake.lifter.preload=2.9 mm", "targets.drop_intake=0.5 mm"])).valves[0]
    assert found.pumped is not None
    assert found.pumped.value < 0 < found.drop[0].value
    assert found.piston is not None
    assert found.piston.value > found.piston.limit.value
    assert found.piston.verdict is Verdict.SHORT


@pytest.mark.wide
def test_a_rim_that_just_dips_below_the_crown_has_a_doubt(tmp_path: Path) -> None:
    """A step the other way it is over the crown, where no room to the wall exists."""
    path = by_coordinates(tmp_path)

    def room(advance: float) -> float | None:
        mapping = load(path, [f"cam.advance={advance}"]).mapping
        found = situation(mapping, "one", Cam(mapping, Tables())).valves["one.intake"].least_wall()
        return None if found is None else found.value

    over, below = next(
        (one, one + 4.0) for one in np.arange(-40.0, 40.0, 4.0) if room(one) is None and room(one + 4)
    )
    for _ in range(14):
        middle = (over + below) / 2
        over, below = (middle, below) if room(middle) is None else (over, middle)
    found = found_in(load(path, [f"cam.advance={below}"]))
    intake = next(one for one in found.valves if one.train == "one.intake")
    assert intake.room is not None
    assert intake.room.budget is not None
    assert 0 < intake.room.budget.expanded < 5.0


NAME = "one.intake"


@pytest.mark.parametrize(("apart", "what"), [(0.1, "gap"), (0.0, "drop"), (-0.1, "drop")])
def test_a_valve_is_judged_on_the_smaller_of_drop_and_gap_and_of_equals_on_the_drop(
    apart: float, what: str
) -> None:
    found = clearance.judged_on(Minimum(1.0, 0.1), Minimum(1.0 - apart, 0.2))
    assert found == (what, Minimum(0.9, 0.2) if what == "gap" else Minimum(1.0, 0.1))


@pytest.mark.parametrize(
    ("value", "verdict"), [(0.0, Verdict.SHORT), (0.1, Verdict.TIGHT), (0.3, Verdict.OK)]
)
def test_a_verdict_is_no_better_than_that_with_the_lifter_pumped_up(value: float, verdict: Verdict) -> None:
    """A clearance that is surely enough, and one that is pumped up with a doubt of 0.2 mm.

    Of `_weighed` alone: no engine has exactly this doubt.
    """
    sure, pumped = (clearance_doubt.Weighed(Budget(one, {}, ()), {}) for one in (0.01, 0.1))
    piston = result(3.0, least=1.0, of=NAME, key="drop")
    one: Any = dict.fromkeys(clearance.ValveClearance._fields)
    one |= {"train": NAME, "piston": piston, "pumped": Minimum(value, 0.0)}
    here: Any = None
    found = clearance._weighed(
        clearance.ValveClearance(**one), here, {f"{NAME} drop": sure, f"{NAME} drop pumped": pumped}, {}
    )
    assert found.piston is not None
    assert found.piston.verdict is verdict


def test_a_preload_left_out_leaves_the_bore_unproved(tmp_path: Path) -> None:
    """The rocker is known by its ratio alone, so that the valve's lift is known without it, but not that pumped up."""
    text = by_coordinates(tmp_path).read_text(encoding="utf-8")
    text = text.replace("bore = 92.0", 'bore = "92.0 +/- 0.02"')
    text = re.sub(
        r"\[train.rocker\]\n(.+\n)+?\[train.valve\]",
        '[train.rocker]\nratio = "1.6 +/- 0.01"\n[train.valve]',
        text,
    )
    text = re.sub(r"seat = .+\nlean = .+\n(?=plunger_travel)", "", text)
    path = tmp_path / "ratio.toml"
    told = {}
    for name, entered in (("known", text), ("left out", re.sub(r"preload = .+\n", "", text))):
        path.write_text(entered, encoding="utf-8")
        valve = found_in(load(path)).valves[0]
        assert valve.bore is not None
        told[name] = valve.bore.verdict
    assert told == {"known": Verdict.OK, "left out": Verdict.UNPROVED}
