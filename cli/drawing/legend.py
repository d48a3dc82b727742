"""The legend: every letter of a drawing with what it is called and its value; what has no place in it stands below.

As large as its column takes it, in two columns where one would be too small. It leaves the drawing its width: where
not even its smallest letters would, what has no place in the drawing is counted, and the job's sheet lists it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from .lines import OTHER, Anchor, Item, Line, Point, Stroke, Text, width

SIZES = (3.0, 2.8, 2.6, 2.4, 2.2)  # mm of paper
SMALLEST = 1.8
LINE, HEAD = 1.62, 2.1  # times the size: from row to row, of the heads
APART, BETWEEN = 2.0, 5.0  # between name and value, between two columns
NOT_DRAWN = "NOT IN THE DRAWING"
ELSEWHERE = "{} more entries: the job's sheet lists them"


class Row(NamedTuple):
    """One letter."""

    letter: str
    name: str
    value: str
    other: str = ""  # in the other unit, of a length
    table: str = ""  # rows of one table stand together


class Legend(NamedTuple):
    """A legend laid out."""

    rows: tuple[Row | str, ...]  # a word is a head, or what is told below one
    size: float
    columns: int
    each: float  # width of a column

    @property
    def wide(self) -> float:
        """How wide it is, mm of paper."""
        return self.columns * self.each + (self.columns - 1) * BETWEEN

    @property
    def most(self) -> int:
        """How many rows a column has."""
        return -(-len(self.rows) // self.columns)


def legend(drawn: Sequence[Row], rest: Sequence[Row], units: str, high: float, wide: float) -> Legend:
    """Return the legend laid out; rest : what has no place in the drawing;  high, wide : at most, mm of paper."""
    every: tuple[Row | str, ...] = (*drawn, *([NOT_DRAWN] if rest else []), *rest)
    told: tuple[Row | str, ...] = (*drawn, *([NOT_DRAWN, ELSEWHERE.format(len(rest))] if rest else []))
    tries = [(rows, size, columns) for rows in (every, told) for columns in (1, 2) for size in SIZES]
    for rows, size, columns in (*tries, (told, SMALLEST, 1), (told, SMALLEST, 2)):
        found = Legend(rows, size, columns, _column(rows, units, size))
        if HEAD * size + found.most * LINE * size <= high and found.wide <= wide:
            break
    return found


def _letters(rows: Sequence[Row | str], size: float) -> float:
    """Return how wide the column of letters is."""
    letters = (width(one.letter, size * 1.1, bold=True) for one in rows if isinstance(one, Row))
    return max(letters, default=0.0) + 0.6 * size


def _column(rows: Sequence[Row | str], units: str, size: float) -> float:
    names = max((width(one.name, size) for one in rows if isinstance(one, Row)), default=0.0)
    values = (width(one, size) for row in rows if isinstance(row, Row) for one in (row.value, row.other))
    head = width(f"VALUE, {units}", size, bold=True)
    heads = max((width(one, size, one.isupper()) for one in rows if isinstance(one, str)), default=0.0)
    return max(_letters(rows, size) + names + APART + max(head, *values, 0.0), heads)


def items(one: Legend, units: str, corner: Point) -> tuple[Item, ...]:
    """Return the legend's lines and texts; corner : its upper left corner, mm of paper."""
    found: list[Item] = []
    pitch = LINE * one.size
    letters = _letters(one.rows, one.size)
    for column in range(one.columns):
        rows = one.rows[column * one.most : (column + 1) * one.most]
        left = corner[0] + column * (one.each + BETWEEN)
        right, at = left + one.each, corner[1] - HEAD * one.size
        base = corner[1] - one.size
        found.append(Text((left, base), "LETTER", one.size, bold=True))
        heads = [f"VALUE, {unit}" for unit in (units, OTHER[units])]
        found.append(
            Text((right, base), heads[0], one.size, Anchor.END, bold=True, unit=units, other=heads[1])
        )
        previous = ""
        for row in rows:
            table = NOT_DRAWN if isinstance(row, str) else row.table
            if table != previous:
                found.append(Line(((left, at), (right, at)), Stroke.THIN))
                previous = table
            base = at - 0.5 * pitch - 0.36 * one.size
            if isinstance(row, str):
                found.append(Text((left, base), row, one.size, bold=row.isupper()))
            else:
                found.append(Text((left, base), row.letter, one.size * 1.1, bold=True))
                found.append(Text((left + letters, base), row.name, one.size))
                found.append(
                    Text((right, base), row.value, one.size, Anchor.END, unit=units, other=row.other)
                )
            at -= pitch
        found.append(Line(((left, at), (right, at)), Stroke.THIN))
    return tuple(found)
