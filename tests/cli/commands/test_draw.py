"""`tallstack draw`: the file it writes, in three kinds, and what it says."""

from __future__ import annotations

import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing.sheet import BLANK
from tallstack.cli.job.loading import load

from ...clearance_jobs import by_coordinates
from ...commands import BENCH, COORDINATES, DEMO, EXAMPLES, tallstack
from ...seeded import few

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("job", few((COORDINATES, BENCH), 1))
@pytest.mark.parametrize("ending", few(["svg", "png", "pdf"], 1))
def test_the_ending_decides_the_kind_and_the_bytes_come_again(tmp_path: Path, job: Path, ending: str) -> None:
    first, second = tmp_path / f"first.{ending}", tmp_path / f"second.{ending.upper()}"
    for path in (first, second):
        ended = tallstack("draw", job, "-o", path)
        assert (ended.status, ended.err) == (0, "")
    content = first.read_bytes()
    assert content == second.read_bytes()
    begins = {"svg": b"<?xml", "png": b"\x89PNG\r\n\x1a\n", "pdf": b"%PDF-"}[ending]
    assert content.startswith(begins)
    for word in (b"CreationDate", b"ModDate", b"tIME", b"dc:date", b"Software"):
        assert word not in content


@pytest.mark.wide
def test_another_hash_seed_changes_nothing(tmp_path: Path) -> None:
    for seed in ("1", "2"):
        subprocess.run(
            [sys.executable, "-m", "tallstack.cli", "draw", COORDINATES, "-o", tmp_path / f"{seed}.svg"],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
        )
    assert (tmp_path / "1.svg").read_bytes() == (tmp_path / "2.svg").read_bytes()


