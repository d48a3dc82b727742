"""The root search, held against gears whose answer needs no search.

Frame: cylinder frame, see `raw_loop`.

        Q ---- P ---- U        the planar gear: shaft along y, everything else upright, no stations,
        T             |        both arms level with the valve closed, so that a turn ω lifts the valve
        F             S        by rv·sin ω, while U moves on a circle over S
"""

from math import asin, cos, degrees, radians, sin, sqrt

import numpy as np
import pytest

from ..seeded import few
from .random_trains import PEAK, TRAIN, random_mapping, random_unreachable
from .raw_loop import (
    Lash,
    Unreachable,
    closed_angle,
    lash,
    length,
    lift,
    motion,
    points,
    preload,
    ratio,
    sweep,
    take_up,
)

VALVE_ARM, PUSHROD_ARM, TIP_RADIUS, SPAN = 36.0, 24.0, 6.0, 250.0
LIFTS = (0.0, 0.5, 2.0, 4.5, 7.0, PEAK)
CLOSE = 1e-10  # [mm], or pure


def planar(**entries: object) -> dict[str, object]:
    """Return the planar gear with a solid lifter, its cup `SPAN` above the seat; `__` stands for a dot."""
    flat: dict[str, object] = {
        "stack.case_deck": 100.0,
        "stack.base_gasket": 0.5,
        "stack.cylinder": 120.0,
        "stack.head_gasket": 1.0,
        f"{TRAIN}.lifter.kind": "solid",
        f"{TRAIN}.lifter.lash": 0.0,
        f"{TRAIN}.rocker.valve_arm": VALVE_ARM,
        f"{TRAIN}.rocker.pushrod_arm": PUSHROD_ARM,
        f"{TRAIN}.rocker.arm_angle": radians(180.0),
        f"{TRAIN}.rocker.valve_station": 0.0,
        f"{TRAIN}.rocker.pushrod_station": 0.0,
        f"{TRAIN}.rocker.tip_radius": TIP_RADIUS,
        f"{TRAIN}.valve.length": 110.0,
    }
    vectors = {
        "lifter.seat": (PUSHROD_ARM, 0.0, 121.5 + 130.0 - SPAN),
        "lifter.lean": (0.0, 0.0),
        "rocker.shaft": (0.0, 0.0, 130.0),
        "rocker.direction": (0.0, 1.0, 0.0),
        "valve.face": (-VALVE_ARM, 0.0, 130.0 - TIP_RADIUS - 110.0),
        "valve.lean": (0.0, 0.0),
    }
    for entry, vector in vectors.items():
        flat |= _split(entry, vector)
    return flat | {f"{TRAIN}.{entry.replace('__', '.')}": value for entry, value in entries.items()}


def full_geometry() -> dict[str, object]:
    """Return the front intake of the 54 degree twin whose answer is printed."""
    flat: dict[str, object] = {
        "stack.case_deck": 143.65,
        "stack.base_gasket": 0.5,
        "stack.cylinder": 142.6,
        "stack.head_gasket": 1.1,
        f"{TRAIN}.lifter.kind": "hydraulic",
        f"{TRAIN}.lifter.plunger_travel": 3.6,
        f"{TRAIN}.lifter.preload": 1.2,
        f"{TRAIN}.rocker.valve_arm": 36.0,
        f"{TRAIN}.rocker.pushrod_arm": 22.0,
        f"{TRAIN}.rocker.arm_angle": radians(157.0),
        f"{TRAIN}.rocker.valve_station": -30.0,
        f"{TRAIN}.rocker.pushrod_station": 24.0,
        f"{TRAIN}.rocker.tip_radius": 6.0,
        f"{TRAIN}.valve.length": 116.0,
    }
    vectors = {
        "lifter.seat": (-23.0, 64.0, -12.0),
        "lifter.lean": (radians(1.0), radians(-1.5)),
        "rocker.shaft": (-37.5, 30.0, 135.5),
        "rocker.direction": (0.0, 1.0, 0.0),
        "valve.face": (-24.5, 0.0, 14.0),
        "valve.lean": (radians(-23.0), 0.0),
    }
    for entry, vector in vectors.items():
        flat |= _split(entry, vector)
    return flat


def test_printed_pushrod_of_the_full_geometry() -> None:
    """The printed answer: 290.0609 mm centres, 2.4515 degrees of lean, 0.9991 of growth per stack."""
    job = full_geometry()
    assert length(job, TRAIN) == pytest.approx(290.0609, abs=0.5e-4)
    at, closed = points(job, TRAIN), closed_angle(job, TRAIN)
    pushrod = closed.U - (at.S - 1.2 * at.u)
    assert degrees(np.arccos(pushrod[2] / np.linalg.norm(pushrod))) == pytest.approx(2.4515, abs=0.5e-4)
    taller, shorter = (length(job | {"front.stack.cylinder": 142.6 + d}, TRAIN) for d in (0.01, -0.01))
    assert (taller - shorter) / 0.02 == pytest.approx(0.9991, abs=0.5e-4)


