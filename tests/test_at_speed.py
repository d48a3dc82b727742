"""What is left at speed, in every room that shows it: clearance, risk, sheet, JSON, library; and against its own draws."""

from __future__ import annotations

from pathlib import Path

import pytest
import tallstack
from tallstack.cli.commands import clearance, risk, sheet
from tallstack.cli.job.loading import load
from tallstack.geometry.core.verdict import Verdict

from .clearance_jobs import by_coordinates

FAST = (
    "running.speed=6000 rpm",
    "running.growth=0.28 +/- 0.02 mm",
    "cam.backlash=0.4 +/- 0.1",
    *(
        f"one.intake.spring.{one}"
        for one in ("installed=45 +/- 0.2 mm", "free_length=70 +/- 0.2 mm", "rate=60 +/- 1 N/mm")
    ),
    *(f"one.intake.masses.{one}" for one in ("valve=100 +/- 1 g", "springs=60 +/- 1 g", "rocker=30 +/- 2 g")),
    *(f"one.intake.masses.{one}" for one in ("pushrod=40 +/- 1 g", "lifter=60 +/- 1 g")),
)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return by_coordinates(tmp_path_factory.mktemp("fast"), exhaust=False)


def test_clearance_tells_both_and_what_was_taken(job: Path) -> None:
    found = clearance.answer(load(job, FAST))
    valve = found.document["valves"][0]
    assert valve["drop_at_least_mm"] < valve["drop_mm"] - 0.28
    assert valve["drop_at_least_verdict"] == "ok"
    assert valve["crown_rises_at_speed_mm"] == pytest.approx(0.28)
    said = " ".join(found.text.split())
    assert "at 6000 rpm at least" in said
    assert "one figure for all growth 0.28 mm" in said
    assert "0.4 crank degrees nearer" in said
    assert "first leaves it at" in said
    plain = clearance.answer(load(job)).document["valves"][0]
    assert plain["drop_at_least_mm"] is None
    assert plain["drop_mm"] == valve["drop_mm"]


def test_a_valve_that_leaves_its_cam_below_that_speed_stops_the_work(job: Path) -> None:
    found = clearance.answer(load(job, [*FAST, "running.speed=12000 rpm"]))
    assert found.document["valves"][0]["drop_at_least_mm"] is None
    assert "no longer hold the valve to the cam" in found.text.partition("\n\n")[0].replace(
        "\n", " "
    ).replace("  ", " ")


def test_contact_at_speed_is_short_and_stands_first(job: Path) -> None:
    near = [*FAST, "running.growth=6 +/- 0.02 mm"]
    found = clearance.answer(load(job, near))
    assert found.status == 1
    assert found.document["valves"][0]["drop_at_least_verdict"] == "short"
    assert "SHORT: one intake, piston, stem, at speed" in found.text


def test_what_was_begun_and_lacks_something_is_told(job: Path) -> None:
    begun = clearance.answer(load(job, ["running.speed=6000 rpm", "running.growth=0.28 +/- 0.02 mm"]))
    assert "NOT KNOWN: one intake, piston at 6000 rpm: needs cam.backlash" in begun.text
    assert begun.document["valves"][0]["at_speed_needs"] == ["cam.backlash"]
    assert (
        "at 6000 rpm"
        not in clearance.answer(load(job, ["running.speed=6000 rpm"])).text.partition("valve gear")[0]
    )


def test_draws_agree_with_the_budget_and_meet_at_its_value(job: Path) -> None:
    found = risk.answer(load(job, FAST), 400, 3).document["answers"]
    rows = {one["what"]: one for one in found if one["of"] == "one.intake" and one["kind"] == "clearances"}
    fast, rest = rows["drop_at_least"], rows["drop"]
    assert fast["draws"] == 400
    assert fast["drawn_standard_mm"] == pytest.approx(fast["standard_mm"], rel=0.15)
    # What a build's least is less than at one place is the same at rest and at speed.
    lost = [one["value_mm"] - one["mean_mm"] for one in (fast, rest)]
    assert lost[0] == pytest.approx(lost[1], abs=0.01)
    assert rest["value_mm"] - fast["value_mm"] > 0.28


@pytest.mark.wide
def test_the_sheet_tells_it(job: Path, tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    sheet.answer(load(job, FAST), page, "a4", "2026-01-01", None, False)
    assert "piston, stem, at speed" in page.read_text(encoding="utf-8")


def test_the_library_tells_it(job: Path) -> None:
    there = {one.answer: one for one in tallstack.load(job, FAST).answers("clearance")}
    assert there["drop_at_least"].verdict == "ok"
    assert there["gap_at_least"].value < there["drop_at_least"].value + 1e-9
    bare = {one.answer: one for one in tallstack.load(job, ["running.speed=6000 rpm"]).answers("clearance")}
    assert "cam.backlash" in str(bare["drop_at_least"])


@pytest.mark.wide
def test_a_pockets_wall_comes_nearer_by_how_far_the_crown_moves_sideways(job: Path) -> None:
    """At the raised crown, less half the play and the rock over the crown's height."""
    more = ("piston.skirt_clearance=0.08 +/- 0.01 mm", "piston.skirt_contact_length=45 +/- 1 mm")
    plain = load(job, [*FAST, more[0]]).clearances.valves[0].at_speed
    found = load(job, [*FAST, *more]).clearances.valves[0].at_speed
    assert plain is not None
    assert found is not None
    assert plain.wall is None  # how it rocks is not known
    assert found.wall is not None
    assert found.here is not None
    raised = found.here.valves["one.intake"].least_wall()
    assert raised is not None
    assert found.wall.value == pytest.approx(raised.value - 0.04 - 0.08 / 45 * 34.0)
    assert found.wall.budget.standard > 0.0
    assert clearance.answer(load(job, [*FAST, *more])).document["valves"][0]["wall_at_least_verdict"] == "ok"


def test_the_verdict_is_on_the_smaller_of_drop_and_gap(job: Path) -> None:
    one = clearance.answer(load(job, FAST)).document["valves"][0]
    smaller = min(one["drop_at_least_mm"], one["gap_at_least_mm"])
    limit = f"targets.drop_at_speed={smaller + 0.01:.4f} mm"
    found = clearance.answer(load(job, [*FAST, limit])).document["valves"][0]
    assert found["drop_at_least_verdict"] == "short"
    assert found["at_speed_judged_on"] in ("drop_at_least", "gap_at_least")


def test_a_speed_near_the_one_at_which_the_gear_leaves_its_cam_proves_nothing(job: Path) -> None:
    """A rigid gear leaves it at 8613 rpm, a real one sooner."""
    far, near = (
        load(job, [*FAST, f"running.speed={rpm} rpm"]).clearances.valves[0].at_speed for rpm in (8000, 8400)
    )
    assert far is not None
    assert near is not None
    assert far.piston is not None
    assert near.piston is not None
    assert far.piston.verdict is Verdict.OK
    assert near.piston.verdict is Verdict.UNPROVED
    assert "too near" in near.holds
    assert clearance.answer(load(job, [*FAST, "running.speed=9000 rpm"])).status == 1


def test_a_limit_at_speed_without_a_speed_is_not_known_and_not_met(job: Path) -> None:
    found = clearance.answer(load(job, ["targets.drop_at_speed=0.5 mm", "targets.drop_intake=0.5 mm"]))
    assert "one intake, piston at speed: needs running.speed" in " ".join(found.text.split())
    assert found.status == 1
