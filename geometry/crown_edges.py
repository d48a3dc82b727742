"""The edges of a crown's metal: where walls, floors and the crown's surface meet.

Each edge is a function of a turn, 0 to 2π, to points in the piston's frame; where the turn meets no edge
the point is NaN. Three sorts: along a pocket's wall, where it comes out of whatever lies outside it; where a
leaning floor comes out of the crown plane; and where the floors of two pockets cross.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from tallstack.geometry.crown import Crown, Pocket, first_metal
from tallstack.geometry.frames import Array, norm, point, unit
from tallstack.geometry.search import circle_of

Edge = Callable[[Array], Array]  # turns (..., K) [rad] to points (..., K, 3) [mm]


def edges(crown: Crown) -> list[Edge]:
    """Return every edge of a crown's pockets."""
    found: list[Edge] = []
    for index, one in enumerate(crown.pockets):
        others = Crown(crown.pockets[:index] + crown.pockets[index + 1 :], crown.cap)
        found += [_along_wall(others, one), _across_floor(one, point(0.0, 0.0, 1.0), np.zeros(3))]
        for other in crown.pockets[index + 1 :]:
            found.append(_across_floor(one, other.axis, floor_centre(other)))
    return found


def floor_centre(one: Pocket) -> Array:
    """Return the centre of a pocket's floor, (..., 3) [mm]."""
    centre: Array = one.centre - one.sunk[..., None] * one.axis
    return centre


def _along_wall(others: Crown, one: Pocket) -> Edge:
    """Return the edge along a pocket's wall: the first metal on its lines, that pocket filled."""

    def edge(turn: Array) -> Array:
        start = circle_of(one.centre, one.axis, one.radius, turn)
        along = np.broadcast_to(one.axis[..., None, :], start.shape)
        at = first_metal(others, start, along)
        return np.where((at > -one.sunk[..., None])[..., None], start + at[..., None] * along, np.nan)

    return edge


def _across_floor(one: Pocket, normal: Array, through: Array) -> Edge:
    """Return the straight edge in which a pocket's floor crosses another plane, within the pocket."""
    level = np.cross(one.axis, normal)
    size = norm(level)
    level = unit(level)
    rise = np.cross(level, one.axis)  # in the floor, square to the edge
    middle = floor_centre(one)
    with np.errstate(invalid="ignore", divide="ignore"):
        out = np.vecdot(through - middle, normal) / np.vecdot(rise, normal)
        half = np.sqrt(np.where(size > 1e-9, one.radius**2 - out**2, np.nan))
    foot = middle + out[..., None] * rise

    def edge(turn: Array) -> Array:
        points: Array = foot[..., None, :] + (half[..., None] * np.cos(turn))[..., None] * level[..., None, :]
        return points

    return edge