@pytest.mark.parametrize("turn", [0.01, 0.1, 0.2, 0.3])
@pytest.mark.parametrize("across", [0.0, 15.0])
def test_planar_motion_is_exact_trigonometry(turn: float, across: float) -> None:
    """A turn ω needs s = H + rp·sin ω - sqrt(L² - rp²(1 - cos ω)² - d²), with the seat d along the shaft."""
    gear = planar(lifter__seat__y=across)
    pushrod = sqrt(SPAN**2 + across**2)
    assert length(gear, TRAIN) == pytest.approx(pushrod, abs=CLOSE)
    aside = PUSHROD_ARM * (1.0 - cos(turn))
    upright = sqrt(pushrod**2 - aside**2 - across**2)
    lifter_lift = SPAN + PUSHROD_ARM * sin(turn) - upright
    valve_lift, found = lift(gear, TRAIN, lifter_lift, pushrod)
    assert found == pytest.approx(turn, abs=1e-12)
    assert valve_lift == pytest.approx(VALVE_ARM * sin(turn), abs=CLOSE)
    rise_per_turn = PUSHROD_ARM * cos(turn) + aside * PUSHROD_ARM * sin(turn) / upright
    slope = VALVE_ARM * cos(turn) / rise_per_turn
    assert ratio(gear, TRAIN, lifter_lift, pushrod) == pytest.approx(slope, abs=CLOSE)
    # a × n points along +x here, the contact starts on the tip centre and draws in towards the shaft
    offset = VALVE_ARM * (1.0 - cos(turn))
    assert sweep(gear, TRAIN, [lifter_lift], pushrod)[0] == pytest.approx(offset, abs=CLOSE)


def test_planar_lash_at_the_valve() -> None:
    """Turned back by asin(lash/rv), the cup stands rp·sin lower; too long a pushrod holds the valve."""
    gear = planar(lifter__lash=0.3, lifter__lash_at="valve")
    turn = asin(0.3 / VALVE_ARM)
    aside = PUSHROD_ARM * (1.0 - cos(turn))
    short = sqrt((SPAN - PUSHROD_ARM * sin(turn)) ** 2 + aside**2)
    assert length(gear, TRAIN) == pytest.approx(short, abs=CLOSE)
    _assert_lash(lash(gear, TRAIN, short), 0.3, 0.0)
    assert lift(gear, TRAIN, 0.0, short) == pytest.approx((0.0, -turn), abs=1e-12)
    assert lift(gear, TRAIN, take_up(gear, TRAIN, short), short)[1] == pytest.approx(0.0, abs=1e-12)
    long = sqrt((SPAN + PUSHROD_ARM * sin(turn)) ** 2 + aside**2)
    _assert_lash(lash(gear, TRAIN, long), -0.3, 0.3)


def test_planar_lash_at_the_pushrod() -> None:
    """The pushrod is short by the lash itself; beyond, the held valve is reported beside it."""
    gear = planar(lifter__lash=0.3, lifter__lash_at="pushrod")
    assert length(gear, TRAIN) == pytest.approx(SPAN - 0.3, abs=CLOSE)
    _assert_lash(lash(gear, TRAIN, SPAN - 0.3), 0.3, 0.0)
    _assert_lash(lash(gear, TRAIN, SPAN + 0.2), -0.2, lift(gear, TRAIN, 0.0, SPAN + 0.2)[0])


def test_planar_preload() -> None:
    """Upright, a pushrod longer by x sinks the plunger by x, until it bottoms."""
    gear = planar(lifter__kind="hydraulic", lifter__preload=1.0, lifter__plunger_travel=3.0)
    assert length(gear, TRAIN) == pytest.approx(SPAN + 1.0, abs=CLOSE)
    assert preload(gear, TRAIN, SPAN + 2.5) == pytest.approx(2.5, abs=CLOSE)
    assert preload(gear, TRAIN, SPAN - 0.5) == pytest.approx(-0.5, abs=CLOSE)
    assert lift(gear, TRAIN, 0.0, SPAN + 2.5)[0] == pytest.approx(0.0, abs=CLOSE)
    pumped = lift(gear, TRAIN, 0.0, SPAN + 2.5, down=0.0)
    assert pumped == pytest.approx(lift(gear, TRAIN, 2.5, SPAN + 2.5), abs=CLOSE)
    bottomed = lift(gear, TRAIN, 0.0, SPAN + 3.4)
    assert bottomed == pytest.approx(lift(gear, TRAIN, 0.4, SPAN + 3.4, down=3.4), abs=CLOSE)


