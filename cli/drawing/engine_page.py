"""The page of the whole engine: its front view at one crank angle, and what its parts stand at there."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tallstack.geometry.clearance.turning import Turning

from ..page.wording import length
from .engine import Engine, numbers
from .lines import Drawing, Item, Line, Stroke, Text, View, extent
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

BESIDE = 62.0  # width of the column of values
HEADER = 16.0
ROW = 4.4


def page(title: str, units: str, engine: Engine, turning: Turning, place: int) -> Drawing:
    """Return the page at one of the angles of `turning`."""
    items = engine.posed(numbers(turning, place))
    left, low, right, high = extent(items)
    notes = [f"Not drawn: {one}." for one in engine.undrawn] + [guessed(turning)] * bool(turning.guessed)
    lines = wrapped([*notes, CAUTION, DASHED], PAGE[0] - 2 * MARGIN, NOTE)
    foot = MARGIN + len(lines) * NOTE_LINE + 2
    room = (PAGE[0] - 2 * MARGIN - BESIDE, PAGE[1] - MARGIN - HEADER - foot)
    scale = next(
        (one for one in SCALES if (right - left) / one <= room[0] and (high - low) / one <= room[1]),
        SCALES[-1],
    )
    origin = (
        MARGIN + (room[0] - (right - left) / scale) / 2 - left / scale,
        foot + (room[1] - (high - low) / scale) / 2 - low / scale,
    )
    degrees = math.degrees(float(turning.crank[place]))
    told = f"the engine from the front, {at_crank(degrees, next(iter(turning.own)))}; to scale {ratio(scale)} on A4"
    said: list[Item] = [
        Text((MARGIN, PAGE[1] - MARGIN - 4), shortened(title, PAGE[0] - 2 * MARGIN, TITLE), TITLE, bold=True),
        Text((MARGIN, PAGE[1] - MARGIN - 9.2), told, TOLD),
        Line(((MARGIN, PAGE[1] - MARGIN - 11.5), (PAGE[0] - MARGIN, PAGE[1] - MARGIN - 11.5)), Stroke.FACE),
    ]
    across, down = PAGE[0] - MARGIN - BESIDE + 4, PAGE[1] - MARGIN - HEADER - 4
    for words, bold in values(units, turning, place):
        said.append(Text((across, down), words, TOLD, bold=bold))
        down -= ROW
    for index, words in enumerate(lines):
        said.append(Text((MARGIN, MARGIN + (len(lines) - 1 - index) * NOTE_LINE + 1), words, NOTE))
    view = View("engine", "FRONT VIEW: along the crankshaft", items, origin, 1 / scale)
    return Drawing(f"{title}: the engine", told, PAGE[0], PAGE[1], (view, View("page", title, tuple(said))))


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


def values(units: str, turning: Turning, place: int) -> Sequence[tuple[str, bool]]:
    """Return what stands beside the view, and whether it is a heading."""
    found: list[tuple[str, bool]] = []
    for cylinder, own in turning.own.items():
        degrees = math.degrees(float(own[place]))
        side = "after" if degrees >= 0 else "before"
        found.append((cylinder, True))
        found.append((f"{abs(degrees):.4g} deg {side} its overlap top", False))
        moving = turning.cylinders.get(cylinder)
        if moving is not None:
            found.append((f"piston below its top {length(float(moving.below[place]), units)}", False))
        for name, valve in turning.valves.items():
            if name.rpartition(".")[0] != cylinder:
                continue
            port = name.rpartition(".")[2]
            found.append((f"{port} lift {length(float(valve.lift[place]), units)}", False))
            for word, row in (("drop", valve.drop), ("gap", valve.gap)):
                if row is not None and math.isfinite(row[place]):
                    found.append((f"{port} {word} {length(float(row[place]), units)}", False))
        found.append(("", False))
    return found
