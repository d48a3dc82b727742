"""What is believed to have changed in the stack since a pushrod or a drop was read, part by part.

Each part counts with the sign with which it makes the stack taller; what was cut away counts against it. Under a drop
the piston may have moved too: up with a longer throw, connecting rod or compression height.

    growth   = Δbase_gasket + Δcylinder + Δhead_gasket - Δcase_cut - Δhead_cut       Δ: now less when it was read
    opening  = growth - Δ(stroke / 2 + connecting rod + compression height)          along the cylinder's axis

Source: the stack of `frames`, taken apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from ..core.mapping import Flat, Reader
from ..core.verdict import NOTHING
from .defaults import STACK, signed

READINGS = ("measured_pushrod", "measured_drop")
PISTON = (("crank.stroke", 0.5), ("crank.conrod_length", 1.0), ("piston.compression_height", 1.0))


class SinceRead(NamedTuple):
    """What has changed since one reading; mm, each with the sign with which it counts."""

    train: str
    reading: str  # of READINGS
    stack: dict[str, float]  # part of the stack → by how much it makes it taller; those that changed
    piston: dict[str, float]  # entry → by how much it makes the piston stand higher; those that changed
    lowered: float  # of the lifter, since
    sunk: float  # of the valve, since

    @property
    def growth(self) -> float:
        """How much taller the stack is now [mm]."""
        return math.fsum(self.stack.values())

    @property
    def higher(self) -> float:
        """How much higher the piston stands now [mm]."""
        return math.fsum(self.piston.values())


def since_read(mapping: Flat, train: str, reading: str) -> SinceRead | None:
    """Return what has changed since a reading of one valve gear was taken, None where there is no such reading.

    mapping : one engine, every default added; what reading or job says nothing of counts as unchanged
    """
    if not Reader(mapping, (f"{train}.",)).has(reading):
        return None
    then = Reader(mapping, (f"{train}.{reading}.",))
    now = Reader(mapping, (f"{train.rpartition('.')[0]}.", ""))
    own = Reader(mapping, (f"{train}.",))

    def by(entry: str, after: Reader) -> float:
        one, other = after.find(entry), then.find(entry)
        return 0.0 if one is None or other is None else float(one) - float(other)

    stack = {part: signed(part) * by(f"stack.{part}", now) for part in STACK}
    piston = {entry: share * by(entry, now) for entry, share in PISTON} if reading == READINGS[1] else {}
    return SinceRead(
        train,
        reading,
        {part: size for part, size in stack.items() if abs(size) > NOTHING},
        {entry: size for entry, size in piston.items() if abs(size) > NOTHING},
        by("lifter.lowered", own) if reading == READINGS[0] else 0.0,
        by("valve.sink", own),
    )


def adding_up(terms: Sequence[float], step: float) -> tuple[float, list[float]]:
    """Return the rounded sum of terms, and the terms rounded so that they add up to it.

    terms : any unit;  step : to which they are rounded, in it
    Source: the units of the last place that are missing or too many go where the exact value lies furthest that way.
    """
    total = round(math.fsum(terms) / step)
    whole = [round(term / step) for term in terms]
    for _ in range(abs(total - sum(whole))):
        way = 1 if total > sum(whole) else -1
        place = max(range(len(terms)), key=lambda one: (way * (terms[one] / step - whole[one]), -one))
        whole[place] += way
    return total * step, [one * step for one in whole]
