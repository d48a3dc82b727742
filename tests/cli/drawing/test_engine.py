"""The engine as it turns: where its parts stand on paper, and what cannot be drawn."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.engine import look_at, numbers
from tallstack.cli.drawing.lines import Circle, Line, Text
from tallstack.cli.drawing.lobe import ROLLER
from tallstack.cli.drawing.parts import Part
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.turning import Turning
from tallstack.geometry.engine.engine import build

from ...commands import BENCH, COORDINATES, DEMO, EXAMPLES, tallstack

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
def turned(twin: Path) -> tuple[Job, Turning]:
    job = load(twin)
    return job, pages.turned(job, CRANK)


def test_cylinders_turn_with_one_crank(turned: tuple[Job, Turning]) -> None:
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


def test_two_that_lean_by_half_a_turn_either_way_stand_in_rows_of_their_own(tmp_path: Path) -> None:
    """180 and -180 degrees are one lean: drawn on one another, neither would be seen."""
    text, path = COORDINATES.read_text(encoding="utf-8") + CAM, tmp_path / "job.toml"
    text = text.replace("fires_at", "# fires_at")
    cranks = []
    for front, rear in ((180, 180), (180, -180), (180, 90)):
        path.write_text(
            text.replace("\nlean = 29\n", f"\nlean = {front}\n").replace(
                "\nlean = -29\n", f"\nlean = {rear}\n"
            ),
            encoding="utf-8",
        )
        job = load(path)
        drawn = pages.engine_of(job, pages.turned(job, CRANK[:1]))
        cranks.append({part.reference for part in drawn.parts if part.name.endswith(".crank")})
    assert len(cranks[1]) == len(cranks[0]) == 2
    assert len(cranks[2]) == 1


def test_parts_are_drawn_where_they_stand(turned: tuple[Job, Turning]) -> None:
    """Rods and webs keep their size; valves slide along their stems; pistons along their axes."""
    job, found = turned
    drawn = pages.engine_of(job, found)
    for place in range(0, len(CRANK), 5):
        there = numbers(drawn.turning, place)
        for part in drawn.parts:
            if ".spring-" in part.name:
                continue  # the one that gives way
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


def part_of(parts: tuple[Part, ...], name: str) -> Part:
    return next(one for one in parts if one.name == name)


def test_a_spring_gives_way_by_what_its_valve_is_lifted(turned: tuple[Job, Turning]) -> None:
    job, found = turned
    drawn = pages.engine_of(job, found)
    coils = [one for one in drawn.parts if one.name.startswith("front.intake.spring-")]
    rest, open_ = ({"front.intake.lift": lift} for lift in (0.0, 6.0))
    for low, high in pairwise(coils):
        assert low.end.where(open_) == pytest.approx(high.start.where(open_))
    assert coils[0].start.where(open_) == coils[0].start.where(rest)
    stem = build(job.mapping).train("front.intake").drawn
    assert stem is not None
    seen = math.hypot(float(stem.stem[0]), float(stem.stem[2]))
    assert math.dist(coils[-1].end.where(open_), coils[-1].end.where(rest)) == pytest.approx(6.0 * seen)


@pytest.mark.parametrize("degrees", [0.0, 90.0, 237.0])
@pytest.mark.parametrize("path", [DEMO, EXAMPLES / "which_cylinder_first" / "job.toml"])
def test_pistons_and_valves_of_the_bench_route_stand_where_they_turn(path: Path, degrees: float) -> None:
    """Never an engine without valves: each as far open as `turning` says, each piston as far down, and its lobe under it."""
    job = load(path)
    found = pages.turned(job, np.radians([degrees, degrees + 1.0]))
    drawn = pages.engine_of(job, found)
    assert not drawn.to_scale
    assert any(isinstance(one, Text) and one.words == "NOT TO SCALE" for one in drawn.fixed)
    there = numbers(drawn.turning, 0)
    for cylinder, moving in found.cylinders.items():
        look = look_at(pages.cylinder_of(job, cylinder))
        start = part_of(drawn.parts, f"{cylinder}.piston").start
        axis = look.flat((0.0, 1.0))
        up = (start.where(there)[0] - start.at[0]) * axis[0] + (start.where(there)[1] - start.at[1]) * axis[1]
        assert up == pytest.approx(float(moving.wrist[0, 1]))
        assert look.flat((float(moving.pin[0, 0]), float(moving.pin[0, 1]))) == pytest.approx(
            part_of(drawn.parts, f"{cylinder}.conrod").start.where(there)
        )
    assert set(found.valves) == set(job.names["trains"])
    for name, valve in found.valves.items():
        slid = part_of(drawn.parts, f"{name}.valve")
        assert math.dist(slid.start.where(there), slid.start.at) == pytest.approx(
            float(valve.lift[0]), abs=1e-9
        )
        contact = part_of(drawn.parts, f"{name}.valve_arm").posed(there)[-1]
        tip = max(
            (one for mark in slid.posed(there) if isinstance(mark, Line) for one in mark.points),
            key=lambda one: math.hypot(*one),
        )
        assert isinstance(contact, Circle)
        assert math.dist(contact.centre, tip) < 25.0  # the axis of the stem goes on past its tip
        ring = part_of(drawn.parts, f"{name}.lobe").posed(there)[0]
        foot = part_of(drawn.parts, f"{name}.lifter").start.where(there)
        rest = part_of(drawn.parts, f"{name}.lifter").start.at
        assert isinstance(ring, Line)
        lifted = math.dist(foot, rest)
        assert lifted == pytest.approx(abs(there[f"{name}.lifter"]), abs=1e-9)


def test_lobes_hold_their_lifters_as_they_turn(turned: tuple[Job, Turning]) -> None:
    """The metal reaches to the lifter's foot, risen as far as it is, at every angle; drawn for a roller it comes as near."""
    job, found = turned
    drawn = pages.engine_of(job, found)
    name = "front.intake"
    lobe_, lifter = part_of(drawn.parts, f"{name}.lobe"), part_of(drawn.parts, f"{name}.lifter")
    body = lifter.marks[0]
    assert isinstance(body, Line)
    foot = tuple((a + b) / 2 for a, b in zip(body.points[0], body.points[3], strict=True))
    for place in range(0, len(CRANK), 4):
        there = numbers(drawn.turning, place)
        by = (
            lifter.start.where(there)[0] - lifter.start.at[0],
            lifter.start.where(there)[1] - lifter.start.at[1],
        )
        way = (ways := lifter.start.ways[0][1])
        assert math.hypot(*ways) == pytest.approx(1.0, abs=2e-3)
        centre = (foot[0] + by[0] + ROLLER * way[0], foot[1] + by[1] + ROLLER * way[1])
        ring = lobe_.posed(there)[0]
        assert isinstance(ring, Line)
        assert min(math.dist(centre, one) for one in ring.points) == pytest.approx(ROLLER, abs=0.12)


