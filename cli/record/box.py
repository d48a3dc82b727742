"""What a room in the rocker's box is now: a tip that moved since it was read, a cover that was raised, more lift.

It was read at one valve lift. At more the room to the cover goes on in a line for a little, the room to the retainer
does not: then it is read again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.sure.box_room import FURTHER, MOST_TIP, Read, Room, with_lift, with_tip
from tallstack.geometry.sure.planned import Planned, Standing, standing_of

from ..page.wording import length
from .recordfile import Fact, standing
from .recordkinds import CHANGED, COVER_RAISED, PAIRS, TIP_HEIGHT, Pair

ALIKE_MM = 1e-9
STOOD = Room(0.0, None)  # a cover that nobody raised
NEW_CAM = "Measure it again with the new cam"
NOT_CLEARED = "as it was read it misses, and a sum clears nothing: read it again and write that down"
COUNTED = (
    "cover raised is written down more than once; from when this room was read on the last line counts, in all, and "
    "counted otherwise the cover would stand lower, which is taken here: read again"
)


class Seen(NamedTuple):
    """What a room is now."""

    told: str = ""  # in words; empty: as it was read
    again: str = ""  # why it is to be read again; empty: it need not be
    room: Room | None = None  # None: as it was read
    least: float = 0.0  # mm

    def standing_of(self, read: Standing) -> Standing:
        """Return how it stands, by how it stood when it was read: never better than either."""
        if self.room is None or read is Standing.MISSES:
            return read
        doubt = None if self.room.standard is None else Doubt(self.room.standard, 1.0)
        now = standing_of(Planned(least=self.least), self.room.value, doubt)
        return now if now in (Standing.MISSES, Standing.TIGHT, Standing.UNJUDGED) else read

    def told_of(self, read: Standing) -> str:
        """Return what it is now in words, by how it stood when it was read."""
        clears = self.room is not None and read is Standing.MISSES and self.room.value >= self.least
        return f"{self.told}; {NOT_CLEARED}" if clears else self.told


def seen(fact: Fact, facts: Sequence[Fact], least: float, lift: float | None, lift_doubt: float) -> Seen:
    """Return what a room is now.

    fact  : as it was read;  facts : the whole record;  least : its limit [mm]
    lift  : the valve's lift now [mm], None where it is not known;  lift_doubt : expanded
    """
    (pair,) = (one for one in PAIRS if fact.what in one[:2])
    counting = [one for one in standing(facts) if one.of == fact.of]
    newer = [one for one in counting if one.what == fact.what and one.run > fact.run]
    if newer:
        return Seen(told=f"read again at {newer[-1].distance}", least=least)
    shut, full = (_beside(fact, counting, what) for what in (pair.closed, pair.full))
    raised, doubtful = _raised(fact, facts) if pair.under_cover else (STOOD, "")
    tip, lacks = _tip(fact, counting)
    changed = _changed(fact, facts)
    if changed:
        return Seen(again=f"{changed} changed since it was read: read again", least=least)
    if lacks:
        return Seen(again=lacks, least=least)
    if fact.what == pair.closed:
        found = _closed(fact, shut, full, tip, raised, least)
    else:
        found = _full(pair, fact, shut, full, tip, raised, least, lift, lift_doubt)
    again = "; ".join(one for one in (found.again, doubtful) if one)
    return found._replace(again=again)


def _closed(fact: Fact, shut: Fact | None, full: Fact | None, tip: Read, raised: Room, least: float) -> Seen:
    if not tip.value:
        return _moved(fact, raised, least)
    where = f"the stem tip stands {length(abs(tip.value), _units(fact))} {'higher' if tip.value > 0 else 'lower'} since"
    if shut is None or full is None:
        return Seen(again=f"{where}, and it was not read at full lift: read again", least=least)
    room = with_tip(_read(shut), _read(full), _lift(full), tip)
    if room is None:
        more = length(MOST_TIP, _units(fact))
        return Seen(again=f"{where}, more than {more}: read again", least=least)
    room = _under(room, raised)
    units = _units(fact)
    line = f"by the line from {length(_read(shut).value, units)} closed to {length(_read(full).value, units)} at full lift"
    return Seen(f"{where}: {_shown(room, fact)} now, {line}", room=room, least=least)


def _full(
    pair: Pair,
    fact: Fact,
    shut: Fact | None,
    full: Fact | None,
    tip: Read,
    raised: Room,
    least: float,
    lift: float | None,
    lift_doubt: float,
) -> Seen:
    assert full is not None
    then, units = _lift(full), _units(fact)
    found = _moved(fact, raised, least)
    if lift is None:
        what = f"read at lift {length(then, units)}; the valve's lift now is not known"
        return found._replace(told="; ".join(filter(None, (found.told, what))))
    own = full.lift_value
    doubt = 0.0 if own is None or own.doubt is None else 2.0 * own.doubt.standard
    new = lift - tip.value
    if new <= then + (lift_doubt**2 + doubt**2) ** 0.5:
        return found
    again = f"read at lift {length(then, units)}; the new lift is more: read again"
    if not pair.follows_lift:
        return found._replace(again=f"{again}. {NEW_CAM}")
    room = None if shut is None else with_lift(_read(shut), _read(full), then, new)
    if room is None:
        more = "" if shut is None else f"; a line goes no further than {length(FURTHER, units)} more"
        return found._replace(again=f"{again}{more}")
    room = _under(room, raised)
    return Seen(f"at lift {length(lift, units)} about {_shown(room, fact)}", again, room, least)


def _moved(fact: Fact, raised: Room, least: float) -> Seen:
    """Return a room that the cover alone changed."""
    if not raised.value:
        return Seen(least=least)
    read, units = _read(fact), _units(fact)
    room = _under(Room(read.value, None if read.doubt is None else read.doubt.standard), raised)
    way = f"{length(abs(raised.value), units)} {'higher' if raised.value > 0 else 'lower'}"
    return Seen(f"the cover stands {way} since it was read: {_shown(room, fact)} now", room=room, least=least)


def _under(room: Room, raised: Room) -> Room:
    """Return a room to the cover with that raised; what nobody said of how sure it was raised by adds nothing."""
    standard = None if room.standard is None else math.hypot(room.standard, raised.standard or 0.0)
    return Room(room.value + raised.value, standard)


def _shown(room: Room, fact: Fact) -> str:
    units, off = _units(fact), room.expanded
    shown = length(room.value, units, off or 0.0)
    return shown if off is None else f"{shown} +/- {length(off, units, off)}"


def _units(fact: Fact) -> str:
    return "mm" if "mm" in fact.typed else "in"


def _read(fact: Fact) -> Read:
    assert fact.value is not None
    return Read(fact.value.number, fact.value.doubt)


def _lift(fact: Fact) -> float:
    """Return the valve's lift that a room was read at [mm]."""
    assert fact.lift_value is not None
    return fact.lift_value.number


