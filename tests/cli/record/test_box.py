"""Rooms in the rocker's box: what they are now, and when they are to be read again."""

from __future__ import annotations

from typing import Any

import pytest
from tallstack.cli.record.box import NEW_CAM, NOT_CLEARED, Seen, seen
from tallstack.cli.record.recordfile import Fact, understood
from tallstack.cli.record.recordkinds import AT_LIFT, CHANGED, kinds
from tallstack.geometry.sure.box_room import Room
from tallstack.geometry.sure.planned import Standing

OF, LEAST = "front.intake", 1.524
COVER, FULL, RETAINER = "cover room closed", "cover room full", "retainer room full"


def line(what: str, typed: str, number: int, **more: Any) -> Fact:
    value = understood(kinds()[what].kind, typed) if what in kinds() else None
    lift = {"lift": "12.7 mm"} if what in AT_LIFT else {}
    return Fact("2026-01-01", what, OF, "", typed, value, number=number, **{**lift, **more})


READ = (
    line(COVER, "3.0 +/- 0.1 mm", 1),
    line(FULL, "1.2 +/- 0.1 mm", 2),
    line("retainer room closed", "2.2 +/- 0.1 mm", 3),
    line(RETAINER, "3.0 +/- 0.1 mm", 4),
    line("tip height", "45.0 +/- 0.02 mm", 5),
)
RAISED = line("tip height", "45.8 +/- 0.02 mm", 6, state="found and left", distance="500 miles")


def now(what: str, *more: Fact, lift: float | None = 12.7, doubt: float = 0.0, least: float = LEAST) -> Seen:
    fact = next(one for one in READ if one.what == what)
    return seen(fact, (*READ, *more), least, lift, doubt)


def test_a_tip_that_stands_higher_moves_the_closed_room() -> None:
    found = now(COVER, RAISED)
    assert found.room is not None
    assert found.room.value == pytest.approx(3.113, abs=5e-4)
    assert found.told.startswith("the stem tip stands 0.80 mm (0.031 in) higher since: 3.11 mm")
    assert not found.again


def test_a_raised_cover_adds_directly_and_only_to_the_room_under_it() -> None:
    raised = line("cover raised", "1.5 mm", 7)
    for what, room in ((COVER, 4.5), (FULL, 2.7)):
        found = now(what, raised)
        assert found.room is not None
        assert found.room.value == pytest.approx(room)
    assert now(RETAINER, raised).room is None
    both = now(COVER, RAISED, raised)
    assert both.room is not None
    assert both.room.value == pytest.approx(4.613, abs=5e-4)
    before = seen(line(COVER, "3.0 mm", 9), (*READ, raised), LEAST, None, 0.0)
    assert before.room is None  # it was raised before this one was read


def test_more_lift_is_read_again_and_the_cover_alone_is_estimated() -> None:
    found = now(FULL, lift=13.5)
    assert found.again == "read at lift 12.70 mm (0.500 in); the new lift is more: read again"
    assert found.room is not None
    assert found.room.value == pytest.approx(1.087, abs=5e-4)
    assert "about 1.09 mm" in found.told
    far = now(FULL, lift=14.5)
    assert far.room is None
    assert far.again.startswith(found.again)
    other = now(RETAINER, lift=13.5)
    assert other.room is None
    assert other.again.endswith(NEW_CAM)


@pytest.mark.parametrize(("lift", "again"), [(12.7, False), (12.75, False), (12.85, True), (10.0, False)])
def test_a_lift_that_is_no_surer_than_its_difference_is_the_same(lift: float, again: bool) -> None:
    assert bool(now(RETAINER, lift=lift, doubt=0.1).again) == again


def test_a_lower_tip_asks_for_as_much_more_lift() -> None:
    lower = RAISED._replace(typed="44.2 mm", value=understood(kinds()["tip height"].kind, "44.2 mm"))
    assert now(RETAINER, lower).again
    assert not now(RETAINER, RAISED).again


def test_what_is_not_known_is_read_again() -> None:
    gone = [one for one in READ if one.what != FULL]
    assert "not read at full lift" in seen(READ[0], (*gone, RAISED), LEAST, 12.7, 0.0).again
    untold = [one for one in READ if one.what != "tip height"]
    assert "was not written down" in seen(READ[0], (*untold, RAISED), LEAST, 12.7, 0.0).again
    far = RAISED._replace(value=understood(kinds()["tip height"].kind, "46.6 mm"))
    assert "more than 1.50 mm" in now(COVER, far).again
    rocker = line(CHANGED, "rocker", 8, distance="500 miles")
    assert now(COVER, rocker).again == "rocker changed since it was read: read again"
    assert "not known" in now(FULL, lift=None).told


