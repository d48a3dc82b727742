"""What a rocker leaves in its box, from what was read there: with the tip moved, or with a little more lift.

Room in the box hangs on the valve's lift and on the tip's height over the head alone; stack and pushrod do not enter,
the closed rocker stands on its valve. A tip that stands x higher has the rocker, closed, where it stood at lift -x:

    room closed = read closed + (read closed - read at full lift) x / h,    h the lift it was read at

Good to 0.1 mm for each mm of tip, up to 1.5 mm: the rocker turns unevenly over its lift. Further lift: the room to the cover goes on in that line for 1 mm more than it was
read at, to 0.15 mm; the room to the retainer does not, and is never foretold.

Source: common practice; what a line leaves out was swept over rockers' shapes, see the tests.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from ..doubt.budget import Doubt

MOST_TIP, TIP_OFF = 1.5, 0.1  # mm, how far the tip rule goes, and what it leaves out for each mm
FURTHER, LINE_OFF = 1.0, Doubt(0.15)  # mm of lift past the reading, and what a line leaves out there


class Read(NamedTuple):
    """A room as it was read, mm."""

    value: float
    doubt: Doubt | None


class Room(NamedTuple):
    """A room as it follows from what was read, mm."""

    value: float
    standard: float | None  # None: a reading without its doubt

    @property
    def expanded(self) -> float | None:
        """The expanded uncertainty, about 95 %."""
        return None if self.standard is None else 2.0 * self.standard


def with_tip(shut: Read, full: Read, lift: float, tip: Read) -> Room | None:
    """Return the room with the valve closed and the tip moved, or None where it moved too far for that.

    shut, full : as read, closed and at full lift;  lift : mm, the valve's when it was read
    tip        : how much higher it stands, lower is negative
    """
    if abs(tip.value) > MOST_TIP:
        return None
    share = tip.value / lift
    value = shut.value + (shut.value - full.value) * share
    slope = (shut.value - full.value) / lift
    return Room(
        value, _standard(Doubt(TIP_OFF * abs(tip.value)), (1.0 + share, shut), (-share, full), (slope, tip))
    )


def with_lift(shut: Read, full: Read, lift: float, new: float) -> Room | None:
    """Return the room to the cover at more lift than it was read at, or None where that is too much more.

    new : mm, the valve's lift, less how much higher the tip stands
    """
    if not lift < new <= lift + FURTHER:
        return None
    share = new / lift
    value = shut.value - (shut.value - full.value) * share
    return Room(value, _standard(LINE_OFF, (1.0 - share, shut), (share, full)))


def _standard(left_out: Doubt, *parts: tuple[float, Read]) -> float | None:
    if any(one.doubt is None for _, one in parts):
        return None
    own = (slope * one.doubt.standard for slope, one in parts if one.doubt is not None)
    return math.hypot(left_out.standard, *own)