def _beside(fact: Fact, counting: Sequence[Fact], what: str) -> Fact | None:
    """Return what was read of another thing at the same moment."""
    if what == fact.what:
        return fact
    found = [one for one in counting if one.what == what and one.run == fact.run]
    return found[-1] if found else None


def _raised(fact: Fact, facts: Sequence[Fact]) -> tuple[Room, str]:
    """Return by how much the cover stands higher since a room was read [mm], and why that may be otherwise, or nothing.

    It counts from when the room was read, a later line in place of an earlier one. Who wrote several may have counted
    from assembly or from the line before: the least of all that counts then.
    """
    gone = {one.withdraws for one in facts}
    lines = [
        (one.number, one.value)
        for one in facts
        if (one.what, one.of) == (COVER_RAISED, fact.of) and one.value is not None and one.number not in gone
    ]
    before, later = (
        [value.number for number, value in lines if (number > fact.number) == is_later]
        for is_later in (False, True)
    )
    if not later:
        return STOOD, ""
    ways = (later[-1], math.fsum(later), later[-1] - (before[-1] if before else 0.0))
    least, doubts = min(ways), [value.doubt.standard for _, value in lines if value.doubt is not None]
    if least >= later[-1] - ALIKE_MM:
        own = lines[-1][1].doubt
        return Room(later[-1], None if own is None else own.standard), ""
    return Room(least, math.hypot(*doubts)), COUNTED


def _tip(fact: Fact, counting: Sequence[Fact]) -> tuple[Read, str]:
    """Return how much higher the stem tip stands since a room was read [mm], or why that is not known."""
    tips = sorted((one for one in counting if one.what == TIP_HEIGHT), key=lambda one: (one.run, one.number))
    if not tips:
        return Read(0.0, Doubt(0.0)), ""
    then, now = _beside(fact, counting, TIP_HEIGHT), tips[-1]
    if now.run <= fact.run:
        return Read(0.0, Doubt(0.0)), ""
    if then is None:
        return Read(0.0, None), "the stem tip's height was not written down when it was read: read again"
    before, after = _read(then), _read(now)
    doubt = None
    if before.doubt is not None and after.doubt is not None:
        doubt = Doubt((before.doubt.standard**2 + after.doubt.standard**2) ** 0.5, 1.0)
    return Read(after.value - before.value, doubt), ""


def _changed(fact: Fact, facts: Sequence[Fact]) -> str:
    """Return what was changed since a room was read that makes it another."""
    later = (one for one in standing(facts) if one.what == CHANGED and one.run >= fact.run)
    return next((one.typed for one in later if one.of == fact.of and one.typed == "rocker"), "")
