"""`fits.trapped` against figures by hand, a fine row of angles, a fine integration, and differences of whole engines."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.fits.trapped import NOT_TOLD, STEP, Cylinder, air, through_hole

from ...seeded import few

LONG = Cylinder(
    Crank(array(58.7375), array(194.818), array(0.0), array(0.0)),
    True,
    array(117987.0),
    array(np.pi / 4 * 104.775**2),
)
BEGINS = array(np.pi + np.radians(48))
CRANKED = array(250 * np.pi / 30)
JOB = """
format = 1
units = "mm"
[stack]
cylinder = "130 +/- 0.02"
base_gasket = "0.4 +/- 0.02"
head_gasket = "1.0 +/- 0.02"
bore = "104.775 +/- 0.01"
case_deck = "150 +/- 0.05"
case_cut = 0
head_cut = 0
[crank]
stroke = "117.475 +/- 0.02"
conrod_length = "194.818 +/- 0.05"
[piston]
compression_height = "27.4 +/- 0.05"
crown_volume = "0 +/- 0.2 cc"
[chamber]
volume = "105 +/- 0.5 cc"
gasket_bore = "104.775 +/- 0.1"
[running]
altitude = "0 m"
[cam]
advance = "0 +/- 1"
[[cylinder]]
name = "one"
[lobe.intake]
TABLE
centreline = "106 +/- 1"
[[train]]
cylinder = "one"
port = "intake"
lifter = { kind = "solid", lash = "0.1 +/- 0.02" }
rocker = { ratio = "1.5 +/- 0.01" }
"""
LAW = 'law = { name = "4-5-6-7", peak = "8.1 +/- 0.02", degrees = "310 +/- 1" }'


def job(folder: Path, *more: str, lobe: str = LAW) -> Job:
    path = folder / "job.toml"
    path.write_text(JOB.replace("TABLE", lobe), encoding="utf-8")
    return load(path, more)


def figures(one: Job) -> dict[str, Result]:
    found = next(each for each in one.fits.answers if each.group.title == "TRAPPED COMPRESSION")
    assert not isinstance(found.found, Missing), found.found
    return dict(found.found)


@pytest.mark.parametrize(
    ("closes", "descent", "trapped"),
    [(30, 111.832, 9.172), (40, 107.427, 8.850), (48, 102.994, 8.526), (60, 94.864, 7.932)],
)
def test_what_is_trapped_of_a_long_stroke(closes: float, descent: float, trapped: float) -> None:
    after = array(np.radians(closes))
    assert LONG.crank.descent(np.pi + after, True) == pytest.approx(descent, abs=6e-4)
    assert LONG.trapped(after) == pytest.approx(trapped, abs=6e-4)
    assert LONG.trapped(-after) == pytest.approx(9.585, abs=6e-4)  # before bottom centre: all of it


def test_a_gauge_between_two_exponents_at_two_heights() -> None:
    ratio = LONG.trapped(array(np.radians(48)))
    assert [float(101.325 * (ratio**one - 1)) for one in (1.2, 1.3)] == pytest.approx([1225, 1542], abs=0.5)
    high = air(array(1500.0))
    assert high == pytest.approx(84.56, abs=5e-3)
    assert [float(high * (ratio**one - 1)) / 6.894757 for one in (1.2, 1.3)] == pytest.approx(
        [148, 187], abs=0.5
    )


@pytest.mark.parametrize(("hole", "reads"), [(2, 1142), (3, 916), (4, 686), (5, 486), (6, 329), (1e-9, 1375)])
def test_what_a_hole_lets_out(hole: float, reads: float) -> None:
    found = through_hole(LONG, BEGINS, array(101.325), array(hole), 0.7, CRANKED)
    assert float(found) == pytest.approx(reads, abs=0.5)


@pytest.mark.parametrize(("rpm", "reads"), [(150, 714), (400, 1062)])
def test_what_a_hole_lets_out_by_the_speed(rpm: float, reads: float) -> None:
    found = through_hole(LONG, BEGINS, array(101.325), array(3.0), 0.7, array(rpm * np.pi / 30))
    assert float(found) == pytest.approx(reads, abs=0.5)


@pytest.mark.parametrize("hole", few([4.0, 2.0, 6.0], 1))
def test_quarter_degrees_are_fine_enough(hole: float) -> None:
    args = LONG, BEGINS, array(101.325), array(hole), 0.7, CRANKED
    assert float(through_hole(*args)) == pytest.approx(float(through_hole(*args, step=STEP / 20)), abs=1.0)


def test_many_holes_are_as_each_alone() -> None:
    holes = np.array([2.0, 3.0, 4.0])
    many = through_hole(LONG, BEGINS, array(101.325), holes, 0.7, CRANKED)
    for place, hole in enumerate(holes):
        one = through_hole(LONG, BEGINS, array(101.325), array(hole), 0.7, CRANKED)
        assert many[place] == pytest.approx(float(one), rel=1e-12)


def test_how_much_it_moves_with_the_closing_and_the_volume() -> None:
    def ratio(closes: float, more: float = 0.0) -> float:
        return float(LONG._replace(at_top=LONG.at_top + more).trapped(array(np.radians(closes))))

    assert (ratio(48.1) - ratio(47.9)) / 0.2 == pytest.approx(-0.0441, abs=5e-5)
    assert (ratio(48, 500) - ratio(48, -500)) == pytest.approx(-0.0638, abs=5e-5)


@pytest.mark.parametrize(("key", "check"), [("", 0.15), ("_020", 0.508), ("_050", 1.27)])
def test_where_the_intake_closes_against_a_fine_row_of_angles(tmp_path: Path, key: str, check: float) -> None:
    one = job(tmp_path)
    lift = one.clearances.situations["one"].lifts["one.intake"]
    crank = np.radians(np.arange(110.0, 400.0, 0.0005))
    last = crank[lift.at(crank) >= check][-1]
    found = figures(one)[f"intake_closes{key}"]
    assert found.value == pytest.approx(float(np.degrees(last)) - 180, abs=1e-3)


@pytest.mark.parametrize(
    ("entry", "said", "value", "unit"),
    [
        ("lobe.intake.centreline", "{} +/- 1", 106.0, float(np.radians(1))),
        ("cam.advance", "{} +/- 1", 0.0, float(np.radians(1))),
        ("one.intake.rocker.ratio", "{} +/- 0.01", 1.5, 1.0),
        ("chamber.volume", "{} +/- 0.5 cc", 105.0, 1000.0),
        ("crank.conrod_length", "{} +/- 0.05 mm", 194.818, 1.0),
    ],
)
def test_how_much_each_entry_moves_it(
    tmp_path: Path, entry: str, said: str, value: float, unit: float
) -> None:
    plain = figures(job(tmp_path))["trapped_ratio"]
    ends = [
        figures(job(tmp_path, f"{entry}={said.format(value + by)}"))["trapped_ratio"].value
        for by in (0.01, -0.01)
    ]
    assert plain.slopes.get(entry, 0.0) == pytest.approx(
        (ends[0] - ends[1]) / 0.02 / unit, rel=5e-3, abs=1e-7
    )


def test_a_release_that_holds_a_valve_open_traps_what_is_left_there(tmp_path: Path) -> None:
    plain, held = figures(job(tmp_path)), figures(job(tmp_path, "chamber.release_closes=110"))
    assert held["intake_closes"].value == plain["intake_closes"].value
    assert held["trapped_ratio"].value < plain["trapped_ratio"].value
    assert "holds a valve open" in held["trapped_ratio"].note
    early = figures(job(tmp_path, "chamber.release_closes=20"))
    assert early["trapped_ratio"].value == pytest.approx(plain["trapped_ratio"].value)


def test_a_hole_needs_the_speed_and_is_told_as_a_range(tmp_path: Path) -> None:
    one = job(tmp_path, "chamber.release_hole=3 mm")
    found = next(each for each in one.fits.answers if each.group.title == "TRAPPED COMPRESSION")
    assert isinstance(found.found, Missing)
    assert found.found.entries == ("running.cranking_speed",)
    there = figures(job(tmp_path, "chamber.release_hole=3 mm", "running.cranking_speed=250 rpm"))
    plain = figures(job(tmp_path))
    assert there["cranking_low"].value < there["cranking_high"].value < plain["cranking_high"].value


def test_when_it_closes_rests_on_no_volume(tmp_path: Path) -> None:
    """A crown of which nothing is entered leaves the ratio unproved, and the closing, of the valve's lift, as sure as it is."""
    table = tmp_path / "lobe.csv"
    cam = np.arange(0.0, 361.0, 4.0)
    lifts = 8.1 * np.cos(np.radians(np.clip((cam - 180.0) * 90.0 / 75.0, -90.0, 90.0))) ** 3
    rows = "".join(f"{at},{lift:.3f}\n" for at, lift in zip(cam, lifts, strict=True))
    table.write_text(f"angle,lift\n{rows}", encoding="utf-8")
    path = tmp_path / "job.toml"
    read = 'table = "lobe.csv"\nmeasured_at = "lifter"\nangle = "cam"'
    text = JOB.replace("TABLE", read).replace('crown_volume = "0 +/- 0.2 cc"', "")
    path.write_text(text, encoding="utf-8")
    found = figures(load(path))
    assert "piston.crown_volume" in found["trapped_ratio"].budget.undoubted
    assert "piston.crown_volume" in found["cranking_low"].budget.undoubted
    for key in ("intake_closes", "intake_closes_020", "intake_closes_050"):
        assert found[key].proved
        assert found[key].doubt == pytest.approx(2 * np.hypot(1, 1) / np.sqrt(3), rel=0.3)
        assert found[key].note.endswith("of the valve's lift")