def test_cylinders_behind_one_another_stand_side_by_side() -> None:
    job = load(EXAMPLES / "in_line_with_pivot_nuts" / "job.toml")
    drawn = pages.engine_of(job, pages.turned(job, np.radians([30.0, 31.0])))
    there = numbers(drawn.turning, 0)
    across = [part_of(drawn.parts, f"{name}.conrod").end.where(there)[0] for name in job.names["cylinders"]]
    apart = np.diff(across)
    assert apart == pytest.approx([apart[0]] * 3)
    assert apart[0] > 84.0


def test_what_is_invented_and_what_does_not_move_is_said(tmp_path: Path) -> None:
    job = load(BENCH)
    drawn = pages.engine_of(job, pages.turned(job, CRANK))
    told = " ".join(drawn.notes)
    assert "the stroke or the connecting rod of front, rear" in told
    assert "the coordinates of front intake, front exhaust, rear intake, rear exhaust" in told
    assert "Drawn closed, its lift is not known: front intake" in told
    assert {one.name for one in drawn.parts} >= {f"{name}.valve" for name in job.names["trains"]}
    shelf = load(EXAMPLES / "pushrods_from_the_shelf" / "job.toml")
    drawn = pages.engine_of(shelf, pages.turned(shelf, CRANK))
    assert any("Of the lift of front intake" in one and "ratio of 1.6" in one for one in drawn.notes)
    bare = tmp_path / "bare.toml"
    bare.write_text('format = 1\nunits = "mm"\n[[cylinder]]\nname = "one"\n', encoding="utf-8")
    ended = tallstack("draw", bare, "engine", "-o", tmp_path / "x.svg")
    assert ended.status == 0
    assert "not to scale" in ended.out
    nothing = tmp_path / "nothing.toml"
    nothing.write_text('format = 1\nunits = "mm"\n[stack]\ncylinder = 140\n', encoding="utf-8")
    ended = tallstack("draw", nothing, "engine", "-o", tmp_path / "y.svg")
    assert ended.status == 2
    assert "no [[cylinder]] in this job" in ended.err
    assert not (tmp_path / "y.svg").exists()


def test_an_engine_that_is_all_entered_is_to_scale(turned: tuple[Job, Turning]) -> None:
    job, found = turned
    drawn = pages.engine_of(job, found)
    assert drawn.to_scale
    assert not [one for one in drawn.notes if "SCALE" in one]
    assert drawn.turning is found
