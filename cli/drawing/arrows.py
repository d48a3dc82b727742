"""The strokes of a dimension: extension lines, arrows and arcs, all in mm of paper."""

from __future__ import annotations

import math

from .lines import Circle, Fill, Line, Mark, Point, Stroke

ARROW, ARROW_HALF = 2.2, 0.38
BEYOND = 1.0  # an extension line past its dimension line
ARC_STEPS = 24


def extension(point: Point, line_end: Point) -> list[Mark]:
    """Return the extension line from a point to just past the end of its dimension line."""
    away = math.dist(point, line_end)
    if away < 0.3:
        return []
    share = (away + BEYOND) / away
    far = (
        point[0] + (line_end[0] - point[0]) * share,
        point[1] + (line_end[1] - point[1]) * share,
    )
    return [Line((point, far), Stroke.THIN)]


def arrowed(start: Point, end: Point) -> list[Mark]:
    """Return a line with an arrow at both ends; arrows point inwards from outside where it is short."""
    away = math.dist(start, end)
    if away < 1e-9:
        return [Circle(start, 0.6, Stroke.THIN, Fill.BLACK)]
    heading = math.atan2(end[1] - start[1], end[0] - start[0])
    if away >= 2.5 * ARROW:
        return [Line((start, end), Stroke.THIN), head(end, heading), head(start, heading + math.pi)]
    out = (2 * ARROW * math.cos(heading), 2 * ARROW * math.sin(heading))
    tails = ((start[0] - out[0], start[1] - out[1]), (end[0] + out[0], end[1] + out[1]))
    return [Line(tails, Stroke.THIN), head(start, heading), head(end, heading + math.pi)]


def head(tip: Point, heading: float) -> Line:
    """Return an arrow's head, its tip at a point, pointing that way [rad]."""
    cosine, sine = math.cos(heading), math.sin(heading)
    back = (tip[0] - ARROW * cosine, tip[1] - ARROW * sine)
    first = (back[0] - ARROW_HALF * sine, back[1] + ARROW_HALF * cosine)
    second = (back[0] + ARROW_HALF * sine, back[1] - ARROW_HALF * cosine)
    return Line((tip, first, second), Stroke.THIN, closed=True, fill=Fill.BLACK)


def arc(start: Point, end: Point, apex: Point, turn: float) -> tuple[list[Mark], Point]:
    """Return an arc with an arrow at its end, and its middle."""
    radius = math.dist(start, apex)
    first = math.atan2(start[1] - apex[1], start[0] - apex[0])
    last = math.atan2(end[1] - apex[1], end[0] - apex[0])
    sweep = (last - first) % (2 * math.pi) if turn > 0 else -((first - last) % (2 * math.pi))

    def at(share: float) -> Point:
        angle = first + share * sweep
        return (apex[0] + radius * math.cos(angle), apex[1] + radius * math.sin(angle))

    curve = tuple(at(step / ARC_STEPS) for step in range(ARC_STEPS + 1))
    marks: list[Mark] = [
        Line(curve, Stroke.THIN),
        Line((apex, start), Stroke.THIN),
        Line((apex, end), Stroke.THIN),
    ]
    if abs(sweep) * radius > 1.5 * ARROW:
        heading = last + math.copysign(math.pi / 2, sweep) - math.copysign(ARROW / (2 * radius), sweep)
        marks.append(head(end, heading))
    return marks, at(0.5)
