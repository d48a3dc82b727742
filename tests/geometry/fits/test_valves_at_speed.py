"""`fits.valves_at_speed` against the plain least over a fine row of angles, and what is lacking, refused and unproved."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.law import law_lobe
from tallstack.geometry.clearance.clearances import AtSpeed
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.doubt.result import Result, results
from tallstack.geometry.fits.valves_at_speed import FLOATS, drive_play, stiffness

READ = """
format = 1
units = "mm"
[stack]
cylinder = "120 +/- 0.02"
base_gasket = "0.4 +/- 0.02"
head_gasket = "1.0 +/- 0.02"
case_cut = 0
head_cut = 0
bore = "99 +/- 0.01"
[crank]
stroke = "112.4 +/- 0.02"
conrod_length = "196 +/- 0.05"
[[cylinder]]
name = "one"
[lobe.intake]
law = { name = "4-5-6-7", peak = "12.9 +/- 0.02", degrees = "300 +/- 1" }
centreline = "104 +/- 1"
[[train]]
cylinder = "one"
port = "intake"
lifter = { kind = "solid", lash = "0 +/- 0.01" }
rocker = { ratio = "1.0 +/- 0.001" }
measured_drop = { drop = "4.0 +/- 0.05", lean = "25 +/- 0.5", meets = "pocket", room = "9 +/- 0.1" }
"""
GROWN = ("running.speed=6000 rpm", "running.growth=0.28 +/- 0.02 mm")
SPRING = (
    *("one.intake.spring.installed=45 +/- 0.2 mm", "one.intake.spring.free_length=60 +/- 0.2 mm"),
    *("one.intake.spring.rate=55 +/- 1 N/mm", "one.intake.masses.valve=100 +/- 1 g"),
    *("one.intake.masses.springs=60 +/- 1 g", "one.intake.masses.rocker=30 +/- 5 g"),
    *("one.intake.masses.pushrod=40 +/- 1 g", "one.intake.masses.lifter=60 +/- 1 g"),
)


def job(folder: Path) -> Path:
    path = folder / "job.toml"
    path.write_text(READ, encoding="utf-8")
    return path


def at_speed(path: Path, *more: str) -> AtSpeed:
    found = load(path, [*GROWN, *more]).clearances.valves[0].at_speed
    assert found is not None
    return found


def left(path: Path, *more: str) -> Result:
    found = at_speed(path, *more).drop
    assert found is not None
    return found


def by_rows(raised: float, earlier: float) -> float:
    """Return the least drop over a fine row of angles, of the read pocket with the crown so much higher [mm]."""
    lobe = law_lobe("4-5-6-7", 12.9, float(np.radians(300)))
    moving = Crank(array(56.2), array(196.0), array(0.0), array(0.0))
    crank = np.radians(np.arange(-40.0, 60.0, 0.001))
    lift = np.maximum(lobe.lift((crank + earlier - np.radians(104)) / 2 + lobe.peak()[0]), 0.0)
    return float(np.min(4.0 + (moving.descent(crank) - raised) * np.cos(np.radians(25)) - lift))


@pytest.mark.parametrize("degrees", [0.0, 0.2, 0.4, 0.8])
def test_a_raised_crown_and_an_earlier_lobe_against_a_row_of_angles(tmp_path: Path, degrees: float) -> None:
    found = left(job(tmp_path), f"cam.backlash={degrees} +/- 0.05")
    assert found.value == pytest.approx(by_rows(0.28, np.radians(degrees)), abs=2e-6)


@pytest.mark.parametrize(("degrees", "costs"), [(0.2, 0.0290), (0.4, 0.0582), (0.8, 0.1171)])
def test_what_the_play_of_the_cams_drive_costs(tmp_path: Path, degrees: float, costs: float) -> None:
    path = job(tmp_path)
    none, some = (left(path, f"cam.backlash={one} +/- 0.05").value for one in (0.0, degrees))
    assert none - some == pytest.approx(costs, abs=6e-5)


def test_play_between_teeth_is_play_of_the_cam_and_twice_that_of_the_crank(tmp_path: Path) -> None:
    path = job(tmp_path)
    by_teeth = left(path, "cam.gear_backlash=0.10 +/- 0.01 mm", "cam.gear_radius=40 +/- 0.1 mm")
    by_angle = left(path, f"cam.backlash={np.degrees(2 * 0.10 / 40):.9f}")
    assert by_teeth.value == pytest.approx(by_angle.value, abs=1e-9)
    angle = by_angle.slopes["cam.backlash"]
    assert by_teeth.slopes["cam.gear_backlash"] == pytest.approx(angle * 2 / 40, rel=1e-6)
    assert drive_play({}) == Missing.of(("cam.backlash",))
    assert drive_play({"cam.gear_backlash": 0.1}) == Missing.of(("cam.gear_radius",))


def test_how_much_each_entry_moves_it_is_the_difference_of_two_searches(tmp_path: Path) -> None:
    path = job(tmp_path)
    plain = left(path, "cam.backlash=0.4 +/- 0.1")
    steps = {
        "running.growth": ("running.growth={} +/- 0.02 mm", 0.28, 1.0),
        "cam.backlash": ("cam.backlash={} +/- 0.1", 0.4, np.radians(1.0)),
        "lobe.intake.centreline": ("lobe.intake.centreline={} +/- 1", 104.0, np.radians(1.0)),
        "one.intake.measured_drop.drop": ("one.intake.measured_drop.drop={} +/- 0.05 mm", 4.0, 1.0),
    }
    for entry, (said, value, unit) in steps.items():
        ends = [
            left(
                path, *("cam.backlash=0.4 +/- 0.1",) * (entry != "cam.backlash"), said.format(value + by)
            ).value
            for by in (0.01, -0.01)
        ]
        assert plain.slopes[entry] == pytest.approx((ends[0] - ends[1]) / 0.02 / unit, abs=2e-3), entry


def test_an_exhaust_closes_later_and_its_valve_comes_nearer(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(READ.replace("intake", "exhaust"), encoding="utf-8")
    none, some = (
        load(path, [*GROWN, f"cam.backlash={one} +/- 0.05"]).clearances.valves[0].at_speed
        for one in (0.0, 0.8)
    )
    assert none is not None
    assert some is not None
    assert none.drop is not None
    assert some.drop is not None
    assert none.drop.value - some.drop.value == pytest.approx(0.1171, abs=6e-5)


def test_nothing_is_said_without_a_speed_and_what_is_lacking_is_named(tmp_path: Path) -> None:
    path = job(tmp_path)
    assert load(path).clearances.valves[0].at_speed is None
    bare = load(path, ["running.speed=6000 rpm"]).clearances.valves[0].at_speed
    assert bare is not None
    assert bare.drop is None
    for entry in ("piston.mass", "crank.conrod_beam_mass", "crank.big_end_clearance", "cam.backlash"):
        assert any(one.endswith(entry) for one in bare.lacks), entry


def test_it_is_proved_only_while_the_valve_keeps_contact_for_sure(tmp_path: Path) -> None:
    path = job(tmp_path)
    unknown = at_speed(path, "cam.backlash=0.4 +/- 0.1")
    assert unknown.drop is not None
    assert unknown.drop.verdict is Verdict.UNPROVED
    assert "not known" in unknown.holds
    held = at_speed(path, "cam.backlash=0.4 +/- 0.1", *SPRING, "running.speed=3000 rpm")
    assert held.drop is not None
    assert held.drop.verdict is Verdict.OK
    assert "first leaves it at" in held.holds
    floats = at_speed(path, "cam.backlash=0.4 +/- 0.1", *SPRING, "running.speed=9500 rpm")
    assert floats.drop is None
    assert floats.floats
    assert floats.why == FLOATS.format(9500)


def test_an_allowance_that_nobody_measured_is_unproved_and_widens(tmp_path: Path) -> None:
    path = job(tmp_path)
    entered = [
        *("running.speed=6000 rpm", "cam.backlash=0.4 +/- 0.1", "piston.mass=620 +/- 5 g"),
        *("crank.conrod_area=260 +/- 5 mm2", "crank.conrod_modulus=207 +/- 3 GPa"),
        *("crank.conrod_beam_mass=280 +/- 5 g", "crank.big_end_clearance=0.033 +/- 0.01 mm"),
        *("crank.main_clearance=0.01 +/- 0.01 mm", "piston.pin_clearance=0.018 +/- 0.01 mm"),
        *("piston.skirt_clearance=0.08 +/- 0.01 mm", "piston.skirt_contact_length=45 +/- 1 mm"),
    ]
    allowed = load(path, entered).clearances.valves[0].at_speed
    stated = load(path, [*entered, "crank.bending=0.05 +/- 0.001 mm", "crank.bending_at=6000 rpm"])
    measured = stated.clearances.valves[0].at_speed
    assert allowed is not None
    assert measured is not None
    assert allowed.drop is not None
    assert measured.drop is not None
    assert allowed.drop.value == pytest.approx(measured.drop.value, abs=1e-9)
    assert "crank.bending" in allowed.drop.budget.undoubted
    assert "crank.bending" not in measured.drop.budget.undoubted
    assert allowed.drop.budget.standard > measured.drop.budget.standard
    assert allowed.drop.value < load(path).clearances.valves[0].drop[0].value


def test_lifts_read_at_the_valve_say_on_which_springs_and_get_back_what_bent_away(tmp_path: Path) -> None:
    """A gear of 4,000 N/mm under 825 N lacks 0.21 mm, and 55/4000 of its lift more."""
    from tallstack.geometry.cam.law import law_lobe

    lobe = law_lobe("4-5-6-7", 12.9, float(np.radians(300)))
    turn = np.arange(0.0, 360.0, 4.0)
    lifts = np.maximum(lobe.lift(np.radians(turn)), 0.0)
    rows = "\n".join(f"{at:.0f},{lift:.4f}" for at, lift in zip(turn, lifts, strict=True))
    (tmp_path / "intake.csv").write_text(f"angle,lift\n{rows}\n", encoding="utf-8")
    law = 'law = { name = "4-5-6-7", peak = "12.9 +/- 0.02", degrees = "300 +/- 1" }'
    table = 'table = "intake.csv"\nangle = "cam"\nunits = "mm"\nmeasured_at = "valve"\nlash_read = 0'
    path = tmp_path / "job.toml"
    path.write_text(READ.replace(law, table), encoding="utf-8")
    given = ("cam.backlash=0.4 +/- 0.1", *SPRING)
    assert at_speed(path, *given).lacks == ("lobe.intake.read_on_springs",)
    light = at_speed(path, *given, "lobe.intake.read_on_springs=checking")
    nose = (
        *("one.intake.nose_lift.checking=12.9 +/- 0.01 mm", "one.intake.nose_lift.running=12.65 +/- 0.01 mm"),
        *(
            "one.intake.nose_lift.checking_force=20 +/- 1 N",
            "one.intake.nose_lift.running_force=1020 +/- 10 N",
        ),
    )
    lacking = at_speed(path, *given, "lobe.intake.read_on_springs=running")
    assert "one.intake.nose_lift.checking" in lacking.lacks
    heavy = at_speed(path, *given, *nose, "lobe.intake.read_on_springs=running")
    assert light.drop is not None
    assert heavy.drop is not None
    assert light.gives_back == 0.0
    assert heavy.here is not None
    whole = float(heavy.here.lifts["one.intake"].at(array(heavy.drop.angle)))
    bent = (whole - 825 / 4000) / (1 + 55 / 4000)
    assert heavy.gives_back == pytest.approx((825 + 55 * bent) / 4000)
    assert light.drop.value - heavy.drop.value == pytest.approx(heavy.gives_back, abs=2e-3)
    assert heavy.drop.budget.standard > light.drop.budget.standard


@pytest.mark.parametrize(
    ("lifts", "forces", "newtons"),
    [((12.90, 12.65), (20.0, 1020.0), 4000.0), ((9.0, 8.8), (0.0, 400.0), 2000.0)],
)
def test_a_gears_stiffness_is_that_of_a_spring_in_series(
    lifts: tuple[float, float], forces: tuple[float, float], newtons: float
) -> None:
    entries = ("checking", "running", "checking_force", "running_force")
    mapping = {
        f"one.intake.nose_lift.{one}": value for one, value in zip(entries, (*lifts, *forces), strict=True)
    }
    found = stiffness(mapping, "one.intake")
    assert not isinstance(found, Missing)
    assert float(found["gear_stiffness"].value) == pytest.approx(newtons)
    assert isinstance(stiffness({**mapping, "one.intake.nose_lift.running": lifts[0]}, "one.intake"), Missing)


def test_a_bending_within_its_doubt_tells_the_least_stiffness_alone() -> None:
    from tallstack.geometry.doubt.budget import Doubt

    entries = {"checking": 12.9, "running": 12.88, "checking_force": 0.0, "running_force": 1000.0}
    mapping = {f"one.intake.nose_lift.{one}": value for one, value in entries.items()}
    dials = {f"one.intake.nose_lift.{one}": Doubt(0.02 * np.sqrt(3.0)) for one in ("checking", "running")}
    exact = {f"one.intake.nose_lift.{one}": Doubt(0.0) for one in ("checking_force", "running_force")}
    found = results(
        mapping, stiffness, "one.intake", {one: {one: 1.0} for one in mapping}, {**dials, **exact}
    )
    assert not isinstance(found, Missing)
    least = 1000 / (0.02 + 2 * np.hypot(0.02, 0.02))
    told = float(re.search(r"stiffer than (\d+) N/mm", found["gear_stiffness"].note)[1])  # type: ignore[index]
    assert told == pytest.approx(
        least, rel=5e-3
    )  # the doubt is by differences over a step of a hair's breadth
