"""`tallstack check` shows what moves an answer most, in the job's own unit; --json holds all of it, in mm."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

import pytest
from tallstack.cli.commands.check import answer
from tallstack.cli.job.loading import load

from ...clearance_jobs import by_coordinates
from ...commands import tallstack

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


@pytest.mark.parametrize("units", ["mm", "in"])
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
