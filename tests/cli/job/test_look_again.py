"""An answer that something entered contradicts is met on paper at best, and says why, wherever it is shown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import tallstack as ts
from tallstack.cli.job.fits import crossing_of
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain, touching
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.fits.across_doubt import LOWERED

from ...cli.commands.test_sheet import pages_of, printed, sheet
from ...commands import BENCH, COORDINATES, EXAMPLES, tallstack

PROVED = EXAMPLES / "pushrods_from_the_shelf" / "job.toml"
SCREWS = EXAMPLES / "single_with_lifter_screws" / "job.toml"
LASH = EXAMPLES / "hot_lash_lost" / "job.toml"
TWO_HEADS = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"


def copied(source: Path, folder: Path, *changes: tuple[str, str]) -> Path:
    """Copy a job, its tables beside it, with something written otherwise."""
    for one in source.parent.iterdir():
        if one.suffix == ".csv":
            (folder / one.name).write_bytes(one.read_bytes())
    text = source.read_text(encoding="utf-8")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    job = folder / "job.toml"
    job.write_text(text, encoding="utf-8")
    return job


def test_a_sentence_touches_what_moves_with_what_it_is_about() -> None:
    told = LookAgain("one", "front.intake.rocker"), LookAgain("all of it", "single"), "merely unusual"
    moving = {"root": {"front.intake.rocker.shaft.x": 1.0}, "other": {"stack.cylinder": 1.0}}
    why = touching(told, moving, ("front.intake", "rear.intake"))
    assert why("front.intake", ("root",)) == ("one",)
    assert why("rear.intake", ("root",)) == ()
    assert why("rear.intake", ("other",)) == ()
    assert why("single", ("other",)) == ("all of it",)
    assert why("rear.intake", ("front.intake.rocker.tip_radius",)) == ("one",)
    assert why("rear.intake", ("front.intake.rockers",)) == ()


def test_what_stands_in_a_gears_tables_is_not_of_its_cylinder() -> None:
    """A rod read on a stack shares that stack with all that is judged of the cylinder, which says nothing of the rod."""
    told = (LookAgain("the rod", "front.intake.measured_pushrod"),)
    moving = {"stack.base_gasket": {"front.intake.measured_pushrod.stack.base_gasket": -1.0}}
    why = touching(told, moving, ("front.intake",))
    assert why("front", ("stack.base_gasket",)) == ()
    assert why("front, front.intake", ("stack.base_gasket",)) == ("the rod",)
    assert why("front.intake", ("stack.base_gasket",)) == ("the rod",)


def rod_far_off(folder: Path) -> Path:
    """A pushrod that was read 23 mm away from what the coordinates foretell."""
    found = copied(COORDINATES, folder)
    reading = (
        '\n[train.measured_pushrod]\nlength = "265.20 +/- 0.1"\nas = "overall"\nplunger = "top"\nlean = 2.2\n'
    )
    text = found.read_text(encoding="utf-8")
    at = text.index('[[train]]\ncylinder = "front"\nport = "exhaust"')
    found.write_text(text[:at] + reading + text[at:], encoding="utf-8")
    return found


@pytest.mark.wide
def test_a_rod_that_contradicts_the_coordinates_is_to_be_looked_at_again(tmp_path: Path) -> None:
    job = rod_far_off(tmp_path)
    told = tallstack("pushrods", job)
    row = next(line for line in told.out.splitlines() if line.startswith("  front intake"))
    assert row.endswith("LOOK AGAIN")
    assert "measured_pushrod stands out, by 23." in " ".join(told.out.split())
    shown = {one["train"]: one for one in tallstack("pushrods", job, "--json").json["pushrods"]}
    assert shown["front.intake"]["look_again"]
    assert shown["front.intake"]["verdict"] == "unproved"
    assert not shown["front.exhaust"]["look_again"]
    assert tallstack("pushrods", job, "--strict").status == 1
    risk = tallstack("risk", job, "--draws", "200", "--json").json["answers"]
    assert next(one for one in risk if one["of"] == "front.intake")["look_again"]
    first = " ".join(pages_of(sheet(job, tmp_path / "sheet.pdf"))[0].split())
    stop = first[first.index("STOP") : first.index("ORDER,")]
    assert "LOOK AGAIN: readings and entries disagree" in stop
    assert "front.intake.measured_pushrod stands out" in stop


def test_a_rod_that_is_worse_hides_no_other(tmp_path: Path) -> None:
    """Of two that contradict the coordinates the lesser one is to be looked at as well."""
    job = rod_far_off(tmp_path)
    text = job.read_text(encoding="utf-8")
    second = (
        '\n[train.measured_pushrod]\nlength = "280.20 +/- 0.1"\nas = "overall"\nplunger = "top"\nlean = 3.0\n'
    )
    job.write_text(text.rstrip() + "\n" + second, encoding="utf-8")  # of the last valve gear
    shown = {one["train"]: one for one in tallstack("pushrods", job, "--json").json["pushrods"]}
    for name in ("front.intake", "rear.exhaust"):
        assert shown[name]["verdict"] == "unproved"
        assert any(f"{name}.measured_pushrod stands out" in one for one in shown[name]["look_again"])


def test_what_contradicts_a_pushrod_stands_above_everything_that_shows_it(tmp_path: Path) -> None:
    job, told = rod_far_off(tmp_path), "front.intake.measured_pushrod stands out, by 23."
    for command in (
        ("check", job),
        ("explain", job, "front.intake"),
        ("draw", job, "-o", tmp_path / "a.svg"),
    ):
        shown = tallstack(*command).out
        assert shown.count("LOOK AGAIN, before using any of this") == 1
        assert told in " ".join(shown.split())
    drawn = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert ">LOOK AGAIN<" in drawn
    assert told in " ".join(re.sub("<[^>]+>", " ", drawn).split())


def test_fits_begin_with_what_misses_and_what_is_to_be_looked_at_again() -> None:
    lines = tallstack("fits", LASH).out.splitlines()
    assert lines[2] == "STOP, 1 thing before anything goes together"
    assert lines[3] == "  SHORT: single exhaust, lash when hot: -0.04 mm, limit 0.05 mm"


def test_an_explanation_repeats_what_touches_its_own_answer(tmp_path: Path) -> None:
    job = rod_far_off(tmp_path)
    found = {
        name: tallstack("explain", job, name, "--json").json for name in ("front.intake", "front.exhaust")
    }
    assert "stands out" in found["front.intake"]["look_again"][0]
    assert found["front.exhaust"]["look_again"] == []
    assert "LOOK AGAIN" not in tallstack("explain", job, "front.exhaust").out


def test_a_record_and_a_swap_say_which_of_their_rows_are_contradicted(tmp_path: Path) -> None:
    job = rod_far_off(tmp_path)
    rod = ("front.intake", "--preload", "1.1 +/- 0.01", "--when", "2026-01-01")
    ended = tallstack("record", job, *rod)
    assert re.search(r"front intake, preload .* LOOK AGAIN\n", ended.out)
    rows = {
        (one["what"], one.get("train")): one for one in tallstack("record", job, "--json").json["compared"]
    }
    row = rows["preload", "front.intake"]
    assert row["verdict"] == "not_judged"
    assert "stands out" in row["look_again"][0]
    assert rows["preload", "front.exhaust"]["look_again"] == []
    swapped = tallstack("swap", job, "--from", COORDINATES)
    assert re.search(r"change +-23.02 .* LOOK AGAIN\n", swapped.out)
    assert "nan" not in swapped.out
    trains = {
        one["train"]: one for one in tallstack("swap", job, "--from", COORDINATES, "--json").json["trains"]
    }
    assert "stands out" in trains["front.intake"]["look_again"][0]
    assert trains["front.exhaust"]["look_again"] == []


def test_a_doubt_that_no_tool_has_takes_the_ok_away() -> None:
    assert {one["verdict"] for one in tallstack("pushrods", PROVED, "--json").json["pushrods"]} == {"ok"}
    tried = 'front.intake.measured_pushrod.lean="3 +/- 40"'
    told = tallstack("pushrods", PROVED, "--with", tried, "--json").json
    row = next(one for one in told["pushrods"] if one["train"] == "front.intake")
    assert row["look_again"]
    assert row["verdict"] == "unproved"
    assert "no tool reads an angle as badly as 40 degrees" in row["look_again"][0]


@pytest.mark.parametrize(
    ("entry", "value", "told"),
    [
        ("front.intake.rocker.valve_station", "23", "beside the stem's tip, along the shaft"),
        ("front.intake.rocker.direction", "[0, -1, 0]", "beside the stem's tip, along the shaft"),
        ("front.intake.lifter.seat", "[-20.5, -20.0, -14.0]", "pushrod leans"),
    ],
)
def test_a_rocker_the_wrong_way_round_is_asked_about(
    tmp_path: Path, entry: str, value: str, told: str
) -> None:
    name = entry.rpartition(".")[2]
    text = COORDINATES.read_text(encoding="utf-8").split("\n")
    place = next(at for at, line in enumerate(text) if line.startswith(f"{name} ="))
    text[place] = f"{name} = {value}"
    job = tmp_path / "job.toml"
    job.write_text("\n".join(text), encoding="utf-8")
    rows = {one["train"]: one for one in tallstack("pushrods", job, "--json").json["pushrods"]}
    assert any(told in one for one in rows["front.intake"]["look_again"])
    assert not rows["front.exhaust"]["look_again"]


@pytest.mark.wide
def test_the_first_page_says_all_that_stops_the_work() -> None:
    first = " ".join(pages_of(printed(LASH, "a4"))[0].split())
    assert "STOP, 1 thing before anything goes together" in first
    assert "SHORT: single exhaust, lash when hot" in first
    assert "SHORT when hot" in first[first.index("ORDER,") :]  # at the lash that is to be set
    first = " ".join(pages_of(printed(TWO_HEADS, "a4"))[0].split())
    assert "SHORT: left, valve to valve" in first
    assert "heads meet" not in first
    assert "TIGHT: left, squish at rest" in first
    first = " ".join(pages_of(printed(COORDINATES, "a4"))[0].split())
    assert "Nothing here misses a limit that was asked." in first


@pytest.mark.wide
def test_everything_that_is_short_stands_on_the_first_page_alike_ones_together(tmp_path: Path) -> None:
    targets = '[targets]\ndrop_intake = "30 mm"\ndrop_exhaust = "30 mm"\nvalve_to_valve = "20 mm"\nsquish_least = "9 mm"\n'
    source = EXAMPLES / "sheet_for_the_job_folder" / "job.toml"
    text = source.read_text(encoding="utf-8")
    text = text[: text.index("[targets]")] if "[targets]" in text else text
    job = tmp_path / "job.toml"
    job.write_text(f"{text}\n{targets}", encoding="utf-8")
    pages = [" ".join(page.split()) for page in pages_of(sheet(job, tmp_path / "sheet.pdf"))]
    assert "signature" in pages[0]
    stop = pages[0][: pages[0].index("ORDER,")]
    answers = tallstack("risk", job, "--draws", "100", "--json").json["answers"]
    every = [one for one in answers if one["verdict"] == "short"]
    assert len(every) > 6
    for one in every:
        assert f"{one['of'].replace('.', ' ')}, " in stop or f"{one['of'].replace('.', ' ')}: " in stop
        value = f"{one['value_mm']:.2f} mm"
        assert value in stop, (one["of"], one["what"])


@pytest.mark.wide
def test_a_spigot_that_was_not_measured_is_not_said_to_pass_either(tmp_path: Path) -> None:
    source = (EXAMPLES / "which_cylinder_first" / "job.toml").read_text(encoding="utf-8")
    size = ', outer_diameter = "104.0 +/- 0.1" }'
    head, _, rest = source.rpartition(size)  # of the rear
    job = tmp_path / "job.toml"
    job.write_text(f"{head} }}{rest}", encoding="utf-8")
    found = crossing_of(load(job))
    assert [(one.fitted, one.lowered) for one in found.drop_on] == [("rear", "front")]
    assert found.unseen("rear", "front")
    assert found.sure[LOWERED, "rear", "front"].verdict is Verdict.UNPROVED


def test_what_is_wrong_with_every_piston_touches_every_cylinder(tmp_path: Path) -> None:
    job = copied(
        EXAMPLES / "which_cylinder_first" / "job.toml", tmp_path, ("units", "# units of this job\nunits")
    )
    found = load(job, ["piston.compression_height=60 mm"])
    (told,) = (one for one in found.warnings if "out of its cylinder" in one)
    assert isinstance(told, LookAgain)
    assert set(found.names["cylinders"]) <= set(told.about)


def test_a_blank_in_the_stack_of_a_reading_stays_open(tmp_path: Path) -> None:
    """What it was then is not what it is now for being left blank."""
    text = BENCH.read_text(encoding="utf-8")
    at = text.index("stack = {")
    before = text[at : text.index("}", at)]
    name, _, _ = before.removeprefix("stack = {").partition("=")
    blank = f'stack = {{ {name.strip()} = ""'
    job = tmp_path / "job.toml"
    job.write_text(text[:at] + blank + text[at + len(before) :], encoding="utf-8")
    found = load(job)
    path = f"front.intake.measured_pushrod.stack.{name.strip()}"
    assert path in [one.path for one in found.blanks]
    row = next(
        one for one in tallstack("pushrods", job, "--json").json["pushrods"] if one["train"] == "front.intake"
    )
    assert row["verdict"] == "unproved"
    assert any("left blank" in one for one in row["look_again"])


def test_a_heel_without_what_the_table_was_read_with_is_asked_about(tmp_path: Path) -> None:
    source = EXAMPLES / "cam_known_from_36_readings" / "job.toml"
    port = re.findall(r"\[lobe\.(\w+)\]\ntable", source.read_text(encoding="utf-8"))[0]
    job = copied(source, tmp_path, (f"[lobe.{port}]\n", f"[lobe.{port}]\nbase_radius = 0.6\n"))
    rows = {one["train"]: one for one in tallstack("clearance", job, "--json").json["valves"]}
    assert any(name.endswith(port) for name in rows)
    for name, row in rows.items():
        asked = any("what rode on the lobe" in one for one in row["look_again"])
        assert asked == name.endswith(port)
        assert row["verdict"] != "ok" or not asked
    assert any(one.entry == f"lobe.{port}.read_with" for one in load(source).assumed)


LEAN_OF = "when barrel.intake's pushrod was read"


@pytest.mark.parametrize(
    ("typed", "odd"),
    [
        ('["2.7 +/- 0.3", "-0.8 +/- 0.3"]', ()),
        ('["2.7 +/- 0.3", "2.0 +/- 0.5"]', ("view along x was 2.0 deg by",)),
        ('["-2.7 +/- 0.3", "0.8 +/- 0.3"]', ("view along y was -2.7 deg by", "view along x was 0.8 deg by")),
        ('"2.8 +/- 0.3"', ()),
        ('"5.6 +/- 0.3"', ("its lean was 5.6 deg by barrel.intake.measured_pushrod.lean and 2.8 by",)),
        ('"5.6 +/- 3"', ()),
        ("4.6", ()),  # without a +/-, as a protractor is held by
        ("7.6", ("its lean was 7.6 deg",)),
    ],
)
def test_a_lean_that_was_read_is_held_against_the_coordinates(
    tmp_path: Path, typed: str, odd: tuple[str, ...]
) -> None:
    path = copied(SCREWS, tmp_path, ('lean = ["1.9 +/- 0.5", "-0.7 +/- 0.5"]', f"lean = {typed}"))
    found = [one for one in load(path).warnings if LEAN_OF in one]
    assert len(found) == len(odd)
    assert all(one in text for one, text in zip(odd, found, strict=True))
    assert all("barrel.intake.measured_pushrod" in getattr(one, "about", ()) for one in found)


def test_a_wish_touches_what_is_told_of_its_gear_and_of_those_built_like_it() -> None:
    told = (LookAgain("the lash", "front.intake.lifter.lash"),)
    moving = {"stack.cylinder": {"stack.cylinder": 1.0}}
    follows = {
        "stack.cylinder": "",
        "front.intake.lifter.lash": "",
        "rear.intake.lifter.lash": "front.intake.lifter.lash",
        "rear.exhaust.lifter.lash": "",
    }
    gears = ("front.intake", "rear.intake", "rear.exhaust")
    why = touching(told, moving, gears, follows)
    assert why("front.intake", ()) == why("rear.intake", ()) == told
    assert why("rear, rear.intake, rear.exhaust", ()) == told
    assert why("rear.exhaust", ("stack.cylinder",)) == ()
    assert why("front", ("stack.cylinder",)) == ()


def test_what_rests_on_a_copy_rests_on_what_it_is_a_copy_of() -> None:
    told, travel = (LookAgain("the travel", "front.intake.lifter.plunger_travel"),), "lifter.plunger_travel"
    moving = {f"front.intake.{travel}": {f"front.intake.{travel}": 1.0, f"rear.intake.{travel}": 1.0}}
    follows = {f"front.intake.{travel}": "", f"rear.intake.{travel}": f"front.intake.{travel}"}
    why = touching(told, moving, ("front.intake", "rear.intake"), follows)
    assert why("rear.intake", (f"rear.intake.{travel}",)) == told
    of_gear = touching(
        (LookAgain("the gear", "front.intake"),), moving, ("front.intake", "rear.intake"), follows
    )
    assert of_gear("rear.intake", (f"rear.intake.{travel}",)) == ()
    assert why("rear.intake", ("stack.cylinder",)) == ()


def test_a_count_touches_what_moves_with_the_table_that_it_stands_in() -> None:
    told = (LookAgain("where it was read", "lobe.intake.card.duration.at"),)
    paths = (
        "lobe.intake.card.duration.degrees",
        "lobe.intake.card.peak",
        "lobe.exhaust.card.duration.degrees",
    )
    moving = {path: {path: 1.0} for path in paths}
    why = touching(told, moving, (), {**dict.fromkeys(paths, ""), "lobe.intake.card.duration.at": ""})
    assert [why("single", (path,)) for path in paths] == [told, (), ()]


def test_of_readings_of_which_one_counts_any_touches_what_rests_on_that_one() -> None:
    told = (LookAgain("a bore", "front.bore_readings.top_across"),)
    paths = ("front.bore_readings.top_across", "rear.bore_readings.low_across", "stack.cylinder")
    why = touching(told, {path: {path: 1.0} for path in paths}, ())
    assert [why("rear", (path,)) for path in paths] == [told, told, ()]


INCHES = """
format = 1
units = "in"
[crank]
stroke = "3.465 +/- 0.001"
conrod_length = "5.709 +/- 0.001"
[piston]
compression_height = "1.2165 +/- 0.001"
[stack]
cylinder = "4.310 +/- 0.001"
head_gasket = "0.071 +/- 0.002"
[[cylinder]]
name = "one"
[lobe.intake]
law = { name = "4-5-6-7", peak = "0.323 +/- 0.001", degrees = "310 +/- 2" }
centreline = "108 +/- 1"
[[train]]
cylinder = "one"
port = "intake"
lifter = LIFTER
rocker = { ratio = "1.55 +/- 0.02" }
[train.measured_pushrod]
length = "9.709 +/- 0.002"
as = "overall"
lean = "2 +/- 1"
stack = { head_gasket = "0.071 +/- 0.002" }
[train.measured_drop]
drop = "0.430 +/- 0.002"
lean = "8 +/- 1"
meets = "crown"
stack = { head_gasket = "0.071 +/- 0.002" }
[train.valve]
retainer_to_seal = "0.61 +/- 0.01"
[[train.spring]]
installed = "1.575 +/- 0.008"
free_length = "1.890 +/- 0.008"
rate = "171 +/- 3 lbf/in"
solid_height = "1.004 +/- 0.008"
"""
SOLID = '{ kind = "solid", lash = "%s", lash_at = "valve" }'
FILLED = '{ kind = "hydraulic", preload = "%s", plunger_travel = "%s" }'


def met(folder: Path, lifter: str, more: str = "") -> set[str]:
    """Return which answers of the one valve gear are met."""
    path = folder / "inches.toml"
    text = INCHES.replace("LIFTER", lifter)
    if "hydraulic" in lifter:
        text = text.replace('as = "overall"', 'as = "overall"\nplunger = "top"')
    path.write_text(text + more, encoding="utf-8")
    told = [one for one in ts.load(path).answers() if isinstance(one, ts.Result) and one.of == "one.intake"]
    return {one.answer for one in told if one.verdict == "ok"}


def test_a_lash_in_the_wrong_unit_leaves_nothing_met_that_it_moves(tmp_path: Path) -> None:
    right = met(tmp_path, SOLID % "0.012 +/- 0.001")
    assert right >= {"overall", "gap", "coil_bind", "retainer_to_seal"}
    for typed in ("0.30 +/- 0.02", "0.12 +/- 0.001"):
        assert met(tmp_path, SOLID % typed) == set()


def test_a_preload_or_a_travel_in_the_wrong_unit_leaves_no_pushrod_met(tmp_path: Path) -> None:
    assert "overall" in met(tmp_path, FILLED % ("0.060", "0.140 +/- 0.003"))
    assert "overall" not in met(tmp_path, FILLED % ("1.5", "3.6 +/- 0.1"))
    assert "overall" not in met(tmp_path, FILLED % ("0.060", "3.6 +/- 0.1"))


def test_a_limit_in_the_wrong_unit_leaves_nothing_met_that_is_held_against_it(tmp_path: Path) -> None:
    lifter = SOLID % "0.012 +/- 0.001"
    assert {"gap", "coil_bind"} <= met(tmp_path, lifter, "[targets]\ndrop_intake = 0.080\n")
    asked = met(tmp_path, lifter, "[targets]\ndrop_intake = '0.080 mm'\n")
    assert "gap" not in asked
    assert "coil_bind" in asked
