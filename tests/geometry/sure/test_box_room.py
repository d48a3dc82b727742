"""Rooms in the rocker's box: with the tip moved, and with a little more lift."""

from __future__ import annotations

import math

import pytest
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.sure.box_room import Read, with_lift, with_tip

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
    exact = with_tip(Read(3.0, CLAY), Read(1.2, CLAY), LIFT, Read(0.0, Doubt(0.02)))
    assert exact is not None
    parts = (0.05, 0.1, 0.02 * 1.8 / LIFT)
    assert exact.standard == pytest.approx(math.hypot(*parts) / math.sqrt(3))


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
