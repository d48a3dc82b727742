"""What moved, how sure that is, and what would fit it.

Figures, measured on two cores with CPython 3.11:

- 200,000 simulated visits, both readings ± 0.02 (rectangles), `-m study`, 3 s: 3.4 % false alarms; a true drift of 0.04 is
  seen in 66.7 %, one of 0.06 in 95.0 %; limits: half a percent about the closed forms
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.pushrod.pushrods import by_coordinates, fit
from tallstack.geometry.sure.drift import (
    AT_PUSHROD,
    LASH,
    PRELOAD,
    Cause,
    Reading,
    Seat,
    at_pushrod,
    closes,
    heat_apart,
    levers,
    moved,
    seat,
    shared,
)

from ...measured import Told
from ...oracles import planar_rocker as planar
from ...oracles.random_trains import TRAIN, random_mapping

HALF = Doubt(0.02)
BY = 0.1
ROCKER = planar.built(36.0, 22.0, math.radians(8.0), math.radians(157.0), 260.0, 0.0)
RATIO = 36.0 * math.cos(math.radians(8.0)) / (22.0 * math.cos(math.radians(15.0)))
SOLID = ROCKER._replace(rod=ROCKER.rod - 0.1 / RATIO)  # 0.10 of lash at the valve
MOVES: dict[Cause, Callable[[planar.Gear, float], planar.Gear]] = {
    Cause.SINKS: planar.sunk,
    Cause.SETTLES: planar.settled,
    Cause.TIP_WEARS: planar.tip_worn,
    Cause.GEAR_WEARS: planar.rod_worn,
}


def test_the_drift_of_the_text() -> None:
    found = moved(Reading(0.10, HALF), Reading(0.06, HALF))
    assert found is not None
    assert found.standard == pytest.approx(0.0163, abs=5e-5)
    assert found.drift / 0.016330 == pytest.approx(-2.45, abs=0.01)  # 2.4 u as the text rounds it
    assert (round(found.drift, 2), round(found.expanded or 0.0, 2)) == (-0.04, 0.03)
    assert found.is_shown
    assert closes(LASH, found.drift)
    assert not closes(PRELOAD, found.drift)


def test_a_planar_rocker_moves_as_the_text_says() -> None:
    assert pytest.approx(1.68, abs=0.005) == RATIO
    before = planar.lash_at_valve(SOLID)
    assert before == pytest.approx(0.10, abs=1e-4)
    expected = {Cause.SINKS: -0.100, Cause.SETTLES: -0.168, Cause.TIP_WEARS: 0.100, Cause.GEAR_WEARS: 0.168}
    for cause, told in expected.items():
        gap = planar.lash_at_valve(MOVES[cause](SOLID, BY)) - before
        assert gap == pytest.approx(told, abs=5e-4), cause
    pad = planar.lash_at_valve(planar.pad_worn(SOLID, BY)) - before
    assert pad == pytest.approx(0.100, abs=5e-4)


@pytest.mark.parametrize(
    ("setting", "lash_at", "read"),
    [
        (LASH, "valve", planar.lash_at_valve),
        (LASH, AT_PUSHROD, planar.lash_at_pushrod),
        (PRELOAD, "", planar.preload),
    ],
)
def test_levers_are_those_of_a_planar_rocker_solved_anew(
    setting: str, lash_at: str, read: Callable[[planar.Gear], float], measured: Told
) -> None:
    """Rockers of many shapes, each cause by 0.02: what the rocker turns meanwhile is left out of a lever."""
    rng = np.random.default_rng(7)
    off = []
    for _ in range(60):
        droop, angle = math.radians(rng.uniform(-12, 14)), math.radians(rng.uniform(150, 180))
        arms = rng.uniform(28, 45), rng.uniform(18, 28)
        gear = planar.built(*arms, droop, angle, 250.0, rng.uniform(0.05, 0.2))
        ratio = arms[0] * math.cos(droop) / (arms[1] * math.cos(math.pi - angle - droop))
        for cause, lever in levers(setting, lash_at, Seat(ratio, 1.0)).items():
            found = read(MOVES[cause](gear, 0.02)) - read(gear)
            assert lever is not None
            off.append(lever / (found / 0.02) - 1.0)
    measured("what a cause moves at a visit, share", "planar rocker solved anew", off, 0.01, "")


@pytest.mark.parametrize("kind", ["solid", "hydraulic"])
@pytest.mark.parametrize("seed", [3, 8, 21])
def test_levers_are_those_of_the_programs_own_gear(kind: str, seed: int) -> None:
    mapping: Flat = dict(random_mapping(np.random.default_rng(seed), kind=kind, lash_at="valve"))
    gear = train_of(mapping, TRAIN)._replace(measured=None)
    length = by_coordinates(gear).lengths["centres"]

    def read(by: float, entry: str = "", longer: float = 0.0) -> float:
        value = mapping.get(entry, 0.0)
        assert not isinstance(value, (str, tuple))
        there = mapping if not entry else {**mapping, entry: value + by}
        found = fit(train_of(there, TRAIN)._replace(measured=None), length + longer)
        told = found.lash if kind == "solid" else found.preload
        assert told is not None
        return float(told)

    step = 1e-3
    found = {
        Cause.SINKS: (read(step, f"{TRAIN}.valve.sink") - read(-step, f"{TRAIN}.valve.sink")) / (2 * step),
        Cause.SETTLES: (read(-step, "stack.cylinder") - read(step, "stack.cylinder")) / (2 * step),
        Cause.GEAR_WEARS: (read(0.0, longer=-step) - read(0.0, longer=step)) / (2 * step),
    }
    told = levers(LASH if kind == "solid" else PRELOAD, "valve", seat(mapping, TRAIN))
    for cause, slope in found.items():
        lever = told[cause]
        assert lever is not None
        assert lever == pytest.approx(slope, rel=2e-3), cause


def test_what_is_not_known_of_a_gear_leaves_its_levers_open() -> None:
    found = levers(LASH, "valve", Seat(None, None))
    assert (found[Cause.SINKS], found[Cause.TIP_WEARS]) == (-1.0, 1.0)
    assert found[Cause.SETTLES] is None
    assert found[Cause.GEAR_WEARS] is None
    assert levers(PRELOAD, "", Seat(None, 1.0))[Cause.SINKS] is None
    assert at_pushrod(LASH, "valve", Seat(None, 1.0)) is None
    assert at_pushrod(LASH, AT_PUSHROD, Seat(None, 1.0)) == -1.0
    assert at_pushrod(PRELOAD, "", Seat(None, 1.0)) == 1.0
    assert at_pushrod(LASH, "valve", Seat(1.6, 1.0)) == -1.0 / 1.6


def test_heat_is_taken_off_and_is_doubtful_by_its_own_size() -> None:
    left, warmer = Reading(0.10, HALF, 15.0, Doubt(1.0)), Reading(0.13, HALF, 35.0, Doubt(1.0))
    found = moved(left, warmer, 0.0015)
    assert found is not None
    assert (found.kelvin, found.by_heat) == (20.0, pytest.approx(0.03))
    assert found.drift == pytest.approx(0.0, abs=1e-12)
    parts = (0.02, 0.02, 0.03, 0.0015, 0.0015)
    assert found.standard == pytest.approx(math.sqrt(sum(one**2 for one in parts) / 3.0))
    assert moved(left, warmer) is None  # over 10 K, and no such figure
    near = moved(left, warmer._replace(heat=25.0))
    assert near is not None
    assert (near.kelvin, near.by_heat, near.standard) == (
        10.0,
        None,
        pytest.approx(math.sqrt(2 * 0.02**2 / 3)),
    )


def test_a_temperature_left_out_makes_nothing_surer() -> None:
    known = moved(Reading(0.10, HALF, 18.0), Reading(0.06, HALF, 18.0), 0.0015)
    for left, found in (((0.10, HALF, 18.0), (0.06, HALF)), ((0.10, HALF), (0.06, HALF, 18.0))):
        bare = moved(Reading(*left), Reading(*found), 0.0015)
        assert bare is not None
        assert known is not None
        assert heat_apart(Reading(*left), Reading(*found)) is None
        assert (bare.standard or 0.0) > (known.standard or 1.0)


@pytest.mark.parametrize(("left", "found"), [(None, HALF), (HALF, None), (None, None)])
def test_without_a_doubt_nothing_is_shown(left: Doubt | None, found: Doubt | None) -> None:
    told = moved(Reading(0.10, left), Reading(-3.0, found))
    assert told is not None
    assert told.expanded is None
    assert not told.is_shown


def test_what_two_valves_share_is_the_smaller_where_both_move_alike() -> None:
    found = shared({"intake": (0.05, 0.01), "exhaust": (0.09, 0.01)})
    assert found.common == 0.05
    assert found.own["intake"].rest == 0.0
    assert found.own["exhaust"].rest == pytest.approx(0.04)
    assert found.own["exhaust"].expanded == pytest.approx(2 * math.hypot(0.01, 0.01))
    assert found.own["exhaust"].is_shown
    assert not found.is_alike
    assert shared({"intake": (0.05, 0.01), "exhaust": (0.055, 0.01)}).is_alike
    for apart in ((0.05, -0.09), (0.05, 0.01), (-0.05, 0.09)):
        both = shared({"intake": (apart[0], 0.01), "exhaust": (apart[1], 0.01)})
        assert both.common == 0.0
        assert not both.is_alike
    assert shared({"intake": (0.05, 0.01)}).common == 0.0  # one valve shares nothing


def seen(true: float, visits: int, seed: int) -> float:
    """Return how often simulated visits show a drift, both readings off by a rectangle of 0.02."""
    rng = np.random.default_rng(seed)
    off = rng.uniform(-0.02, 0.02, (visits, 2))
    told = (moved(Reading(0.3 + one, HALF), Reading(0.3 + true + two, HALF)) for one, two in off.tolist())
    return sum(one is not None and one.is_shown for one in told) / visits


@pytest.mark.parametrize(
    ("visits", "within"), [(6_000, 0.02), pytest.param(200_000, 0.005, marks=pytest.mark.study)]
)
@pytest.mark.parametrize(
    ("true", "exactly"),
    [
        (0.0, (1 - math.sqrt(2 / 3)) ** 2),  # of the triangle that two rectangles make: 3.4 %
        (0.04, 2 / 3),
        (0.06, 1 - (math.sqrt(2 / 3) - 0.5) ** 2 / 2),  # 19 in 20
    ],
)
def test_alarms_are_as_often_false_and_as_often_right_as_two_rectangles_have_it(
    true: float, exactly: float, visits: int, within: float
) -> None:
    assert seen(true, visits, 5) == pytest.approx(exactly, abs=within)


@pytest.mark.parametrize("found", [None, Doubt(0.07), Doubt(0.5), Doubt(0.01)])
def test_a_doubt_left_out_or_wide_is_no_more_comfortable(found: Doubt | None) -> None:
    """0.06 against a reading sure to 0.0115: it moved, or it is told that it stands apart."""
    told = moved(Reading(0.10, Doubt(0.01)), Reading(0.04, found))
    assert told is not None
    assert told.is_shown or told.is_apart


def test_what_rounding_or_the_surer_reading_explains_is_not_apart() -> None:
    sure = Reading(0.10, Doubt(0.02))
    for value, rounding in ((0.08, 0.0), (0.08, 0.005), (0.075, 0.005)):
        told = moved(sure, Reading(value, None, rounding=rounding))
        assert told is not None
        assert not told.is_apart
    far = moved(sure, Reading(0.07, None, rounding=0.005))
    assert far is not None
    assert far.is_apart
    both = moved(Reading(0.10, None, rounding=0.005), Reading(0.11, None, rounding=0.005))
    assert both is not None
    assert not both.is_apart
    alike = moved(Reading(0.10, Doubt(0.05)), Reading(0.06, Doubt(0.05)))
    assert alike is not None
    assert not alike.is_apart


def test_a_temperature_left_out_hides_no_drift_that_both_readings_show() -> None:
    """What heat may have done widens the doubt; it never turns a drift into none."""
    left, found = Reading(0.10, Doubt(0.02), 20.0), Reading(0.06, Doubt(0.02))
    plain, heated = moved(left, found), moved(left, found, 0.0025)
    assert plain is not None
    assert heated is not None
    assert plain.is_shown
    assert (heated.is_shown, heated.is_apart, heated.is_hidden_by_heat) == (False, True, True)
    assert heated.by_readings == pytest.approx(plain.expanded)
    assert heated.expanded is not None
    assert heated.expanded > 0.04
    far = moved(left, Reading(0.0, Doubt(0.02)), 0.0025)
    assert far is not None
    assert (far.is_shown, far.is_apart) == (True, False)
    near = moved(left, Reading(0.09, Doubt(0.02)), 0.0025)
    assert near is not None
    assert (near.is_shown, near.is_apart) == (False, False)


def test_a_heat_so_wide_that_it_tells_nothing_hides_no_drift_either() -> None:
    left = Reading(0.10, Doubt(0.02), 20.0)
    wide = moved(left, Reading(0.06, Doubt(0.02), 20.0, Doubt(40.0)), 0.003)
    narrow = moved(left, Reading(0.06, Doubt(0.02), 20.0, Doubt(1.0)), 0.003)
    assert wide is not None
    assert narrow is not None
    assert (wide.is_shown, wide.is_apart) == (False, True)
    assert narrow.is_shown
