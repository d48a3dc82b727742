"""The smallest distance between two valve heads, each a short cylinder from its face up its margin.

Both bodies are convex, so the nearest points lie on a rim of one of them and anywhere on the other, or on
both sides where the margins cross. The distance from a point to a short cylinder has a closed form, so that
a rim is searched by its turn alone; two sides are nearest on the common perpendicular of their axes.

Source: the distance from a point to a finite cylinder, by its overhang along the axis and across it; the
common perpendicular of two skew lines.
"""

from __future__ import annotations

from functools import partial
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, dot, norm
from ..core.search import Curve, Flags, Index, Shape, least, square_to
from .head import Head

PARALLEL = 1e-12  # square of the sine between two axes below which they have no common perpendicular


class Pair(NamedTuple):
    """Two heads; all leading axes broadcast."""

    first: Head
    second: Head

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes of both."""
        return np.broadcast_shapes(self.first.shape, self.second.shape)

    def spread(self) -> Pair:
        """Return both with one more leading axis."""
        return Pair(self.first.spread(), self.second.spread())

    def pick(self, shape: Shape, index: Index | Flags) -> Pair:
        """Return some pairs of a batch; see `search.picked`."""
        return Pair(self.first.pick(shape, index), self.second.pick(shape, index))


def between(first: Head, second: Head, refine: bool = True, rivals: Array | None = None) -> Array:
    """Return the smallest distance between two heads, (...) [mm]; 0 where they meet; leading axes broadcast.

    refine : False leaves the rims' points as they are looked at first
    rivals : as for `search.least`
    """
    pair = Pair(first, second)
    return np.minimum(least(rims(), pair, pair.shape, refine, rivals), between_sides(pair))


def rims() -> list[Curve[Pair]]:
    """Return the curves along which the distance is looked for: two rims of either head."""
    return [Curve(partial(_from_rim, side, up)) for side in (0, 1) for up in (0.0, 1.0)]


def _from_rim(side: int, up: float, pair: Pair, turn: Array) -> Array:
    """Return the distance from points of a rim to the other head, 0 inside it; turn broadcasts with the poses.

    How far such a point lies along the other's axis, and the square of how far from its centre, are both a number and a
    multiple of the turn's cosine and of its sine, which are the same all along the rim.
    """
    here, there = pair[side], pair[1 - side]
    first, second = square_to(here.stem)
    centre = here.centre + (up * here.margin)[..., None] * here.stem if up else here.centre
    offset, arm = centre - there.centre, here.radius
    cosine, sine = np.cos(turn), np.sin(turn)
    high = dot(offset, there.stem) + (arm * dot(first, there.stem)) * cosine
    high += (arm * dot(second, there.stem)) * sine
    square = dot(offset, offset) + arm * arm + (2.0 * arm * dot(first, offset)) * cosine
    square += (2.0 * arm * dot(second, offset)) * sine
    square -= high * high
    out = np.sqrt(np.maximum(square, 0.0)) - there.radius
    over = np.maximum(np.maximum(-high, high - there.margin), 0.0)
    out = np.maximum(out, 0.0)
    distance: Array = np.sqrt(over * over + out * out)
    return distance


def between_sides(pair: Pair) -> Array:
    """Return the distance between the two sides, where their nearest points lie between the rims."""
    one, other = pair
    apart = one.centre - other.centre
    lean = np.vecdot(one.stem, other.stem)
    square = 1.0 - lean * lean
    here, there = np.vecdot(apart, one.stem), np.vecdot(apart, other.stem)
    with np.errstate(invalid="ignore", divide="ignore"):
        up, up_other = (lean * there - here) / square, (there - lean * here) / square
    across = norm(apart + up[..., None] * one.stem - up_other[..., None] * other.stem)
    within = (square > PARALLEL) & (up >= 0) & (up <= one.margin)
    within = within & (up_other >= 0) & (up_other <= other.margin)
    return np.where(within, np.maximum(across - one.radius - other.radius, 0.0), np.inf)
