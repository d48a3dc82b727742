"""Where the parts stand through the cycle: against the loop they close, and as they are drawn.

Figures, measured on two cores with CPython 3.11:

- the rocker's loop at every crank angle, four valve gears of a twin: closes within 1e-7 mm; limit: 1e-7 mm
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.engine import engine, look_at, numbers
from tallstack.cli.drawing.lines import Circle, Line, Stroke
from tallstack.cli.drawing.parts import Moved, Part
from tallstack.cli.drawing.section import section
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance import situation, turning
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.clearance.turning import Turning, pins
from tallstack.geometry.core.frames import array
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.train import closed
from tallstack.geometry.pushrod.pushrods import required

from ...clearance_jobs import by_coordinates
from ...commands import COORDINATES, DEMO, EXAMPLES, tallstack
from ...geometry.doubt.test_readings import NOTHING

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"
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


@pytest.mark.parametrize("offset", [0.0, 1.5, -2.0])
@pytest.mark.parametrize("forward", [True, False])
def test_pins_keep_the_rods_length_and_the_piston_is_highest_at_its_own_zero(
    offset: float, forward: bool
) -> None:
    own = np.radians(np.arange(-360.0, 360.0, 0.5))
    parts = Crank(array(53.0), array(188.0), array(36.0), array(offset))
    found = pins(parts, own, forward)
    assert np.hypot(*(found.pin - found.wrist).T) == pytest.approx(188.0, abs=1e-9)
    assert np.hypot(*found.pin.T) == pytest.approx(53.0, abs=1e-9)
    assert math.degrees(own[int(np.argmax(found.wrist[:, 1]))]) % 360 == pytest.approx(0.0, abs=1e-9)
    assert found.below.min() == pytest.approx(0.0, abs=1e-9)
    assert found.below == pytest.approx(found.wrist[:, 1].max() - found.wrist[:, 1], abs=1e-9)
    just_after = found.pin[len(own) // 2 + 1, 0] - found.pin[len(own) // 2, 0]
    assert bool(just_after > 0) is forward


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


def test_the_rocker_closes_its_loop_at_every_angle(turned: tuple[JobFile, Turning]) -> None:
    job, found = turned
    for name, valve in found.valves.items():
        train = build(job.mapping).train(name)
        drawn = train.drawn
        assert drawn is not None
        assert valve.cosine is not None
        assert valve.sine is not None
        assert valve.lifter is not None
        pose = closed(drawn)
        length = float(required(train).lengths["centres"])
        foot = drawn.shaft + drawn.valve_station * drawn.axis
        cup_foot = drawn.shaft + drawn.pushrod_station * drawn.axis
        down = 0.0 if train.lifter.down is None else float(train.lifter.down)
        for place in range(len(CRANK)):
            cosine, sine = valve.cosine[place], valve.sine[place]
            ends = [
                at + arm * (cosine * out + sine * np.cross(pose.turn, out))
                for at, arm, out in (
                    (foot, drawn.valve_arm, pose.valve_dir),
                    (cup_foot, drawn.pushrod_arm, pose.cup_dir),
                )
            ]
            ball = drawn.seat + (valve.lifter[place] - down) * drawn.lift_axis
            assert np.linalg.norm(ends[1] - ball) == pytest.approx(length, abs=1e-7)
            above = float(drawn.stem @ (ends[0] - drawn.tip)) - float(drawn.tip_radius)
            assert above == pytest.approx(-float(valve.lift[place]), abs=1e-7)


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


def test_a_part_is_turned_and_shortened_with_its_two_points() -> None:
    part = Part(
        "bar",
        (Line(((0.0, 0.0), (0.0, 2.0), (1.0, 0.0))), Circle((0.0, 1.0), 0.5)),
        Moved((1.0, 1.0), (("s", (1.0, 0.0)),)),
        Moved((1.0, 1.0), (("s", (0.0, 0.0)),)),
        ((0.0, 0.0), (0.0, 2.0)),
    )
    line, circle = part.posed({"s": 1.0})  # from (2, 1) to (1, 1): a quarter turn, half as large
    assert isinstance(line, Line)
    assert isinstance(circle, Circle)
    for found, wanted in zip(line.points, ((2.0, 1.0), (1.0, 1.0), (2.0, 1.5)), strict=True):
        assert found == pytest.approx(wanted, abs=1e-12)
    assert circle.centre == pytest.approx((1.5, 1.0))
    assert circle.radius == pytest.approx(0.25)


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


def test_the_engine_is_drawn_at_an_angle(twin: Path, tmp_path: Path) -> None:
    out = tmp_path / "engine.svg"
    ended = tallstack("draw", twin, "engine", "--at", "20", "-o", out)
    assert ended.status == 0
    drawn = out.read_text(encoding="utf-8")
    assert "20 degrees after front&#39;s overlap top centre" in drawn
    assert "intake lift 4.10 mm (0.161 in)" in drawn
    again = tmp_path / "again.svg"
    tallstack("draw", twin, "engine", "--at", "20", "-o", again)
    assert again.read_bytes() == out.read_bytes()


def test_sections_are_drawn_where_valves_come_closest(tmp_path: Path) -> None:
    """The face pushed down by the least drop, as drawn, touches the crown as drawn, and no more."""
    job = load(POCKETS)
    found = clearances(job.mapping, NOTHING, {}, {})
    for valve in found.valves:
        view = section(job.mapping, "in", found.situations["barrel"], valve)
        assert view is not None
        crown, pushed = (
            next(one for one in view.items if isinstance(one, Line) and one.stroke is stroke)
            for stroke in (Stroke.OUTLINE, Stroke.INDICATED)
        )
        across, up = (np.array(row) for row in zip(*crown.points, strict=True))
        ends = np.array(pushed.points)
        along = np.linspace(0.0, 1.0, 4001)[:, None]
        face = ends[0] + along * (ends[1] - ends[0])
        room = face[:, 1] - np.interp(face[:, 0], across, up)
        assert room.min() == pytest.approx(0.0, abs=0.03)  # the section is sampled every 0.04 mm
    out = tmp_path / "section.svg"
    ended = tallstack("draw", POCKETS, "barrel.intake", "--section", "-o", out)
    assert ended.status == 0
    assert "1 section, each at its closest" in ended.out
    assert "drop 0.048 in (1.23 mm)" in out.read_text(encoding="utf-8")


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


NAME = "one.intake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


def test_a_gear_whose_lobe_rests_is_drawn_unturned(job: JobFile) -> None:
    lift = situation.situation(job.mapping, "one", Cam(job.mapping, Tables())).lifts[NAME]
    found = turning.opening(lift, None, NAME, array([2 * np.pi]))
    assert found.cosine is not None
    assert found.sine is not None
    assert found.cosine == pytest.approx([1.0])
    assert found.sine == pytest.approx([0.0], abs=1e-9)


@pytest.mark.parametrize("crank", [-6.2, -0.1, 0.0, 6.2])
def test_a_cycle_is_counted_from_half_a_cycle_before_to_half_a_cycle_after(crank: float) -> None:
    flat: Any = {"cylinders": ("one",), "trains": (), "one.lean": 0.0}
    for cycles in (-1, 0, 1):
        found = turning.turning(flat, {}, array([crank + cycles * 4 * np.pi]))
        assert found.own["one"] == pytest.approx([crank])