def test_read_again_at_a_visit_it_counts_there() -> None:
    newer = line(FULL, "1.9 +/- 0.1 mm", 8, state="found", distance="500 miles", lift="13.5 mm")
    assert now(FULL, newer, lift=13.5) == Seen(told="read again at 500 miles", least=LEAST)
    assert not seen(newer, (*READ, newer), LEAST, 13.5, 0.0).again


@pytest.mark.parametrize(
    ("room", "read", "standing"),
    [
        (Room(1.0, 0.01), Standing.WITHIN, Standing.MISSES),
        (Room(1.53, 0.05), Standing.WITHIN, Standing.TIGHT),
        (Room(9.0, None), Standing.WITHIN, Standing.UNJUDGED),
        (Room(9.0, 0.01), Standing.WITHIN, Standing.WITHIN),
        (Room(9.0, 0.01), Standing.MISSES, Standing.MISSES),  # never better than it was read
        (Room(9.0, 0.01), Standing.UNJUDGED, Standing.UNJUDGED),
        (None, Standing.TIGHT, Standing.TIGHT),
    ],
)
def test_it_stands_no_better_than_it_was_read(room: Room | None, read: Standing, standing: Standing) -> None:
    assert Seen(room=room, least=LEAST).standing_of(read) is standing


def test_a_higher_tip_says_by_which_line_its_room_is_told() -> None:
    level = [one._replace(value=READ[0].value) if one.what == FULL else one for one in READ]
    found = seen(level[0], (*level, RAISED), LEAST, 12.7, 0.0)
    assert found.room is not None
    assert found.room.value == pytest.approx(3.0)
    assert found.told.endswith(
        "now, by the line from 3.00 mm (0.118 in) closed to 3.00 mm (0.118 in) at full lift"
    )


@pytest.mark.parametrize(
    ("before", "later", "room", "asks"),
    [
        ((), (1.5,), 4.5, False),
        ((), (-1.5,), 1.5, False),
        (
            (),
            (3.0, 1.0),
            4.0,
            False,
        ),  # the later line stands in place of the earlier one, and is the least of all
        ((), (2.0, -2.0), 1.0, False),
        ((), (-1.0, -1.0), 1.0, True),  # or twice as much, where somebody counted from the line before
        ((3.0,), (0.0,), 0.0, True),  # the spacer taken out, or nothing done since
        ((3.0,), (3.0,), 3.0, True),
        ((-1.0,), (0.0,), 3.0, False),
        ((3.0,), (), 3.0, False),
    ],
)
def test_a_cover_written_down_more_than_once_counts_for_the_least_that_it_can_mean(
    before: tuple[float, ...], later: tuple[float, ...], room: float, asks: bool
) -> None:
    read = line(COVER, "3.0 +/- 0.1 mm", 10)
    raised = [line("cover raised", f"{by} mm", number) for number, by in enumerate(before, 1)]
    raised += [line("cover raised", f"{by} mm", number) for number, by in enumerate(later, 11)]
    found = seen(read, (*raised[: len(before)], read, *raised[len(before) :]), LEAST, None, 0.0)
    assert (3.0 if found.room is None else found.room.value) == pytest.approx(room)
    assert ("read again" in found.again) is asks


def test_a_line_that_was_withdrawn_raises_no_cover() -> None:
    read, slip = line(COVER, "3.0 +/- 0.1 mm", 1), line("cover raised", "-2 mm", 2)
    gone = Fact("2026-01-01", "withdrawn", OF, "cover raised", "2", None, number=3)
    assert seen(read, (read, slip), LEAST, None, 0.0).room is not None
    assert seen(read, (read, slip, gone), LEAST, None, 0.0).room is None


def test_what_missed_as_it_was_read_says_that_another_reading_clears_it() -> None:
    raised = Seen("2.50 mm now", room=Room(2.5, 0.05), least=LEAST)
    assert raised.told_of(Standing.MISSES) == f"2.50 mm now; {NOT_CLEARED}"
    assert raised.told_of(Standing.WITHIN) == "2.50 mm now"
    assert raised._replace(room=Room(1.0, 0.05)).told_of(Standing.MISSES) == "2.50 mm now"


def test_how_sure_a_cover_was_raised_counts_too() -> None:
    read = READ[0].value
    assert read is not None
    assert read.doubt is not None
    for half, more in (("", 0.0), (" +/- 0.2", 0.2 / 3**0.5)):
        found = seen(READ[0], (READ[0], line("cover raised", f"1.5{half} mm", 2)), LEAST, None, 0.0)
        assert found.room is not None
        assert found.room.standard == pytest.approx((read.doubt.standard**2 + more**2) ** 0.5)
