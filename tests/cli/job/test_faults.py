"""Every fault a job file can have ends in one clear message: file, line, column, entry, remedy.

`faults/NAME.toml` is the faulty file, byte for byte; `faults/NAME.txt` is the exact text that must
come out on standard error when the command is run in that folder.
"""

from __future__ import annotations

import errno
import os
import re
import subprocess
import sys
from itertools import chain
from pathlib import Path

import pytest

from ...commands import COORDINATES, FAULTS, Ended, tallstack

CASES = sorted(path.stem for path in FAULTS.glob("*.toml"))
WITHOUT_LINE = {
    "table-of-numbers",
    "words-alone",
    "empty",
    "only-blank-lines",
    "only-comments",
    "utf-16",
    "utf-16-without-a-mark",
}
PLACED = re.compile(r"^[\w-]+\.toml:(\d+):(\d+): \S", re.MULTILINE)


@pytest.fixture
def among_faults(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FAULTS)


def listing() -> list[str]:
    return sorted(f"{folder}/{one}" for folder, *names in os.walk(".") for one in chain(*names))


def refused(*words: str | Path) -> str:
    """Run a command that must be refused, and return what it says."""
    ended = tallstack(*words)
    assert ended.status == 2
    assert not ended.out
    assert "Traceback" not in ended.err
    return ended.err


def test_there_are_enough_faults() -> None:
    assert len(CASES) >= 261
    assert {path.stem for path in FAULTS.glob("*.txt")} == set(CASES)


@pytest.mark.usefixtures("among_faults")
@pytest.mark.parametrize("name", CASES)
def test_fault_is_told_exactly(name: str) -> None:
    expected = (FAULTS / f"{name}.txt").read_bytes().decode()
    before = listing()
    for command in (("pushrods",), ("check",), ("pushrods", "--json"), ("check", "--json")):
        assert refused(command[0], f"{name}.toml", *command[1:]) == expected
    assert listing() == before
    if name not in WITHOUT_LINE:
        assert PLACED.match(expected)


@pytest.mark.parametrize("name", CASES)
def test_faults_come_in_the_order_of_the_file(name: str) -> None:
    told = (FAULTS / f"{name}.txt").read_text(encoding="utf-8")
    places = [(int(line), int(column)) for line, column in PLACED.findall(told)]
    assert places == sorted(places)
    assert len(set(re.findall(r"^[\w-]+\.toml.*", told, re.MULTILINE))) == told.count(f"{name}.toml")


@pytest.mark.parametrize("name", [case for case in CASES if case not in WITHOUT_LINE])
def test_mark_stands_under_the_column_that_is_named(name: str) -> None:
    told = (FAULTS / f"{name}.txt").read_text(encoding="utf-8").split("\n")
    source = (FAULTS / f"{name}.toml").read_bytes().decode("utf-8-sig", errors="replace").split("\n")
    for index, line in enumerate(told):
        place = PLACED.match(line)
        if place is None:
            continue
        row, column = int(place[1]), int(place[2])
        at = source[row - 1][column - 1 : column]
        mark = told[index + 2].index("^")
        shown = told[index + 1][mark : mark + 1]
        if at.isprintable() and at != "\ufffd":
            assert shown == at


@pytest.mark.parametrize("name", ["many-at-once", "tabs", "no-quotes", "latin-1", "empty"])
def test_fault_is_told_by_the_installed_command(name: str) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "tallstack.cli", "pushrods", f"{name}.toml"],
        cwd=FAULTS,
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        check=False,
    )
    assert ran.returncode == 2
    assert ran.stdout == b""
    assert ran.stderr.replace(b"\r\n", b"\n") == (FAULTS / f"{name}.txt").read_bytes()


# Faults of the file itself.