def test_stack_cuts_sink_and_lowered_seat() -> None:
    """Cuts lower the head's points, a sunk valve rises along its stem, a lowered seat goes down its axis."""
    before = points(planar(), TRAIN)
    gear = planar(valve__sink=0.4, valve__lean__x=0.2, lifter__lowered=0.7, lifter__lean__y=-0.1)
    after = points(gear | {"stack.case_cut": 0.25, "stack.head_cut": 0.5}, TRAIN)
    stem = np.array([sin(0.2), 0.0, cos(0.2)])
    axis = np.array([0.0, -sin(0.1), cos(0.1)])
    np.testing.assert_allclose(after.P - before.P, [0.0, 0.0, -0.75], atol=CLOSE)
    np.testing.assert_allclose(after.F - before.F, [0.0, 0.0, -0.75] + 0.4 * stem, atol=CLOSE)
    np.testing.assert_allclose(after.T - after.F, 110.0 * stem, atol=CLOSE)
    np.testing.assert_allclose(after.S - before.S, -0.7 * axis, atol=CLOSE)


def test_arms_droop_by_way_of_the_underside() -> None:
    """With the valve arm level, an arm angle of 150 degrees leaves the cup 30 low, on either shaft sense."""
    for along in (1.0, -1.0):
        gear = planar(rocker__arm_angle=radians(150.0), rocker__direction__y=along)
        closed = closed_angle(gear, TRAIN)
        np.testing.assert_allclose(closed.e_p, [cos(radians(30.0)), 0.0, -0.5], atol=1e-14)
        assert closed.sense == -along


@pytest.mark.parametrize("seed", range(40))
def test_raw_equations_close(seed: int) -> None:
    """The contact lies on the tip, the arms keep their lengths, every pose spans the pushrod."""
    gear = random_mapping(np.random.default_rng(seed))
    at, closed, pushrod = points(gear, TRAIN), closed_angle(gear, TRAIN), length(gear, TRAIN)
    assert abs((closed.Q - at.T) @ at.n - _entry(gear, "rocker.tip_radius")) < CLOSE
    assert np.linalg.norm(closed.Q - at.T) < sqrt(_entry(gear, "rocker.tip_radius") ** 2 + 3.0**2) + CLOSE
    assert abs(closed.e_v @ at.a) + abs(closed.e_p @ at.a) < 1e-14
    assert closed.e_v @ closed.e_p == pytest.approx(cos(_entry(gear, "rocker.arm_angle")), abs=1e-14)

    down = _entry(gear, "lifter.preload") if gear[f"{TRAIN}.lifter.kind"] == "hydraulic" else 0.0
    valve_lifts, turns = motion(gear, TRAIN, LIFTS, pushrod)
    for lifter_lift, valve_lift, turn in zip(LIFTS, valve_lifts, turns, strict=True):
        # Rodrigues' formula here, where the search turns by quaternions
        swing = closed.sense * sin(turn)
        e_v = cos(turn) * closed.e_v + swing * np.cross(at.a, closed.e_v)
        e_p = cos(turn) * closed.e_p + swing * np.cross(at.a, closed.e_p)
        cup = closed.U + _entry(gear, "rocker.pushrod_arm") * (e_p - closed.e_p)
        fall = _entry(gear, "rocker.valve_arm") * (closed.e_v - e_v) @ at.n
        assert abs(np.linalg.norm(cup - at.S - (lifter_lift - down) * at.u) - pushrod) < CLOSE
        assert abs(max(fall, 0.0) - valve_lift) < CLOSE


@pytest.mark.parametrize("seed", few(range(12), 4))
def test_branch_is_the_one_walked_by_nearest_roots(seed: int) -> None:
    """Walking in hundredths, always to the pose nearest the last by secant, ends where the search does."""
    gear = random_mapping(np.random.default_rng(1000 + seed), kind="solid")
    at, closed, pushrod = points(gear, TRAIN), closed_angle(gear, TRAIN), length(gear, TRAIN)
    arm = _entry(gear, "rocker.pushrod_arm") * closed.e_p
    rise = closed.sense * np.cross(at.a, arm)

    def miss(turn: float, lifter_lift: float) -> float:
        cup = closed.U - arm + cos(turn) * arm + sin(turn) * rise
        return float(np.linalg.norm(cup - at.S - lifter_lift * at.u)) - pushrod

    turn = 0.0
    for lifter_lift in np.linspace(0.0, PEAK, 801):
        for _ in range(6):
            slope = (miss(turn + 1e-6, lifter_lift) - miss(turn - 1e-6, lifter_lift)) / 2e-6
            turn -= miss(turn, lifter_lift) / slope
    assert lift(gear, TRAIN, PEAK, pushrod)[1] == pytest.approx(turn, abs=1e-11)


