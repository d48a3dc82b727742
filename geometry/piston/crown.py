"""The piston's upper surface as a solid: a plane with pockets cut from it, a dome on it or a dish in it; or as measured.

Cylinder axes, with z counted from the crown plane. A pocket is a flat-floored round cut: its axis
crosses the crown plane at `centre`, leans by λ and points out of the crown; its floor is square to it.

      crown plane ━━━━━━╮ centre     ╭━━━━━━━━   z = 0
                         ╲    ·     ╱
                          ╲    ·  ╱  floor
                           ╲_  ╱             depth: to the deepest point of the floor's rim

What is removed, pockets and a dish, are convex bodies open upwards, so that along any line each is one
interval; the first metal on a line from above is found by stepping through the intervals. A crown whose heights
were measured (`table`) is what was measured: its pockets were there then, and say only where walls are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..core.frames import Array, array, hypot, point
from ..core.search import Flags, Index, Shape, picked

if TYPE_CHECKING:
    from .table import Heights

NOTHING = 1e-9  # mm, by which a point on a surface may seem to lie off it
PARALLEL = 1e-14  # square of a line's sine to an axis below which the two are parallel


class Pocket(NamedTuple):
    """One cut in the crown; mm, in the piston's frame."""

    centre: Array  # (..., 3) where the axis meets the crown plane, z = 0
    axis: Array  # (..., 3) unit, out of the crown
    radius: Array
    sunk: Array  # along the axis from the crown plane down to the floor's centre; may be negative

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes."""
        return np.broadcast_shapes(
            self.centre.shape[:-1], self.axis.shape[:-1], np.shape(self.radius), np.shape(self.sunk)
        )

    def spread(self) -> Pocket:
        """Return the pocket with one more leading axis, the last, of length one."""
        return Pocket(
            self.centre[..., None, :],
            self.axis[..., None, :],
            array(self.radius)[..., None],
            array(self.sunk)[..., None],
        )

    def pick(self, shape: Shape, index: Index | Flags) -> Pocket:
        """Return some pockets of a batch; see `search.picked`."""
        return Pocket(
            picked(self.centre, shape, index, 1),
            picked(self.axis, shape, index, 1),
            picked(array(self.radius), shape, index),
            picked(array(self.sunk), shape, index),
        )


class Cap(NamedTuple):
    """A spherical dome (height above 0) or dish (height below 0) about the cylinder's axis; mm."""

    height: Array
    radius: Array  # of its edge at the crown plane

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes."""
        return np.broadcast_shapes(np.shape(self.height), np.shape(self.radius))

    def spread(self) -> Cap:
        """Return the cap with one more leading axis, the last, of length one."""
        return Cap(array(self.height)[..., None], array(self.radius)[..., None])

    def pick(self, shape: Shape, index: Index | Flags) -> Cap:
        """Return some caps of a batch; see `search.picked`."""
        return Cap(picked(array(self.height), shape, index), picked(array(self.radius), shape, index))

    @property
    def sphere(self) -> Array:
        """The sphere's radius."""
        high = np.abs(self.height)
        size: Array = (high * high + self.radius * self.radius) / (2 * high)
        return size

    @property
    def centre(self) -> Array:
        """The sphere's centre above the crown plane."""
        return self.height - np.sign(self.height) * self.sphere


