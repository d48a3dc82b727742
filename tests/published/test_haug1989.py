"""The spatial rigid slider-crank, a multibody benchmark: a valve gear that lies on its side.

Reference: E. J. Haug, Computer Aided Kinematics and Dynamics of Mechanical Systems, vol. I, Allyn
and Bacon 1989, section 12.2; taken up in the IFToMM library of multibody benchmark problems as
"spatial rigid slider-crank mechanism".
How it was read: inputs, the slider's start position and velocity, the velocity of the rod's centre
and its angular velocity VERIFIED in the public test model "Slidercrank 3D (iftomm benchmark
problem)" of the multibody code exudyn; the book itself was not opened. The table and the extremes
are DERIVED: x = √(l2² - yB² - zB²) with B = (0, yA - l1·sin t, zA + l1·cos t), worked out apart from
this project in double precision, all printed digits kept.

A crank of 0.08 m turns about x at A = (0, 0.1, 0.12) m; a rod of 0.3 m ties its end to a slider on
the x axis. The crank is the rocker's pushrod arm, the rod the pushrod, the slider the lifter, which
rises towards -x. The valve arm is put square to the crank's start, so that the turn can be read off.

Tolerance: the printed digits are all a double holds, so 1e-12 m and 1e-11 m/s instead of half the
last digit; the six published figures have few digits and are met exactly.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.core.frames import Array, array, point
from tallstack.geometry.gear.train import Closed, Drawn, close_loop, closed, cup_at, motion, plunger_for

CRANK_MM, ROD_MM = 80.0, 300.0
PIVOT = point(0.0, 100.0, 120.0)
SPEED = 6.0  # rad/s about +x
VALVE_ARM = 40.0
LEVEL = 250.0  # mm, where the lifter's seat is put along x; any will do

# crank angle deg, slider x m, its velocity m/s
TABLE = [
    (0, 0.2, 0.24),
    (30, 0.22488288562569356, 0.3129149609845328),
    (60, 0.25190555067435694, 0.2932966862389376),
    (90, 0.27422618401604176, 0.21004558775696816),
    (120, 0.28750027210517737, 0.09002796090751096),
    (180, 0.28, -0.17142857142857143),
    (270, 0.20784609690826528, -0.2771281292110204),
    (330, 0.1859363123419919, 0.06867523196957166),
]
X_MOST, AT_MOST = 0.29015995409928863, 140.1944289077348
X_LEAST, AT_LEAST = 0.18495188843885513, 320.1944289077348
STROKE = 0.1052080656604335
CLOSE_M, CLOSE_M_PER_S = 1e-12, 1e-11


def assembled(turn_deg: float, seat_x: float = LEVEL) -> Drawn:
    """Return the gear with its valve closed at a crank angle, valve arm along -y, stem along z."""
    contact = PIVOT + point(0.0, -VALVE_ARM, 0.0)
    return Drawn(
        seat=point(seat_x, 0.0, 0.0),
        lift_axis=point(-1.0, 0.0, 0.0),
        shaft=PIVOT,
        axis=point(1.0, 0.0, 0.0),
        valve_arm=array(VALVE_ARM),
        pushrod_arm=array(CRANK_MM),
        arm_angle=array(np.radians(270.0 + turn_deg)),
        valve_station=array(0.0),
        pushrod_station=array(0.0),
        tip_radius=array(5.0),
        tip=contact - point(0.0, 0.0, 5.0),
        stem=point(0.0, 0.0, 1.0),
    )


def slider(turn_deg: float) -> float:
    """Return the slider's x [mm] at a crank angle: the lifter's place under the closed valve."""
    gear = assembled(turn_deg)
    depth, _ = plunger_for(gear, closed(gear), array(ROD_MM))
    return LEVEL + float(depth)


def started(turn_deg: float) -> tuple[Drawn, Closed, float]:
    start = slider(turn_deg)
    gear = assembled(turn_deg, start)
    return gear, closed(gear), start


@pytest.mark.parametrize(("turn_deg", "x", "velocity"), TABLE)
def test_positions(turn_deg: float, x: float, velocity: float) -> None:
    crank = np.radians(turn_deg)
    pose = closed(assembled(turn_deg))
    end = point(0.0, 100.0 - CRANK_MM * np.sin(crank), 120.0 + CRANK_MM * np.cos(crank))
    assert pose.cup == pytest.approx(end, abs=1e-12)
    assert slider(turn_deg) / 1e3 == pytest.approx(x, abs=CLOSE_M)


@pytest.mark.parametrize(("turn_deg", "x", "velocity"), TABLE)
def test_turns_and_velocities(turn_deg: float, x: float, velocity: float) -> None:
    """Given the slider, the crank; on the branch the gear was assembled on, one to each stroke.

    Valve lift is h = rv·sin ω, hence dx/dt = -rv·cos ω·6 / (dh/ds).
    """
    start_deg = 45.0 if turn_deg in (0, 30, 60, 90, 120, 330) else 225.0
    gear, pose, start = started(start_deg)
    there = motion(gear, pose, array(ROD_MM), array(start - 1e3 * x), array(0.0))
    turn = np.arctan2(there.sine, there.cosine)
    found = (np.degrees(turn) + start_deg) % 360.0
    assert (found - turn_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-10)
    assert there.clear == pytest.approx(VALVE_ARM * np.sin(turn), abs=1e-11)
    speed = -VALVE_ARM * there.cosine * SPEED / there.ratio / 1e3
    assert float(speed) == pytest.approx(velocity, abs=CLOSE_M_PER_S)


def test_published_start() -> None:
    """Slider at 0.2 m with 0.24 m/s; rod's centre (0.12, -0.24, 0) m/s; rod (1.92, -0.96, 0.48) rad/s.

    Of the last only what is square to the rod is ours: two ball joints leave its own spin open, which
    the benchmark's joints do not.
    """
    gear, pose, start = started(0.0)
    assert start / 1e3 == pytest.approx(0.2, abs=CLOSE_M)
    there = motion(gear, pose, array(ROD_MM), array(0.0), array(0.0))
    slide = point(float(-VALVE_ARM * SPEED / there.ratio) / 1e3, 0.0, 0.0)
    assert slide[0] == pytest.approx(0.24, abs=CLOSE_M_PER_S)
    rod = (gear.seat - cup_at(gear, pose, there.cosine, there.sine)) / 1e3
    crank_end = np.cross(point(SPEED, 0.0, 0.0), pose.cup - PIVOT) / 1e3
    assert (slide + crank_end) / 2 == pytest.approx([0.12, -0.24, 0.0], abs=CLOSE_M_PER_S)
    published = point(1.92, -0.96, 0.48)
    assert np.cross(published, rod) == pytest.approx(slide - crank_end, abs=CLOSE_M_PER_S)
    square = np.cross(rod, slide - crank_end) / np.vecdot(rod, rod)
    along = np.vecdot(published, rod) / np.vecdot(rod, rod) * rod
    assert square == pytest.approx(published - along, abs=CLOSE_M_PER_S)


@pytest.mark.parametrize(
    ("start_deg", "x", "at_deg"),
    [(45.0, X_MOST, AT_MOST), (225.0, X_LEAST, AT_LEAST)],
)
def test_extremes_are_where_the_loop_comes_apart(start_deg: float, x: float, at_deg: float) -> None:
    """The slider's extremes are toggles: there the reach is nothing, beyond it is negative."""
    gear, pose, start = started(start_deg)

    def reach(slider_m: float) -> float:
        return float(motion(gear, pose, array(ROD_MM), array(start - 1e3 * slider_m), array(0.0)).reach)

    towards = np.sign(x - start / 1e3)
    end = brentq(reach, start / 1e3, x + towards * 1e-3, xtol=1e-16)
    assert end == pytest.approx(x, abs=CLOSE_M)
    assert reach(x - towards * 1e-9) > 0
    beyond = motion(gear, pose, array(ROD_MM), array(start - 1e3 * (x + towards * 1e-9)), array(0.0))
    assert beyond.reach < 0
    assert np.isnan(beyond.lift)
    # At a toggle the turn moves with the root of the slider: 1e-13 m short costs √ of it, some 1e-4 deg.
    near = motion(gear, pose, array(ROD_MM), array(start - 1e3 * (x - towards * 1e-13)), array(0.0))
    turn = np.degrees(np.arctan2(near.sine, near.cosine)) + start_deg
    assert float(turn) % 360.0 == pytest.approx(at_deg, abs=1e-3)


def test_stroke() -> None:
    assert (slider(AT_MOST) - slider(AT_LEAST)) / 1e3 == pytest.approx(STROKE, abs=CLOSE_M)


def test_both_branches_at_once() -> None:
    """`close_loop` gives, for one slider position, the crank angles of both strokes."""
    balls: Array = point(1e3 * array([0.2, 0.25]), 0.0, 0.0) - PIVOT
    for branch in (1.0, -1.0):
        cosine, sine, slope, _ = close_loop(
            point(0.0, 0.0, 1.0), point(0.0, -1.0, 0.0), balls, array(ROD_MM), array(CRANK_MM), array(branch)
        )
        ends = PIVOT + CRANK_MM * point(0.0, -sine, cosine)
        assert np.linalg.norm(ends - PIVOT - balls, axis=-1) == pytest.approx(ROD_MM, abs=1e-10)
        assert (np.sign(slope) == branch).all()
