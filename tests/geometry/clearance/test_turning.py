"""Where the parts stand through the cycle, against the loop they close.

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
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance import situation, turning
from tallstack.geometry.clearance.turning import Turning, pins
from tallstack.geometry.core.frames import array
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.train import closed
from tallstack.geometry.pushrod.pushrods import required

from ...clearance_jobs import by_coordinates
from ...commands import COORDINATES, DEMO

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


def test_two_valves_are_as_far_apart_as_the_least_of_their_clearances_at_its_angle(twin: Path) -> None:
    job = load(twin)
    for pair in job.clearances.pairs:
        assert pair.least is not None
        own = pages.turned(job, np.radians([0.0])).own[pair.cylinder]
        found = pages.turned(job, np.array([pair.least.angle - own[0], 2.0]))
        here = found.between[pair.cylinder]
        assert here[0] == pytest.approx(pair.least.value, abs=1e-6)
        assert here[1] > here[0]


def test_without_coordinates_nobody_knows_how_far_two_valves_are_apart() -> None:
    assert pages.turned(load(DEMO), np.radians([0.0])).between == {}
