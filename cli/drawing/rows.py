"""Rows of dimension lines, each with its letter, so that none lies on another.

The shortest stands next to the view, each in the first row in which nothing is in its way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from .arrows import ARROW, arrowed, extension
from .labels import Label, beside, half_of
from .lines import Circle, Dimension, Line, Mark, Point

# all in mm of paper
LETTER = 3.0  # size of a dimension's letter
TOUCH = 1e-6  # two dimension lines of a row may meet at a common end


@dataclass(frozen=True, slots=True)
class Box:
    """A box on the paper, in mm from the view's origin."""

    left: float
    low: float
    right: float
    high: float

    @property
    def wide(self) -> float:
        """Its width."""
        return self.right - self.left

    def with_(self, points: Iterable[Point]) -> Box:
        """Return the box that takes in more points."""
        across, up = zip((self.left, self.low), (self.right, self.high), *points, strict=True)
        return Box(min(across), min(up), max(across), max(up))


class Laid(NamedTuple):
    """A dimension with its lines, its letter still to be set; mm of paper."""

    dimension: Dimension
    marks: tuple[Mark, ...]
    label: Label


def rows(wanted: Sequence[Dimension], scale: float, along: int) -> list[tuple[int, Dimension]]:
    """Return each dimension with its row, the shortest nearest the view.

    along : 0 rows across, 1 columns upwards
    """
    taken: list[list[tuple[float, float]]] = []
    found: list[tuple[int, Dimension]] = []
    for one in sorted(wanted, key=lambda each: (round(_span(each, scale, along), 6), each.entry)):
        own = _interval(one, scale, along)
        depth = next((depth for depth, row in enumerate(taken) if _is_free(own, row)), len(taken))
        if depth == len(taken):
            taken.append([])
        taken[depth].append(own)
        found.append((depth, one))
    return found


def _is_free(own: tuple[float, float], row: Sequence[tuple[float, float]]) -> bool:
    return all(own[1] <= first + TOUCH or own[0] >= last - TOUCH for first, last in row)


def _span(one: Dimension, scale: float, along: int) -> float:
    return abs(one.end[along] - one.start[along]) * scale


def _interval(one: Dimension, scale: float, along: int) -> tuple[float, float]:
    """Return what a dimension takes up of its row: its line and its arrows, and its letter past them where it is short."""
    low, high = sorted((one.start[along] * scale, one.end[along] * scale))
    room = half_of(one.letter, LETTER, bold=True)[along] * 2 + 1.0
    if high - low < 2.5 * ARROW:
        return low - 2 * ARROW, high + 2 * ARROW + room
    more = max(0.0, room - (high - low)) / 2
    return low - more, high + more


def upward(one: Dimension, at: float, scale: float) -> Laid:
    """Return a dimension upwards with its line at a place across, mm of paper from the view's origin."""
    return _lined(one, (at, one.start[1] * scale), (at, one.end[1] * scale), scale)


def sideways(one: Dimension, at: float, scale: float) -> Laid:
    """Return a dimension across with its line at a height, mm of paper from the view's origin."""
    return _lined(one, (one.start[0] * scale, at), (one.end[0] * scale, at), scale)


def _lined(one: Dimension, first: Point, last: Point, scale: float) -> Laid:
    start = (one.start[0] * scale, one.start[1] * scale)
    end = (one.end[0] * scale, one.end[1] * scale)
    return laid(one, [*extension(start, first), *extension(end, last), *arrowed(first, last)], first, last)


def laid(one: Dimension, marks: Sequence[Mark], first: Point, last: Point) -> Laid:
    """Return a dimension with its lines and where its letter may stand: beside a line from the first point to the last."""
    spots = beside(first, last, half_of(one.letter, LETTER, bold=True))
    middle = ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)
    return Laid(one, tuple(marks), Label(one.letter, LETTER, True, spots, middle))


def with_marks(one: Dimension, marks: Iterable[Mark], scale: float) -> Dimension:
    """Return a dimension with its lines and texts, brought from mm of paper to mm of the view."""
    return replace(one, marks=tuple(scaled(mark, 1 / scale) for mark in marks))


def scaled(mark: Mark, by: float) -> Mark:
    """Return a mark with its places multiplied."""
    if isinstance(mark, Line):
        return replace(mark, points=tuple((u * by, v * by) for u, v in mark.points))
    if isinstance(mark, Circle):
        u, v = mark.centre
        return replace(mark, centre=(u * by, v * by), radius=mark.radius * by)
    return replace(mark, at=(mark.at[0] * by, mark.at[1] * by))
