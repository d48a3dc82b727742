"""Two valves as solid bodies of revolution, each on its stem, by a general-purpose collision library.

A head is the convex hull of four circles about its stem: the face with its edge broken or sharp, the margin, and a
seat cone at 45 degrees; with a shank, a thin cylinder stands on it. The library sees CORNERS corners on each circle:
its heads are too small by the sag radius·(1 - cos(π/CORNERS)), 0.00006 mm of a radius of 24 mm, and what it finds is
never less than the distance of the round ones. How far these stand apart square to the direction that it found, by
their circles, is never more. `bracket` gives both, no further from each other than both sags.

What is asked of a pair is found on what the library finds. It is a convex function of both lifts, of valves without
shanks, so that on the side on which the heads are clear a secant never passes the lift at which they touch. Nothing of
ours is used.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import NamedTuple

import coal  # type: ignore[import-untyped, unused-ignore]
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
CORNERS = 1440
SHANK_MM = 60.0  # length of a shank above the margin
WIDE_MM = 40.0  # lifts among which a least one is looked for, below nought and above
SWEPT_MM = 400.0  # length of a head that is drawn along its stem for ever
TOUCHING_MM = 1e-6
GOLDEN = (5**0.5 - 1) / 2


class Valve(NamedTuple):
    """A valve on its seat; mm."""

    centre: Array  # of its face
    stem: Array  # unit, out of the chamber
    radius: float
    margin: float
    broken: float = 0.0  # of the face's edge, at 45 degrees
    seat: float = 3.0  # height of the seat cone
    shank: float = 0.0  # radius of the stem; none where nought

    def rings(self) -> list[tuple[float, float]]:
        """Return radius and height above the face of the circles of the head."""
        face = [(self.radius - self.broken, 0.0)] + ([(self.radius, self.broken)] if self.broken else [])
        return [*face, (self.radius, self.margin), (self.radius - self.seat, self.margin + self.seat)]

    def opened(self, lift: float) -> Array:
        """Return where the centre of its face stands at a lift."""
        return self.centre - lift * self.stem


class Part(NamedTuple):
    """One convex body about a stem: as the library sees it, and its circles."""

    body: object
    middle: float  # height above the face of the body's own origin
    rings: list[tuple[float, float]]


def frame(axis: Array) -> Array:
    """Return three directions square to each other as columns, the last along an axis."""
    first = np.cross([0.3, -0.8, 0.5], axis)
    first /= np.linalg.norm(first)
    return np.column_stack([first, np.cross(axis, first), axis])


@cache
def skin(rings: int) -> object:
    """Return the triangles between the corners of so many circles, and over both flat ends."""
    found = coal.StdVec_Triangle()
    for ring in range(rings - 1):
        for at in range(CORNERS):
            low, low_on = ring * CORNERS + at, ring * CORNERS + (at + 1) % CORNERS
            found.append(coal.Triangle(low, low_on, low_on + CORNERS))
            found.append(coal.Triangle(low, low_on + CORNERS, low + CORNERS))
    last = (rings - 1) * CORNERS
    half = CORNERS // 2  # to and fro over a flat end: no corner has more than four neighbours on it
    order = [0, *(one for at in range(1, half) for one in (at, CORNERS - at)), half]
    for at in range(CORNERS - 2):
        first, second, third = sorted(order[at : at + 3])
        found.append(coal.Triangle(first, third, second))
        found.append(coal.Triangle(last + first, last + second, last + third))
    return found


def hull(rings: list[tuple[float, float]]) -> object:
    """Return the convex hull of circles about the z axis, from below, as the library's own."""
    turn = np.arange(CORNERS) * 2 * np.pi / CORNERS
    points = coal.StdVec_Vec3s()
    for radius, height in rings:
        around = np.column_stack([radius * np.cos(turn), radius * np.sin(turn), np.full(CORNERS, height)])
        points.extend(list(around))
    return coal.Convex(points, skin(len(rings)))


def parts(valve: Valve) -> list[Part]:
    """Return a valve's head, and its shank if it has one."""
    found = [Part(hull(valve.rings()), 0.0, valve.rings())]
    if valve.shank:
        low, top = valve.margin, valve.margin + SHANK_MM
        rings = [(valve.shank, low), (valve.shank, top)]
        found.append(Part(coal.Cylinder(valve.shank, SHANK_MM), (low + top) / 2, rings))
    return found


def swept(valve: Valve) -> list[Part]:
    """Return a valve at every lift at once: its widest circle, drawn along the stem."""
    rings = [(valve.radius, -SWEPT_MM / 2), (valve.radius, SWEPT_MM / 2)]
    return [Part(hull(rings), 0.0, rings)]


def support(part: Part, centre: Array, stem: Array, way: Array) -> float:
    """Return how far round circles about a stem reach in a direction."""
    along = float(way @ stem)
    across = float(np.sqrt(max(1.0 - along * along, 0.0)))
    return float(way @ centre) + max(radius * across + height * along for radius, height in part.rings)


class Placed(NamedTuple):
    """The bodies of a valve, and where its face stands."""

    parts: list[Part]
    centre: Array
    stem: Array


