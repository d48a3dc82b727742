"""The edges of a crown's metal: where walls, floors, plane and dome or dish meet.

Each edge is a function of a turn, 0 to 2π, to points in the piston's frame; where the turn meets no edge or
the edge is cut away, the point is NaN. Along a pocket's wall it comes out of whatever lies outside it; a
leaning floor comes out of the crown plane or of another floor along a straight line, out of a dome or a
dish along a circle; and a dish has its rim.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from ..core.frames import Array, cross, norm, point, unit
from ..core.search import circle_of
from .crown import NOTHING, Cap, Crown, Pocket, first_metal

Edge = Callable[
    [Crown, Array], Array
]  # turns (...) [rad] to points (..., 3) [mm]; the crown's axes broadcast


def edges(crown: Crown) -> list[Edge]:
    """Return every edge of crowns that have so many pockets, and a cap or none; not those of measured heights."""
    found: list[Edge] = []
    if crown.heights is not None:
        return found
    for index in range(len(crown.pockets)):
        found += [partial(_along_wall, index), partial(_out_of_plane, index)]
        found += [partial(_out_of_floor, index, other) for other in range(index + 1, len(crown.pockets))]
        if crown.cap is not None:
            found.append(partial(_out_of_cap, index))
    if crown.cap is not None:
        found.append(_cap_rim)
    return [partial(_left, edge) for edge in found]


def floor_centre(one: Pocket) -> Array:
    """Return the centre of a pocket's floor, (..., 3) [mm]."""
    centre: Array = one.centre - one.sunk[..., None] * one.axis
    return centre


def without(crown: Crown, index: int) -> Crown:
    """Return the crown with one pocket filled."""
    return Crown(crown.pockets[:index] + crown.pockets[index + 1 :], crown.cap)


def _left(edge: Edge, crown: Crown, turn: Array) -> Array:
    """Return an edge's points, those that are cut away as NaN."""
    seen = edge(crown, turn)
    return np.where(crown.cut_away(seen)[..., None], np.nan, seen)


def _along_wall(index: int, crown: Crown, turn: Array) -> Array:
    """Return the edge along a pocket's wall: the first metal on its lines, that pocket filled."""
    one = crown.pockets[index]
    start = circle_of(one.centre, one.axis, one.radius, turn)
    at = first_metal(without(crown, index), start, one.axis)
    return np.where((at > -one.sunk)[..., None], start + at[..., None] * one.axis, np.nan)


def _out_of_plane(index: int, crown: Crown, turn: Array) -> Array:
    return _across_floor(crown.pockets[index], point(0.0, 0.0, 1.0), np.zeros(3), turn)


def _out_of_floor(index: int, other: int, crown: Crown, turn: Array) -> Array:
    further = crown.pockets[other]
    return _across_floor(crown.pockets[index], further.axis, floor_centre(further), turn)


def _across_floor(one: Pocket, normal: Array, through: Array, turn: Array) -> Array:
    """Return the straight edge in which a pocket's floor crosses another plane, within the pocket."""
    level = cross(one.axis, normal)
    size = norm(level)
    level = unit(level)
    rise = cross(level, one.axis)  # in the floor, square to the edge
    middle = floor_centre(one)
    with np.errstate(invalid="ignore", divide="ignore"):
        out = np.vecdot(through - middle, normal) / np.vecdot(rise, normal)
        half = np.sqrt(np.where(size > 1e-9, one.radius**2 - out**2, np.nan))
    foot = middle + out[..., None] * rise
    points: Array = foot + (half * np.cos(turn))[..., None] * level
    return points


def _out_of_cap(index: int, crown: Crown, turn: Array) -> Array:
    """Return the circle in which a pocket's floor crosses the dome or dish, within the pocket."""
    one, cap = crown.pockets[index], _cap(crown)
    middle, centre = floor_centre(one), point(0.0, 0.0, cap.centre)
    away = np.vecdot(centre - middle, one.axis)
    with np.errstate(invalid="ignore"):
        radius = np.sqrt(cap.sphere**2 - away * away)
    seen = circle_of(centre - away[..., None] * one.axis, one.axis, radius, turn)
    there = (norm(seen - middle) <= one.radius + NOTHING) & (np.sign(cap.height) * seen[..., 2] >= 0)
    return np.where(there[..., None], seen, np.nan)


def _cap_rim(crown: Crown, turn: Array) -> Array:
    return circle_of(np.zeros(3), point(0.0, 0.0, 1.0), _cap(crown).radius, turn)


def _cap(crown: Crown) -> Cap:
    assert crown.cap is not None
    return crown.cap
