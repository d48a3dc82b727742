"""A bore read at three heights, across the wrist pin, along it, and swept round: where each reading is taken."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from tallstack.geometry.piston.bore_entries import ACROSS, ALONG, HEIGHTS, LARGEST, READINGS

from ...drawing.lines import Line, Mark, Stroke
from ...drawing.solids import body
from .marks import Frame, between
from .spots import WIDE, Place, Pose, Spots, drawn

HIGH = 250.0
FRAME = Frame(1.0, WIDE / 2, 240.0)
RADIUS, WALL, LONG = 46.0, 10.0, 226.0
LEVELS = dict(zip(HEIGHTS, (190.0, 112.0, 34.0), strict=True))
SWEPT = 15.0  # how much lower the largest of a height is drawn


@cache
def _body() -> str:
    """Return the cylinder, cut through."""
    marks: list[Mark] = [Line(((0.0, -4.0), (0.0, LONG + 6)), Stroke.AXIS)]
    for side in (-1.0, 1.0):
        inner, outer = side * RADIUS, side * (RADIUS + WALL)
        marks.append(body(((inner, 0.0), (inner, LONG), (outer, LONG), (outer, 0.0)), known=True))
    return FRAME.markup(marks)


@cache
def _places() -> Mapping[str, Place]:
    """Return every place: what lies across the pin on the left, along it on the right, the largest under either."""
    found = {}
    for height in HEIGHTS:
        for way, by, side in ((ACROSS, SWEPT, -1), (ALONG, 0.0, 1), (LARGEST, -SWEPT, 1)):
            level = LEVELS[height] + by
            start, end = FRAME.at((-RADIUS, level)), FRAME.at((RADIUS, level))
            edge = start if side < 0 else end
            word = f"{height} {way}"
            found[f"{READINGS}.{height}_{way}"] = Place(side, edge, between(start, end), word=word)
    return found


def bore(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the bore; facts : none are asked for."""
    del facts
    own = {
        entry if entry.startswith(READINGS) else f"{READINGS}.{entry}": one for entry, one in spots.items()
    }
    svg = drawn("bore", _body(), _places(), own, HIGH)
    return Pose(
        svg,
        "The gauge at the top, in the middle and at the bottom of the rings' travel: across the wrist pin, along it, and swept "
        "round to where it reads most.",
    )