def test_an_svg_loads_no_matplotlib(tmp_path: Path) -> None:
    words = ["tallstack", "draw", str(COORDINATES), "-o", str(tmp_path / "gear.svg")]
    code = (
        f"import sys; sys.argv = {words!r}\nfrom tallstack.cli.app import main\n"
        "try: main()\nexcept SystemExit: pass\nprint('LOADED', *sys.modules)"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not {"matplotlib", "sympy", "PIL"} & set(ended.stdout.rpartition("LOADED")[2].split())
    assert (tmp_path / "gear.svg").is_file()


def test_an_unknown_ending_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    path = tmp_path / "gear.dwg"
    ended = tallstack("draw", COORDINATES, "-o", path)
    assert (ended.status, ended.out) == (2, "")
    assert ended.err == f"{path}: a drawing is written as .svg, .png or .pdf; end the file's name so\n"
    assert list(tmp_path.iterdir()) == []


def test_without_a_file_to_draw_into_it_says_so() -> None:
    ended = tallstack("draw", COORDINATES)
    assert (ended.status, ended.out) == (2, "")
    assert ended.err == "name the file to draw into: -o gear.svg, or .png or .pdf\n"


def test_a_file_that_is_there_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "gear.svg"
    path.write_text("mine", encoding="utf-8")
    ended = tallstack("draw", COORDINATES, "-o", path)
    assert ended.status == 2
    assert "add --force" in ended.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert tallstack("draw", COORDINATES, "-o", path, "--force").status == 0
    assert path.read_bytes().startswith(b"<?xml")


def test_a_valve_gear_that_is_not_there_is_named(tmp_path: Path) -> None:
    ended = tallstack("draw", COORDINATES, "front.intke", "-o", tmp_path / "gear.svg")
    assert (ended.status, ended.out) == (2, "")
    assert "front.intke: no such valve gear or cylinder; did you mean front.intake?" in ended.err
    assert list(tmp_path.iterdir()) == []


def test_a_job_without_valve_gears_says_what_to_write(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('format = 1\nunits = "mm"\n[stack]\ncylinder = 140\n', encoding="utf-8")
    ended = tallstack("draw", job, "-o", tmp_path / "gear.svg")
    assert ended.status == 2
    assert "no [[train]] in this job" in ended.err


def test_without_a_name_the_first_that_has_coordinates_is_drawn(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    text = COORDINATES.read_text(encoding="utf-8")
    bare = '[[train]]\ncylinder = "rear"\nport = "exhaust"\n'
    text = text.partition('[[train]]\ncylinder = "rear"\nport = "exhaust"')[0]
    head, first, rest = text.partition("[[train]]")
    job.write_text(f"{head}{bare}{first}{rest}", encoding="utf-8")
    ended = tallstack("draw", job, "-o", tmp_path / "gear.svg")
    assert ended.status == 0
    assert "valve gear, front intake" in ended.out
    ended = tallstack("draw", job, "rear.exhaust", "-o", tmp_path / "other.svg")
    assert ended.status == 0
    assert "coordinates are not entered" in " ".join(ended.out.split())


def test_half_of_the_coordinates_are_said_to_be_half(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    text = COORDINATES.read_text(encoding="utf-8")
    job.write_text(text.replace('valve_arm = "35.0 +/- 0.2"\n', ""), encoding="utf-8")
    ended = tallstack("draw", job, "front.intake", "-o", tmp_path / "gear.svg")
    assert ended.status == 0
    assert "coordinates are not complete, they lack rocker.valve_arm." in " ".join(ended.out.split())


def test_parts_that_cannot_be_assembled_are_drawn_as_points(tmp_path: Path) -> None:
    path = tmp_path / "gear.svg"
    ended = tallstack("draw", COORDINATES, "-o", path, "--with", 'front.intake.valve.length="160 mm"')
    assert ended.status == 1
    assert "the rocker cannot meet the stem tip" in ended.out
    words = [one.text or "" for one in ET.fromstring(path.read_text(encoding="utf-8")).iter(f"{SVG}text")]
    assert "CANNOT BE ASSEMBLED" in words
    assert any(one.startswith("The rocker cannot meet the stem tip") for one in words)
    assert "valve's length" in words
    assert "160.00" in words
    assert not any(one.startswith("pushrod to order") for one in words)


def test_a_blank_job_shows_what_to_measure(tmp_path: Path) -> None:
    job, path = tmp_path / "job.toml", tmp_path / "gear.svg"
    tallstack("new", job, "--blank")
    assert tallstack("draw", job, "-o", path).status == 0
    words = [one.text or "" for one in ET.fromstring(path.read_text(encoding="utf-8")).iter(f"{SVG}text")]
    assert "rod as read" in words
    assert BLANK in words
    assert "The stack is not to scale: stack.cylinder is not entered." in words


def test_a_job_file_with_a_fault_is_refused(tmp_path: Path) -> None:
    ended = tallstack("draw", COORDINATES, "-o", tmp_path / "gear.svg", "--with", "stack.cylnder=1")
    assert ended.status == 2
    assert list(tmp_path.iterdir()) == []


def test_help_opens_with_its_example() -> None:
    shown = " ".join(tallstack("draw", "--help").out.split())
    assert "Example: tallstack draw job.toml -o gear.svg" in shown


@pytest.mark.parametrize("typed", ["inf", "-inf", "nan", "1e300", "721"])
def test_a_crank_angle_that_is_none_is_refused(tmp_path: Path, typed: str) -> None:
    path = tmp_path / "engine.svg"
    ended = tallstack("draw", COORDINATES, "engine", "-o", path, "--at", typed)
    assert ended.status == 2
    assert "write crank degrees from -720 to 720" in ended.out + ended.err
    assert not path.exists()


def test_a_block_stays_where_it_is_while_its_pistons_move(tmp_path: Path) -> None:
    """Without a case deck it is drawn by the pistons' highest point, not by where they stand."""
    from tallstack.cli.drawing.pages import engine_of, turned

    text = by_coordinates(tmp_path, pockets=False).read_text(encoding="utf-8")
    path = tmp_path / "bare.toml"
    path.write_text(text.replace('case_deck = "131.9 +/- 0.05"\n', ""), encoding="utf-8")
    job = load(path)
    drawn = []
    for at in (0.0, 77.0, 180.0):
        engine = engine_of(job, turned(job, np.radians([at, at + 1.0])))
        block = [part for part in engine.parts if part.name.endswith(".cylinder")]
        assert len(block) == len(job.names["cylinders"])
        assert not any(end.ways for part in block for end in (part.start, part.end))
        drawn.append([*engine.fixed, *(mark for part in block for mark in part.marks)])
    for other in drawn[1:]:
        for mark, there in zip(drawn[0], other, strict=True):
            for part in ("points", "centre", "at"):
                if hasattr(mark, part):
                    assert np.allclose(getattr(mark, part), getattr(there, part), rtol=0, atol=1e-9)


POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


CAM = """
[lobe.intake]
card = { peak = "8.3 mm", duration = { at = "1.27 mm", degrees = 196 }, seat = { at = "0.15 mm", degrees = 240 } }
centreline = 106
[lobe.exhaust]
card = { peak = "8.1 mm", duration = { at = "1.27 mm", degrees = 198 }, seat = { at = "0.15 mm", degrees = 243 } }
centreline = 110
"""


@pytest.fixture
def twin(tmp_path: Path) -> Path:
    """The twin by coordinates with a cam."""
    path = tmp_path / "twin.toml"
    path.write_text(COORDINATES.read_text(encoding="utf-8") + CAM, encoding="utf-8")
    return path


def test_the_engine_is_drawn_at_an_angle(twin: Path, tmp_path: Path) -> None:
    out = tmp_path / "engine.svg"
    ended = tallstack("draw", twin, "engine", "--at", "20", "-o", out)
    assert ended.status == 0
    drawn = out.read_text(encoding="utf-8")
    assert "20 degrees after front&#39;s overlap top centre" in drawn
    assert "intake lift 4.10 mm<" in drawn
    again = tmp_path / "again.svg"
    tallstack("draw", twin, "engine", "--at", "20", "-o", again)
    assert again.read_bytes() == out.read_bytes()


@pytest.mark.parametrize(
    ("job", "name", "told"),
    [
        (DEMO, (), "no section without the valve's place, the piston and the cam by coordinates"),
        (POCKETS, ("barrel.inta",), "no such valve gear or cylinder; did you mean barrel.intake?"),
    ],
)
def test_sections_that_cannot_be_drawn(job: Path, name: tuple[str, ...], told: str, tmp_path: Path) -> None:
    ended = tallstack("draw", job, *name, "--section", "-o", tmp_path / "x.svg")
    assert ended.status == 2
    assert told in ended.err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(("after", "table"), [("valves", "valves_touch"), ("bore", "bore_readings")])
def test_a_sketch_of_what_nobody_read_asks_for_its_table(
    twin: Path, tmp_path: Path, after: str, table: str
) -> None:
    text = twin.read_text(encoding="utf-8")
    assert table not in text
    out = tmp_path / "sketch.svg"
    ended = tallstack("draw", twin, f"front.{after}", "-o", out)
    assert ended.status == 2
    assert f"front.{after}: nothing to draw without [cylinder.{table}] under cylinder front" in ended.err
    assert not out.exists()
    missing = tallstack("draw", twin, f"middle.{after}", "-o", out)
    assert "no such valve gear or cylinder" in missing.err