def test_file_of_ten_megabytes(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    path.write_bytes(b"format = 1\n" + b"# a line without end\n" * 500_000)
    assert refused("pushrods", path) == f"{path}: too large; a job file is text of at most 1,000,000 bytes\n"


def test_folder_in_place_of_a_file(tmp_path: Path) -> None:
    assert refused("check", tmp_path) == f"{tmp_path}: a folder, not a job file; name the .toml file in it\n"


def test_file_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    told = refused("pushrods", path)
    assert told == f"{path}: no such file; `tallstack new FILE --blank` starts one\n"
    assert list(tmp_path.iterdir()) == []


def test_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.toml"
    path.write_text("format = 1\n")

    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(os, "open", forbidden)  # the superuser may read every file
    assert refused("pushrods", path) == f"{path}: cannot be read: Permission denied\n"


def test_no_more_slips_are_told_than_one_reads(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("format = 1\n" + "[crank\n" * 100)
    assert refused("pushrods", path).count("job.toml") == 25


# Faults of what stands after --with.

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
        ("front.intake.port=exhaust", "no such entry; "),
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


OVER_PISTON = """\
format = 1
units = "mm"
[crank]
stroke = 94.6
[piston]
compression_height = 31.2
[stack]
bore = 88.4
[lobe.intake]
card = { peak = 7.6, duration = { at = 1.27, degrees = 238 }, seat = { at = 0.15, degrees = 284 } }
centreline = 106
[lobe.exhaust]
law = { name = "cycloidal", peak = 7.3, degrees = 292 }
[[cylinder]]
name = "front"
[[cylinder]]
name = "rear"
[[train]]
cylinder = "front"
port = "intake"
[train.valve]
face = [-21.5, 0, 12]
lean = [-21, 0]
head_diameter = 45.0
[train.pocket]
centre = [-17.5, 0]
lean = [-21, 0]
diameter = 49.0
depth = 3.1
[train.measured_drop]
drop = 7.2
room = 1.8
[[train]]
cylinder = "front"
port = "exhaust"
[train.valve]
face = [21.0, 0, 11.5]
lean = [20, 0]
head_diameter = 38.0
[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
mirror = true
"""


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "front.intake.valve.head_diameter=95",
            "does not go into a bore of 88.400 mm (3.4803 in), see stack.bore",
        ),
        (
            "stack.bore=40",
            "a valve head of 45.000 mm (1.7717 in) does not go into a bore of 40.000 mm (1.5748 in)",
        ),
        (
            "rear.stack.bore=40",
            "40.000 mm (1.5748 in), see rear.intake.valve.head_diameter; look at the units",
        ),
        (
            "rear.intake.valve.face=[200,0,12]",
            "its centre lies 200.000 mm (7.8740 in) off the cylinder's axis",
        ),
        (
            "rear.intake.valve.face.x=200",
            "rear.intake.valve.face: its centre lies 200.000 mm (7.8740 in) off",
        ),
        ("front.intake.pocket.centre.x=-175", "misses a crown of 88.400 mm (3.4803 in), see stack.bore"),
        (
            "piston.crown_thickness=3",
            "goes through a crown 3.000 mm (0.1181 in) thick, see front.intake.pocket.depth",
        ),
        ("front.exhaust.valve.face.x=-20", "see front.intake.valve.face; look at the signs of both places"),
        (
            "piston.dome={height=3, diameter=99}",
            "a dome of 99.000 mm (3.8976 in) across is wider than a crown",
        ),
        ("piston.diameter=88.4", "a piston of 88.400 mm (3.4803 in) does not go into a bore of 88.400 mm"),
        ("rear.piston.dish.depth=40", "rear.piston.dish.depth: a dish 40.000 mm (1.5748 in) deep reaches"),
        ("crank.stroke=7", "7.200 mm (0.2835 in) over a stroke of 7.000 mm (0.2756 in)"),
        ("crank.stroke=7", "see front.intake.measured_drop.drop; look at the units of both"),
        ("front.intake.measured_drop.meets=crown", "see measured_drop.room; leave it out, or say meets"),
        (
            "front.intake.measured_drop.crank.stroke=9.4",
            "9.400 mm (0.3701 in) when the drop was read, against 94.600",
        ),
        (
            "lobe.intake.card.peak=1.2",
            "check lift 1.270 mm (0.0500 in) is not below the peak lift of 1.200 mm",
        ),
        (
            "lobe.intake.card.seat.degrees=120",
            "238 degrees at 1.270 mm (0.0500 in) is not shorter than 120 degrees",
        ),
        (
            "lobe.intake.measured_at=valve",
            "lobe.intake.card.ratio: missing; lifts at the valve come from the lobe",
        ),
        (
            "lobe.intake.table=test.csv",
            "table and card are both given, see card; a lobe comes from one of them",
        ),
        ("lobe.exhaust.angle=crank", "says how a table was read, and this lobe has a law; leave it out"),
        ("lobe.exhaust.centreline=-110", "it has no sign: write 110"),
        ("lobe.spare.centreline=104", "lobe.spare: no lobe is described; add table"),
    ],
)
def test_contradiction_that_with_brings_in_is_told_there_and_once(
    tmp_path: Path, text: str, told: str
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(OVER_PISTON)
    (tmp_path / "test.csv").write_text("angle,lift\n")
    assert tallstack("check", path).status == 0
    said = refused("check", path, "--with", text)
    assert said.startswith(f"--with {text}: ")
    assert told in said
    assert said.count("\n") == 1


def test_faults_after_with_come_before_those_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(JOB.replace("plunger_travel", "plunger_travl"))
    said = refused("check", path, "--with", "stack.cylinder=5 mn", "--with", "stack.bore=zero").split("\n")
    assert [line.split(":")[0] for line in said if line and line[0] != " "] == [
        "--with stack.cylinder=5 mn",
        "--with stack.bore=zero",
        str(path),
    ]


# Output that is refused.


def test_new_does_not_overwrite(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("mine")
    told = refused("new", path, "--blank")
    assert told == f"{path}: exists and is not overwritten; name another file or add --force\n"
    assert path.read_text() == "mine"
    assert tallstack("new", path, "--blank", "--force").status == 0
    assert path.read_text() != "mine"


def test_new_in_a_folder_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "nowhere" / "job.toml"
    told = refused("new", path, "--blank")
    assert told == f"{path}: folder {path.parent} does not exist; make it first\n"
    assert list(tmp_path.iterdir()) == []


def test_new_in_a_folder_that_is_a_file(tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("mine")
    told = refused("new", taken / "job.toml", "--blank")
    assert told == f"{taken / 'job.toml'}: folder {taken} is a file; name another\n"


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("job.toml", "job.toml"),
        ("My job.toml", '"My job.toml"'),
        ("it's (2).toml", '"it\'s (2).toml"'),
        ("cost $5.toml", "'cost $5.toml'"),
    ],
)
def test_command_to_copy_is_quoted_and_on_a_line_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, typed: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert f"\ntallstack new {typed} --blank\n" in refused("new", name)
    ended = tallstack("new", name, "--blank")
    assert f"\ntallstack check {typed}\n" in ended.out
    folder = f"a folder with a name {'so ' * 12}long"
    job = Path(folder, "twin.toml")
    assert f'\ntallstack pushrods "{job}"\n' in tallstack("demo", folder).out


def test_new_onto_a_link(tmp_path: Path) -> None:
    path, target = tmp_path / "job.toml", tmp_path / "elsewhere.toml"
    path.symlink_to(target)
    told = refused("new", path, "--blank")
    assert told == f"{path}: exists and is not overwritten; name another file or add --force\n"
    assert not target.exists()


def test_new_onto_a_folder(tmp_path: Path) -> None:
    assert refused("new", tmp_path, "--blank") == f"{tmp_path}: a folder; name a file in it\n"
    assert refused("new", tmp_path, "--blank", "--force") == f"{tmp_path}: a folder; name a file in it\n"
    assert list(tmp_path.iterdir()) == []


def test_new_in_units_that_no_job_has(tmp_path: Path) -> None:
    told = refused("new", tmp_path / "job.toml", "--blank", "--units", "cm")
    assert told == '--units cm: takes "mm" or "in"\n'
    assert list(tmp_path.iterdir()) == []


def test_demo_in_a_place_that_is_a_file(tmp_path: Path) -> None:
    path = tmp_path / "taken"
    path.write_text("mine")
    told = refused("demo", path)
    assert told.startswith(f"{path}")
    assert path.read_text() == "mine"
    assert [one.name for one in tmp_path.iterdir()] == ["taken"]


def test_demo_does_not_overwrite(tmp_path: Path) -> None:
    assert tallstack("demo", tmp_path / "demo").status == 0
    before = {path: path.read_bytes() for path in (tmp_path / "demo").iterdir()}
    assert "exists and is not overwritten; name another folder or add --force" in refused(
        "demo", tmp_path / "demo"
    )
    assert {path: path.read_bytes() for path in (tmp_path / "demo").iterdir()} == before


# Unusual but possible: told, not refused.

USUAL = """\
format = 1
units = "mm"
[crank]
stroke = 94.6
[stack]
bore = 88.4
cylinder = 121.7
base_gasket = 0.4
head_gasket = 1.2
[[cylinder]]
name = "front"
[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "solid"
lash = 0.1
lash_at = "pushrod"
[train.valve]
head_diameter = 45.0
[train.pushrod]
ball_diameter_low = 7.9
ball_diameter_high = 7.9
[train.measured_pushrod]
length = "276.1 +/- 0.1"
as = "theoretical"
lean = 3
[[train]]
cylinder = "front"
port = "exhaust"
like = "front.intake"
[train.valve]
head_diameter = 39.0
"""


def again(tmp_path: Path, *swaps: tuple[str, str]) -> Ended:
    """Run a usual job with a few of its lines changed."""
    text = USUAL
    for before, after in swaps:
        assert before in text
        text = text.replace(before, after, 1)
    path = tmp_path / "job.toml"
    path.write_text(text)
    return tallstack("pushrods", path)


def looked_at(ended: Ended) -> str:
    """Return what stands under LOOK AGAIN, on one line."""
    _, found, after = ended.out.partition("LOOK AGAIN, before")
    after = after.partition("\n")[2]
    return " ".join(after.split("\n\n")[0].split()) if found else ""


def test_usual_job_is_not_looked_at_again(tmp_path: Path) -> None:
    usual = again(tmp_path)
    assert usual.status in (0, 1)
    assert looked_at(usual) == ""


@pytest.mark.parametrize(
    ("swap", "told"),
    [
        (
            ("head_gasket = 1.2", "head_gasket = 0.047"),
            "stack.head_gasket = 0.047 reads as 0.047 mm (0.00185 in); 1.194 mm would be usual: was it "
            "typed in inches?",
        ),
        (
            ("base_gasket = 0.4", 'base_gasket = "0.4 in"'),
            "stack.base_gasket = 0.4 in reads as 10.16 mm (0.4 in); 0.4 mm would be usual: was it typed in "
            "millimetres?",
        ),
        (
            ("ball_diameter_low = 7.9", "ball_diameter_low = 0.311"),
            "front.intake.pushrod.ball_diameter_low = 0.311 reads as 0.311 mm (0.01224 in); 7.899 mm would "
            "be usual",
        ),
        (
            ("lean = 3", "lean = 3\n[train.rocker]\nratio = 5"),
            "front.intake.rocker.ratio = 5 reads as 5; most engines lie between 0.8 and 2.5",
        ),
        (
            ("stroke = 94.6", "stroke = 46.0"),
            "stack.bore 88.400 mm (3.4803 in) and crank.stroke 46.000 mm (1.8110 in) make an unusual pair",
        ),
        (
            ("head_diameter = 39.0", "head_diameter = 46.5"),
            "front.exhaust.valve.head_diameter 46.500 mm (1.8307 in) is larger than the intake's 45.000 mm "
            "(1.7717 in): are the two ports swapped?",
        ),
    ],
)
def test_unusual_value_is_told_with_both_numbers(tmp_path: Path, swap: tuple[str, str], told: str) -> None:
    ended = again(tmp_path, swap)
    assert ended.status == again(tmp_path).status
    assert not ended.err
    assert told in looked_at(ended)


def test_unit_slip_is_a_fault_where_another_entry_contradicts_it(tmp_path: Path) -> None:
    rocker = "lean = 3\n[train.rocker]\nvalve_arm = 1.36\n"
    assert "was it typed in inches?" in looked_at(again(tmp_path, ("lean = 3", rocker)))
    ended = again(tmp_path, ("lean = 3", f"{rocker}pushrod_arm = 22.0\nratio = 1.57"))
    assert ended.status == 2
    assert "rocker.ratio (BC): the rocker ratio is 1.5700 by this and 0.0618 by rocker.valve_arm" in ended.err


def test_unit_slip_in_the_stack_is_a_fault_beside_the_stack_of_the_reading(tmp_path: Path) -> None:
    slip = ("cylinder = 121.7", "cylinder = 4.791")
    assert "was it typed in inches?" in looked_at(again(tmp_path, slip))
    ended = again(tmp_path, slip, ("lean = 3", "lean = 3\nstack = { cylinder = 119.5 }"))
    assert ended.status == 2
    assert "119.500 mm (4.7047 in) then against 4.791 mm (0.1886 in) in stack.cylinder now" in ended.err


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("front.intake.lifter.preload=9", "9.000 mm (0.3543 in) is more than the plunger's whole travel of"),
        ("front.intake.lifter.lash=1", "a hydraulic lifter takes preload, not lash"),
        ("front.intake.pushrod.hole_low=9", "9.000 mm (0.3543 in) does not fit in a ball of"),
    ],
)
def test_what_was_tried_is_blamed_once_and_no_copy_of_it(text: str, told: str) -> None:
    (line,) = refused("check", COORDINATES, "--with", text).splitlines()
    assert line.startswith(f"--with {text}: {text.partition('=')[0]}: {told}")
