"""`tallstack check` shows what moves an answer most, in the job's own unit; --json holds all of it, in mm."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

import pytest
from tallstack.cli.commands.check import answer
from tallstack.cli.guide.blank import blank_job
from tallstack.cli.job.loading import load
from tallstack.cli.page.wording import DECIDED

from ...clearance_jobs import by_coordinates
from ...commands import BENCH, COORDINATES, tallstack

ROW = re.compile(r"  +(-?\d+\.\d+) +(mm|in) per (mm|in|degree|0\.01) +(\S+)")
KEYS = {"mm": ("per_mm", 1.0), "in": ("per_mm", 1.0), "degree": ("per_deg", 1.0), "0.01": ("per_one", 0.01)}

INCHES = """\
format = 1
units = "in"
[crank]
stroke = 4.5
conrod_length = 7.75
[stack]
cylinder = 5.614
head_gasket = 0.043
[[cylinder]]
name = "front"
[lobe.intake]
card = { peak = 0.318, duration = { at = 0.050, degrees = 236 } }
centreline = 104
[[train]]
cylinder = "front"
port = "intake"
lifter = { kind = "hydraulic", preload = 0.040 }
rocker = { ratio = 1.6 }
[train.measured_pushrod]
length = 10.871
as = "overall"
plunger = "top"
lean = 3
stack = { cylinder = 5.464 }
[train.measured_drop]
drop = 0.312
lean = 23
meets = "crown"
"""


def moves(path: Path) -> tuple[dict[str, list[str]], dict[str, list[dict[str, float | str]]]]:
    """Return the lines under every heading of what moves an answer, and the same answers' rows of --json."""
    told = answer(load(path))
    blocks: dict[str, list[str]] = {}
    for block in told.text.split("\n\n"):
        heading, *lines = block.split("\n")
        if heading.startswith("WHAT MOVES"):
            blocks[heading] = lines
    rows: dict[str, list[dict[str, float | str]]] = {}
    for row in told.document["moves"]:
        what = "PUSHROD" if row["answer"] not in ("drop_mm", "gap_mm") else "CLEARANCE"
        rows.setdefault(f"WHAT MOVES THE {what}, valve gear, {row['train'].replace('.', ' ')} (", []).append(
            row
        )
    return blocks, rows


@cache
def moves_of_the_single() -> tuple[dict[str, list[str]], dict[str, list[dict[str, float | str]]]]:
    """Return the same of the job by coordinates, worked out once for all tests."""
    with tempfile.TemporaryDirectory() as folder:
        return moves(by_coordinates(Path(folder)))


@pytest.mark.parametrize("units", ["mm", pytest.param("in", marks=pytest.mark.wide)])
def test_numbers_are_those_of_json_in_the_unit_of_the_job(tmp_path: Path, units: str) -> None:
    path = tmp_path / "inches.toml"
    path.write_text(INCHES, encoding="utf-8")
    blocks, rows = moves(path) if units == "in" else moves_of_the_single()
    seen = set()
    for heading, found in rows.items():
        (lines,) = [lines for one, lines in blocks.items() if one.startswith(heading)]
        by_entry = {row["entry"]: row for row in found}
        for line in lines[:8]:
            row = ROW.fullmatch(line)
            assert row is not None, line
            seen.add((row[2], row[3]))
            key, step = KEYS[row[3]]
            slope = float(by_entry[row[4]][key]) * step
            assert float(row[1]) == pytest.approx(
                slope / (25.4 if row[2] == "in" != row[3] else 1), abs=5.1e-5
            )
    assert seen <= {(units, units), (units, "degree"), (units, "0.01")}
    assert (units, units) in seen
    if units == "in":
        assert seen == {("in", "in"), ("in", "degree"), ("in", "0.01")}


def test_eight_are_shown_and_the_rest_counted() -> None:
    blocks, rows = moves_of_the_single()
    assert len(blocks) == len(rows) == 4
    for heading, found in rows.items():
        (lines,) = [lines for one, lines in blocks.items() if one.startswith(heading)]
        assert len(lines) == 9
        assert lines[8] == f"  {len(found) - 8} more entries move it less; --json has every one"
        least = min(abs(float(line.split()[0])) for line in lines[:8])
        hidden = {row["entry"]: row for row in found} | {line.split()[-1]: {} for line in lines[:8]}
        for row in hidden.values():
            for key, step in KEYS.values():
                assert abs(float(row.get(key, 0.0))) * step <= least + 5e-5


