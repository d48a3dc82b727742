"""How close a connecting rod comes to a cylinder's spigot, and the relief that keeps what is near away from it.

A spigot is a tube between bore and outer diameter, from the case deck down, see `cut_tube`. Every section of it at one φ
is a rectangle, and the distance from a rod is convex along each of its sides and over the whole of it; so each side is
solved, and the way round searched by closer and closer looks.

Source: signed distance of a capsule; convexity of the distance from a convex set.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, dot, norm
from ..core.search import Index
from ..crank.heels import TURN
from .cut_tube import CutTube, Number, Relief

AROUND = 96  # sections looked at first
GOLDEN = (np.sqrt(5) - 1) / 2
FINE = 30  # golden cuts of a wall's thickness: of 10 mm, less than 0.1 µm
CLOSER, LOOKS = 9, 7  # sections of a closer look, each a quarter as wide as the last
HAIR = 1e-9  # rad to either side of a relief's end

Shares = Callable[[Array], Array]  # shares of a line (...) to signed distances (...) [mm]


class Nearest(NamedTuple):
    """The least distance and where on the spigot it is."""

    gap: Array  # mm, negative where they stand in one another
    around: Array  # rad around the bore


class Rod(NamedTuple):
    """A bar with round ends between two points in the engine; leading axes are poses."""

    first: Array  # (..., 3)
    second: Array
    radius: Array

    def spread(self) -> Rod:
        """Return it with two axes after its poses (K), for a spigot's sides and sections."""
        return self._replace(first=self.first[:, None, None], second=self.second[:, None, None])

    def distance(self, seen: Array) -> Array:
        """Return signed distances of points, (..., 3) to (...): negative inside."""
        way = self.second - self.first
        offset = seen - self.first
        share = np.clip(np.vecdot(offset, way) / np.vecdot(way, way), 0.0, 1.0)
        found: Array = norm(offset - share[..., None] * way) - self.radius
        return found

    def to_lines(self, begins: Array, ends: Array) -> Array:
        """Return the least distance to lines from begins to ends, (..., 3) to (...) [mm].

        Source: its square is a parabola beside the bar and another past either of its ends, all of one convex curve.
        """
        own, offset, way = self.second - self.first, begins - self.first, ends - begins
        long = dot(own, own)
        low, rise = dot(offset, own) / long, dot(way, own) / long
        offset, way = offset - low[..., None] * own, way - rise[..., None] * own
        start, slope, bend = dot(offset, offset), 2 * dot(offset, way), dot(way, way)

        def square(share: Array) -> Array:
            along = low + share * rise
            past = along - np.clip(along, 0.0, 1.0)
            return start + share * (slope + share * bend) + past * past * long

        with np.errstate(invalid="ignore", divide="ignore"):
            turns = [-slope / (2 * bend)]
            for end in (0.0, 1.0):
                turns += [(end - low) / rise]
                turns += [-(slope / 2 + rise * long * (low - end)) / (bend + rise * rise * long)]
        shares = [array(0.0), array(1.0), *(np.fmin(np.fmax(turn, 0.0), 1.0) for turn in turns)]
        found: Array = np.sqrt(np.maximum(np.minimum.reduce([square(share) for share in shares]), 0.0))
        return found - self.radius


def nearest(spigot: CutTube, body: Rod, poses: int, refine: bool = True, sections: int = AROUND) -> Nearest:
    """Return the least distance from a rod to a spigot, for each of its poses.

    body     : spread for a spigot's sides and sections
    refine   : False is good to some hundredths of a mm, for a first look
    sections : looked at first
    """
    row, ends = np.arange(sections) * (TURN / sections), _ends(spigot)
    row, ends = (np.broadcast_to(one, (poses, one.shape[-1])) for one in (row, ends))
    around = np.concatenate([row, ends], axis=-1)
    gaps = _sides(spigot, body, around)
    value, at = gaps.min(axis=-1), _picked(around, gaps.argmin(axis=-1))
    if not refine:
        return Nearest(value, at)
    value = np.full(poses, np.inf)
    width = TURN / sections
    for _ in range(LOOKS):
        closer = at[:, None] + width * np.linspace(-1.0, 1.0, CLOSER)
        gaps = _sides(spigot, body, closer)
        value = np.minimum(value, gaps.min(axis=-1))
        at = _picked(closer, gaps.argmin(axis=-1))  # the middle of a look is the last place
        width /= 4
    if ends.size:  # the flat faces at a relief's ends
        faces = _faces(spigot, body, ends)
        beside = faces.min(axis=-1)
        at = np.where(beside < value, _picked(ends, faces.argmin(axis=-1)), at)
        value = np.minimum(value, beside)
    return Nearest(value, at)


