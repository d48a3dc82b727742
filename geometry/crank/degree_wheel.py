"""Where top centre stands on a degree wheel, from a positive stop.

A stop in the spark-plug hole catches the piston as far before top centre as after it; the crank is
turned against it from either side and the wheel read both times:

    one reading            top centre           the other
    ─────┤──────────────────┼───────────────────├─────
         ←──── held ────────→←───── held ───────→

Source: common practice; the piston's height is the same either side of its top centre.
"""

from __future__ import annotations

from typing import NamedTuple

from .heels import TURN


class TopCentre(NamedTuple):
    """What a positive stop says of a degree wheel, crank rad."""

    at: float  # on the wheel, -half a turn to half a turn
    held: float  # either side, between stop and top centre


def by_positive_stop(one: float, other: float) -> TopCentre:
    """Return where top centre stands on the wheel, halfway between two readings [crank rad].

    Valid: the stop holds the piston within a quarter turn of its top, as it does unless it is very long.
    """
    apart = _nearest(other - one)
    return TopCentre(_nearest(one + apart / 2), abs(apart) / 2)


def _nearest(angle: float) -> float:
    return (angle + TURN / 2) % TURN - TURN / 2
