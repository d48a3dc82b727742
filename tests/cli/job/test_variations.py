"""Values tried with --with: as the shell leaves them, a table at once, held to what the file says."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.faults import InputFaultsError

from ...job_texts import BENCH, FULL, centres, changed, entries_under, job, refused


def test_with_tries_another_value_and_leaves_the_file_alone(tmp_path: Path) -> None:
    found = job(tmp_path, BENCH, 'front.intake.lifter.preload="0.050 in"')
    entry = found.entries["front.intake.lifter.preload"]
    assert entry.value == 1.27
    assert entry.origin == '--with front.intake.lifter.preload="0.050 in"'
    assert (tmp_path / "job.toml").read_text() == BENCH


@pytest.mark.parametrize(
    "typed", ['"0.050 in"', "0.050 in", "0.05", "'0.050\"'", '0.050"', "50 thou", " 0.05 "]
)
def test_with_reads_a_value_as_the_shell_leaves_it(tmp_path: Path, typed: str) -> None:
    found = job(tmp_path, BENCH, f"front.intake.lifter.preload={typed}")
    assert found.entries["front.intake.lifter.preload"].value == 1.27


def test_with_one_component_of_a_point(tmp_path: Path) -> None:
    front = entries_under(job(tmp_path, FULL, "front.intake.lifter.seat.x=-20.5"), "front.intake")
    assert (front["lifter.seat.x"], front["lifter.seat.y"]) == (-20.5, 55.0)


def test_with_a_whole_point_and_a_component_of_a_lean(tmp_path: Path) -> None:
    tried = ("front.intake.lifter.seat=[-20, 54, -9]", "front.intake.valve.lean.x=-21")
    front = entries_under(job(tmp_path, FULL, *tried), "front.intake")
    assert [front[f"lifter.seat.{axis}"] for axis in "xyz"] == [-20.0, 54.0, -9.0]
    assert front["valve.lean.x"] == pytest.approx(math.radians(-21), rel=1e-15)


def test_with_for_one_cylinder(tmp_path: Path) -> None:
    before, after = job(tmp_path, FULL), job(tmp_path, FULL, "rear.stack.cylinder=120.9")
    assert centres(after) == centres(before)
    assert centres(after, "rear.intake") - centres(before, "rear.intake") == pytest.approx(2.0, abs=0.01)


@pytest.mark.parametrize(
    ("text", "tried"),
    [
        (FULL, "front.intake.rocker.ratio=1.7"),
        (FULL, "front.intake.rocker.cup=[1, 2, 3]"),
        (FULL, "front.intake.rocker.span=45"),
        (FULL, "front.intake.rocker.adjuster.pitch=1"),
        (FULL, "front.intake.valve.tip_height=90"),
        (FULL, "front.intake.pocket.deepest=[9, 9]"),
        (FULL, "stack.measured_deck.below=9"),
        (BENCH, "front.intake.measured_pushrod.checking_rod={ closed = 10, turns = 2, pitch = 1 }"),
        (BENCH, "rear.intake.measured_pushrod.length=9"),
        (BENCH, "rear.intake.measured_drop.drop=0.2"),  # something that belongs beside it is missing
    ],
)
def test_what_is_tried_is_held_to_what_the_file_says_in_another_way(
    tmp_path: Path, text: str, tried: str
) -> None:
    with pytest.raises(InputFaultsError) as refused:
        job(tmp_path, text, tried)
    assert {fault.outside for fault in refused.value.faults} == {f"--with {tried}"}


def test_what_is_tried_stands_beside_another_way_that_agrees(tmp_path: Path) -> None:
    rocker = entries_under(job(tmp_path, FULL, "front.intake.rocker.ratio=1.561"), "front.intake")
    assert (rocker["rocker.ratio"], rocker["rocker.pushrod_arm"]) == (1.561, 20.5)


@pytest.mark.parametrize(
    ("table", "entries"),
    [
        ('measured_pushrod.plunger={ down = "0.060 in" }', ('measured_pushrod.plunger.down="0.060 in"',)),
        (
            'measured_pushrod.checking_rod={ closed = 10.6, turns = "8.68 +/- 0.05", threads_per_inch = 20 }',
            (
                "measured_pushrod.checking_rod.closed=10.6",
                'measured_pushrod.checking_rod.turns="8.68 +/- 0.05"',
                "measured_pushrod.checking_rod.threads_per_inch=20",
            ),
        ),
        (
            'measured_pushrod={ length = 11.1, stack = { cylinder = "5.3 in", head_gasket = 0.03 } }',
            (
                "measured_pushrod.length=11.1",
                "measured_pushrod.stack.cylinder=5.3",
                "measured_pushrod.stack.head_gasket=0.03",
            ),
        ),
    ],
)
def test_with_a_table_in_braces_sets_every_entry_in_it(
    tmp_path: Path, table: str, entries: tuple[str, ...]
) -> None:
    whole = job(tmp_path, BENCH, f"front.intake.{table}")
    singly = job(tmp_path, BENCH, *(f"front.intake.{one}" for one in entries))
    assert whole.mapping == singly.mapping
    assert whole.doubts == singly.doubts
    assert whole.mapping != job(tmp_path, BENCH).mapping
    both = {"front.intake.measured_pushrod.plunger", "front.intake.measured_pushrod.plunger.down"}
    assert not both <= whole.mapping.keys()


def test_last_of_two_tried_values_stands(tmp_path: Path) -> None:
    found = job(tmp_path, BENCH, "stack.cylinder=5.5", "stack.cylinder=5.6")
    assert found.entries["stack.cylinder"].value == pytest.approx(5.6 * 25.4, rel=1e-15)


def test_copies_follow_what_is_tried(tmp_path: Path) -> None:
    rear = entries_under(job(tmp_path, FULL, "front.intake.lifter.seat.x=-20.5"), "rear.intake")
    assert rear["lifter.seat.x"] == 20.5
    apart = entries_under(job(tmp_path, FULL, "rear.intake.lifter.seat.x=20.5"), "front.intake")
    assert apart["lifter.seat.x"] == -19.5


def test_reading_keeps_the_stack_it_was_taken_on(tmp_path: Path) -> None:
    before, after = job(tmp_path, BENCH), job(tmp_path, BENCH, "stack.cylinder=5.502")
    growth = float(np.cos(np.radians(2))) * 0.1 * 25.4
    assert centres(after) - centres(before) == pytest.approx(growth, abs=0.01)
    assert after.entries["front.intake.measured_pushrod.stack.cylinder"].value == pytest.approx(5.402 * 25.4)
    assert before.entries["front.intake.measured_pushrod.stack.cylinder"].follows == "stack.cylinder"
    assert after.entries["front.intake.measured_pushrod.stack.cylinder"].follows == ""


def test_every_entry_can_be_tried_as_it_was_typed(tmp_path: Path) -> None:
    for text in (BENCH, FULL):
        plain = job(tmp_path, text)
        for path, entry in plain.entries.items():
            if entry.origin or entry.follows:
                continue
            again = job(tmp_path, text, f"{path}={json.dumps(entry.typed)}")
            assert again.entries[path].value == entry.value, path
            assert again.entries[path].doubt == entry.doubt


def test_blank_is_filled_by_what_is_tried(tmp_path: Path) -> None:
    blank = changed(BENCH, ('"0.042 in"', '""'))
    found = job(tmp_path, blank, "front.intake.lifter.preload=0.042")
    assert "front.intake.lifter.preload" not in {one.path for one in found.blanks}
    assert centres(found) == centres(job(tmp_path, BENCH))


JOB = """\
format = 1
units = "in"
[stack]
cylinder = "5.231 +/- 0.001 in"
[[cylinder]]
name = "front"
[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
preload = "0.041 in"
plunger_travel = "0.138 in"
seat = ["-0.8 in", "2.3 in", "-0.3 in"]
[train.measured_pushrod]
length = "10.871 +/- 0.003 in"
as = "overall"
plunger = "top"
"""


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "front.intake.lifter.preload",
            'write entry=value, for example --with front.intake.lifter.preload="0.050 in"',
        ),
        ("=0.05", 'write entry=value, for example --with front.intake.lifter.preload="0.050 in"'),
        (
            "front.intake.lifter.preoad=0.05",
            "no such entry; did you mean front.intake.lifter.preload?",
        ),
        ("stack.cylindr=5.2", "no such entry; did you mean stack.cylinder?"),
        (
            "middle.spare=5.2",
            "no such entry; `tallstack check FILE` shows the entries of a job by their paths",
        ),
        ("crank.q=5", "no such entry; the entries there are stroke, conrod_length, turns, "),
        ("crank=5", "no such entry; `tallstack check FILE` shows"),
        ("piston.dome=5", "a table, not an entry; the entries in it are height, diameter"),
        (
            "front.intake.port=exhaust",
            "says which part of the engine this is, and is not tried; change port in the file",
        ),
        (
            "front.intake.lifter.preload=5 furlongs",
            '"5 furlongs": "furlongs" is no unit of a length; it takes mm, in, thou or "',
        ),
        (
            "front.intake.lifter.preload=0,05",
            '"0,05": a comma means thousands to some; write "0.05" if decimals',
        ),
        ("front.intake.lifter.preload=", "no value after ="),
        ('front.intake.lifter.preload=""', "no value after ="),
        ("front.intake.lifter.preload=-0.05", "-0.05: must be 0 or more"),
        (
            "front.intake.lifter.preload=0.5",
            "12.700 mm (0.5000 in) is more than the plunger's whole travel of 3.505 mm (0.1380 in)",
        ),
        ("front.intake.lifter.kind=roler", '"roler" where "hydraulic" or "solid" belongs'),
        ("front.intake.lifter.seat.z=high", '"high": not a number; write for example 4.935'),
        (
            "front.intake.length=222",
            "no such entry; did you mean front.intake.valve.length or front.intake.measured_pushrod.length?",
        ),
        ("front.intake.lash=0.1", "no such entry; did you mean front.intake.lifter.lash?"),
        ("preload=0.05", "no such entry; did you mean front.intake.lifter.preload?"),
        ("lash=0.1", "no such entry; did you mean front.intake.lifter.lash?"),
        (
            "front.intake.plunger=top",
            "no such entry; did you mean front.intake.measured_pushrod.plunger?",
        ),
        ("stack.below=0.1", "no such entry; did you mean stack.measured_deck.below?"),
        (
            'front.intake.measured_pushrod.plunger={ donw = "0.060 in" }',
            "front.intake.measured_pushrod.plunger.donw: no such entry; did you mean "
            "front.intake.measured_pushrod.plunger.down?",
        ),
        (
            "front.intake.measured_pushrod.plunger={ down = 0.060 in }",
            "no table that can be read; give each entry a --with of its own, for example --with "
            'front.intake.measured_pushrod.plunger.down="..."',
        ),
        (
            "front.intake.measured_pushrod.stack={}",
            "a table, not an entry; the entries in it are base_gasket",
        ),
        ('stack={ cylinder = "" }', "stack.cylinder: no value after ="),
        ("front.intake.measured_pushrod.as=calipers", "did you mean overall?"),
        ("front.intake.lifter.preload=O.05", '"O.05": the letter O stands for a zero in it; write "0.05"'),
        ("stack.cylinder=132.9", "was it typed in mm? this file's bare numbers count in inches"),
        ("front.intake.lifter.seat=5", "5 where 3 belong; write for example [-23, 64, -12]"),
    ],
)
def test_fault_after_with(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text(JOB)
    said = refused("pushrods", path, "--with", text)
    assert said.startswith(f"--with {text}: ")
    assert told in said
    assert said.count("\n") == 1
    assert path.read_text() == JOB


def test_faults_after_with_come_before_those_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(JOB.replace("plunger_travel", "plunger_travl"))
    said = refused("check", path, "--with", "stack.cylinder=5 mn", "--with", "stack.bore=zero").split("\n")
    assert [line.split(":")[0] for line in said if line and line[0] != " "] == [
        "--with stack.cylinder=5 mn",
        "--with stack.bore=zero",
        str(path),
    ]