def test_a_height_that_nobody_said_is_the_sea_and_proves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(JOB.replace("TABLE", LAW).replace('altitude = "0 m"', ""), encoding="utf-8")
    low = figures(load(path))["cranking_low"]
    assert "running.altitude" in low.budget.undoubted
    assert "at sea level" in low.note
    assert "fuel" in low.note
    mountain = figures(load(path, ["running.altitude=4921.26 ft"]))["cranking_low"]
    assert mountain.value / low.value == pytest.approx(84.556 / 101.325, abs=1e-5)


@pytest.mark.parametrize(
    ("card", "keys"),
    [
        ('{ peak = "8.1 +/- 0.02", duration = { at = "1.27 +/- 0.001", degrees = "236 +/- 1" } }', 0),
        (
            '{ peak = "8.1 +/- 0.02", duration = { at = "1.27 +/- 0.001", degrees = "230 +/- 1" }, '
            'seat = { at = "0.3 +/- 0.001", degrees = "280 +/- 1" } }',
            2,
        ),
    ],
)
def test_a_card_tells_no_closing_below_its_least_lift(tmp_path: Path, card: str, keys: int) -> None:
    one = job(tmp_path, lobe=f"card = {card}")
    found = next(each for each in one.fits.answers if each.group.title == "TRAPPED COMPRESSION").found
    if not keys:
        assert isinstance(found, Missing)
        assert found.why == NOT_TOLD
        return
    assert not isinstance(found, Missing)
    assert "lobe.intake.card" in found["trapped_ratio"].budget.undoubted
    assert "0.5 mm" in found["trapped_ratio"].note


