"""A third opinion on valve lifts: rigid bodies and joints in a general-purpose multibody library.

The closed forms of `geometry/` against `tests/oracles/multibody.py`, which shares no equation with them: lifter,
pushrod, rocker and valve as bodies with six coordinates each, closed by the library's Newton. Turned through a
whole cycle, every degree of 720, by the lobes of the demo's timing card: every valve gear with coordinates of the
demo and the worked examples (the demo's own four are known by their ratio alone), and 40 random ones, hydraulic
and solid, leaning every way.

That the library itself is rightly asked is checked by a published mechanism, the start of the spatial rigid
slider-crank of `published/test_haug1989.py`.

Figures, measured on two cores with CPython 3.11:

- lengths and lifts of 51 valve gears through a whole cycle, as rigid bodies and joints in a multibody library:
  within 3e-12 mm; limit: 1e-6 mm; the test allows 1e-9 mm
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry import build
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables, lifted
from tallstack.geometry.clearance.valve_lift import ValveLift, valve_lift
from tallstack.geometry.core.frames import Array
from tallstack.geometry.engine.engine import Train
from tallstack.geometry.gear.train import Drawn
from tallstack.geometry.pushrod.pushrods import by_coordinates

from .commands import COORDINATES, DEMO, EXAMPLES
from .oracles import raw_loop
from .oracles.multibody import BALL, BALL_WITHOUT_SPIN, PLACED, SLIDES, Bodies, Gear, Rocker, length, lifts
from .oracles.random_trains import TRAIN, random_mapping
from .published.test_haug1989 import PIVOT, ROD_MM, started
from .seeded import few

CLOSE_MM = 1e-9  # a thousandth of what is asked, 1e-6 mm
SEEN_MM = 1e-6
CYCLE = np.radians(np.arange(-360.0, 361.0))
DRAWN = sorted(
    path for path in [DEMO, *EXAMPLES.glob("*/job.toml")] if "shaft = [" in path.read_text("utf-8")
)


def demo_lobe(port: str) -> CamLobe:
    mapping = load(DEMO).mapping
    lobe = Cam(mapping, Tables()).lobe_of(f"front.{port}")
    assert isinstance(lobe, CamLobe)
    return lobe


def gear(mapping: Mapping[str, object], train: Train) -> Gear:
    """Return a gear as its job says it, for the library."""

    def number(entry: str) -> float:
        return float(str(mapping[f"{train.name}.{entry}"]))

    rocker = Rocker(
        number("rocker.valve_arm"),
        number("rocker.pushrod_arm"),
        number("rocker.arm_angle"),
        number("rocker.valve_station"),
        number("rocker.pushrod_station"),
        number("rocker.tip_radius"),
    )
    solid = train.lifter.kind == "solid"
    return Gear(
        raw_loop.points(mapping, train.name),
        rocker,
        down=0.0 if solid else number("lifter.preload"),
        lash=number("lifter.lash") if solid else 0.0,
        lash_at_valve=train.lifter.lash_at == "valve",
    )


def differences(mapping: Mapping[str, object], train: Train, lobe: CamLobe) -> tuple[float, float]:
    """Return by how much length and lifts differ at most between the two [mm]."""
    found = valve_lift(train, lobe)
    assert isinstance(found, ValveLift)
    here = gear(mapping, train)
    ordered = float(by_coordinates(train).lengths["centres"])
    opened = np.maximum(lifts(here, ordered, lifted(lobe, CYCLE)), 0.0)
    assert opened.max() > 5.0
    return abs(length(here) - ordered), float(np.abs(opened - found.at(CYCLE)).max())


@pytest.mark.parametrize("path", DRAWN, ids=lambda path: path.parent.name)
def test_gears_of_jobs_through_a_whole_cycle(path: Path) -> None:
    mapping = load(path).mapping
    for train in build(mapping).trains:
        by_length, by_lift = differences(mapping, train, demo_lobe(train.port))
        assert by_length < CLOSE_MM, train.name
        assert by_lift < CLOSE_MM, train.name


@pytest.mark.parametrize("port", few(["intake", "exhaust"], 1))
def test_random_gears_through_a_whole_cycle(port: str) -> None:
    rng, lobe = np.random.default_rng([3, len(port)]), demo_lobe(port)
    for _ in range(20):
        mapping = random_mapping(rng)
        by_length, by_lift = differences(mapping, build(mapping).train(TRAIN), lobe)  # type: ignore[arg-type]
        assert by_length < CLOSE_MM
        assert by_lift < CLOSE_MM


@pytest.mark.parametrize("entry", ["rocker.shaft.z", "valve.face.z", "lifter.seat.z"])
def test_a_point_a_hundredth_of_a_micron_off_is_seen(entry: str) -> None:
    """The other side of the comparison: the same gear, one of its points shifted, its pushrod kept."""
    mapping = load(COORDINATES).mapping
    train = build(mapping).train("front.intake")
    path = f"{train.name}.{entry}"
    shifted = {**mapping, path: float(str(mapping[path])) + 1e-5}
    _, by_lift = differences(shifted, train, demo_lobe("intake"))
    assert by_lift > SEEN_MM


def test_the_library_stands_the_published_slider_crank_where_it_starts() -> None:
    """Crank upright, slider free: it goes to 0.2 m from where it was put, 7 mm off."""
    end, aside = PIVOT + np.array([0.0, 0.0, 80.0]), np.array([193.0, 0.0, 0.0])
    along = (aside - end) / np.linalg.norm(aside - end)
    bodies = Bodies()
    crank, rod, slider = bodies.body(PIVOT), bodies.body(end), bodies.body(aside)
    bodies.join(bodies.ground, crank, PIVOT, PLACED, along)
    bodies.join(crank, rod, end, BALL_WITHOUT_SPIN, along)
    bodies.join(slider, rod, aside, BALL, along, of_other=end + ROD_MM * along)
    bodies.join(bodies.ground, slider, aside, SLIDES, np.array([1.0, 0.0, 0.0]))
    bodies.follow(slider, aside)
    ((where,),) = bodies.closed()
    assert where == pytest.approx([200.0, 0.0, 0.0], abs=1e-10)


def test_the_published_slider_crank_as_a_valve_gear() -> None:
    """Slider driven from the crank's 45 degrees to 0.2 m: the crank is upright, its valve arm turned back by 45."""
    drawn, _, start = started(45.0)
    here = as_gear(drawn)
    assert length(here) == pytest.approx(ROD_MM, abs=1e-10)
    way: Array = np.linspace(0.0, start - 200.0, 21)
    assert lifts(here, ROD_MM, way)[-1] == pytest.approx(-float(drawn.valve_arm) * np.sqrt(0.5), abs=1e-10)


def as_gear(drawn: Drawn) -> Gear:
    at = raw_loop.Points(
        drawn.seat, drawn.lift_axis, drawn.shaft, drawn.axis, drawn.tip, drawn.tip, drawn.stem
    )
    numbers = (
        drawn.valve_arm,
        drawn.pushrod_arm,
        drawn.arm_angle,
        drawn.valve_station,
        drawn.pushrod_station,
        drawn.tip_radius,
    )
    return Gear(at, Rocker(*map(float, numbers)), down=0.0, lash=0.0, lash_at_valve=True)
