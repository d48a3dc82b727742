r"""Where a head meets what lies under it first, in closed form, and how far it is from that: as far as a bound proves it.

A pocket's floor and the crown's top make a wedge, the points that lie below both. All metal lies in the wedge of any one
of the pockets, or beside that pocket, outside its round wall:

                         n  ╲        face        beside: below the top, outside the wall
    top  ━━━━━╮              ╲___╱         ╭━━━━━━━
               ╲_ ............            ╱      the wedge of this pocket: below its floor
                 ╲_                   ___╱       and below the top
                   ╲_____________╱

Over the face the way to either plane is linear, and the greater of two linear functions is least at one of four places of
a disc. That is the answer where the place that it leads to is metal, and nothing beside can come first: a part of the face
that stands out past the wall does so above the top. Else somebody has to search.

Source: the extreme points of a convex function of two planes, and of a disc less another.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, cross, dot, norm
from ..core.search import Flags
from .crown import NOTHING, Crown, Pocket
from .edges import floor_centre
from .head import Head

LEVEL = 1e-12  # slope of what is level
UP: Array = array([0.0, 0.0, 1.0])


class _Plane(NamedTuple):
    """A way that is linear over the face: at its centre, and its slope in the face's plane."""

    start: Array  # (...) mm
    slope: Array  # (..., 3)

    def at(self, place: Array) -> Array:
        """Return the way at places from the face's centre, (..., 3) to (...)."""
        return self.start + dot(self.slope, place)

    def lowest(self, radius: Array, level: Array) -> Array:
        """Return the place of the face where it is least, (..., 3); level : that place where all are."""
        size = norm(self.slope)[..., None]
        return np.where(size > LEVEL, -radius[..., None] * self.slope / np.maximum(size, LEVEL), level)


class _Least(NamedTuple):
    """The least of the greater of two ways over the face."""

    value: Array  # (...) mm
    place: Array  # (..., 3) from the face's centre


def drop_by_wedge(crown: Crown, head: Head) -> tuple[Array, Flags]:
    """Return how far the head can travel along its stem before it touches, (...) [mm], and where that is proved.

    The leading axes of the crown's parts and of the head broadcast.
    """
    stem, up, top = head.stem, head.stem[..., 2], crown.top
    risen = _Plane((head.centre[..., 2] - top) / up, _upright(stem) / up[..., None])
    nearest = risen.at(risen.lowest(head.radius, np.zeros(3)))
    way, sure = _nothing(crown, head)
    for one in crown.pockets:
        cosine = dot(stem, one.axis)
        floor = _Plane(
            dot(head.centre - floor_centre(one), one.axis) / cosine, one.axis / cosine[..., None] - stem
        )
        with np.errstate(invalid="ignore", divide="ignore"):
            least = _least(risen, floor, head)
            begins, ends = (
                head.centre - by[..., None] * stem for by in (np.minimum(nearest, least.value), least.value)
            )
            proved = (cosine > 0) & ~crown.cut_away(ends + least.place)
            for at in (begins, ends):  # what is within the wall at both is so on the way
                low = _lowest_beside(head, _axis(one, at, stem), one.radius)
                proved &= ends[..., 2] + low >= top - NOTHING
        way, sure = np.where(proved & ~sure, least.value, way), sure | proved
    return way, sure


def gap_by_wedge(crown: Crown, head: Head) -> tuple[Array, Flags]:
    """Return the shortest way from the face to the metal, (...) [mm], and where that is proved: where they do not touch.

    The leading axes of the crown's parts and of the head broadcast.
    """
    way, sure = _nothing(crown, head)
    for one in crown.pockets:
        with np.errstate(invalid="ignore", divide="ignore"):
            risen, floor, least = _straight(crown, one, head)
            seen = head.centre + least.place
            by_floor = floor.at(least.place) >= risen.at(least.place)
            foot = seen - least.value[..., None] * np.where(by_floor[..., None], one.axis, UP)
            proved = (least.value > 0) & ~crown.cut_away(foot) & _is_beyond(crown, one, head, least.value)
        way, sure = np.where(proved & ~sure, least.value, way), sure | proved
    return way, sure