def test_a_direction_is_told_by_its_hundredths(tmp_path: Path) -> None:
    path = by_coordinates(tmp_path, exhaust=False)
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'pushrod_station = "(.*?) ', r'pushrod_station = "1\1 ', text), encoding="utf-8")
    blocks, _ = moves(path)
    lines = [line for block in blocks.values() for line in block if ".rocker.direction." in line]
    assert lines
    assert all(" mm per 0.01 " in line and abs(float(line.split()[0])) < 2 for line in lines)


def test_a_blank_that_no_answer_waits_for_leaves_a_job_whole(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    blanks = '[train.pushrod]\nhole_low = ""\n'
    path.write_text(
        INCHES.replace("preload = 0.040", "preload = 0.040, plunger_travel = 0.14") + blanks, encoding="utf-8"
    )
    ended = tallstack("check", path)
    assert ended.status == 0
    assert "1 entry is blank that no answer waits for" in " ".join(ended.out.split())
    shown = ended.out.split("BLANK, AND NO ANSWER WAITS FOR IT")[1].split("\n\n")[0]
    assert "for turning one length convention into another" in " ".join(shown.split())
    path.write_text(path.read_text(encoding="utf-8").replace("drop = 0.312", 'drop = ""'), encoding="utf-8")
    ended = tallstack("check", path, "--json")
    assert ended.status == 1
    assert {*ended.json["open"]} == {"front.intake.measured_drop.drop", "front.intake.pushrod.hole_low"}
    assert ended.json["optional"] == []


@pytest.mark.parametrize("entry", ["plunger_travel", "head_gasket"])
def test_a_blank_that_a_verdict_waits_for_does_not(tmp_path: Path, entry: str) -> None:
    path = tmp_path / "job.toml"
    text = INCHES.replace("preload = 0.040", "preload = 0.040, plunger_travel = 0.14")
    text = text.replace("stack = { cylinder = 5.464 }", 'stack = { cylinder = 5.464, head_gasket = "" }')
    if entry == "plunger_travel":
        text = text.replace("plunger_travel = 0.14", 'plunger_travel = ""').replace(', head_gasket = ""', "")
    path.write_text(text, encoding="utf-8")
    ended = tallstack("check", path)
    assert ended.status == 1
    assert "NOT WHOLE: 1 entry is still blank" in ended.out


def test_check_shows_every_entry_as_typed_and_as_understood() -> None:
    out = tallstack("check", BENCH).out
    assert "0.043 in  ->  0.043 in = 1.0922 mm" in out
    assert "front.exhaust.pushrod.hole_low   [like front.intake]\n      0.063 in  ->" in out
    assert "2 +/- 1  ->  2 deg +/- 1 deg" in out


def test_check_tells_how_much_each_entry_moves_the_length() -> None:
    moves = tallstack("check", COORDINATES, "--json").json["moves"]
    front = {row["entry"]: row for row in moves if row["train"] == "front.intake"}
    assert front["stack.cylinder"]["per_mm"] == pytest.approx(0.9993, abs=5e-5)
    longer = [
        tallstack("pushrods", COORDINATES, "--json", *more).json["pushrods"][0]["overall_mm"]
        for more in ((), ("--with", "front.intake.rocker.arm_angle=158.1"))
    ]
    assert (longer[1] - longer[0]) / 0.1 == pytest.approx(
        front["front.intake.rocker.arm_angle"]["per_deg"], rel=1e-2
    )


def test_a_mirrored_copy_moves_with_the_entry_it_was_copied_from() -> None:
    moves = tallstack("check", COORDINATES, "--json").json["moves"]
    by_train = {row["train"]: row["per_mm"] for row in moves if row["entry"] == "front.intake.valve.length"}
    assert by_train.keys() == {"front.intake", "rear.intake"}
    assert by_train["rear.intake"] == pytest.approx(by_train["front.intake"], abs=1e-4)


def solid(text: str) -> str:
    return text.replace('kind = ""', 'kind = "solid"')


def test_check_puts_a_wish_under_the_heading_of_the_measuring_list(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(blank_job("mm"), encoding="utf-8")
    measured, _, decided = tallstack("check", job).out.partition("STILL TO BE MEASURED")[2].partition(DECIDED)
    assert "lifter.kind" in measured
    assert "lifter.preload" not in measured
    assert "lifter.preload" in decided
    job.write_text(solid(blank_job("mm")), encoding="utf-8")
    text = tallstack("check", job).out
    assert "preload" not in text
    assert "plunger" not in text
