"""Where dimension lines and their labels go, so that none lies on another.

A dimension across is laid in a row below or above the view, one upwards in a column beside it: the
shortest next to the view, each in the first row in which nothing is in its way. Everything else is
labelled at the view's edge, in the order of height, with a leader to what it measures.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from .arrows import arc, arrowed, extension
from .lines import Anchor, Circle, Dimension, Fill, Item, Line, Mark, Point, Stroke, Text, Way, width
from .rows import GAP, LETTER, SIZE, Box, middles, row_width, rows, sideways, upward, with_marks

# all in mm of paper
PITCH = 4.0  # from row to row
FIRST = 2.6  # from the view to the first row
LINE = 3.1  # from line to line of a label
LEADER = 2.2  # from a view's edge to its labels
LONGEST = 28  # letters of an entry in one line of a label


@dataclass(frozen=True, slots=True)
class Placed:
    """A view's items with every dimension in its place, and the paper it takes up."""

    items: tuple[Item, ...]
    box: Box


def place(items: Sequence[Item], scale: float, label_side: float) -> Placed:
    """Return a view's items with lines and texts for every dimension, in mm of the view.

    scale : mm of paper for a mm of the view;  label_side : 1 labels stand at the right, -1 at the left
    """
    plain = [one for one in items if not isinstance(one, Dimension)]
    wanted = [one for one in items if isinstance(one, Dimension)]
    figure = _tall_enough(_bounds(plain, wanted, scale), wanted)
    within = [
        upward(one, one.inside * scale, middles(one, figure, scale, 1)[0], scale)
        for one in wanted
        if one.inside is not None
    ]
    columns, box = _columns(wanted, figure, scale)
    labelled, box = _at_edge(wanted, box, label_side, scale)
    across, box = _across(wanted, box, scale)
    return Placed((*plain, *within, *columns, *labelled, *across), box)


def _columns(wanted: Sequence[Dimension], figure: Box, scale: float) -> tuple[list[Dimension], Box]:
    """Return the dimensions upwards in columns beside the figure, and the box that takes them in."""
    done: list[Dimension] = []
    box = figure
    for side in (-1.0, 1.0):
        own = [one for one in wanted if one.way is Way.UP and one.inside is None and one.side == side]
        laid = rows(own, figure, scale, 1)
        for depth, middle, one in laid:
            # a label stands to the left of its line, so a column on the right needs room before it
            at = figure.left - FIRST - depth * PITCH if side < 0 else figure.right + (depth + 1) * PITCH
            done.append(upward(one, at, middle, scale))
        used = FIRST + PITCH * (1 + max(depth for depth, _, _ in laid)) if laid else 0.0
        box = replace(box, left=box.left - used) if side < 0 else replace(box, right=box.right + used)
    return done, box


def _across(wanted: Sequence[Dimension], box: Box, scale: float) -> tuple[list[Dimension], Box]:
    """Return the dimensions across in rows below and above, and the box that takes them in."""
    across = [one for one in wanted if one.way is Way.ACROSS]
    least = max((row_width(one) for one in across), default=0.0) + 2 * GAP
    more = max(0.0, least - box.wide) / 2
    box = replace(box, left=box.left - more, right=box.right + more)
    done: list[Dimension] = []
    low, high = box.low, box.high
    for side in (-1.0, 1.0):
        for depth, middle, one in rows([one for one in across if one.side == side], box, scale, 0):
            at = box.low - PITCH - depth * PITCH if side < 0 else box.high + FIRST + depth * PITCH
            done.append(sideways(one, at, middle, scale))
            low, high = min(low, at - GAP), max(high, at + PITCH)
    return done, replace(box, low=low, high=high)


def _bounds(plain: Iterable[Mark], wanted: Iterable[Dimension], scale: float) -> Box:
    points: list[Point] = []
    for one in plain:
        if isinstance(one, Line):
            points += one.points
        elif isinstance(one, Circle):
            (u, v), r = one.centre, one.radius
            points += [(u - r, v - r), (u + r, v + r)]
        else:
            points += [(u / scale, v / scale) for u, v in _corners(one, scale)]
    for dimension in wanted:
        points += [dimension.start, dimension.end]
        if dimension.way is Way.ALONG and dimension.offset:
            du, dv = _aside(dimension, scale)
            points += [(u + du, v + dv) for u, v in (dimension.start, dimension.end)]
    across, up = [one[0] * scale for one in points], [one[1] * scale for one in points]
    return Box(min(across), min(up), max(across), max(up))


def _corners(text: Text, scale: float) -> tuple[Point, ...]:
    return replace(text, at=(text.at[0] * scale, text.at[1] * scale)).corners()


def _tall_enough(figure: Box, wanted: Sequence[Dimension]) -> Box:
    """Return the figure's box made high enough for every label beside it."""
    upwards = [one for one in wanted if one.way is Way.UP]
    labels = sum(_label_height(one) for one in wanted if one.way in (Way.ALONG, Way.ANGLE))
    needed = max([labels, *(row_width(one) + 2 for one in upwards)])
    lacking = max(0.0, needed - (figure.high - figure.low)) / 2
    return replace(figure, low=figure.low - lacking, high=figure.high + lacking)


