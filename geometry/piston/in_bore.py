"""How close a valve's head comes to the cylinder it opens into, and to the gasket on that cylinder.

Cylinder and gasket are rings about the cylinder's axis, in the meridian plane of each point of the head's side:

          w up the stem         ρ: from the axis outwards, z: up
        ╲  ╲
         ╲__╲ rim        ┌──────────  z = top + gasket
          ╲  ╲           │  gasket
                   ┌─────┴──────────  z = top, the cylinder's top face
                   │     gasket_radius
                   │ cylinder
                radius

The side of the head is straight lines along its stem. A ring is nearest to such a line at one of its ends, where it
crosses the height of a face or the radius of an edge, or where it is nearest to an edge; what counts is the true
distance at each of these. Negative: how far it has gone into the ring.

Source: the distance from a point to a quarter plane; along a line ρ² is a parabola.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, hypot
from ..core.minima import Minimum
from ..core.search import Curve, Flags, Index, Shape, least, picked
from .cycle import Lift, cycle_angles
from .head import Head, rim

LEVEL_MM = 1e-6  # within which two angles are as near
CLOSER = 5  # times that the place nearest to an edge is looked for along a line, which bends a little in ρ


class Bore(NamedTuple):
    """A cylinder's upper end with its gasket, in the frame of the heads over it; mm."""

    radius: Array
    top: Array  # of its top face
    gasket_radius: Array
    gasket: Array  # its thickness

    def spread(self) -> Bore:
        """Return the same with one more leading axis."""
        return Bore(*(array(one)[..., None] for one in self))


class InBore(NamedTuple):
    """A head over a cylinder; all leading axes broadcast."""

    head: Head
    bore: Bore

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes of both."""
        return np.broadcast_shapes(self.head.shape, *(np.shape(one) for one in self.bore))

    def spread(self) -> InBore:
        """Return both with one more leading axis."""
        return InBore(self.head.spread(), self.bore.spread())

    def pick(self, shape: Shape, index: Index | Flags) -> InBore:
        """Return some of a batch; see `search.picked`."""
        bore = Bore(*(picked(array(one), shape, index) for one in self.bore))
        return InBore(self.head.pick(shape, index), bore)

    def opened(self, lift: Array) -> InBore:
        """Return the head opened by a lift, (...) [mm]."""
        centre = self.head.centre - array(lift)[..., None] * self.head.stem
        return self._replace(head=self.head._replace(centre=centre))

    def distance(self, lift: Array, refine: bool = True, rivals: Array | None = None) -> Array:
        """Return how far the head is from cylinder and gasket, opened by a lift, (...) [mm].

        refine, rivals : as for `search.least`
        """
        here = self.opened(lift)
        return least([Curve(_from_side)], here, here.shape, refine, rivals)

    def on_the_way(self, lift: Array) -> Array:
        """Return the least of it from closed to a lift, (...) [mm].

        Source: a side that moves along its own lines covers the same lines, longer by the way.
        """
        most = self.opened(lift)
        return most._replace(head=most.head._replace(margin=self.head.margin + lift)).distance(array(0.0))


def nearest_part(where: InBore, lift: Array) -> str:
    """Return what the head of one engine is nearest to: "cylinder" or "gasket"."""
    alone = where._replace(bore=where.bore._replace(gasket_radius=array(np.inf)))
    return "cylinder" if alone.distance(lift) <= where.distance(lift) + 1e-9 else "gasket"


def least_in_bore(where: InBore, lift: Lift) -> Minimum:
    """Return the least of it through the whole cycle, the engine being one.

    A side that moves along its own lines is nearest where the whole of its way is. It is level while one place of the side after another is the nearest: of equal angles that nearest to overlap top
    centre, of two the later.
    """
    angles = cycle_angles()
    lifts, which = np.unique(lift(angles), return_inverse=True)
    seen = where.distance(lifts)[which]
    least = min(float(where.on_the_way(lifts.max())), float(seen.min()))
    level = angles[seen <= seen.min() + LEVEL_MM].tolist()
    return Minimum(least, min(level, key=lambda one: (round(abs(one), 9), -one)))


def _from_side(where: InBore, turn: Array) -> Array:
    """Return the distance from the line up the side at each turn about the stem."""
    head, bore = where
    start = rim(head, turn)
    to_cylinder = _to_ring(start, head, bore.radius, array(-np.inf), bore.top)
    to_gasket = _to_ring(start, head, bore.gasket_radius, bore.top, bore.top + bore.gasket)
    return np.minimum(to_cylinder, to_gasket)


def _to_ring(start: Array, head: Head, inner: Array, low: Array, high: Array) -> Array:
    """Return the least distance from lines of a head's side to what lies outside a radius between two heights."""
    stem, most = head.stem, head.margin
    square = stem[..., 0] ** 2 + stem[..., 1] ** 2
    middle = start[..., 0] * stem[..., 0] + start[..., 1] * stem[..., 1]
    out = start[..., 0] ** 2 + start[..., 1] ** 2

    def at(way: Array) -> tuple[Array, Array]:
        """Return radius and height so far up the line."""
        radius = np.sqrt(np.maximum(out + way * (2 * middle + way * square), 0.0))
        return radius, start[..., 2] + way * stem[..., 2]

    def on_line(way: Array) -> Array:
        """Return the way kept on the line; an end of it for one that does not exist."""
        return np.fmin(np.fmax(way, 0.0), most)

    def value(way: Array) -> Array:
        radius, height = at(on_line(way))
        inside, beside = inner - radius, np.maximum(height - high, low - height)
        corner = hypot(np.maximum(inside, 0.0), np.maximum(beside, 0.0))
        return np.where((inside > 0) & (beside > 0), corner, np.maximum(inside, beside))

    with np.errstate(invalid="ignore", divide="ignore"):
        root = np.sqrt(np.maximum(middle**2 - square * (out - inner**2), 0.0))
        ways = [array(0.0), most, *((edge - start[..., 2]) / stem[..., 2] for edge in (low, high))]
        ways += [(-middle + root) / square, (-middle - root) / square]
        ways += _as_far_in(inner + high - start[..., 2], stem[..., 2], square, middle, out)
        for edge in (low, high):
            if np.isinf(edge).all():
                continue
            way = array(0.0)
            for _ in range(CLOSER):
                radius, height = at(way)
                outwards = (middle + way * square) / radius
                there = (inner - radius) * outwards + (edge - height) * stem[..., 2]
                way = on_line(way + there / (outwards**2 + stem[..., 2] ** 2))
            ways.append(way)
        found: Array = np.minimum.reduce([value(way) for way in ways])
    return found


def _as_far_in(reach: Array, up: Array, square: Array, middle: Array, out: Array) -> list[Array]:
    """Return where a line has gone as far into a ring from its face as from its bore: ρ = reach - up·way."""
    bend, slope, rest = square - up**2, middle + reach * up, out - reach**2
    root = np.sqrt(np.maximum(slope**2 - bend * rest, 0.0))
    return [(-slope + root) / bend, (-slope - root) / bend]
