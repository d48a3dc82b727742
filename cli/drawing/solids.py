"""Outlines of round parts seen from one side: discs, tubes and arms.

A look keeps two of a point's three coordinates: the front view x and z, the side view y and z.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from tallstack.geometry.core.frames import Array, norm, point, unit

from .lines import Circle, Line, Point, Stroke

STEPS = 48  # points of a circle
END_ON = 1e-6  # mm: a shorter line is seen end on


@dataclass(frozen=True, slots=True)
class Look:
    """A direction of looking: which coordinate runs to the right; z runs up."""

    name: str
    across: int  # 0: x, 1: y

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


def disc(look: Look, centre: Array, axis: Array, radius: float, stroke: Stroke = Stroke.OUTLINE) -> Line:
    """Return the rim of a disc."""
    first, second = _square_to(axis)
    turns = [2 * math.pi * step / STEPS for step in range(STEPS)]
    rim = [centre + radius * (math.cos(one) * first + math.sin(one) * second) for one in turns]
    return Line(tuple(look.at(one) for one in rim), stroke, closed=True)


def arc(look: Look, centre: Array, middle: Array, along: Array, radius: float, half: float) -> Line:
    """Return an arc about a centre, half an angle to both sides of its middle direction."""
    turns = [half * (step / 12 - 1) for step in range(25)]
    points = [centre + radius * (math.cos(one) * middle + math.sin(one) * along) for one in turns]
    return Line(tuple(look.at(one) for one in points))


def tube(
    look: Look, start: Array, end: Array, radius: float, stroke: Stroke = Stroke.OUTLINE
) -> Line | Circle:
    """Return the outline of a round bar."""
    first, second = look.at(start), look.at(end)
    away = math.dist(first, second)
    if away < END_ON:
        return Circle(first, radius, stroke)
    aside = (-(second[1] - first[1]) / away * radius, (second[0] - first[0]) / away * radius)
    corners = (
        (first[0] + aside[0], first[1] + aside[1]),
        (second[0] + aside[0], second[1] + aside[1]),
        (second[0] - aside[0], second[1] - aside[1]),
        (first[0] - aside[0], first[1] - aside[1]),
    )
    return Line(corners, stroke, closed=True)


def belt(start: Point, near: float, end: Point, far: float, stroke: Stroke) -> tuple[Line, ...]:
    """Return the two lines that touch two circles on the outside; none where one holds the other."""
    away = math.dist(start, end)
    if away <= abs(near - far) or away < END_ON:
        return ()
    heading = math.atan2(end[1] - start[1], end[0] - start[0])
    lean = math.acos((near - far) / away)
    found = []
    for turn in (heading + lean, heading - lean):
        cosine, sine = math.cos(turn), math.sin(turn)
        found.append(
            Line(
                (
                    (start[0] + near * cosine, start[1] + near * sine),
                    (end[0] + far * cosine, end[1] + far * sine),
                ),
                stroke,
            )
        )
    return tuple(found)


def strip(look: Look, start: Array, end: Array, along: Array, half: float, stroke: Stroke) -> Line:
    """Return a flat arm seen from its side: a strip as wide along an axis as twice its half."""
    corners = (start - half * along, end - half * along, end + half * along, start + half * along)
    return Line(tuple(look.at(one) for one in corners), stroke, closed=True)


def _square_to(axis: Array) -> tuple[Array, Array]:
    """Return two unit directions square to an axis and to each other."""
    helper = point(0.0, 1.0, 0.0) if abs(float(axis[1])) < 0.9 else point(1.0, 0.0, 0.0)
    first = unit(np.cross(axis, helper))
    return first, np.cross(axis, first)


def is_point(where: Array | None) -> bool:
    """Say whether a point is known, all of it."""
    return where is not None and bool(np.isfinite(norm(where)))
