"""One valve over its piston, by coordinates or by a dial reading: both answer drop and gap at a crank angle.

By coordinates every quantity is known. With a dial reading beside them the reading decides how high the
valve's face stands over the piston: the head is moved along its stem until the drop of that moment is the one that
was read. What else the head's place decides, the distance to the other valve, is no matter of this reading: a piston
that stands higher explains it as well. A reading that met a pocket where no pocket is entered stands as it was read.
By a dial reading alone the drop is known while the rim stays over what it met (`bench_drop`); the straight gap
to a plain crown is the drop times the cosine of the stem's lean, over a pocket's floor it is the drop itself
while its edge is not known, and not knowing which, the smaller is taken.

Crank angles count from the cylinder's own overlap top centre. Numbers of the mapping may be arrays: an
engine with leading axes gives answers with them.

The distance between two valves rests on the coordinates, and says LOOK AGAIN where a reading contradicts them. The
pocket counts as it was when the reading was taken, so that a cut tried afterwards shows.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..core.frames import Array, array, point
from ..core.mapping import Flat, Reader
from ..core.minima import Minimum, minima
from ..engine.defaults import has_coordinates
from ..piston.cycle import (
    Below,
    Valve,
    cycle_angles,
    drop_at,
    gap_at,
    least_drop,
    least_gap,
    least_wall,
    wall_at,
)
from ..piston.drop import drop
from ..piston.head import Head
from ..piston.over_piston import OverPiston
from .bench_drop import DropReading, drop_reading, has_reading, traced
from .valve_lift import ValveLift

COORDINATES, READING = "coordinates", "measured drop"


class Known(NamedTuple):
    """The crank angles around top centre over which a dial reading tells the drop, rad."""

    begins: float
    ends: float


class ByCoordinates(NamedTuple):
    """A valve whose head and piston are known by coordinates."""

    below: Below
    head: Head
    own_pocket: int | None
    lift: ValveLift
    differ: Array | None  # mm, drop by coordinates alone less the dial's reading; None: no reading

    @property
    def basis(self) -> str:
        """What the answer rests on."""
        return COORDINATES if self.differ is None else READING

    @property
    def valve(self) -> Valve:
        """The valve as the cycle takes it."""
        return Valve(self.head, self.lift.at, self.own_pocket)

    def drop(self, crank: Array, lift: Array, alone: bool = False) -> Array:
        """Return the drop at crank angles with the valve lifted by so much, (...) [mm].

        alone : the least along the last axis alone is wanted, here as for the other distances
        """
        return drop_at(self.below, self._lifted(lift), crank, alone=alone)

    def gap(self, crank: Array, lift: Array, alone: bool = False) -> Array:
        """Return the straight gap, (...) [mm]."""
        return gap_at(self.below, self._lifted(lift), crank, alone=alone)

    def wall(self, crank: Array, lift: Array, alone: bool = False) -> Array:
        """Return the room to the pocket's wall, (...) [mm]; infinite where there is none."""
        return wall_at(self.below, self._lifted(lift), crank, alone=alone)

    def _lifted(self, lift: Array) -> Valve:
        return Valve(self.head, lambda _: lift, self.own_pocket)

    def descent(self, crank: Array) -> Array:
        """Return how far the piston stands below its highest point at crank angles (...) [mm]."""
        return self.below.crank.descent(crank, self.below.forward)

    def least_drop(self) -> tuple[Minimum, ...]:
        """Return the local minima of the drop, the least first."""
        return least_drop(self.below, self.valve)

    def least_gap(self, beside: float) -> Minimum | None:
        """Return the least straight gap of the cycle; beside : crank rad, that of the least drop."""
        return least_gap(self.below, self.valve, beside)

    def least_wall(self) -> Minimum | None:
        """Return the least room to the pocket's wall."""
        return least_wall(self.below, self.valve)

    def known(self) -> Known | None:
        """Return None: the drop is known at every angle."""
        return None


