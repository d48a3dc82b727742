"""How close valves come to the piston and to each other through the whole cycle, and at which crank angle.

Crank angles count from the cylinder's own overlap top centre, -360° to 360°; the piston's height comes from
its slider-crank, the valves' lifts from whatever is given as a function of the crank angle. How a minimum is found
on the continuous curve, see `minima`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, point
from ..core.minima import ROW, STEP, Curve, Minimum, minima
from ..core.search import SPACING
from ..crank.crank import Crank
from ..crank.heels import TURN
from .crown import Crown
from .drop import Outline, drop, lowest, outline, wall
from .gap import gap
from .head import Head
from .pair import between
from .wedge import is_clear_of

FINER = 8  # angles to a step where the crown is entered
SPARSE = 4  # rows of the first look from one to the next that all distances of heads are bounded by
EQUAL_MM = 1e-9
NO_RIVAL = array(0.0)  # what the least of a distance alone is held against, see `search.least`
COARSE_MM = 0.05  # by how much a drop may be overstated when its rim is looked at coarsely

Lift = Callable[[Array], Array]  # crank angle [rad] to valve lift [mm], of any shape that broadcasts with it


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


def cycle_angles(finer: int = 1) -> Array:
    """Return the crank angles that are looked at first [rad], or so many times as many."""
    return array(np.arange(finer * round(2 * TURN / STEP)) * (STEP / finer) - TURN)


def drop_at(
    below: Below,
    valve: Valve,
    angle: Array,
    refine: bool = True,
    edge: Outline | None = None,
    alone: bool = False,
) -> Array:
    """Return the drop at crank angles, (...) [mm]; the angles and the engine's parts broadcast.

    edge : the crown's outline, where it is known
    alone : the least along the last axis alone is wanted
    Source: the closed valve's drop at that height of the piston, less the lift; see `head`.
    """
    lift = valve.lift(angle)
    return (
        drop(below.crown, _lowered(below, valve, angle, 0.0), refine, edge, -lift if alone else None) - lift
    )


def gap_at(
    below: Below,
    valve: Valve,
    angle: Array,
    refine: bool = True,
    edge: Outline | None = None,
    alone: bool = False,
) -> Array:
    """Return the straight gap at crank angles, (...) [mm]; the angles and the engine's parts broadcast.

    edge, alone : as for `drop_at`
    """
    head = _lowered(below, valve, angle, valve.lift(angle))
    return gap(below.crown, head, refine, edge, NO_RIVAL if alone else None)


def wall_at(below: Below, valve: Valve, angle: Array, refine: bool = True, alone: bool = False) -> Array:
    """Return the radial room to the valve's own pocket at crank angles, infinite where there is none.

    alone : as for `drop_at`
    """
    head = _lowered(below, valve, angle, valve.lift(angle))
    if valve.own_pocket is None:
        return np.full(head.shape, np.inf)
    return wall(below.crown.pockets[valve.own_pocket], head, refine, NO_RIVAL if alone else None)


def between_at(first: Valve, second: Valve, angle: Array, refine: bool = True, alone: bool = False) -> Array:
    """Return the distance between two valve heads at crank angles, (...) [mm]; they and the heads broadcast.

    alone : as for `drop_at`
    """
    return between(_opened(first, angle), _opened(second, angle), refine, NO_RIVAL if alone else None)


def least_drop(below: Below, valve: Valve) -> tuple[Minimum, ...]:
    """Return the local minima of the drop, the least first; those far above it are left out."""
    edge = outline(below.crown)

    def rows(angle: Array) -> Array:
        lift = _by_rows(valve.lift, angle)
        return drop(below.crown, _lowered(below, valve, angle, 0.0), True, edge, -lift) - lift

    return minima(
        lambda angle, refine: drop_at(below, valve, angle, refine, edge),
        cycle_angles(),
        _floor(below, valve),
        rows=rows,
    )


def _floor(below: Below, valve: Valve) -> Array:
    """Return what the drop is at least, at every angle looked at first: as over a crown without pockets.

    A cut only takes metal away; a dome counts as a plane at its height, and so do measured heights.
    """
    angles = cycle_angles()
    head = _lowered(below, valve, angles, 0.0)
    plane = drop(Crown((), None), head)
    return plane - below.crown.top / head.stem[..., 2] - valve.lift(angles) - COARSE_MM


def least_gap(below: Below, valve: Valve, beside: float) -> Minimum:
    """Return the least straight gap of the whole cycle.

    A valve that stands in its pocket can be nearest to the pocket's edge far from where its drop is least. While it
    stays closed it is nearest where the piston is highest: a crown that rises leaves no place it filled.

    beside : crank rad, that of the least drop, where the gap is looked at in any case
    """
    edge = outline(below.crown)
    there = Minimum(float(gap_at(below, valve, array([beside]), True, edge)[0]), beside)
    is_above = there.value > 0.0  # and so it is at every other angle

    def curve(angle: Array, refine: bool) -> Array:
        head = _lowered(below, valve, angle, valve.lift(angle))
        return gap(below.crown, head, refine, edge, is_above=is_above)

    def rows(angle: Array) -> Array:
        head = _lowered(below, valve, angle, _by_rows(valve.lift, angle))
        return gap(below.crown, head, True, edge, NO_RIVAL, is_above)

    angles = cycle_angles()
    lift, descent = valve.lift(angles), below.crank.descent(angles, below.forward)
    floor = (
        lowest(_lowered(below, valve, angles, lift)) - below.crown.top - COARSE_MM
    )  # all metal lies below its top
    highest = np.min(descent, initial=np.inf, where=lift <= 0.0)
    near = (floor <= there.value) & ((lift > 0.0) | (descent <= highest + COARSE_MM))
    if below.crown.pockets and below.crown.heights is None and near.any():
        opened = _lowered(below, valve, angles[near], lift[near])
        near[near] = ~is_clear_of(below.crown, opened, there.value + COARSE_MM) | (
            np.abs(angles[near] - beside) < STEP
        )
    if not near.any():
        return there
    least = minima(curve, angles, np.where(near, floor, np.inf), 0.0, rows)[0]
    return there if there.value < least.value else least


def least_wall(below: Below, valve: Valve) -> Minimum | None:
    """Return the least room to the pocket's wall, or None where the rim is never below the crown."""
    if valve.own_pocket is None:
        return None
    own = below.crown.pockets[valve.own_pocket]
    angles = cycle_angles(FINER)
    head = _lowered(below, valve, angles, valve.lift(angles))
    angles = angles[lowest(head) < 0]

    def rows(angle: Array) -> Array:
        opened = _lowered(below, valve, angle, _by_rows(valve.lift, angle))
        return wall(own, opened, True, NO_RIVAL)

    for row in (angles[::FINER], angles):  # the rim may dip below the crown for less than a step
        if row.size:
            found = minima(lambda angle, refine: wall_at(below, valve, angle, refine), row, rows=rows)
            if np.isfinite(found[0].value):
                return found[0]
    return None


