"""What a lobe from readings looks like: how long it is open, how long its ramps and its nose are.

    lift      99.5 % ┄┄┄┄┄╭──────╮       nose: the crank degrees above it
                         ╱        ╲
    0.020 in ┄┄┄┄┄┄┄┄┄┄┄╱          ╲     ramp: the crank degrees from 0.002 to 0.020 in, of either flank
    0.002 in ┄┄┄┄┄┄╭───╯            ╰──

Crank degrees at a check lift lie between bounds that hold for every lobe, common practice; so a table counted in the
other's degrees is found out where it makes twice or half of that.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from ..core.frames import array
from .lobe import CENTRE_LIFT_MM, Lobe

SHORTEST, LONGEST = (
    math.radians(140.0),
    math.radians(320.0),
)  # of crank at 0.050 in, between which every lobe lies
RAMP_MM = 0.05, 0.508  # 0.002 and 0.020 in
LONG_RAMP = math.radians(32.0)  # of crank on one flank; common practice is 15 to 30
NOSE = 0.995  # share of the peak
FLAT_NOSE = math.radians(32.0)  # of crank; a lobe without a dwell has 12 to 30


class Looks(NamedTuple):
    """What a lobe looks like, angles in crank rad."""

    check: float  # mm, at which it is open so long
    open_for: float  # nan where it never comes back to the check lift
    ramps: tuple[float, float]  # opening, closing
    nose: float

    @property
    def is_a_lobe(self) -> bool:
        """Whether any lobe is open for so long."""
        return SHORTEST <= self.open_for <= LONGEST

    def would_be(self, factor: float) -> bool:
        """Say whether it would be one if its degrees were counted so many times."""
        return SHORTEST <= factor * self.open_for <= LONGEST

    @property
    def long_ramps(self) -> bool:
        """Whether a flank creeps for long before it lifts."""
        return max(self.ramps) > LONG_RAMP

    @property
    def flat_nose(self) -> bool:
        """Whether the lift stays so near its peak for so long that the peak's angle says little."""
        return self.nose > FLAT_NOSE


def looks(lobe: Lobe) -> Looks:
    """Return what a lobe looks like."""
    peak = lobe.peak()[1]
    check = min(CENTRE_LIFT_MM, 0.5 * peak)
    found = lobe.crossings(array([check, *RAMP_MM, NOSE * peak]))
    opens, closes = 2 * found.opens, 2 * found.closes
    ramps = float(opens[2] - opens[1]), float(closes[1] - closes[2])
    return Looks(check, float(closes[0] - opens[0]), ramps, float(closes[3] - opens[3]))