def bracket(one: Placed, other: Placed) -> tuple[float, float]:
    """Return a distance that the round bodies of two valves do not fall short of, and one that they do not exceed [mm].

    Both nought where the library finds that they overlap.
    """
    least = (np.inf, np.inf)
    for first in one.parts:
        for second in other.parts:
            found = between(first, second, one, other)
            least = min(least[0], found[0]), min(least[1], found[1])
    return least


def between(first: Part, second: Part, one: Placed, other: Placed) -> tuple[float, float]:
    """Return the bracket of one part of each valve."""
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    request.enable_signed_distance = False
    request.gjk_tolerance = 1e-10
    request.gjk_max_iterations = 5000
    turned = [frame(placed.stem) for placed in (one, other)]
    middles = [placed.centre + part.middle * placed.stem for part, placed in ((first, one), (second, other))]
    stands = [coal.Transform3s(*found) for found in zip(turned, middles, strict=True)]
    found = float(coal.distance(first.body, stands[0], second.body, stands[1], request, result))
    if found <= TOUCHING_MM:
        return 0.0, 0.0
    way = np.asarray(result.getNearestPoint2()) - np.asarray(result.getNearestPoint1())
    way /= np.linalg.norm(way)
    reach = support(first, one.centre, one.stem, way) + support(second, other.centre, other.stem, -way)
    return max(-reach, 0.0), found


class Pair(NamedTuple):
    """Two valves and what the library makes of them, once; lifts and distances in mm."""

    intake: Valve
    exhaust: Valve
    bodies: tuple[list[Part], list[Part]]

    def bracket(self, intake: float, exhaust: float) -> tuple[float, float]:
        """Return the least and the greatest that the distance can be at two lifts."""
        one = Placed(self.bodies[0], self.intake.opened(intake), self.intake.stem)
        return bracket(one, Placed(self.bodies[1], self.exhaust.opened(exhaust), self.exhaust.stem))

    def distance(self, intake: float, exhaust: float) -> float:
        """Return the greatest that the distance can be at two lifts; nought where they touch."""
        return self.bracket(intake, exhaust)[1]

    def edges(self) -> tuple[float, float]:
        """Return the least lift of each at which it can touch the other at some lift of that one.

        Found on the distance of a valve from all that the other's head ever fills.
        """
        found = []
        for valve, bodies, other in (
            (self.intake, self.bodies[0], self.exhaust),
            (self.exhaust, self.bodies[1], self.intake),
        ):
            filled = Placed(swept(other), other.centre, other.stem)

            def clear(
                lift: float, valve: Valve = valve, bodies: list[Part] = bodies, filled: Placed = filled
            ) -> float:
                return bracket(Placed(bodies, valve.opened(lift), valve.stem), filled)[1]

            found.append(touching(clear))
        return found[0], found[1]

    def edges_by_trying(self) -> tuple[float, float]:
        """Return the same by opening one, and trying every lift of the other for the nearest."""
        return (
            touching(lambda a: nearest(lambda b: self.distance(a, b))),
            touching(lambda b: nearest(lambda a: self.distance(a, b))),
        )

    def further(self, intake: float, exhaust: float) -> float:
        """Return how much further both have to be opened to touch; infinite where they pass each other."""
        return touching(lambda more: self.distance(intake + more, exhaust + more))

    def together(self) -> float:
        """Return the lift at which they touch, opened by equal steps."""
        return self.further(0.0, 0.0)


def pair(intake: Valve, exhaust: Valve) -> Pair:
    """Return two valves ready to be asked."""
    return Pair(intake, exhaust, (parts(intake), parts(exhaust)))


def touching(clear: Callable[[float], float]) -> float:
    """Return where a convex distance becomes nought as a lift grows; infinite when it does not below WIDE_MM."""
    before, here = -WIDE_MM - 1.0, -WIDE_MM
    high, low = clear(before), clear(here)
    while low > TOUCHING_MM:
        if low >= high:
            return np.inf
        step = low * (here - before) / (high - low)
        before, high, here = here, low, here + step
        if here > WIDE_MM:
            return np.inf
        if step < TOUCHING_MM:
            break
        low = clear(here)
    return here


def nearest(clear: Callable[[float], float]) -> float:
    """Return the least of a convex distance over the lifts of a valve, by cutting an interval down."""
    ends = [-WIDE_MM, WIDE_MM]
    inner = [ends[1] - GOLDEN * (ends[1] - ends[0]), ends[0] + GOLDEN * (ends[1] - ends[0])]
    values = [clear(one) for one in inner]
    while ends[1] - ends[0] > 1e-4 and min(values) > 0:
        if values[0] <= values[1]:
            ends[1], inner[1], values[1] = inner[1], inner[0], values[0]
            inner[0] = ends[1] - GOLDEN * (ends[1] - ends[0])
            values[0] = clear(inner[0])
        else:
            ends[0], inner[0], values[0] = inner[0], inner[1], values[1]
            inner[1] = ends[0] + GOLDEN * (ends[1] - ends[0])
            values[1] = clear(inner[1])
    return min(values)
