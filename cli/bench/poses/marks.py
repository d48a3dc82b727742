"""How the outlines of the sketches stand in a pose: as markup, in units of the pose, y down."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from ...drawing.lines import Circle, Fill, Line, Mark, Point, Text
from ...drawing.svg import IN_PAGE

WEIGHT = 2.8  # units for a mm of paper
INK, PAPER, BODY = (IN_PAGE.fills[one] for one in (Fill.BLACK, Fill.WHITE, Fill.GREY))
HEAD = 5.0  # of an arrow


class Frame(NamedTuple):
    """Where a sketch stands: units for one of its mm, and where its origin is."""

    scale: float
    across: float
    down: float

    def at(self, point: Point) -> Point:
        """Return a place of the sketch in the pose."""
        return self.across + self.scale * point[0], self.down - self.scale * point[1]

    def all(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Return places of the sketch in the pose."""
        return tuple(self.at(one) for one in points)

    def markup(self, marks: Iterable[Mark]) -> str:
        """Return the bodies and lines of a sketch, its words left out."""
        return "".join(self._one(mark) for mark in marks if not isinstance(mark, Text))

    def _one(self, mark: Line | Circle) -> str:
        dashes = " ".join(number(WEIGHT * one) for one in mark.stroke.dashes)
        look = f' stroke-width="{number(WEIGHT * mark.stroke.weight)}"'
        look += f' stroke-dasharray="{dashes}"' if dashes else ""
        look += "" if mark.fill is Fill.NONE else f' fill="{IN_PAGE.fills[mark.fill]}"'
        if isinstance(mark, Circle):
            u, v = self.at(mark.centre)
            return f'<circle cx="{number(u)}" cy="{number(v)}" r="{number(self.scale * mark.radius)}"{look}/>'
        return f'<path d="{path(self.all(mark.points), mark.closed)}"{look}/>'


def number(value: float) -> str:
    """Return a number with one decimal at most; never "-0"."""
    shown = f"{round(value, 6):.1f}".removesuffix(".0")
    return "0" if shown == "-0" else shown


def path(points: Sequence[Point], closed: bool = False, lower: float = 0.0) -> str:
    """Return a line through points as the data of a path; lower : how much lower it stands."""
    through = "L".join(f"{number(u)} {number(v + lower)}" for u, v in points)
    return f"M{through}{'Z' if closed else ''}"


Strokes = tuple[tuple[Point, ...], ...]


def head(tip: Point, towards: Point) -> tuple[Point, ...]:
    """Return an arrow's open head at a tip, seen from where its shaft comes from; none where that is the tip."""
    u, v = towards[0] - tip[0], towards[1] - tip[1]
    away = (u * u + v * v) ** 0.5
    if away < 1e-6:
        return (tip, tip)
    u, v = HEAD * u / away, HEAD * v / away
    return (
        (tip[0] + u - 0.4 * v, tip[1] + v + 0.4 * u),
        tip,
        (tip[0] + u + 0.4 * v, tip[1] + v - 0.4 * u),
    )


def between(start: Point, end: Point) -> Strokes:
    """Return a dimension's line with its arrows; from outside where it is short."""
    away = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    if away >= 3 * HEAD:
        return ((start, end), head(start, end), head(end, start))
    u, v = ((end[0] - start[0]) / away, (end[1] - start[1]) / away) if away else (0.0, 1.0)
    out = 2.2 * HEAD
    first = (start[0] - out * u, start[1] - out * v)
    last = (end[0] + out * u, end[1] + out * v)
    return ((first, start), (end, last), head(start, first), head(end, last))


def arrow(tip: Point, start: Point) -> Strokes:
    """Return an arrow that points at one place."""
    return ((start, tip), head(tip, start))


def middle(start: Point, end: Point) -> Point:
    """Return the place halfway."""
    return (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
