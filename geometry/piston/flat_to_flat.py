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

from ..core.frames import Array, array, dot, hypot
from ..core.search import Flags, Index, Shape, picked, square_to
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

    def pick(self, shape: Shape, index: Index) -> _Region:
        """Return some of the regions of a batch; see `search.picked`."""

        def some(one: Array) -> Array:
            return picked(array(one), shape, index)

        def place(one: Place) -> Place:
            return Place(some(one.x), some(one.y))

        h0, hx, hy = self.line
        return _Region(
            some(self.radius),
            (some(h0), some(hx), some(hy)),
            place(self.lean),
            place(self.aside),
            some(self.rest),
            place(self.slope),
            some(self.start),
        )

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
    shape = np.broadcast_shapes(np.shape(start), np.shape(rest), np.shape(line[0]), np.shape(region.radius))
    with np.errstate(invalid="ignore", divide="ignore"):
        return _least_of(region, shape)


def _least_of(region: _Region, shape: Shape) -> Array:
    """Return the least way over a region, (...) [mm]; infinite where there is nothing in it.

    The lowest place of the disc alone, or of what the cylinder cuts out alone, is the lowest of all where it is inside.
    Else it is on the straight side, or where the two rounds meet.
    """
    slope = hypot(region.slope.x, region.slope.y)
    level = slope < LEVEL
    down = Place(
        np.where(level, -1.0, -region.slope.x / slope), np.where(level, 0.0, -region.slope.y / slope)
    )
    middle, size = _oval(region)
    pulled = _unleaned(region, down)
    reach = np.sqrt(size / (down.x * pulled.x + down.y * pulled.y))
    least: Array = np.full(shape, np.inf)
    for at in (
        Place(region.radius * down.x, region.radius * down.y),
        Place(middle.x + reach * pulled.x, middle.y + reach * pulled.y),
    ):
        least = np.where(region.inside(at), np.minimum(region.way(at), least), least)
    on_line, lowest = _on_line(region)
    least = np.where(lowest & np.isinf(least), region.way(on_line), least)
    closed = ~np.isinf(least) | _empty(region, middle, size)
    open_ = np.nonzero(~np.broadcast_to(closed, shape).reshape(-1))[0]
    if open_.size:
        rest = region.pick(shape, open_)
        found: Array = np.full(open_.shape, np.inf)
        for at in _corners(rest):
            way = rest.way(at)
            found = np.where(rest.inside(at) & (way < found), way, found)
        least.reshape(-1)[open_] = found
    return least


def _on_line(region: _Region) -> tuple[Place, Flags]:
    """Return the lowest place of the straight side, and whether it is the lowest of all.

    It is, where the way rises into the region from there: where its fall is a sum of the two sides' normals, none less than
    nought.
    """
    (foot, along, half), (begin, end) = _chords(region)
    falls = region.slope.x * along.x + region.slope.y * along.y > 0
    first, last = np.maximum(-half, begin), np.minimum(half, end)
    step = np.where(falls, first, last)
    by_disc = np.where(falls, -half >= begin, half <= end)
    at = Place(foot.x + step * along.x, foot.y + step * along.y)
    lean = region.lean.x * at.x + region.lean.y * at.y
    round_ = Place(
        np.where(by_disc, at.x, at.x - lean * region.lean.x + region.aside.x),
        np.where(by_disc, at.y, at.y - lean * region.lean.y + region.aside.y),
    )
    _, hx, hy = region.line
    across = hx * round_.y - hy * round_.x
    of_line = (region.slope.y * round_.x - region.slope.x * round_.y) / across
    of_round = (hy * region.slope.x - hx * region.slope.y) / across
    lowest: Flags = (first <= last) & (of_line >= 0) & (of_round >= 0)
    return at, lowest


def _empty(region: _Region, middle: Place, size: Array) -> Flags:
    """Say which regions are plainly empty: two of their sides lie apart in a direction that separates them."""
    h0, hx, hy = region.line
    apart: Flags = h0 - region.radius * hypot(hx, hy) > SLACK  # disc and line

    def nearest(x: Array, y: Array) -> Array:
        """Return how far the cylinder's oval reaches back along a direction, from nought."""
        pulled = _unleaned(region, Place(x, y))
        return x * middle.x + y * middle.y - np.sqrt(size * (x * pulled.x + y * pulled.y))

    away = hypot(middle.x, middle.y)
    apart = apart | (h0 + nearest(hx, hy) > SLACK)
    return apart | (nearest(middle.x / away, middle.y / away) > region.radius + SLACK)


def _corners(region: _Region) -> Iterator[Place]:
    """Yield every place where two sides meet; NaN where there is none of its kind."""
    middle, size = _oval(region)
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


def _chords(region: _Region) -> tuple[tuple[Place, Place, Array], tuple[Array, Array]]:
    """Return the straight side: its foot, its direction and half of what the disc leaves of it; and the cylinder's ends on it."""
    h0, hx, hy = region.line
    whole = hx * hx + hy * hy
    foot = Place(-h0 * hx / whole, -h0 * hy / whole)
    run = np.sqrt(whole)
    way = Place(-hy / run, hx / run)
    half = np.sqrt(region.radius * region.radius - h0 * h0 / whole)
    along = region.lean.x * way.x + region.lean.y * way.y
    square = 1.0 - along * along
    at_foot = region.lean.x * foot.x + region.lean.y * foot.y
    linear = (
        foot.x * way.x + foot.y * way.y - at_foot * along + region.aside.x * way.x + region.aside.y * way.y
    )
    root = np.sqrt(linear * linear - square * region.square(foot))
    return (foot, way, half), ((-linear - root) / square, (-linear + root) / square)


def _along_line(region: _Region) -> Iterator[Place]:
    """Yield where the straight side meets the disc and the cylinder."""
    (foot, way, half), ends = _chords(region)
    for step in (-half, half, *ends):
        yield Place(foot.x + step * way.x, foot.y + step * way.y)


def _both_rounds(region: _Region, middle: Place, size: Array) -> Iterator[Place]:
    """Yield where the disc meets the cylinder: as of two circles, polished."""
    apart = hypot(middle.x, middle.y)
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
