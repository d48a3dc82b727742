"""A valve pushed down at top centre until it touches: where its drop, its lean and the room beside it are read."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

from ...drawing import drop_sketch as sketch
from ...drawing.lines import Line, Mark, Point, Stroke
from .marks import Frame, between, middle
from .spots import WIDE, Place, Pose, Spots, drawn

HIGH = 276.0
FRAME = Frame(1.17, WIDE / 2, 190.0)
ON_CROWN = (  # how far the valve goes down to a flat crown
    (sketch.CLOSED[1] - sketch.RADIUS * math.sin(sketch.LEAN) - sketch.CROWN) / math.cos(sketch.LEAN)
)
MEETS = {
    "pocket": "until its rim touches the floor of the pocket",
    "crown": "until its rim touches the crown",
}


def pushed(meets: str) -> float:
    """Return how far the valve is drawn pushed down."""
    return ON_CROWN if meets == "crown" else sketch.DROP


@cache
def _body(meets: str) -> str:
    """Return stack, piston and valve."""
    marks = [_met(one) if meets == "crown" else one for one in sketch.outline()]
    return FRAME.markup(marks)


def _met(mark: Mark) -> Mark:
    """Return a mark of the sketch as it is where the valve meets a flat crown."""
    if not isinstance(mark, Line) or not mark.closed:
        return mark
    if mark.stroke is Stroke.INDICATED:
        up = sketch.DROP - ON_CROWN
        by = (-up * math.sin(sketch.LEAN), up * math.cos(sketch.LEAN))
        return Line(tuple((u + by[0], v + by[1]) for u, v in mark.points), mark.stroke, closed=True)
    if mark.points[0] == (-sketch.PISTON, sketch.CROWN):
        flat = [
            one
            for one in mark.points
            if one[1] <= sketch.SKIRT or abs(one[0]) == sketch.PISTON or _is_hollow(one)
        ]
        return Line(tuple(flat), mark.stroke, closed=True, fill=mark.fill)
    return mark


def _is_hollow(one: Point) -> bool:
    return abs(one[0]) == 0.8 * sketch.PISTON


@cache
def _places(meets: str) -> Mapping[str, Place]:
    """Return every place."""
    far = pushed(meets)
    aside = -sketch.RADIUS - 4.0
    ends = FRAME.all((sketch.on_valve(0.0, aside), sketch.on_valve(0.0, aside, far)))
    edges = tuple(
        FRAME.all((sketch.on_valve(0.0, -sketch.RADIUS, by), sketch.on_valve(0.0, aside - 2, by)))
        for by in (0.0, far)
    )
    arc = tuple(
        (
            sketch.CLOSED[0] - sketch.ARC * math.sin(sketch.LEAN * step / 8),
            sketch.CLOSED[1] + sketch.ARC * math.cos(sketch.LEAN * step / 8),
        )
        for step in range(9)
    )
    wall = FRAME.all((sketch.on_valve(0.0, sketch.RADIUS, far), sketch.on_valve(0.0, sketch.NEAR_WALL, far)))
    found = {
        "measured_drop.drop": Place(-1, middle(*ends), (*between(*ends), *edges)),
        "measured_drop.lean": Place(1, FRAME.at(arc[0]), (FRAME.all(arc),)),
    }
    if meets != "crown":
        found["measured_drop.room"] = Place(1, middle(*wall), between(*wall))
    else:
        found["measured_drop.room"] = Place(1, wall[0])
    return found


def drop(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the drop; facts : "meets", what the valve touches, "pocket", "crown", or empty where nobody looked."""
    meets = str(facts.get("meets", ""))
    drawing = "crown" if meets == "crown" else "pocket"
    svg = drawn("drop", _body(drawing), _places(drawing), spots, HIGH)
    return Pose(
        svg,
        "Piston at top centre, both lifters on the base circle, a light checking spring: the valve pushed down "
        f"{MEETS.get(meets, 'until it touches')}.",
    )
