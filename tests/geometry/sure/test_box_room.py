"""Rooms in the rocker's box: with the tip moved, and with a little more lift."""

from __future__ import annotations

import math
import random

import pytest
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.sure.box_room import FURTHER, LINE_OFF, TIP_OFF, Read, with_lift, with_tip

CLAY = Doubt(0.1)
SHUT, FULL, LIFT = Read(3.0, CLAY), Read(1.2, CLAY), 12.7


def test_the_numbers_of_the_text() -> None:
    tip = with_tip(SHUT, FULL, LIFT, Read(0.8, None))
    assert tip is not None
    assert tip.value == pytest.approx(3.113, abs=5e-4)
    more = with_lift(SHUT, FULL, LIFT, 13.5)
    assert more is not None
    assert more.value == pytest.approx(1.087, abs=5e-4)
    assert with_lift(SHUT, FULL, LIFT, 14.5) is None


def test_what_a_line_leaves_out_stands_beside_the_clay() -> None:
    more = with_lift(SHUT, FULL, LIFT, 13.5)
    assert more is not None
    share = 13.5 / LIFT
    clay = math.hypot((1 - share) * 0.1, share * 0.1)
    assert more.expanded == pytest.approx(2 * math.hypot(0.15, clay) / math.sqrt(3))
    tip = with_tip(SHUT, FULL, LIFT, Read(0.5, Doubt(0.02)))
    assert tip is not None
    parts = (0.05, 0.1 * (1 + 0.5 / LIFT), 0.1 * 0.5 / LIFT, 0.02 * 1.8 / LIFT)
    assert tip.standard == pytest.approx(math.hypot(*parts) / math.sqrt(3))
    still = with_tip(SHUT, FULL, LIFT, Read(0.0, Doubt(1e-9)))
    assert still is not None
    assert still.standard == pytest.approx(CLAY.standard)


@pytest.mark.parametrize(
    ("shut", "full", "tip"), [(None, CLAY, CLAY), (CLAY, None, CLAY), (CLAY, CLAY, None)]
)
def test_a_reading_without_a_doubt_leaves_the_room_without_one(
    shut: Doubt | None, full: Doubt | None, tip: Doubt | None
) -> None:
    found = with_tip(Read(3.0, shut), Read(1.2, full), LIFT, Read(0.5, tip))
    assert found is not None
    assert found.standard is None
    assert found.expanded is None


@pytest.mark.parametrize(("tip", "known"), [(1.5, True), (-1.5, True), (1.51, False), (-1.51, False)])
def test_a_tip_that_moved_far_is_read_again(tip: float, known: bool) -> None:
    assert (with_tip(SHUT, FULL, LIFT, Read(tip, CLAY)) is not None) == known


@pytest.mark.parametrize(("lift", "known"), [(12.7, False), (12.0, False), (13.7, True), (13.71, False)])
def test_more_lift_goes_on_for_a_millimetre(lift: float, known: bool) -> None:
    assert (with_lift(SHUT, FULL, LIFT, lift) is not None) == known


def test_a_tip_moved_by_a_lift_stands_where_that_lift_had_it() -> None:
    """A straight line: a tip lower by x has the closed rocker where lift x had it."""
    found = with_tip(SHUT, FULL, LIFT, Read(-1.0, CLAY))
    assert found is not None
    assert found.value == pytest.approx(3.0 - 1.8 / LIFT)


def corner(arm: float, droop: float, tail: float, angle: float, over: float, lift: float) -> float:
    """Return the height of a corner of a planar rocker's tail at a valve lift; over : mm above the line of its arm."""
    turned = math.asin(math.sin(droop) + lift / arm)
    along = -turned - angle
    return tail * math.sin(along) + over * abs(math.cos(along))


def test_what_lines_leave_out_is_what_rockers_turned_anew_leave_of_them() -> None:
    """Rockers level at half lift to 5 degrees, arms at 157 to 172 degrees."""
    rng = random.Random(3)
    tip, line = 0.0, 0.0
    for _ in range(3000):
        arm, lift = rng.uniform(32, 45), rng.uniform(10, 14)
        droop = -math.asin(lift / 2 / arm) + math.radians(rng.uniform(-5, 5))
        own = (arm, droop, rng.uniform(18, 35), math.radians(rng.uniform(157, 172)), rng.uniform(0, 6))
        cover = corner(*own, lift) + 2.0
        shut, full = (Read(cover - corner(*own, at), Doubt(1e-6)) for at in (0.0, lift))
        for moved in (-1.5, 0.7, 1.5):
            told = with_tip(shut, full, lift, Read(moved, Doubt(1e-6)))
            assert told is not None
            tip = max(tip, abs(told.value - (cover - corner(*own, -moved))) / abs(moved))
        more = with_lift(shut, full, lift, lift + FURTHER)
        assert more is not None
        line = max(line, abs(more.value - (cover - corner(*own, lift + FURTHER))))
    assert 0.05 < tip < TIP_OFF
    assert 0.05 < line < LINE_OFF.half_width
