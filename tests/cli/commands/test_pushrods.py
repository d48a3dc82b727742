"""`tallstack pushrods` as a person and as a program sees it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from ...commands import BENCH, COORDINATES, EXAMPLES, screen, tallstack

# The contract's example: these coordinates give these lengths, in mm and degrees.
CONTRACT_JOB = """
format = 1
title = "the contract's example"
units = "mm"
[stack]
case_deck = 143.65
base_gasket = 0.5
cylinder = "142.6 +/- 0.02"
head_gasket = 1.1
case_cut = 0.0
head_cut = 0.0
[[cylinder]]
name = "front"
lean = 27
[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
seat = [-23, 64, -12]
lean = [1.0, -1.5]
lowered = 0.0
plunger_travel = 3.6
preload = 1.2
[train.rocker]
shaft = [-37.5, 30, 135.5]
direction = [0, 1, 0]
valve_arm = 36.0
pushrod_arm = 22.0
arm_angle = 157
valve_station = -30
pushrod_station = 24
tip_radius = 6.0
[train.valve]
face = [-24.5, 0, 14]
lean = [-23, 0]
length = 116.0
sink = 0.0
[train.pushrod]
ball_diameter_low = 7.94
ball_diameter_high = 7.94
hole_low = 2.0
hole_high = 2.0
"""


@pytest.fixture
def contract(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(CONTRACT_JOB, encoding="utf-8")
    return path


def test_the_contract_s_example(contract: Path) -> None:
    ended = tallstack("pushrods", contract, "--json")
    assert ended.status == 0
    assert ended.err == ""
    document = ended.json
    assert (document["format"], document["command"]) == (1, "pushrods")
    (row,) = document["pushrods"]
    expected = {"centres_mm": 290.0609, "theoretical_mm": 298.0009, "overall_mm": 297.7449}
    for key, digits in expected.items():
        assert row[key] == pytest.approx(digits, abs=5e-5)
    assert row["lean_deg"] == pytest.approx(2.4515, abs=5e-5)
    assert row["growth_per_stack"] == pytest.approx(0.9991, abs=5e-5)
    assert row["gauge_mm"] is None
    assert (row["train"], row["basis"], row["lifter"]) == ("front.intake", "coordinates", "hydraulic")
    assert (row["preload_mm"], row["lash_mm"]) == (1.2, None)
    assert {"heel_deg", "shelf"} <= row.keys()
    assert {"assumed", "warnings", "job"} <= document.keys()


def test_coordinates_alone_are_headed_as_an_estimate(contract: Path) -> None:
    lines = tallstack("pushrods", contract).out.splitlines()
    place = lines.index("valve gear, front intake")
    assert lines[place + 1] == "  ESTIMATE, NOT FOR ORDERING, from coordinates alone"
    assert sum("ESTIMATE, NOT FOR ORDERING" in line for line in lines[:place]) == 1


def test_no_length_is_shown_without_its_convention() -> None:
    """In its line, or in the head of the table that it stands in."""
    for job in (BENCH, COORDINATES):
        for told in (tallstack("pushrods", job).out, screen("pushrods", job).out):
            for part in told.split("\n\n"):
                head, *lines = part.splitlines()
                for line in lines:
                    if any(one.startswith(("289.", "281.", "11.3", "11.4")) for one in line.split()):
                        words = ("OVERALL", "overall", "theoretical", "centres", "gauge")
                        assert any(word in line or word in head for word in words)


def test_strict_counts_an_unproved_answer_as_missed(contract: Path) -> None:
    assert tallstack("pushrods", contract).status == 0
    assert tallstack("pushrods", contract, "--strict").status == 1
    assert tallstack("pushrods", BENCH, "--strict").status == 0


@pytest.mark.parametrize(
    ("preload", "word", "status"),
    [("0.043 in", "OK", 0), ("0.057 in", "TIGHT", 0), ("0.062 in", "SHORT", 1), ("0.019 in", "SHORT", 1)],
)
def test_the_verdict_on_a_preload_between_two_limits(preload: str, word: str, status: int) -> None:
    ended = tallstack("pushrods", BENCH, "--with", f"front.intake.lifter.preload={preload}")
    summary = next(line for line in ended.out.splitlines() if line.startswith("  front intake"))
    assert summary.split()[-1] == word
    assert ended.status == status


def test_a_limit_that_was_not_set_is_named_common_practice(contract: Path) -> None:
    assert "common practice, set your own" in tallstack("pushrods", contract).out
    assert "(0.51 to 1.52 mm): yours" in tallstack("pushrods", BENCH).out


def test_with_changes_the_stack_and_leaves_the_reading_where_it_was_taken(tmp_path: Path) -> None:
    source = BENCH.read_text(encoding="utf-8")
    bare = source.replace(
        'stack = { cylinder = "5.362 +/- 0.001 in", head_gasket = "0.030 +/- 0.002 in" }', ""
    )
    path = tmp_path / "job.toml"
    path.write_text(bare, encoding="utf-8")
    before, after = (
        tallstack("pushrods", path, "--json", *more).json["pushrods"][0]
        for more in ((), ("--with", 'stack.cylinder="5.663 in"'))
    )
    grown = after["centres_mm"] - before["centres_mm"]
    assert grown == pytest.approx(0.1 * 25.4 * before["growth_per_stack"], abs=1e-3)


def test_impossible_parts_are_an_answer_in_words(contract: Path) -> None:
    ended = tallstack("pushrods", contract, "--with", "front.intake.valve.length=190")
    assert ended.status == 1
    assert "CANNOT BE ASSEMBLED" in ended.out
    assert "the rocker cannot meet the stem tip" in ended.out
    assert "nan" not in ended.out.lower()
    document = tallstack("pushrods", contract, "--json", "--with", "front.intake.valve.length=190").json
    (row,) = document["pushrods"]
    assert row["centres_mm"] is None
    assert row["reach_mm"] < 0
    assert row["cannot_assemble"]


@pytest.mark.parametrize(
    ("variation", "words"),
    [
        ("front.intake.rocker.shaft=[-66, 30, 90.8]", "would lift it off the stem"),
        ("front.intake.rocker.arm_angle=335", "on the wrong side of the shaft"),
        ("front.intake.rocker.direction=[-0.39, 0, 0.92]", "the rocker cannot meet the stem tip"),
    ],
)
def test_each_way_parts_can_fail_has_its_sentence(contract: Path, variation: str, words: str) -> None:
    ended = tallstack("pushrods", contract, "--with", variation)
    assert ended.status == 1
    assert words in " ".join(ended.out.split())


def test_a_job_without_enough_to_go_by_ends_in_status_2_and_says_what_is_missing(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        'format = 1\nunits = "in"\n[[cylinder]]\nname = "a"\n[[train]]\ncylinder = "a"\nport = "intake"\n'
    )
    for more in ((), ("--json",)):
        ended = tallstack("pushrods", path, *more)
        assert ended.status == 2
        assert ended.out == ""
        assert "lifter.kind" in ended.err
        assert "measured_pushrod.length" in ended.err


def test_one_valve_gear_known_and_one_not_is_status_1(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        BENCH.read_text(encoding="utf-8")
        + '\n[[cylinder]]\nname = "third"\n[[train]]\ncylinder = "third"\nport = "intake"\n',
        encoding="utf-8",
    )
    ended = tallstack("pushrods", path)
    assert ended.status == 1
    assert "valve gear, third intake: not computed" in ended.out


@pytest.mark.parametrize("job", [BENCH, COORDINATES], ids=["bench", "coordinates"])
def test_everything_fits_80_columns_of_ascii(job: Path) -> None:
    for command in ("pushrods", "check"):
        out = tallstack(command, job).out
        assert out.isascii()
        assert max(len(line) for line in out.splitlines()) <= 80


@pytest.mark.wide
@pytest.mark.parametrize("job", [BENCH, COORDINATES], ids=["bench", "coordinates"])
def test_json_is_the_same_byte_for_byte_wherever_it_runs(job: Path) -> None:
    places = [
        {"PYTHONHASHSEED": "1", "LC_ALL": "C", "COLUMNS": "40"},
        {"PYTHONHASHSEED": "77", "LC_ALL": "de_DE.UTF-8", "COLUMNS": "200", "NO_COLOR": "1"},
        {"PYTHONHASHSEED": "77", "LC_ALL": "tr_TR.UTF-8", "PYTHONIOENCODING": "ascii"},
    ]
    for command in ("pushrods", "check"):
        printed = {
            subprocess.run(
                [sys.executable, "-m", "tallstack.cli", command, str(job), "--json"],
                env={**os.environ, **place},
                capture_output=True,
                check=True,
            ).stdout
            for place in places
        }
        assert len(printed) == 1


def test_a_title_in_any_script_does_not_stop_a_plain_terminal(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        BENCH.read_text(encoding="utf-8").replace("58 degree twin", "Zwilling 58° — 測定"), encoding="utf-8"
    )
    ended = subprocess.run(
        [sys.executable, "-m", "tallstack.cli", "pushrods", str(path)],
        env={**os.environ, "PYTHONIOENCODING": "cp1252"},
        capture_output=True,
        check=False,
    )
    assert ended.returncode == 0
    assert b"PUSHRODS: Zwilling" in ended.stdout


def test_a_closed_pipe_ends_quietly() -> None:
    line = f'"{sys.executable}" -m tallstack.cli check "{COORDINATES}" | head -n 1'
    ended = subprocess.run(["bash", "-c", line], capture_output=True, text=True, check=False)
    assert ended.stdout.startswith("CHECK:")
    assert ended.stderr == ""


SOLID = """
format = 1
written_for = "0.6"
units = "in"
[[cylinder]]
name = "one"
[stack]
base_gasket = "0.015 +/- 0.001"
cylinder = "5.1 +/- 0.001"
head_gasket = "0.04 +/- 0.002"
[[train]]
cylinder = "one"
port = "intake"
lifter = { kind = "solid", lash = "0.006", lash_at = "valve" }
rocker = { ratio = "1.52 +/- 0.01" }
measured_pushrod = { length = "10.5 +/- 0.01", as = "overall", lean = "2 +/- 1" }
"""


def test_what_is_tight_says_which_limit_it_is_close_to(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(SOLID, encoding="utf-8")
    told = " ".join(tallstack("pushrods", job).out.split())
    assert "TIGHT TIGHT: 0.006 in (0.15 mm) of lash at the valve, known to +/- 0.018 in (0.45 mm)" in told
    told = " ".join(
        tallstack("pushrods", BENCH, "--with", "front.intake.lifter.preload=0.057 in").out.split()
    )
    assert "TIGHT: the preload is 0.003 in (0.08 mm) below the most, known to +/- 0.0" in told


SHELF = """label,kind,length,shortest,longest,as,units,ball_diameter,threads_per_inch,flats,count
A7,fixed,11.390,,,overall,in,5/16,,,2
ADJ,adjustable,,11.200,11.520,overall,in,,24,6,4
"""


def test_a_shelf_on_the_command_line(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(SHELF, encoding="utf-8")
    ended = tallstack("pushrods", BENCH, "--shelf", path, "--json")
    assert ended.status == 0
    assert {one["label"] for one in ended.json["set"]["pushrods"]} == {"ADJ"}
    row = ended.json["pushrods"][0]["shelf"][1]
    assert {
        "label",
        "kind",
        "length_mm",
        "preload_mm",
        "lash_mm",
        "turns",
        "flats",
        "thread_left_mm",
        "fits",
        "why",
    } <= row.keys()
    assert row["flats"] == round(row["turns"] * 6)


def test_no_set_is_offered_when_the_shelf_holds_too_few(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(SHELF.replace("24,6,4", "24,6,1").replace(",2\n", ",1\n"), encoding="utf-8")
    ended = tallstack("pushrods", BENCH, "--shelf", path)
    assert ended.status == 1
    assert "NO SET: the shelf holds too few of what fits" in ended.out


def test_a_set_is_not_short_before_every_length_is_known(tmp_path: Path) -> None:
    """A length that nobody read misses nothing; one that is known and fits nowhere is SHORT, whatever is read."""
    folder = EXAMPLES / "pushrods_from_the_shelf"
    text, job = (folder / "job.toml").read_text(encoding="utf-8"), tmp_path / "job.toml"
    unread = 'length = "10.327 +/- 0.002 in"'
    job.write_text(text.replace(unread, f"# {unread}"), encoding="utf-8")
    full = tallstack("pushrods", job, "--shelf", folder / "shelf.csv")
    assert "NO SET YET: NOT KNOWN: which pushrods of the shelf fit" in " ".join(full.out.split())
    shelf = tmp_path / "shelf.csv"
    shelf.write_text("label,kind,length,as,units,count\nOLD,fixed,11.19,overall,in,4\n", encoding="utf-8")
    for held, said in (
        (folder / "shelf.csv", "NOT KNOWN: which pushrods of the shelf fit, before the length of"),
        (shelf, "SHORT: no set of pushrods from the shelf fits"),
    ):
        ended = screen("pushrods", job, "--shelf", held)
        assert ended.status == 1
        told = " ".join(ended.out.split())
        assert said in told
        assert ("SHORT" in told) is (held == shelf)


def test_the_nearest_miss_is_named_when_nothing_fits(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text("label,kind,length,as,units,count\nOLD,fixed,11.19,overall,in,4\n", encoding="utf-8")
    ended = tallstack("pushrods", BENCH, "--shelf", path)
    assert ended.status == 1
    assert "nothing fits; the nearest is OLD: slack" in " ".join(ended.out.split())


def test_a_pushrod_far_too_short_is_no_offer_without_a_number(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text(
        "label,kind,length,as,units,count\nstub,fixed,7.0,overall,in,4\npole,fixed,20,overall,in,4\n",
        encoding="utf-8",
    )
    job = tmp_path / "job.toml"
    text = COORDINATES.read_text(encoding="utf-8")
    for was, now in (('kind = "hydraulic"', 'kind = "solid"'), ("plunger_travel", "#"), ("preload", "lash")):
        text = text.replace(f"\n{was}", f"\n{now}")
    job.write_text(text.replace("lash = 1.1", "lash = 0.2"), encoding="utf-8")
    for words in ((), ("--json",)):
        ended = tallstack("pushrods", job, "--shelf", path, *words)
        assert ended.status == 1
        assert "nan" not in ended.out.lower()
    row = ended.json["pushrods"][0]
    assert [one["lash_mm"] for one in row["shelf"]] == [None, None]
    assert row["shelf"][0]["misses_by_mm"] > row["overall_mm"] - 7.0 * 25.4
