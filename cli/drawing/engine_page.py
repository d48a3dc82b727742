"""The page of the whole engine: its front view at one crank angle, and what its parts stand at there."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from tallstack.geometry.clearance.turning import Turning

from ..page.wording import in_one
from .engine import Engine
from .lines import Drawing, Item, Line, Stroke, Text, View, extent, measured, width
from .sheet import (
    CAUTION,
    DASHED,
    MARGIN,
    NOTE,
    NOTE_LINE,
    PAGE,
    SCALES,
    TITLE,
    TOLD,
    ratio,
    shortened,
    wrapped,
)

HEADER = 16.0
ROWS = (3.4, 3.2, 3.0, 2.8, 2.6, 2.4, 2.2, 2.0)  # sizes of the values beside the view
ROW = 1.6  # times the size, from row to row


Said = Callable[[str], str]  # words with their lengths in "mm" or in "in"


class Room(NamedTuple):
    """One way to lay the page: its size, and what is left for the view."""

    wide: float
    high: float
    lines: list[str]  # the notes
    size: float  # of the values beside the view
    beside: float  # how wide they are
    scale: float  # of the view, 2 where it is half as large


def _room(
    paper: tuple[float, float],
    box: tuple[float, float],
    notes: Sequence[str],
    rows: Sequence[tuple[Said, bool]],
) -> Room:
    wide, high = paper
    lines = wrapped(notes, wide - 2 * MARGIN, NOTE)
    tall = high - HEADER - 2 * MARGIN - len(lines) * NOTE_LINE - 2
    size = next((one for one in ROWS if len(rows) * ROW * one <= tall), ROWS[-1])
    beside = max((width(say(unit), size, bold) for say, bold in rows for unit in ("mm", "in")), default=0.0)
    scale = max(box[0] / (wide - 2 * MARGIN - beside - 6), box[1] / tall)
    return Room(wide, high, lines, size, beside, scale)


def page(title: str, units: str, engine: Engine, turning: Turning, place: int) -> Drawing:
    """Return the page at one of the angles of `turning`, which tells the values beside the view.

    It lies or stands, whichever shows the engine larger.
    """
    items = engine.posed(place)
    left, low, right, high = extent(items)
    notes = [*engine.notes, *([guessed(turning)] if turning.guessed else []), CAUTION, DASHED]
    rows = values(turning, place)
    ways = [_room(paper, (right - left, high - low), notes, rows) for paper in (PAGE, PAGE[::-1])]
    room = min(ways, key=lambda one: round(one.scale, 6))
    scale = room.scale
    if engine.to_scale:
        scale = next((one for one in SCALES if one >= scale), SCALES[-1])
    foot = MARGIN + len(room.lines) * NOTE_LINE + 2
    top = room.high - MARGIN
    origin = (
        MARGIN + (room.wide - 2 * MARGIN - room.beside - 6 - (right - left) / scale) / 2 - left / scale,
        foot + (top - HEADER - foot - (high - low) / scale) / 2 - low / scale,
    )
    degrees = math.degrees(float(turning.crank[place]))
    shown = f"to scale {ratio(scale)} on A4" if engine.to_scale else "not to scale"
    told = f"the engine from the front, {at_crank(degrees, next(iter(turning.own)))}; {shown}"
    said: list[Item] = [
        Text((MARGIN, top - 4), shortened(title, room.wide - 2 * MARGIN, TITLE), TITLE, bold=True),
        Text((MARGIN, top - 9.2), told, TOLD),
        Line(((MARGIN, top - 11.5), (room.wide - MARGIN, top - 11.5)), Stroke.FACE),
    ]
    across, down = room.wide - MARGIN - room.beside, top - HEADER - room.size
    for say, bold in rows:
        said.append(measured((across, down), units, say, room.size, bold=bold))
        down -= ROW * room.size
    for index, words in enumerate(room.lines):
        said.append(Text((MARGIN, MARGIN + (len(room.lines) - 1 - index) * NOTE_LINE + 1), words, NOTE))
    view = View("engine", "FRONT VIEW: along the crankshaft", items, origin, 1 / scale)
    return Drawing(
        f"{title}: the engine", told, room.wide, room.high, (view, View("page", title, tuple(said)))
    )


def guessed(turning: Turning) -> str:
    """Return whose firing angle was guessed, in words."""
    names = " and ".join(turning.guessed)
    return f"fires_at of {names} is not entered: drawn as if it fired at the first of its two top centres."


def at_crank(degrees: float, cylinder: str) -> str:
    """Return a crank angle in words."""
    if abs(degrees) < 0.05:
        return f"at {cylinder}'s overlap top centre"
    side = "after" if degrees > 0 else "before"
    return f"{abs(degrees):.4g} degrees {side} {cylinder}'s overlap top centre"


def values(turning: Turning, place: int) -> list[tuple[Said, bool]]:
    """Return what stands beside the view, and whether it is a heading."""
    found: list[tuple[Said, bool]] = []

    def add(words: str, value: float | None = None, bold: bool = False) -> None:
        found.append((lambda unit: words if value is None else f"{words} {in_one(value, unit)}", bold))

    for cylinder, own in turning.own.items():
        degrees = math.degrees(float(own[place]))
        side = "after" if degrees >= 0 else "before"
        add(cylinder, bold=True)
        add(f"{abs(degrees):.4g} deg {side} its overlap top")
        moving = turning.cylinders.get(cylinder)
        if moving is not None and math.isfinite(moving.below[place]):
            add("piston below its top", float(moving.below[place]))
        for name, valve in turning.valves.items():
            if name.rpartition(".")[0] != cylinder:
                continue
            port = name.rpartition(".")[2]
            add(f"{port} lift", float(valve.lift[place]))
            for word, row in (("drop", valve.drop), ("gap", valve.gap)):
                if row is not None and math.isfinite(row[place]):
                    add(f"{port} {word}", float(row[place]))
        add("")
    return found
