"""The least way from a valve's face to the floor of a pocket that is nearly square to its stem, in closed form.

The way from a flat to another, along the normal of one of them, is linear over the other; the places that count are
those of a disc that lie within a half-plane (a leaning floor ends where it comes out of the crown) and within a round
cylinder (what is over the other disc). That is a convex region with round and straight sides, on which a linear
function is least at one of few places: where a side is square to its slope, or where two sides meet. A rim's own
turn tells nothing where two flats are parallel: any of it may be closest.

Source: the extreme points of a convex region.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, dot
from ..core.search import Flags, square_to
from .drop import Pose
from .edges import floor_centre

SLACK = 1e-7  # mm or mm², by which a place may seem to lie outside a side that it lies on
LEVEL = 1e-12  # slope of what is level
POLISH = 3  # steps to where two rounds meet


class Place(NamedTuple):
    """A place on the flat, mm from its disc's centre."""

    x: Array
    y: Array


class _Region(NamedTuple):
    """The region on one flat; all arrays (...), mm."""

    radius: Array  # of the disc about the flat's origin
    line: tuple[Array, Array, Array]  # h0 + hx·x + hy·y is not above nought
    lean: Place  # the cylinder's axis seen on the flat
    aside: Place  # half the linear part of the cylinder's square
    rest: Array  # its constant part
    slope: Place  # of the way
    start: Array  # the way at the origin

    def way(self, at: Place) -> Array:
        return self.start + self.slope.x * at.x + self.slope.y * at.y

    def inside(self, at: Place) -> Flags:
        """Say whether places lie within all the sides."""
        h0, hx, hy = self.line
        round_: Flags = at.x * at.x + at.y * at.y <= self.radius * self.radius + SLACK
        return round_ & (h0 + hx * at.x + hy * at.y <= SLACK) & (self.square(at) <= SLACK)

    def square(self, at: Place) -> Array:
        """Return the square of places' distance from the cylinder's axis, less that of its radius."""
        along = self.lean.x * at.x + self.lean.y * at.y
        linear = self.aside.x * at.x + self.aside.y * at.y
        return at.x * at.x + at.y * at.y - along * along + 2 * linear + self.rest


def face_to_floor(index: int, pose: Pose) -> Array:
    """Return the least way along the stem from the face to a pocket's floor, (...) [mm]; infinite where none is over it.

    It is the shortest way too wherever the foot on the face decides.
    """
    one, head = pose.crown.pockets[index], pose.head
    return _least(floor_centre(one), one.axis, one.radius, head.centre, head.stem, head.radius, on_floor=True)


def floor_to_face(index: int, pose: Pose) -> Array:
    """Return the least way square to a pocket's floor from it to the face, (...) [mm]; infinite where none is over it."""
    one, head = pose.crown.pockets[index], pose.head
    return _least(
        head.centre, head.stem, head.radius, floor_centre(one), one.axis, one.radius, on_floor=False
    )


def _least(
    origin: Array,
    normal: Array,
    radius: Array,
    centre: Array,
    axis: Array,
    around: Array,
    on_floor: bool,
) -> Array:
    """Return the least way between a flat's region and the plane of another disc.

    origin, normal, radius : of the flat with the region
    centre, axis, around   : of the disc that the ways are square to
    """
    first, second = square_to(normal)
    away = origin - centre
    high = dot(away, axis)
    lean = Place(dot(first, axis), dot(second, axis))
    aside = Place(
        dot(first, away) - high * lean.x,
        dot(second, away) - high * lean.y,
    )
    rest = dot(away, away) - high * high - around * around
    if on_floor:
        line = origin[..., 2], first[..., 2], second[..., 2]
        slope, start = Place(-lean.x, -lean.y), -high
    else:  # the foot on the floor is below the crown
        up = axis[..., 2]
        line = origin[..., 2] - high * up, first[..., 2] - lean.x * up, second[..., 2] - lean.y * up
        slope, start = lean, high
    region = _Region(array(radius), line, lean, aside, rest, slope, start)
    least: Array = np.full(np.shape(start + rest + line[0]), np.inf)
    with np.errstate(invalid="ignore", divide="ignore"):
        for at in _corners(region):
            way = region.way(at)
            least = np.where(region.inside(at) & (way < least), way, least)
    return least