def _ends(spigot: CutTube) -> Array:
    """Return both sides of every relief's ends, (sections) or (poses, sections) [rad]."""
    found = [
        np.atleast_1d(one.at + side * (one.half + hair))
        for one in spigot.reliefs
        for side in (-1, 1)
        for hair in (-HAIR, HAIR)
    ]
    return np.concatenate(found, axis=-1) if found else np.empty(0)


def _picked(around: Array, which: Index) -> Array:
    """Return one angle of each row, (poses, sections) to (poses)."""
    found: Array = np.take_along_axis(around, which[:, None], axis=1)[:, 0]
    return found


def stacked(spigots: Sequence[CutTube]) -> CutTube:
    """Return spigots with equally many reliefs as one with a row of its own for every pose."""

    def column(numbers: Iterable[Number]) -> Array:
        return np.array([float(one) for one in numbers])[:, None]

    inner, outer, low, top, each, lean, offset = zip(*spigots, strict=True)
    reliefs = tuple(
        Relief(*(column(numbers) for numbers in zip(*every, strict=True)))
        for every in zip(*each, strict=True)
    )
    return CutTube(
        column(inner), column(outer), column(low), column(top), reliefs, column(lean), column(offset)
    )


def _sides(spigot: CutTube, body: Rod, around: Array) -> Array:
    """Return the least distance over the outer side, the inner side and the lower edge of sections, (poses, sections)."""
    edge = spigot.edge(around)
    top = np.full(edge.shape, spigot.top)
    inner, outer = np.full(edge.shape, spigot.inner), np.full(edge.shape, spigot.outer)
    begins = np.stack(
        [
            spigot.placed(around, outer, edge),
            spigot.placed(around, inner, edge),
            spigot.placed(around, inner, edge),
        ],
        axis=1,
    )
    ends = np.stack(
        [
            spigot.placed(around, outer, top),
            spigot.placed(around, inner, top),
            spigot.placed(around, outer, edge),
        ],
        axis=1,
    )
    least: Array = body.to_lines(begins, ends).min(axis=1)
    return least


def _faces(spigot: CutTube, body: Rod, around: Array) -> Array:
    """Return the least distance over whole sections, (poses, sections)."""
    edge = spigot.edge(around)

    def across(share: Array) -> Array:
        out = spigot.inner + share[:, 0] * (spigot.outer - spigot.inner)
        begins = spigot.placed(around, out, edge)[:, None]
        ends = spigot.placed(around, out, np.full(edge.shape, spigot.top))[:, None]
        return body.to_lines(begins, ends)

    found: Array = _golden(across, (around.shape[0], 1, around.shape[1]), FINE)[:, 0]
    return found


def _golden(value: Shares, shape: tuple[int, ...], cuts: int) -> Array:
    """Return the least value of functions convex over shares 0 to 1, by golden section."""
    low, high = np.zeros(shape), np.ones(shape)
    first, second = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    here, there = value(first), value(second)
    least = np.minimum(np.minimum(here, there), np.minimum(value(low), value(high)))
    for _ in range(cuts):
        left = here < there
        high, low = np.where(left, second, high), np.where(left, low, first)
        fresh = np.where(left, high - GOLDEN * (high - low), low + GOLDEN * (high - low))
        found = value(fresh)
        first, second = np.where(left, fresh, second), np.where(left, first, fresh)
        here, there = np.where(left, found, there), np.where(left, here, found)
        least = np.minimum(least, found)
    return least


def relief_around(spigot: CutTube, near: Array, around: Array, high: Array, wanted: float) -> Relief | None:
    """Return the relief that takes away every place nearer than is wanted; None where it reaches the case deck.

    near : (sections, heights) [mm]  the least distance of each place;  around : (sections) [rad]
    high : (sections, heights) [mm]  the places' heights above the crank centre
    """
    close = near < wanted
    if not close.any():
        return None
    middle = float(around[np.unravel_index(near.argmin(), near.shape)[0]])
    away = (around[close.any(axis=1)] - middle + np.pi) % TURN - np.pi
    step = TURN / around.size
    low, top = float(away.min()) - step, float(away.max()) + step
    height = float(high[close].max()) - spigot.low
    room = spigot.top - spigot.low
    if height >= 0.97 * room or top - low >= np.pi:
        return None
    return Relief(
        (middle + (low + top) / 2) % TURN, (top - low) / 2, min(height + room / high.shape[1], 0.97 * room)
    )


def places(spigot: CutTube, sections: int, heights: int) -> tuple[Array, Array, Array]:
    """Return places of both walls: engine points (2, sections, heights, 3), angles around, heights (sections, heights)."""
    around = array(np.arange(sections) * (TURN / sections))
    edge = spigot.edge(around)[:, None]
    high = edge + np.linspace(0.0, 1.0, heights) * (spigot.top - edge)
    walls = [
        spigot.placed(around[:, None], np.full(high.shape, out), high) for out in (spigot.inner, spigot.outer)
    ]
    return np.stack(walls), around, high