@pytest.mark.parametrize("seed", range(10))
def test_ratio_is_the_slope_of_the_lift(seed: int) -> None:
    """A plain difference of neighbouring lifts agrees with the differentiated loop."""
    gear = random_mapping(np.random.default_rng(2000 + seed))
    pushrod, step = length(gear, TRAIN), 0.02
    (low, below, above, high), _ = motion(gear, TRAIN, 4.0 + step * np.array([-2, -1, 1, 2]), pushrod)
    slope = (8.0 * (above - below) - (high - low)) / (12.0 * step)
    assert ratio(gear, TRAIN, 4.0, pushrod) == pytest.approx(slope, abs=1e-8)


@pytest.mark.parametrize("seed", range(10))
def test_length_comes_back_as_its_preload_or_lash(seed: int) -> None:
    """Entering the computed length returns the entered preload, or lash at either place."""
    rng = np.random.default_rng(3000 + seed)
    gear = random_mapping(rng, kind="hydraulic")
    entered = _entry(gear, "lifter.preload")
    assert preload(gear, TRAIN, length(gear, TRAIN)) == pytest.approx(entered, abs=CLOSE)
    for place in ("valve", "pushrod"):
        gear = random_mapping(rng, kind="solid") | {f"{TRAIN}.lifter.lash_at": place}
        entered = _entry(gear, "lifter.lash")
        assert lash(gear, TRAIN, length(gear, TRAIN)).lash_mm == pytest.approx(entered, abs=CLOSE)


@pytest.mark.parametrize("seed", range(10))
def test_mirrored_and_reversed_gears_move_alike(seed: int) -> None:
    """A gear with x reversed, or with its shaft pointed the other way, is the same gear."""
    gear = random_mapping(np.random.default_rng(4000 + seed))
    mirrored = gear | {path: -float(str(gear[path])) for path in gear if path.endswith(".x")}
    backwards = gear | {
        f"{TRAIN}.rocker.{entry}": -_entry(gear, f"rocker.{entry}")
        for entry in ("direction.x", "direction.y", "direction.z", "valve_station", "pushrod_station")
    }
    pushrod = length(gear, TRAIN)
    for twin in (mirrored, backwards):
        assert length(twin, TRAIN) == pytest.approx(pushrod, abs=CLOSE)
        here, there = (motion(each, TRAIN, LIFTS, pushrod)[0] for each in (gear, twin))
        np.testing.assert_allclose(here, there, atol=CLOSE)
        # either way a × n comes out on the other side of the tip
        here, there = (sweep(each, TRAIN, LIFTS, pushrod) for each in (gear, twin))
        np.testing.assert_allclose(here, -there, atol=CLOSE)


@pytest.mark.parametrize("seed", few(range(20), 8))
def test_out_of_reach_is_said(seed: int) -> None:
    """A closed position that does not exist has no length; a toggle on the way has no lift."""
    rng = np.random.default_rng(5000 + seed)
    with pytest.raises(Unreachable, match="cannot stand tip_radius above its stem tip"):
        length(random_unreachable(rng, why="closed"), TRAIN)
    gear = random_unreachable(rng, why="toggle")
    pushrod = length(gear, TRAIN)
    assert lift(gear, TRAIN, 0.0, pushrod)[0] == pytest.approx(0.0, abs=CLOSE)
    with pytest.raises(Unreachable, match="cannot reach at lift"):
        lift(gear, TRAIN, PEAK, pushrod)


def test_poses_a_hair_from_toggle_are_found() -> None:
    """With the seat below the shaft, toggle comes where B stands L below the top of the cup's circle."""
    gear = planar(lifter__seat__x=0.0)
    pushrod = sqrt(SPAN**2 + PUSHROD_ARM**2)
    toggle = SPAN + PUSHROD_ARM - pushrod
    assert length(gear, TRAIN) == pytest.approx(pushrod, abs=CLOSE)
    _, turn = lift(gear, TRAIN, toggle - 1e-9, pushrod)
    assert turn == pytest.approx(radians(90.0), abs=1e-4)
    with pytest.raises(Unreachable, match="It misses by 1e-06 mm"):
        lift(gear, TRAIN, toggle + 1e-6, pushrod)


def _assert_lash(found: Lash, lash_mm: float, held_mm: float) -> None:
    assert found.lash_mm == pytest.approx(lash_mm, abs=CLOSE)
    assert found.held_mm == pytest.approx(held_mm, abs=CLOSE)


def _split(entry: str, vector: tuple[float, ...]) -> dict[str, object]:
    return {f"{TRAIN}.{entry}.{axis}": value for axis, value in zip("xyz", vector, strict=False)}


def _entry(gear: dict[str, object], entry: str) -> float:
    return float(str(gear[f"{TRAIN}.{entry}"]))
