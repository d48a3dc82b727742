"""How near two valve heads come, by the lifts at which each can first touch the other.

Push two convex heads together in any way: the pairs of lifts (a, b) at which they overlap fill a convex set C.
Its edges are what a dial can read: `a0`, the least lift of the intake at which it can be made to touch the exhaust at
all, whatever that one's lift, and `b0` likewise. C lies in {a >= a0, b >= b0}, whatever the heads, planes and stems
are: the two can meet only where both are open further than their edges. With s = a0 - a, r = b0 - b and the angle
g between the stems,

    both further     T = max(s, r)          how much further both would have to be opened to touch
    straight gap     s·sin g                s > 0 and s·cos g >= r: the intake's edge passes the exhaust's side
                     r·sin g                r > 0 and r·cos g >= s
                     sqrt(s² + r² - 2·s·r·cos g)    else, edge to edge
                     0                      both past their edges: they may meet
    times cos f      where the stems spread off the line of the heads' centres by f, seen along the cylinder

With the stems in one plane the straight gap is never more than the truth. It is exact for sharp heads while the edge
that passes the other's side passes it below the top of its margin; else, and for broken edges, it is less.

Source: the shortest |r'·n2 - s'·n1| with s' >= s, r' >= r, between two quadrants of lifts.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from .touch_entries import EDGES, NONE_UP_TO, TABLE

ANGLES = (float(np.radians(12.0)), float(np.radians(66.0)))  # between stems, over which the rule was tried
MOST_SPREAD = float(np.radians(25.0))
ALLOWED_MM = 0.025  # half-width of the rule itself, by whole heads: the worst that was climbed to is 0.023


def both_further(short_intake: Array, short_exhaust: Array) -> Array:
    """Return how much further both valves would have to be opened to touch, (...) [mm]; negative: past touching.

    short_intake, short_exhaust : (...) [mm]  what each lift lacks of its edge
    """
    return np.maximum(array(short_intake), array(short_exhaust))


def straight_gap(short_intake: Array, short_exhaust: Array, between: Array) -> Array:
    """Return the shortest straight distance between two heads, stems in one plane, (...) [mm]; 0 where they may meet.

    short_intake, short_exhaust : (...) [mm]  what each lift lacks of its edge
    between : (...) [rad]  angle between the stems
    """
    s, r, g = np.broadcast_arrays(array(short_intake), array(short_exhaust), array(between))
    sine, cosine = np.sin(g), np.cos(g)
    corner = np.sqrt(np.maximum(s * s + r * r - 2 * s * r * cosine, 0.0))
    found: Array = np.where(
        (s <= 0) & (r <= 0),
        0.0,
        np.where(
            (s > 0) & (s * cosine >= r), s * sine, np.where((r > 0) & (r * cosine >= s), r * sine, corner)
        ),
    )
    return found


class Touch(NamedTuple):
    """Where two valves of a cylinder can first touch, as it was read; mm, rad."""

    edges: tuple[Array, Array]  # least lift of the intake, of the exhaust
    bounded: tuple[bool, bool]  # whether it was tried so far without touching: it is at least that
    between: Array  # angle between the stems
    spread: Array | None  # by which they spread off the line of the heads' centres; None: nobody looked

    def gap(self, intake: Array, exhaust: Array) -> Array:
        """Return the straight gap at lifts of the two valves, (...) [mm]."""
        short = (self.edges[0] - intake, self.edges[1] - exhaust)
        found: Array = straight_gap(*short, self.between)
        return found if self.spread is None else found * np.cos(self.spread)

    def further(self, intake: Array, exhaust: Array) -> Array:
        """Return how much further both would have to be opened to touch, (...) [mm]."""
        return both_further(self.edges[0] - intake, self.edges[1] - exhaust)

    def untried(self, intake: Array, exhaust: Array) -> tuple[str, ...]:
        """Return the edges that were not tried as far as lifts at which the heads may meet for all that is known."""
        past = [bool(np.all(lift >= edge)) for lift, edge in zip((intake, exhaust), self.edges, strict=True)]
        open_ = [edge for edge, bound in zip(EDGES, self.bounded, strict=True) if bound]
        return tuple(open_) if all(past) else ()

    def raised(self, side: int, by: float) -> Touch:
        """Return it with one edge raised, as by a valve sunk so far; side : 0 the intake, 1 the exhaust."""
        edges = [edge + (by if place == side else 0.0) for place, edge in enumerate(self.edges)]
        return self._replace(edges=(edges[0], edges[1]))


class Unsure(NamedTuple):
    """Why two valves' distance is not told by where they touch."""

    lacks: tuple[str, ...] = ()  # entries
    why: str = ""  # in words
    touch: Touch | None = None  # what can still be told of it: how much further both could open


def has_touch(cylinder: Reader) -> bool:
    """Say whether anybody pushed two valves of a cylinder together."""
    return cylinder.has(TABLE)


def edge_of(cylinder: Reader, edge: str) -> tuple[Array | None, bool]:
    """Return the least lift at which a valve can touch the other, None where it was not read, and whether it is a bound.

    edge : one of EDGES
    """
    found = cylinder.find(f"{TABLE}.{edge}")
    if found is not None:
        return found, False
    return cylinder.find(f"{TABLE}.{edge}.{NONE_UP_TO}"), True


def touch_of(mapping: Flat, cylinder: str) -> Touch | Unsure:
    """Return where two valves of a cylinder can first touch, or why that is not told; see the module."""
    reader = Reader(mapping, (f"{cylinder}.",))
    found = [edge_of(reader, edge) for edge in EDGES]
    between, spread = (reader.find(f"{TABLE}.{one}") for one in ("between_stems", "spread_off"))
    lacks = [
        reader.path(f"{TABLE}.{edge}") for edge, (value, _) in zip(EDGES, found, strict=True) if value is None
    ]
    if lacks:
        if reader.has(f"{TABLE}.together") and len(lacks) == len(EDGES):
            return Unsure(tuple(lacks), "how far both open together does not tell it: their edges can differ")
        return Unsure(tuple(lacks))
    (intake, no_intake), (exhaust, no_exhaust) = found
    assert intake is not None
    assert exhaust is not None
    angle = array(np.nan) if between is None else between
    touch = Touch(
        (intake, exhaust), (no_intake, no_exhaust), angle, None if spread is None else np.abs(spread)
    )
    if between is None:
        return Unsure((reader.path(f"{TABLE}.between_stems"),), "measure the angle between the stems", touch)
    if np.any(between < ANGLES[0]) or np.any(between > ANGLES[1]):
        return Unsure(
            (), "stems less than 12 or more than 66 degrees apart: the rule was not tried there", touch
        )
    if touch.spread is not None and np.any(touch.spread > MOST_SPREAD):
        return Unsure((), "the stems spread more than 25 degrees off the line of the heads' centres", touch)
    return touch