@pytest.mark.parametrize("said", [True, False])
def test_a_lash_that_lifts_were_read_with_and_nobody_said_proves_no_closing(
    tmp_path: Path, said: bool
) -> None:
    lifts = 12.0 * np.cos(np.minimum(np.abs(np.arange(0, 360, 5) - 180) / 70, 1.0) * np.pi / 2) ** 2
    rows = [f"{5 * row},{lift:.3f}" for row, lift in enumerate(lifts)]
    (tmp_path / "lobe.csv").write_text("\n".join(["angle,lift", *rows]), encoding="utf-8")
    table = 'measured_at = "valve"\nangle = "cam"\ntable = "lobe.csv"\n'
    found = figures(job(tmp_path, lobe=table + ('lash_read = "0.1 +/- 0.02"' if said else "")))
    for key in ("intake_closes", "trapped_ratio"):
        assert ("lobe.intake.lash_read" in found[key].budget.undoubted) is not said


def test_an_exhaust_traps_nothing_and_a_lobe_that_is_not_known_is_said(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        JOB.replace("TABLE", LAW)
        .replace('port = "intake"', 'port = "exhaust"')
        .replace("lobe.intake", "lobe.exhaust")
    )
    found = next(each for each in load(path).fits.answers if each.group.title == "TRAPPED COMPRESSION")
    assert found.found == {}
    path.write_text(JOB.replace("TABLE", LAW).replace("[lobe.intake]\n", "[lobe.other]\n"), encoding="utf-8")
    other: Any = next(
        each for each in load(path).fits.answers if each.group.title == "TRAPPED COMPRESSION"
    ).found
    assert isinstance(other, Missing)