def _at_edge(
    wanted: Sequence[Dimension], room: Box, side: float, scale: float
) -> tuple[list[Dimension], Box]:
    """Return the other dimensions with their labels one below the other at a view's edge, each with its leader.

    And the box that takes them in.
    """
    wanted = [one for one in wanted if one.way in (Way.ALONG, Way.ANGLE)]
    if not wanted:
        return [], room
    edge = room.right if side > 0 else room.left
    start = edge + side * LEADER
    drawn = [(one, *_beside(one, scale)) for one in wanted]
    drawn.sort(key=lambda each: (-each[2][1], each[0].entry))
    for upper in range(len(drawn) - 1):  # neighbours whose leaders would cross change places
        tops = _spread([(each[2][1], _label_height(each[0])) for each in drawn], room)
        first, second = drawn[upper][2], drawn[upper + 1][2]
        heights = [top - 0.7 * SIZE for top in tops]
        if _cross((start, heights[upper]), first, (start, heights[upper + 1]), second):
            drawn[upper], drawn[upper + 1] = drawn[upper + 1], drawn[upper]
    tops = _spread([(each[2][1], _label_height(each[0])) for each in drawn], room)
    found = []
    for (one, marks, target), top in zip(drawn, tops, strict=True):
        near = (start, top - 0.7 * SIZE)
        leader = Line((target, near), Stroke.THIN)
        dot = Circle(target, 0.45, Stroke.THIN, Fill.BLACK)
        found.append(with_marks(one, [*marks, leader, dot, *_edge_label(one, near, side)], scale))
    used = max(_label_width(one) for one in wanted) + GAP + LEADER
    return found, replace(room, right=room.right + used) if side > 0 else replace(room, left=room.left - used)


def _cross(start: Point, end: Point, other_start: Point, other_end: Point) -> bool:
    """Say whether two lines cross."""

    def turn(first: Point, second: Point, third: Point) -> bool:
        across = (second[0] - first[0]) * (third[1] - first[1])
        return across > (second[1] - first[1]) * (third[0] - first[0])

    return turn(start, end, other_start) != turn(start, end, other_end) and turn(
        other_start, other_end, start
    ) != turn(other_start, other_end, end)


def _spread(wanted: Sequence[tuple[float, float]], room: Box) -> list[float]:
    """Return the top of every label, near its target and clear of the others.

    wanted : target and height of each label, from the highest target to the lowest
    """
    tops: list[float] = []
    ceiling = room.high
    for target, height in wanted:
        tops.append(min(target + height / 2, ceiling))
        ceiling = tops[-1] - height
    floor = room.low
    for index in range(len(tops) - 1, -1, -1):
        tops[index] = max(tops[index], floor + wanted[index][1])
        floor = tops[index]
    return tops


def _edge_label(one: Dimension, near: Point, side: float) -> list[Mark]:
    anchor = Anchor.START if side > 0 else Anchor.END
    letter = width(one.letter, LETTER, bold=True)
    lines = _label_lines(one)
    first = lines[0]
    u, v = near[0] + side * 0.8, near[1] - 0.35 * SIZE
    if side > 0:
        marks: list[Mark] = [
            Text((u, v), one.letter, LETTER, bold=True),
            Text((u + letter + 1.2, v), first, SIZE),
        ]
    else:
        marks = [
            Text((u, v), first, SIZE, anchor),
            Text((u - width(first, SIZE) - 1.2, v), one.letter, LETTER, anchor, bold=True),
        ]
    marks += [Text((u, v - LINE * (index + 1)), words, SIZE, anchor) for index, words in enumerate(lines[1:])]
    return marks


def _label_lines(one: Dimension) -> list[str]:
    """Return a label's lines: the entry, in two where it is long, the value, and what else is to be said."""
    table, _, name = one.entry.rpartition(".")
    entry = [one.entry] if len(one.entry) <= LONGEST else [f"{table}.", name]
    return [*entry, one.value, *(part.strip() for part in one.remark.split(",") if part)]


def _label_width(one: Dimension) -> float:
    letter = width(one.letter, LETTER, bold=True) + 1.2
    lines = _label_lines(one)
    return max(letter + width(lines[0], SIZE), *(width(words, SIZE) for words in lines[1:])) + 0.8


def _label_height(one: Dimension) -> float:
    return LINE * len(_label_lines(one)) + 1.2


def _beside(one: Dimension, scale: float) -> tuple[list[Mark], Point]:
    """Return the dimension line of what is labelled at the edge, and where its leader points."""
    start = (one.start[0] * scale, one.start[1] * scale)
    end = (one.end[0] * scale, one.end[1] * scale)
    if one.way is Way.ANGLE:
        return arc(start, end, (one.apex[0] * scale, one.apex[1] * scale), one.side)
    if start == end:
        return [], start
    du, dv = _aside(one, scale)
    first = (start[0] + du * scale, start[1] + dv * scale)
    last = (end[0] + du * scale, end[1] + dv * scale)
    marks = [*extension(start, first), *extension(end, last), *arrowed(first, last)]
    return marks, ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)


def _aside(one: Dimension, scale: float) -> Point:
    """Return how far a dimension line is moved off its points, in mm of the view."""
    du, dv = one.end[0] - one.start[0], one.end[1] - one.start[1]
    away = math.hypot(du, dv)
    if away == 0:
        return (0.0, 0.0)
    return (-dv / away * one.offset / scale, du / away * one.offset / scale)