class ByReading(NamedTuple):
    """A valve known by one dial reading at top centre."""

    reading: DropReading
    lift: ValveLift
    unlike: bool = False  # its coordinates are entered, but not the pocket that it met

    @property
    def basis(self) -> str:
        """What the answer rests on."""
        return READING

    @property
    def assumed(self) -> str:
        """What it was taken to meet where that was not said."""
        return "" if self.reading.measured.meets else "pocket or crown, whichever gives less"

    def drop(self, crank: Array, lift: Array, alone: bool = False) -> Array:
        """Return the drop at crank angles with the valve lifted by so much, (...) [mm]; NaN where not told."""
        return traced(self.reading.measured, self.descent(crank), lift).drop

    def gap(self, crank: Array, lift: Array, alone: bool = False) -> Array:
        """Return the straight gap, (...) [mm]; NaN where it is not known."""
        found, meets = self.drop(crank, lift), self.reading.measured.meets
        share = array(np.nan) if meets == "pocket" else np.cos(self.reading.measured.lean)
        return found * share

    def wall(self, crank: Array, lift: Array, alone: bool = False) -> Array:
        """Return NaN: a dial reading does not tell the room to a wall."""
        return np.full(np.broadcast_shapes(np.shape(crank), np.shape(lift)), np.nan)

    def descent(self, crank: Array) -> Array:
        """Return how far the piston stands below its highest point at crank angles (...) [mm]."""
        return self.reading.crank.descent(crank, self.reading.forward)

    def least_drop(self) -> tuple[Minimum, ...]:
        """Return the local minima of the drop where it is known, the least first; none where it nowhere is."""
        found = minima(
            lambda crank, refine: self._or_nothing(self.drop(crank, self.lift.at(crank))), cycle_angles()
        )
        return tuple(one for one in found if np.isfinite(one.value))

    def least_gap(self, beside: float) -> Minimum | None:
        """Return the least straight gap, at the angle of the least drop, or None where it is not known."""
        gap = float(self.gap(array(beside), self.lift.at(array(beside))))
        return None if np.isnan(gap) else Minimum(gap, beside)

    def least_wall(self) -> Minimum | None:
        """Return None: a dial reading does not tell the room to a wall."""
        return None

    def known(self) -> Known | None:
        """Return the angles around top centre over which the reading tells the drop; None: all of them."""
        angles = np.radians(np.arange(-180.0, 180.5, 0.5))
        told = self.tells(angles)
        if told.all():
            return None
        middle = len(angles) // 2
        if not told[middle]:
            return Known(0.0, 0.0)
        back = middle - int(np.argmin(told[: middle + 1][::-1])) + 1
        on = middle + int(np.argmin(told[middle:])) - 1
        return Known(self._edge(angles[back], angles[back - 1]), self._edge(angles[on], angles[on + 1]))

    def tells(self, crank: Array) -> NDArray[np.bool_]:
        """Say at which crank angles the reading tells the drop, (...)."""
        return traced(self.reading.measured, self.descent(crank), array(0.0)).known

    def if_it_went_on(self) -> Minimum:
        """Return the least drop were the rim over the floor at every angle."""
        on = self._replace(
            reading=self.reading._replace(measured=self.reading.measured._replace(room=array(np.inf)))
        )
        return on.least_drop()[0]

    def _edge(self, inside: float, outside: float) -> float:
        """Return the last angle at which the drop is known, by halving to 1e-5 rad."""
        while abs(outside - inside) > 1e-5:
            middle = (inside + outside) / 2
            inside, outside = (middle, outside) if self.tells(array(middle)) else (inside, middle)
        return inside

    def _or_nothing(self, drop: Array) -> Array:
        return np.where(np.isnan(drop), np.inf, drop)


OverValve = ByCoordinates | ByReading


def over_valve(
    mapping: Flat, name: str, over: OverPiston, lift: ValveLift | None
) -> OverValve | dict[str, tuple[str, ...]]:
    """Return one valve over its piston, or what each route to it lacks.

    mapping : one engine, see `mapping`, or a batch of them
    lift    : None where it is not known; then nothing is, but what the routes lack
    """
    train = Reader(mapping, (f"{name}.",))
    lacks: dict[str, tuple[str, ...]] = {}
    reading = drop_reading(mapping, name) if has_reading(train) else None
    unlike = isinstance(reading, DropReading) and _met_what_is_not_entered(reading, name, over)
    if has_coordinates(train):
        missing = (*over.lacks.get(name, ()), *over.missing)
        if not missing and not unlike:
            known = reading if isinstance(reading, DropReading) else None
            return {} if lift is None else _by_coordinates(over, name, lift, known)
        lacks[COORDINATES] = (*missing, *((f"{name}.pocket.centre",) if unlike else ()))
    if isinstance(reading, DropReading):
        told = reading.measured.meets == "crown" or reading.measured.room is not None
        if told and lift is not None:
            return ByReading(reading, lift, unlike and has_coordinates(train))
        lacks[READING] = () if told else (f"{name}.measured_drop.room",)
    elif reading is not None:
        lacks[READING] = reading
    else:
        lacks[READING] = (f"{name}.measured_drop.drop", f"{name}.measured_drop.lean")
    return lacks


def _met_what_is_not_entered(reading: DropReading, name: str, over: OverPiston) -> bool:
    """Say whether a valve is said to have met a pocket where the crown, as entered, has none."""
    return reading.measured.meets == "pocket" and name not in over.own_pockets and not over.crown_table


def _by_coordinates(
    over: OverPiston, name: str, lift: ValveLift, reading: DropReading | None
) -> ByCoordinates:
    head, below, differ = over.heads[name], over.below, None
    assert below is not None
    if reading is not None:
        measured = reading.measured
        then = head._replace(centre=head.centre - point(0.0, 0.0, measured.growth))
        differ = drop(over.crowns_then[name], then) - measured.drop
        head = head._replace(centre=head.centre - differ[..., None] * head.stem)
    return ByCoordinates(below, head, over.own_pockets.get(name), lift, differ)
