"""How close valves come to the piston and to each other through the whole cycle, and at which crank angle.

Crank angles count from the cylinder's own overlap top centre, -360° to 360°; the piston's height comes from
its slider-crank, the valves' lifts from whatever is given as a function of the crank angle. A minimum is
found on the continuous curve: first on a row of angles, then by closer and closer looks.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from tallstack.geometry.crank import Crank
from tallstack.geometry.crown import Crown
from tallstack.geometry.frames import Array, point
from tallstack.geometry.valvehead import Head, drop, gap, wall
from tallstack.geometry.valvepair import between

TURN = 2 * np.pi
STEP = np.radians(2.0)  # between the angles looked at first
CLOSER = 9  # angles of a closer look
LOOKS = 9  # each a quarter as wide as the last: 2° to 1e-5°
COARSE_MM = 0.05  # by how much a drop may be overstated when its rim is looked at coarsely
NEAR_MM = 1.0  # local minima this near the least one are followed too
AROUND = np.radians(24.0)  # of a least drop, where the least gap is looked for

Lift = Callable[[Array], Array]  # crank angle [rad] to valve lift [mm]
Curve = Callable[[Array, bool], Array]  # crank angle [rad], refined or not, to a clearance [mm]


class Minimum(NamedTuple):
    """The least value of a clearance and where it is."""

    value: float  # mm
    angle: float  # rad, from overlap top centre


class Valve(NamedTuple):
    """One valve over its piston."""

    head: Head  # closed, in the piston's frame at its highest point: z from the crown plane
    lift: Lift
    own_pocket: int | None  # which of the crown's pockets lies under it


class Below(NamedTuple):
    """What lies under the valves of one cylinder."""

    crown: Crown
    crank: Crank
    forward: bool


def cycle_angles() -> Array:
    """Return the crank angles that are looked at first [rad]."""
    angles: Array = np.arange(round(2 * TURN / STEP)) * STEP - TURN
    return angles


def drop_at(below: Below, valve: Valve, angle: Array, refine: bool = True) -> Array:
    """Return the drop at crank angles, (K,) to (K,) [mm].

    Source: the closed valve's drop at that height of the piston, less the lift; see `valvehead`.
    """
    return drop(below.crown, _lowered(below, valve, angle, 0.0), refine) - valve.lift(angle)


def gap_at(below: Below, valve: Valve, angle: Array, refine: bool = True) -> Array:
    """Return the straight gap at crank angles, (K,) to (K,) [mm]."""
    return gap(below.crown, _lowered(below, valve, angle, valve.lift(angle)), refine)


def wall_at(below: Below, valve: Valve, angle: Array, refine: bool = True) -> Array:
    """Return the radial room to the valve's own pocket at crank angles, infinite where there is none."""
    if valve.own_pocket is None:
        return np.full(angle.shape, np.inf)
    own = below.crown.pockets[valve.own_pocket]
    return wall(own, _lowered(below, valve, angle, valve.lift(angle)), refine)


def between_at(first: Valve, second: Valve, angle: Array, refine: bool = True, sides: bool = True) -> Array:
    """Return the distance between two valve heads at crank angles, (K,) to (K,) [mm]."""
    return between(_opened(first, angle), _opened(second, angle), refine, sides)


def least_drop(below: Below, valve: Valve) -> tuple[Minimum, ...]:
    """Return the local minima of the drop, the least first; those far above it are left out."""
    return minima(
        lambda angle, refine: drop_at(below, valve, angle, refine), cycle_angles(), _floor(below, valve)
    )


def _floor(below: Below, valve: Valve) -> Array:
    """Return what the drop is at least, at every angle looked at first: as over a crown without pockets.

    A cut only takes metal away; a dome counts as a plane at its height.
    """
    angles = cycle_angles()
    cap = below.crown.cap
    dome = 0.0 if cap is None else max(float(cap.height), 0.0)
    head = _lowered(below, valve, angles, 0.0)
    return (
        drop(Crown((), None), head, refine=False) - dome / head.stem[..., 2] - valve.lift(angles) - COARSE_MM
    )