def _corners(region: _Region) -> Iterator[Place]:
    """Yield every place at which the way can be least; NaN where there is none of its kind."""
    slope = np.hypot(region.slope.x, region.slope.y)
    level = slope < LEVEL
    down = Place(
        np.where(level, -1.0, -region.slope.x / slope), np.where(level, 0.0, -region.slope.y / slope)
    )
    yield Place(region.radius * down.x, region.radius * down.y)
    middle, size = _oval(region)
    pulled = _unleaned(region, down)
    reach = np.sqrt(size / (down.x * pulled.x + down.y * pulled.y))
    yield Place(middle.x + reach * pulled.x, middle.y + reach * pulled.y)
    yield from _along_line(region)
    yield from _both_rounds(region, middle, size)


def _unleaned(region: _Region, at: Place) -> Place:
    """Return A⁻¹·v of the cylinder's square x·A·x + 2·b·x + c, with A = 1 - s·sᵀ."""
    along = (region.lean.x * at.x + region.lean.y * at.y) / (1.0 - region.lean.x**2 - region.lean.y**2)
    return Place(at.x + along * region.lean.x, at.y + along * region.lean.y)


def _oval(region: _Region) -> tuple[Place, Array]:
    """Return the middle of what the cylinder cuts from the flat, and the square of its size across the lean."""
    middle = _unleaned(region, region.aside)
    size = region.aside.x * middle.x + region.aside.y * middle.y - region.rest
    return Place(-middle.x, -middle.y), size


def _along_line(region: _Region) -> Iterator[Place]:
    """Yield where the straight side meets the disc and the cylinder."""
    h0, hx, hy = region.line
    whole = hx * hx + hy * hy
    foot = Place(-h0 * hx / whole, -h0 * hy / whole)
    run = np.sqrt(whole)
    way = Place(-hy / run, hx / run)
    half = np.sqrt(region.radius * region.radius - h0 * h0 / whole)
    for side in (-1.0, 1.0):
        yield Place(foot.x + side * half * way.x, foot.y + side * half * way.y)
    along = region.lean.x * way.x + region.lean.y * way.y
    square = 1.0 - along * along
    at_foot = region.lean.x * foot.x + region.lean.y * foot.y
    linear = (
        foot.x * way.x + foot.y * way.y - at_foot * along + region.aside.x * way.x + region.aside.y * way.y
    )
    root = np.sqrt(linear * linear - square * region.square(foot))
    for side in (-1.0, 1.0):
        step = (-linear + side * root) / square
        yield Place(foot.x + step * way.x, foot.y + step * way.y)


def _both_rounds(region: _Region, middle: Place, size: Array) -> Iterator[Place]:
    """Yield where the disc meets the cylinder: as of two circles, polished."""
    apart = np.hypot(middle.x, middle.y)
    over = (region.radius**2 - size + apart * apart) / (2 * apart * region.radius)
    bearing, half = np.arctan2(middle.y, middle.x), np.arccos(np.clip(over, -1.0, 1.0))
    for side in (-1.0, 1.0):
        turn = bearing + side * half
        for _ in range(POLISH):
            cosine, sine = np.cos(turn), np.sin(turn)
            at = Place(region.radius * cosine, region.radius * sine)
            lean = region.lean.x * at.x + region.lean.y * at.y
            turning = -lean * (region.lean.y * at.x - region.lean.x * at.y)
            turning = 2 * (turning + region.aside.y * at.x - region.aside.x * at.y)
            turn = turn - region.square(at) / turning
        yield Place(region.radius * np.cos(turn), region.radius * np.sin(turn))
