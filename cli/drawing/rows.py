"""Rows of dimension lines, each with its label, so that none lies on another.

The shortest stands next to the view, each in the first row in which nothing is in its way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from .arrows import ARROW, arrowed, extension
from .lines import Circle, Dimension, Line, Mark, Point, Text, width

# all in mm of paper
SIZE = 2.4  # of a label
LETTER = 3.0  # of its letter
GAP = 1.5  # between neighbours
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


def rows(
    wanted: Sequence[Dimension], room: Box, scale: float, along: int
) -> list[tuple[int, float, Dimension]]:
    """Return each dimension with its row and its label's middle in it, the shortest nearest the view.

    along : 0 rows across, 1 columns upwards
    """
    taken: list[list[tuple[float, float]]] = []
    found: list[tuple[int, float, Dimension]] = []
    for one in sorted(wanted, key=lambda each: (_span(each, scale, along), each.entry)):
        places = [
            (depth, middle, _interval(one, middle, scale, along))
            for depth in range(len(taken) + 1)
            for middle in middles(one, room, scale, along)
        ]
        depth, middle, own = next(
            each for each in places if each[0] == len(taken) or _is_free(each[2], taken[each[0]])
        )
        if depth == len(taken):
            taken.append([])
        taken[depth].append(own)
        found.append((depth, middle, one))
    return found


def _is_free(own: tuple[float, float], row: Sequence[tuple[float, float]]) -> bool:
    return all(own[1] <= first + TOUCH or own[0] >= last - TOUCH for first, last in row)


def _span(one: Dimension, scale: float, along: int) -> float:
    return abs(one.end[along] - one.start[along]) * scale


def _ends(one: Dimension, scale: float, along: int) -> tuple[float, float]:
    first, last = one.start[along] * scale, one.end[along] * scale
    return min(first, last), max(first, last)


def _interval(one: Dimension, middle: float, scale: float, along: int) -> tuple[float, float]:
    """Return what a dimension takes up of its row: its line, its arrows and its label."""
    low, high = _ends(one, scale, along)
    out, half = (2 * ARROW if high - low < 2.5 * ARROW else 0.0), row_width(one) / 2
    return min(low - out, middle - half), max(high + out, middle + half)


def middles(one: Dimension, room: Box, scale: float, along: int) -> list[float]:
    """Return where a label's middle may stand: over its line, or beginning or ending with it."""
    (low, high), half = _ends(one, scale, along), row_width(one) / 2
    least, most = (room.left, room.right) if along == 0 else (room.low, room.high)
    wished = [(low + high) / 2]
    if high - low < 2 * half:
        wished += [low + half, high - half, low + half - 2 * ARROW, high - half + 2 * ARROW]
    return [min(max(middle, least + half), most - half) for middle in wished]


def row_width(one: Dimension) -> float:
    """Return how wide a dimension's letter and label are in one line, mm of paper."""
    return width(one.letter, LETTER, bold=True) + 1.2 + width(one.label(), SIZE) + GAP / 2


def upward(one: Dimension, at: float, middle: float, scale: float) -> Dimension:
    """Return a dimension upwards with its line at a place across and its label's middle at a height.

    at, middle : mm of paper from the view's origin
    """
    ends = ((at, one.start[1] * scale), (at, one.end[1] * scale))
    marks = [
        *extension((one.start[0] * scale, ends[0][1]), ends[0]),
        *extension((one.end[0] * scale, ends[1][1]), ends[1]),
        *arrowed(*ends),
        *_row_label(one, (at - 0.9, middle), 90.0),
    ]
    return with_marks(one, marks, scale)


def sideways(one: Dimension, at: float, middle: float, scale: float) -> Dimension:
    """Return a dimension across with its line at a height and its label's middle at a place across.

    at, middle : mm of paper from the view's origin
    """
    ends = ((one.start[0] * scale, at), (one.end[0] * scale, at))
    marks = [
        *extension((ends[0][0], one.start[1] * scale), ends[0]),
        *extension((ends[1][0], one.end[1] * scale), ends[1]),
        *arrowed(*ends),
        *_row_label(one, (middle, at + 0.9), 0.0),
    ]
    return with_marks(one, marks, scale)


def _row_label(one: Dimension, middle: Point, turn: float) -> list[Mark]:
    """Return letter and label in one line about a middle, on paper left bare beneath them."""
    whole = row_width(one)
    letter = width(one.letter, LETTER, bold=True)
    cosine, sine = round(math.cos(math.radians(turn)), 9), round(math.sin(math.radians(turn)), 9)

    def at(along: float) -> Point:
        return (middle[0] + along * cosine, middle[1] + along * sine)

    first = Text(at(-whole / 2), one.letter, LETTER, turn=turn, bold=True)
    second = Text(at(-whole / 2 + letter + 1.2), one.label(), SIZE, turn=turn)
    return [first, second]


def with_marks(one: Dimension, marks: Iterable[Mark], scale: float) -> Dimension:
    """Return a dimension with its lines and texts, brought from mm of paper to mm of the view."""
    return replace(one, marks=tuple(_shrunk(mark, scale) for mark in marks))


def _shrunk(mark: Mark, scale: float) -> Mark:
    if isinstance(mark, Line):
        return replace(mark, points=tuple((u / scale, v / scale) for u, v in mark.points))
    if isinstance(mark, Circle):
        u, v = mark.centre
        return replace(mark, centre=(u / scale, v / scale), radius=mark.radius / scale)
    return replace(mark, at=(mark.at[0] / scale, mark.at[1] / scale))
