"""Where dimension lines go, so that none lies on another, each with its letter beside it.

A dimension across is laid in a row below or above the view, one upwards in a column beside it: the shortest next to
the view, each in the first row in which nothing is in its way. Everything else stands beside what it measures.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from .arrows import arc, arrowed, extension
from .labels import Ground, Label, around, half_of
from .lines import Circle, Dimension, Item, Line, Mark, Point, Text, Way
from .rows import LETTER, Box, Laid, laid, rows, scaled, sideways, upward, with_marks

# all in mm of paper
PITCH, COLUMN = 4.4, 6.0  # from row to row, from column to column
FIRST = 2.8  # from the view to the first of them


@dataclass(frozen=True, slots=True)
class Placed:
    """A view's items with every dimension in its place, and the paper it takes up."""

    items: tuple[Item, ...]
    box: Box


def place(items: Sequence[Item], scale: float) -> Placed:
    """Return a view's items with lines and letter for every dimension, in mm of the view.

    scale : mm of paper for a mm of the view
    """
    plain, wanted = _plain(items), _wanted(items)
    notes = [one for one in items if isinstance(one, Text)]
    figure = figure_of(items, scale)
    placed = [upward(one, one.inside * scale, scale) for one in wanted if one.inside is not None]
    placed += [_beside(one, scale) for one in wanted if one.way in (Way.ALONG, Way.ANGLE)]
    columns, box = _columns(wanted, figure, scale)
    placed += columns + _across(wanted, box, scale)
    drawn = [scaled(one, scale) for one in plain]
    ground = Ground([*drawn, *(mark for one in placed for mark in one.marks)])
    said = [mark for one in notes for mark in ground.stand(_note(one, scale))]
    done = [(one.dimension, [*one.marks, *ground.stand(one.label)]) for one in placed]
    box = figure.with_(
        point for mark in (*said, *(m for _, own in done for m in own)) for point in _points(mark)
    )
    dimensions = (with_marks(one, marks, scale) for one, marks in done)
    return Placed((*plain, *dimensions, *(scaled(one, 1 / scale) for one in said)), box)


def figure_of(items: Sequence[Item], scale: float) -> Box:
    """Return the box of a view's figure alone, which its dimensions and words only add to; scale : as for `place`."""
    return _bounds(_plain(items), _wanted(items), scale)


def _plain(items: Sequence[Item]) -> list[Line | Circle]:
    return [one for one in items if isinstance(one, (Line, Circle))]


def _wanted(items: Sequence[Item]) -> list[Dimension]:
    return [one for one in items if isinstance(one, Dimension)]


def _note(text: Text, scale: float) -> Label:
    """Return a text of a view as words that stand where they are wished, or about there."""
    half = half_of(text.words, text.size, text.bold)
    corners = _corners(text, scale)
    wished = ((corners[0][0] + corners[2][0]) / 2, (corners[0][1] + corners[2][1]) / 2)
    spots = [wished, *(spot for off in (1.0, 3.0, 5.0) for spot in around(wished, (0.0, half[1]), off))]
    return Label(text.words, text.size, text.bold, tuple(spots))


def _columns(wanted: Sequence[Dimension], figure: Box, scale: float) -> tuple[list[Laid], Box]:
    """Return the dimensions upwards in columns beside the figure, and the box that takes them in."""
    done: list[Laid] = []
    box = figure
    for side in (-1.0, 1.0):
        own = [one for one in wanted if one.way is Way.UP and one.inside is None and one.side == side]
        for depth, one in rows(own, scale, 1):
            at = (figure.left if side < 0 else figure.right) + side * (FIRST + depth * COLUMN)
            done.append(upward(one, at, scale))
            box = box.with_([(at, figure.low)])
    return done, box


def _across(wanted: Sequence[Dimension], box: Box, scale: float) -> list[Laid]:
    """Return the dimensions across in rows below and above."""
    done: list[Laid] = []
    for side in (-1.0, 1.0):
        own = [one for one in wanted if one.way is Way.ACROSS and one.side == side]
        for depth, one in rows(own, scale, 0):
            at = (box.low if side < 0 else box.high) + side * (FIRST + depth * PITCH)
            done.append(sideways(one, at, scale))
    return done


def _bounds(plain: Iterable[Mark], wanted: Iterable[Dimension], scale: float) -> Box:
    points = [point for mark in plain for point in _points(scaled(mark, scale))]
    for one in wanted:
        points += [(u * scale, v * scale) for u, v in (one.start, one.end)]
        if one.way is Way.ALONG and one.offset:
            du, dv = _aside(one)
            points += [(u * scale + du, v * scale + dv) for u, v in (one.start, one.end)]
    return Box(*points[0], *points[0]).with_(points)


def _points(mark: Mark) -> Sequence[Point]:
    """Return the points between which a mark lies, of marks in mm of paper."""
    if isinstance(mark, Line):
        return mark.points
    if isinstance(mark, Circle):
        (u, v), r = mark.centre, mark.radius
        return ((u - r, v - r), (u + r, v + r))
    return mark.corners()


def _corners(text: Text, scale: float) -> tuple[Point, ...]:
    return replace(text, at=(text.at[0] * scale, text.at[1] * scale)).corners()


def _beside(one: Dimension, scale: float) -> Laid:
    """Return a dimension that stands beside what it measures."""
    start = (one.start[0] * scale, one.start[1] * scale)
    end = (one.end[0] * scale, one.end[1] * scale)
    if one.way is Way.ANGLE:
        apex = (one.apex[0] * scale, one.apex[1] * scale)
        marks, middle = arc(start, end, apex, one.side)
        half = half_of(one.letter, LETTER, bold=True)
        away = math.dist(middle, apex)
        out = ((middle[0] - apex[0]) / away, (middle[1] - apex[1]) / away)
        off = abs(out[0]) * half[0] + abs(out[1]) * half[1] + 0.7
        spots = tuple((middle[0] + s * off * out[0], middle[1] + s * off * out[1]) for s in (1.0, -1.0))
        spots += (*around(start, half), *around(end, half))
        return Laid(one, tuple(marks), Label(one.letter, LETTER, True, spots, middle))
    if start == end:
        return laid(one, arrowed(start, end), start, end)
    du, dv = _aside(one)
    first, last = (start[0] + du, start[1] + dv), (end[0] + du, end[1] + dv)
    return laid(one, [*extension(start, first), *extension(end, last), *arrowed(first, last)], first, last)


def _aside(one: Dimension) -> Point:
    """Return how far a dimension line is moved off its points, mm of paper."""
    du, dv = one.end[0] - one.start[0], one.end[1] - one.start[1]
    away = math.hypot(du, dv)
    return (0.0, 0.0) if away == 0 else (-dv / away * one.offset, du / away * one.offset)