def is_clear_of(crown: Crown, head: Head, gap: float) -> Flags:
    """Say where it is proved that the face is at least so far from the metal, (...).

    The leading axes of the crown's parts and of the head broadcast.
    """
    _, sure = _nothing(crown, head)
    for one in crown.pockets:
        with np.errstate(invalid="ignore", divide="ignore"):
            _, _, least = _straight(crown, one, head)
            sure = sure | ((least.value >= gap) & _is_beyond(crown, one, head, array(gap)))
    return sure


def _straight(crown: Crown, one: Pocket, head: Head) -> tuple[_Plane, _Plane, _Least]:
    """Return how far places of the face are above the crown's top, above a pocket's floor, and the least of the greater."""
    cosine = dot(head.stem, one.axis)
    risen = _Plane(head.centre[..., 2] - crown.top, _upright(head.stem))
    floor = _Plane(dot(head.centre - floor_centre(one), one.axis), one.axis - cosine[..., None] * head.stem)
    return risen, floor, _least(risen, floor, head)


def _is_beyond(crown: Crown, one: Pocket, head: Head, gap: Array) -> Flags:
    """Say where nothing that lies beside a pocket is nearer to the face than a gap, (...)."""
    low = _lowest_beside(head, _axis(one, head.centre, head.stem), one.radius - gap)
    return (dot(head.stem, one.axis) > 0) & (head.centre[..., 2] + low >= crown.top + gap - NOTHING)


def _nothing(crown: Crown, head: Head) -> tuple[Array, Flags]:
    shape = np.broadcast_shapes(crown.shape, head.shape)
    return np.full(shape, np.nan), np.zeros(shape, dtype=bool)


def _upright(stem: Array) -> Array:
    """Return the part of the way up that lies in the face, (..., 3)."""
    return UP - stem[..., 2:] * stem


def _least(one: _Plane, other: _Plane, head: Head) -> _Least:
    """Return the least over the face of the greater of two ways.

    It is the least of one of them where the other is less there, or at an end of the line on which they are equal.
    """
    by_one = one.lowest(head.radius, np.zeros(3))
    by_other = other.lowest(head.radius, by_one)
    first, second = one.at(by_one), other.at(by_other)
    is_first, is_second = other.at(by_one) <= first, one.at(by_other) <= second
    differ, apart = one.slope - other.slope, other.start - one.start
    square = dot(differ, differ)
    along = cross(head.stem, differ) / np.sqrt(square)[..., None]
    half = np.sqrt(head.radius * head.radius - apart * apart / square)
    falls = np.sign(dot(one.slope, along)) * half
    by_both = (apart / square)[..., None] * differ - falls[..., None] * along
    value = np.where(is_first, first, np.where(is_second, second, one.at(by_both)))
    place = np.where(is_first[..., None], by_one, np.where(is_second[..., None], by_other, by_both))
    return _Least(value, place)


def _axis(one: Pocket, centre: Array, stem: Array) -> Array:
    """Return where a pocket's axis meets the face's plane, from the face's centre, (..., 3)."""
    away = one.centre - centre
    met: Array = away - (dot(away, stem) / dot(one.axis, stem))[..., None] * one.axis
    return met


def _lowest_beside(head: Head, axis: Array, radius: Array) -> Array:
    """Return how high the lowest place of the face that may lie beside a pocket is above its centre, (...) [mm].

    axis   : where the pocket's axis meets the face's plane, from its centre
    radius : within which of that place nothing counts as beside: a wall is no nearer to it anywhere
    Returns: infinite where no place of the face lies beside
    """
    reach, slope = head.radius, _upright(head.stem)
    distance, fall = norm(axis), norm(slope)
    lowest = -(reach / np.maximum(fall, LEVEL))[..., None] * slope
    open_ = (fall <= LEVEL) | (norm(lowest - axis) > radius)
    share = (distance * distance + reach * reach - radius * radius) / (2 * distance * distance)
    across = np.sqrt(reach * reach - share * share * distance * distance)
    rise = share * dot(slope, axis) - across * np.abs(dot(slope, cross(head.stem, axis))) / distance
    return np.where(distance + reach <= radius, np.inf, np.where(open_, -reach * fall, rise))