def least_gap(below: Below, valve: Valve, around: float) -> Minimum:
    """Return the least gap within some degrees of an angle, that of the least drop."""
    angles = np.arange(around - AROUND, around + AROUND + STEP / 2, STEP)
    return minima(lambda angle, refine: gap_at(below, valve, angle, refine), angles)[0]


def least_wall(below: Below, valve: Valve) -> Minimum | None:
    """Return the least room to the pocket's wall, or None where the rim is never below the crown."""
    if valve.own_pocket is None:
        return None
    found = minima(lambda angle, refine: wall_at(below, valve, angle, refine), cycle_angles())
    return found[0] if np.isfinite(found[0].value) else None


def least_between(first: Valve, second: Valve) -> Minimum:
    """Return the smallest distance between two heads; of equal ones the one nearest overlap top centre."""
    found = minima(lambda angle, refine: between_at(first, second, angle, refine, False), cycle_angles())
    at = np.array([found[0].angle])
    if between_at(first, second, at)[0] < found[0].value - 1e-9:  # the margins cross: look at the sides too
        around = np.arange(-2, 3) * STEP + found[0].angle
        found = minima(lambda angle, refine: between_at(first, second, angle, refine), around)
    equal = [one for one in found if one.value - found[0].value < 1e-9]
    return min(equal, key=lambda one: abs(one.angle))


def minima(curve: Curve, angles: Array, floor: Array | None = None) -> tuple[Minimum, ...]:
    """Return the local minima of a curve near its least, the least first.

    angles : (K,) [rad]  evenly spaced by STEP, looked at first
    floor  : (K,) [mm]  what the curve is at least there; spares looking where it cannot be near the least
    Source: local minima of the row, each closed in on by rows a quarter as wide.
    """
    if floor is None:
        seen = curve(angles, False)
    else:
        reached = curve(angles[[int(np.argmin(floor))]], False)[0]
        worth = floor <= reached + NEAR_MM
        seen = np.full(angles.shape, np.inf)
        seen[worth] = curve(angles[worth], False)
    before = np.concatenate([[np.inf], seen[:-1]])
    after = np.concatenate([seen[1:], [np.inf]])
    low = (seen <= before) & (seen <= after) & (seen <= seen.min() + NEAR_MM)
    places = angles[low] if low.any() else angles[:1]
    found: list[Minimum] = []
    for place in _apart(places):
        middle, width, value = float(place), STEP, np.inf
        for _ in range(LOOKS):
            closer = middle + width * np.linspace(-1.0, 1.0, CLOSER)
            there = curve(closer, True)
            at = int(np.argmin(there))
            if there[at] <= value:
                middle, value = float(closer[at]), float(there[at])
            width /= 4.0
        found.append(Minimum(value, middle))
    return tuple(sorted(found, key=lambda one: (one.value, abs(one.angle))))


def _apart(places: Array) -> list[float]:
    """Return places of which no two are neighbours; of a row of equals the one nearest top centre."""
    rows: list[list[float]] = []
    for place in places:
        if rows and place - rows[-1][-1] < 1.5 * STEP:
            rows[-1].append(float(place))
        else:
            rows.append([float(place)])
    return [min(row, key=abs) for row in rows]


def _lowered(below: Below, valve: Valve, angle: Array, lift: Array | float) -> Head:
    """Return the head in the piston's frame at crank angles, opened by a lift."""
    risen = point(0.0, 0.0, below.crank.descent(angle, below.forward))
    return _at(
        valve.head,
        valve.head.centre + risen - np.multiply.outer(np.broadcast_to(lift, angle.shape), valve.head.stem),
    )


def _opened(valve: Valve, angle: Array) -> Head:
    """Return the head in the cylinder's frame at crank angles."""
    return _at(valve.head, valve.head.centre - np.multiply.outer(valve.lift(angle), valve.head.stem))


def _at(head: Head, centre: Array) -> Head:
    shape = centre.shape[:-1]
    return Head(
        centre,
        np.broadcast_to(head.stem, centre.shape),
        np.broadcast_to(head.radius, shape),
        np.broadcast_to(head.margin, shape),
    )
