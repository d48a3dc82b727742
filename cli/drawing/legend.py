"""The legend: every entry of the job that is drawn or sketched, with its letter and its value."""

from __future__ import annotations

from collections.abc import Sequence

from ..job.entries.letters import Lettered
from .lines import Anchor, Item, Line, Point, Stroke, Text, width

LETTER_COLUMN = 7.0  # mm of paper
SIZE, PITCH = 2.4, 4.1
HEAD = 5.0
APART = 1.5
LONGEST = 31  # letters of an entry in one line
Rows = Sequence[tuple[Lettered, str]]


def width_of(rows: Rows) -> float:
    """Return how wide the legend is, mm of paper."""
    entries = max((width(part, SIZE) for row, _ in rows for part in _parts(row.entry)), default=0.0)
    values = max((width(value, SIZE) for _, value in rows), default=0.0)
    heads = sum(width(head, SIZE, bold=True) for head in ("LETTER, ENTRY", "VALUE, mm"))
    return max(LETTER_COLUMN + entries + APART + values, heads + 2 * APART)


def items(rows: Rows, unit: str, corner: Point, floor: float) -> tuple[Item, ...]:
    """Return the legend's lines and texts.

    unit : that of bare numbers, in words;  corner : its upper left corner;  floor : where the page ends; both mm of paper
    """
    lines = sum(len(_parts(row.entry)) for row, _ in rows)
    pitch = min(PITCH, (corner[1] - HEAD - floor) / max(1, lines))
    size = min(SIZE, pitch * 0.72)
    right = corner[0] + width_of(rows)
    found: list[Item] = [
        Text((corner[0], corner[1] - 2.5), "LETTER, ENTRY", SIZE, bold=True),
        Text((right, corner[1] - 2.5), f"VALUE{unit}", SIZE, Anchor.END, bold=True),
    ]
    at = corner[1] - HEAD
    previous = ""
    for row, value in rows:
        table = row.entry.partition(".")[0]
        if table != previous:
            found.append(Line(((corner[0], at), (right, at)), Stroke.THIN))
            previous = table
        parts = _parts(row.entry)
        base = at - pitch + 0.42 * size
        found.append(Text((corner[0], base), row.letter, size * 1.1, bold=True))
        found.append(Text((right, base), value, size, Anchor.END))
        for index, part in enumerate(parts):
            found.append(Text((corner[0] + LETTER_COLUMN, base - index * pitch), part, size))
        at -= pitch * len(parts)
    found.append(Line(((corner[0], at), (right, at)), Stroke.THIN))
    return tuple(found)


def _parts(entry: str) -> tuple[str, ...]:
    """Return an entry in one line, or in two where it is long."""
    if len(entry) <= LONGEST:
        return (entry,)
    table, _, name = entry.rpartition(".")
    return (f"{table}.", f"   {name}")
