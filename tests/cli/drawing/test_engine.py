"""The engine as it turns: where its parts stand on paper, and what cannot be drawn."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.engine import engine, look_at, numbers
from tallstack.cli.drawing.lines import Line
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.turning import Turning
from tallstack.geometry.engine.engine import build

from ...commands import COORDINATES, DEMO, tallstack

CAM = """
[lobe.intake]
card = { peak = "8.3 mm", duration = { at = "1.27 mm", degrees = 196 }, seat = { at = "0.15 mm", degrees = 240 } }
centreline = 106
[lobe.exhaust]
card = { peak = "8.1 mm", duration = { at = "1.27 mm", degrees = 198 }, seat = { at = "0.15 mm", degrees = 243 } }
centreline = 110
"""


CRANK = np.radians(np.arange(-360.0, 361.0, 7.0))


@pytest.fixture
def twin(tmp_path: Path) -> Path:
    """The twin by coordinates with a cam."""
    path = tmp_path / "twin.toml"
    path.write_text(COORDINATES.read_text(encoding="utf-8") + CAM, encoding="utf-8")
    return path


@pytest.fixture
def turned(twin: Path) -> tuple[JobFile, Turning]:
    job = load(twin)
    return job, pages.turned(job, CRANK)


def test_cylinders_turn_with_one_crank(turned: tuple[JobFile, Turning]) -> None:
    """Both rods hang on one pin, wherever the crank stands; the rear fires when its leans say."""
    job, found = turned
    pins_of = {}
    for name, moving in found.cylinders.items():
        look = look_at(pages.cylinder_of(job, name))
        pins_of[name] = np.array([look.flat((float(x), float(z))) for x, z in moving.pin])
    assert pins_of["front"] == pytest.approx(pins_of["rear"], abs=1e-9)
    later = np.degrees(np.mod(found.own["front"] - found.own["rear"], 4 * math.pi))
    assert later == pytest.approx(302.0, abs=1e-9)  # 360 less the 58 degrees between the cylinders
    assert found.guessed == ("rear",)


def test_parts_are_drawn_where_they_stand(turned: tuple[JobFile, Turning]) -> None:
    """Rods and webs keep their size; valves slide along their stems; pistons along their axes."""
    job, found = turned
    drawn = pages.engine_of(job, found)
    for place in range(0, len(CRANK), 5):
        there = numbers(found, place)
        for part in drawn.parts:
            start, end = part.start.where(there), part.end.where(there)
            size = math.dist(start, end) / math.dist(*part.reference)
            assert size == pytest.approx(1.0, abs=2e-3), part.name
            if part.name.endswith((".conrod", ".crank")):
                assert size == pytest.approx(1.0, abs=1e-9)
    valve = next(part for part in drawn.parts if part.name == "front.intake.valve")
    rest, open_ = (valve.posed({"front.intake.lift": lift}) for lift in (0.0, 4.0))
    moved = {
        round(math.dist(one, other), 9)
        for before, after in zip(rest, open_, strict=True)
        if isinstance(before, Line) and isinstance(after, Line)
        for one, other in zip(before.points, after.points, strict=True)
    }
    stem = build(job.mapping).train("front.intake").drawn
    assert stem is not None
    assert len(moved) == 1
    assert moved.pop() == pytest.approx(4.0 * math.hypot(float(stem.stem[0]), float(stem.stem[2])), abs=1e-9)


def test_what_cannot_be_drawn_is_said(tmp_path: Path) -> None:
    job = load(DEMO)
    found = pages.turned(job, CRANK)
    drawn = pages.engine_of(job, found)
    assert drawn.undrawn == (
        "valve gear front intake, valve gear front exhaust, valve gear rear intake, valve gear rear exhaust: "
        "its coordinates are not entered",
    )
    nothing = engine([pages.cylinder_of(job, "front")], [], found._replace(cylinders={}))
    assert nothing.undrawn == ("cylinder front: crank.stroke or crank.conrod_length is not entered",)
    bare = tmp_path / "bare.toml"
    bare.write_text('format = 1\nunits = "mm"\n[[cylinder]]\nname = "one"\n', encoding="utf-8")
    ended = tallstack("draw", bare, "engine", "-o", tmp_path / "x.svg")
    assert ended.status == 2
    assert "crank.stroke (stroke, twice the throw) and crank.conrod_length" in ended.err
    assert not (tmp_path / "x.svg").exists()
