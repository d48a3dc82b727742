"""The lobe behind lifts that were read at the valve, with the lash they were read with.

    lash at the valve      y = h + lash      lobe = alpha y + beta y^2
    lash at the pushrod    y = h             lobe = alpha y + beta y^2 + lash

of the valve's lift h. Two places where lifter and valve were dialled at once tell alpha and beta, one the ratio
alone: a rocker's ratio changes with its lift, and one ratio misses by up to 0.5 mm in the middle of the flank. While
the valve stands still the lobe is not seen: ramp and heel are not known from such a table.

Source: a rocker's motion to second order; two places were held against whole valve gears, 0.05 mm at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Reader

VALVE, PUSHROD = "valve", "pushrod"
SEEN_MM = 0.05  # 0.002 in of valve lift: a dial that shows so much shows a lift
MOST_PLACES = 2  # more tell no better
DIALLED = ("dialled", *(f"dialled.{index}" for index in range(MOST_PLACES)))  # tables of a lobe
ALIKE = 0.2  # of the higher place's lift, by which two places differ at least


class AtValve(NamedTuple):
    """What leads from the valve's lift to the lobe's."""

    alpha: Array | float
    beta: Array | float  # 1/mm
    lash: Array | float  # mm, where it was felt
    lash_at: str  # VALVE or PUSHROD

    def lobe(self, lift: Array) -> Array:
        """Return the lobe's lift where the valve's is (...), above nothing [mm]."""
        y = lift + (self.lash if self.lash_at == VALVE else 0.0)
        found: Array = y * (self.alpha + self.beta * y) + (self.lash if self.lash_at == PUSHROD else 0.0)
        return found

    def valve(self, lobe: Array) -> Array:
        """Return the valve's lift where the lobe's is (...); below 0 where the lash is not taken up [mm]."""
        seen = array(lobe) - (self.lash if self.lash_at == PUSHROD else 0.0)
        y = 2 * seen / (self.alpha + np.sqrt(np.maximum(self.alpha**2 + 4 * self.beta * seen, 0.0)))
        found: Array = y - (self.lash if self.lash_at == VALVE else 0.0)
        return found

    def slope(self, lift: Array) -> Array:
        """Return how fast the lobe rises with the valve where that is lifted by so much, (...)."""
        y = lift + (self.lash if self.lash_at == VALVE else 0.0)
        found: Array = self.alpha + 2 * self.beta * y
        return found

    @property
    def unseen(self) -> float:
        """How high the lobe stands when the valve first moves [mm]."""
        return float(self.lobe(array(0.0)))


def by_ratio(ratio: float, lash: float, lash_at: str = VALVE) -> AtValve:
    """Return the conversion by one ratio, valve's lift over lifter's."""
    return AtValve(1 / ratio, 0.0, lash, lash_at)


def by_places(
    places: Sequence[tuple[Array | float, Array | float]], lash: Array | float, lash_at: str = VALVE
) -> AtValve:
    """Return the conversion by one place or two where both were dialled: lifter's lift and the valve's, (...) [mm].

    Raises:
        GeometryError: in words, where they tell no ratio, or are too close to tell how it changes.
    """
    # y, and the lobe above the lash at the pushrod
    rows = [
        (array(h + lash), array(s)) if lash_at == VALVE else (array(h), array(s - lash)) for s, h in places
    ]
    rows.sort(key=lambda row: float(row[0].mean()))
    if any(not (np.all(y > 0) and np.all(s > 0)) for y, s in rows):
        message = "a place where both were dialled has a lift of nothing; dial at half lift and at full"
        raise GeometryError(message)
    if len(rows) == 1:
        ((y, s),) = rows
        return AtValve(s / y, 0.0, lash, lash_at)
    (low, first), (high, second) = rows
    if np.any(high - low < ALIKE * high):
        message = "the two places are too close to tell how the ratio changes; dial at half lift and at full"
        raise GeometryError(message)
    beta = (second / high - first / low) / (high - low)
    found = AtValve(first / low - beta * low, beta, lash, lash_at)
    if np.any(found.alpha + 2 * beta * high <= 0) or np.any(array(found.alpha) <= 0):
        message = "by these two places the lifter would go down where the valve opens; read them again"
        raise GeometryError(message)
    return found


def dialled(job: Reader, lobe: str) -> list[tuple[Array, Array]]:
    """Return the places of a lobe where lifter and valve were dialled at once, (...) [mm], in the file's order."""
    found = []
    for table in DIALLED:
        lifter, valve = (job.find(f"lobe.{lobe}.{table}.{one}") for one in ("lifter", "valve"))
        if lifter is not None and valve is not None:
            found.append((lifter, valve))
    return found


def behind(job: Reader, lobe: str, hydraulic: bool) -> AtValve | None:
    """Return what leads from a table of a valve's lift to its lobe; None where nobody dialled both, or the lash is not known.

    hydraulic : its lifter has no lash where none was entered
    Raises:
        GeometryError: see `by_places`.
    """
    places = dialled(job, lobe)
    if not places or job.word(f"lobe.{lobe}.measured_at") != "valve":
        return None
    lash = job.find(f"lobe.{lobe}.lash_read")
    if lash is None and not hydraulic:
        return None
    return by_places(places, array(0.0) if lash is None else lash)