class Crown(NamedTuple):
    """A crown: its pockets, and a dome or dish; the leading axes of the parts broadcast.

    Where its heights were measured they are its surface, and the pockets only have walls.
    """

    pockets: tuple[Pocket, ...]
    cap: Cap | None
    heights: Heights | None = None

    @property
    def top(self) -> Array:
        """How high its highest point stands above the crown plane, never below it [mm]."""
        if self.heights is not None:
            return array(self.heights.highest)
        return array(0.0) if self.cap is None else np.maximum(self.cap.height, 0.0)

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes of all its parts."""
        caps = () if self.cap is None else self.cap.shape
        return np.broadcast_shapes(caps, *(one.shape for one in self.pockets))

    def spread(self) -> Crown:
        """Return the crown with one more leading axis, the last, for points of a curve or a face."""
        cap = None if self.cap is None else self.cap.spread()
        return Crown(tuple(one.spread() for one in self.pockets), cap, self.heights)

    def pick(self, shape: Shape, index: Index | Flags) -> Crown:
        """Return some crowns of a batch; see `search.picked`."""
        cap = None if self.cap is None else self.cap.pick(shape, index)
        return Crown(tuple(one.pick(shape, index) for one in self.pockets), cap, self.heights)

    def surface(self, seen: Array) -> Array:
        """Return the height of the uncut crown under points, (..., 3) to (...) [mm]; leading axes broadcast."""
        if self.cap is None:
            return np.zeros(seen.shape[:-1])
        out = seen[..., 0] ** 2 + seen[..., 1] ** 2
        with np.errstate(invalid="ignore"):
            up = self.cap.centre + np.sign(self.cap.height) * np.sqrt(self.cap.sphere**2 - out)
        return np.where(out < self.cap.radius**2, up, 0.0)

    def cut_away(self, seen: Array) -> Flags:
        """Say whether points, (..., 3), lie inside a cut or above the crown, by more than a nanometre."""
        gone: Flags = seen[..., 2] > self.surface(seen) + NOTHING
        for one in self.pockets:
            offset = seen - one.centre
            along = np.vecdot(offset, one.axis)
            out = np.vecdot(offset, offset) - along * along
            gone = gone | ((out < (one.radius - NOTHING) ** 2) & (along > -one.sunk + NOTHING))
        return gone


def pocket(centre: Array, axis: Array, diameter: Array, depth: Array) -> Pocket:
    """Return a pocket from where its axis meets the crown plane, (..., 2), and its greatest depth.

    Source: the floor's lowest rim point lies radius·sin λ below the floor's centre.
    """
    radius = diameter / 2
    sine = hypot(axis[..., 0], axis[..., 1])
    at = point(centre[..., 0], centre[..., 1], 0.0)
    return Pocket(at, axis, radius, (depth - radius * sine) / axis[..., 2])


def first_metal(crown: Crown, start: Array, direction: Array) -> Array:
    """Return where lines that come from above first meet the crown's metal.

    start : (..., 3) [mm]  a point on each line;  direction : (..., 3)  unit, upwards along the line
    Returns: (...) [mm]  along the direction from `start`; positive above it; all leading axes broadcast
    Valid: the direction has an upward part.
    Source: the line's crossing of plane or dome, then down through every cut that it is in.
    """
    if crown.heights is not None:
        from .table import first_metal_on

        return first_metal_on(crown.heights, start, direction)
    with np.errstate(invalid="ignore", divide="ignore"):
        at = -start[..., 2] / direction[..., 2]
        cuts = [_through_pocket(one, start, direction) for one in crown.pockets]
        if crown.cap is not None:
            low, high = _through_sphere(crown.cap, start, direction)
            dome = crown.cap.height > 0
            tip = start[..., 2] + high * direction[..., 2]
            at = np.where(dome & (tip >= 0), np.maximum(at, high), at)
            cuts.append((np.where(dome, np.inf, low), np.where(dome, -np.inf, high)))
        for _ in cuts:  # leaving one cut a line may be in another
            for low, high in cuts:
                at = np.where((at > low) & (at < high), low, at)
    return at


def _through_pocket(one: Pocket, start: Array, direction: Array) -> tuple[Array, Array]:
    """Return the interval of each line that lies inside a pocket's cylinder and above its floor."""
    offset = start - one.centre
    along, rise = np.vecdot(offset, one.axis), np.vecdot(direction, one.axis)
    slide = direction - rise[..., None] * one.axis
    square, middle = np.vecdot(slide, slide), np.vecdot(offset, slide)
    room = one.radius * one.radius + along * along - np.vecdot(offset, offset)
    parallel = square < PARALLEL
    within = middle * middle + square * room
    root = np.sqrt(np.maximum(within, 0.0))
    outside = np.where(parallel, room < 0, within < 0)
    low = np.where(parallel, -np.inf, (-middle - root) / square)
    high = np.where(parallel, np.inf, (-middle + root) / square)
    floor = (-one.sunk - along) / rise
    away = rise < 0  # a line that leans more than a right angle from the axis goes up through the floor
    low, high = np.where(away, low, np.maximum(low, floor)), np.where(away, np.minimum(high, floor), high)
    return np.where(outside, np.inf, low), np.where(outside, -np.inf, high)


def _through_sphere(cap: Cap, start: Array, direction: Array) -> tuple[Array, Array]:
    """Return the interval of each line inside a cap's sphere; empty where it misses."""
    offset = start - point(0.0, 0.0, cap.centre)
    middle = np.vecdot(offset, direction)
    room = cap.sphere**2 - np.vecdot(offset, offset) + middle * middle
    root = np.sqrt(np.maximum(room, 0.0))
    return (
        np.where(room < 0, np.inf, -middle - root),
        np.where(room < 0, -np.inf, -middle + root),
    )