def least_between(first: Valve, second: Valve, alone: bool = False) -> Minimum:
    """Return the smallest distance between two heads; of equal ones the one nearest overlap top centre.

    alone : the distance alone is wanted, whichever of equal places it is at
    """
    angles = cycle_angles()
    lifts = np.stack(np.broadcast_arrays(first.lift(angles), second.lift(angles)))

    def curve(angle: Array, refine: bool) -> Array:
        return between_at(first, second, angle, refine)

    def rows(angle: Array) -> Array:
        one, other = (_moved(valve.head, _by_rows(valve.lift, angle)) for valve in (first, second))
        return between(one, other, True, NO_RIVAL)

    sparse = np.arange(0, len(angles), SPARSE)
    seen = curve(angles[sparse], False)
    radius = float(np.maximum(first.head.radius, second.head.radius))
    seen -= _rim_missed(seen, radius)
    nearest = np.minimum((np.arange(len(angles)) + SPARSE // 2) // SPARSE, len(sparse) - 1)
    moved = np.abs(lifts - lifts[:, sparse[nearest]]).sum(axis=0)  # a head comes no nearer than by its way
    floor = seen[nearest] - moved
    found = minima(curve, angles, floor, 0.0, rows)
    least = found[0].value
    equal = min((one.angle for one in found if one.value - least < EQUAL_MM), key=abs)
    if alone:
        return Minimum(least, equal)
    nearer = angles[(floor <= least) & (np.abs(angles) < abs(equal))]
    if nearer.size:
        rough = curve(nearer, False)
        nearer = nearer[rough - _rim_missed(rough, radius) <= least]
    if nearer.size:
        nearer = nearer[curve(nearer, True) - least < EQUAL_MM]
    return Minimum(least, _nearest_top(curve, least, min([equal, *nearer.tolist()], key=abs)))


def _rim_missed(seen: Array, radius: float) -> Array:
    """Return by how much a distance may be overstated that was seen from a rim's first points alone [mm].

    Source: half a spacing s away along the rim it is at most s higher, and at most s²/2·(1/distance + 1/radius)
    where the distance's slope along the rim is nought at the nearest point.
    """
    half = SPACING / 2 * radius
    least = np.maximum(seen - half, EQUAL_MM)
    return np.minimum(half, half * half / 2 * (1 / least + 1 / radius))


def _nearest_top(curve: Curve, least: float, angle: float) -> float:
    """Return the end that is nearer to overlap top centre of a stretch that is all as low as the least."""
    width = min(STEP, abs(angle))
    if curve(np.array([angle - np.sign(angle) * width * 0.01]), True)[0] - least >= EQUAL_MM:
        return angle
    for _ in range(3):
        closer = angle - np.sign(angle) * width * np.linspace(0.0, 1.0, len(ROW))
        angle = float(closer[curve(closer, True) - least < EQUAL_MM][-1])
        width = min(width / (len(ROW) - 1), abs(angle))
    return angle


def _lowered(below: Below, valve: Valve, angle: Array, lift: Array | float) -> Head:
    """Return the head in the piston's frame at crank angles, opened by a lift."""
    risen = point(0.0, 0.0, below.crank.descent(angle, below.forward))
    centre = valve.head.centre + risen - array(lift)[..., None] * valve.head.stem
    return valve.head._replace(centre=centre)


def _opened(valve: Valve, angle: Array) -> Head:
    """Return the head in the cylinder's frame at crank angles."""
    return _moved(valve.head, valve.lift(angle))


def _moved(head: Head, lift: Array) -> Head:
    return head._replace(centre=head.centre - array(lift)[..., None] * head.stem)


def _by_rows(lift: Lift, angle: Array) -> Array:
    """Return the lift at rows of angles; a lift is asked for one row."""
    flat = angle.ravel()
    return np.broadcast_to(lift(flat), flat.shape).reshape(angle.shape)
