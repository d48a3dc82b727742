"""Bodies seen from one side: discs, tubes and arms.

A look keeps two of a point's three coordinates: the front view x and z, the side view y and z. A body is filled, so
that it covers what stands behind it: grey with a whole outline where its size was entered, else bare and dashed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from tallstack.geometry.core.frames import Array, norm, point, unit

from .lines import Circle, Fill, Line, Mark, Point, Stroke

STEPS = 48  # points of a circle
ROUND = 16  # of an arm's end
END_ON = 1e-6  # mm: a shorter line is seen end on


@dataclass(frozen=True, slots=True)
class Look:
    """A direction of looking: which coordinate runs to the right; z runs up."""

    name: str
    across: int  # 0: x, 1: y

    @property
    def towards(self) -> Array:
        """The direction to whoever looks."""
        return point(0.0, -1.0, 0.0) if self.across == 0 else point(1.0, 0.0, 0.0)

    def depth(self, where: Array) -> float:
        """Return how near a point is to whoever looks, against others [mm]."""
        return float(np.vecdot(where, self.towards))

    def at(self, where: Array) -> Point:
        """Return where a point is seen."""
        return (float(where[self.across]), float(where[2]))

    def is_along(self, axis: Array) -> bool:
        """Say whether this view looks along an axis rather than from its side."""
        return abs(float(axis[1 - self.across])) >= abs(float(axis[self.across]))


FRONT = Look("front", 0)
SIDE = Look("side", 1)


def line(look: Look, *points: Array, stroke: Stroke = Stroke.OUTLINE) -> Line:
    """Return a line through points."""
    return Line(tuple(look.at(one) for one in points), stroke)


def body(points: Sequence[Point], known: bool) -> Line:
    """Return a body by its outline; known : its size was entered."""
    stroke, fill = (Stroke.OUTLINE, Fill.GREY) if known else (Stroke.INDICATED, Fill.WHITE)
    return Line(tuple(points), stroke, closed=True, fill=fill)


def ball(centre: Point, radius: float, known: bool) -> Circle:
    """Return a ball, or a disc seen along its axis."""
    found = body((centre, centre), known)
    return Circle(centre, radius, found.stroke, found.fill)


def disc(look: Look, centre: Array, axis: Array, radius: float, known: bool) -> Line:
    """Return a disc."""
    first, second = _square_to(axis)
    turns = [2 * math.pi * step / STEPS for step in range(STEPS)]
    rim = [centre + radius * (math.cos(one) * first + math.sin(one) * second) for one in turns]
    return body([look.at(one) for one in rim], known)


def arc(look: Look, centre: Array, middle: Array, along: Array, radius: float, half: float) -> Line:
    """Return an arc about a centre, half an angle to both sides of its middle direction."""
    turns = [half * (step / 12 - 1) for step in range(25)]
    points = [centre + radius * (math.cos(one) * middle + math.sin(one) * along) for one in turns]
    return Line(tuple(look.at(one) for one in points))


def tube(look: Look, start: Array, end: Array, radius: float, known: bool) -> Line | Circle:
    """Return a round bar."""
    return bar(look.at(start), look.at(end), radius, known)


def bar(first: Point, second: Point, radius: float, known: bool) -> Line | Circle:
    """Return a bar from a point to another, as wide as twice its radius."""
    away = math.dist(first, second)
    if away < END_ON:
        return ball(first, radius, known)
    aside = (-(second[1] - first[1]) / away * radius, (second[0] - first[0]) / away * radius)
    corners = (
        (first[0] + aside[0], first[1] + aside[1]),
        (second[0] + aside[0], second[1] + aside[1]),
        (second[0] - aside[0], second[1] - aside[1]),
        (first[0] - aside[0], first[1] - aside[1]),
    )
    return body(corners, known)


def arm(start: Point, near: float, end: Point, far: float, known: bool) -> Mark:
    """Return an arm: what a belt around two circles takes in; the greater circle where it holds the other."""
    away = math.dist(start, end)
    if away <= abs(near - far) or away < END_ON:
        return ball(*((start, near) if near >= far else (end, far)), known)
    heading = math.atan2(end[1] - start[1], end[0] - start[0])
    lean = math.acos((near - far) / away)
    rim = []
    for centre, radius, first, last in (
        (end, far, heading - lean, heading + lean),
        (start, near, heading + lean, heading - lean + 2 * math.pi),
    ):
        for step in range(ROUND + 1):
            turn = first + (last - first) * step / ROUND
            rim.append((centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)))
    return body(rim, known)


def strip(look: Look, start: Array, end: Array, along: Array, half: float, known: bool) -> Line:
    """Return a flat arm seen from its side: a strip as wide along an axis as twice its half."""
    corners = (start - half * along, end - half * along, end + half * along, start + half * along)
    return body([look.at(one) for one in corners], known)


def _square_to(axis: Array) -> tuple[Array, Array]:
    """Return two unit directions square to an axis and to each other."""
    helper = point(0.0, 1.0, 0.0) if abs(float(axis[1])) < 0.9 else point(1.0, 0.0, 0.0)
    first = unit(np.cross(axis, helper))
    return first, np.cross(axis, first)


def is_point(where: Array | None) -> bool:
    """Say whether a point is known, all of it."""
    return where is not None and bool(np.isfinite(norm(where)))
