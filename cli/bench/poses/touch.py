"""Two valves of a cylinder pushed together: where each edge, the stems' angle and what spreads off are read."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

from ...drawing import touch_sketch as sketch
from ...drawing.lines import Point
from .marks import Frame, Strokes, between, middle
from .spots import WIDE, Place, Pose, Spots, drawn

HIGH = 216.0
FRAME = Frame(0.9, WIDE / 2, 126.0)
STEPS = 12
TABLE = "valves_touch"


@cache
def _body() -> str:
    """Return both valves, their dials, and the stems seen along the cylinder."""
    return FRAME.markup(sketch.outline())


def _arc(apex: Point, radius: float, first: float, last: float) -> tuple[Point, ...]:
    turns = [first + (last - first) * step / STEPS for step in range(STEPS + 1)]
    return FRAME.all((apex[0] + radius * math.sin(one), apex[1] + radius * math.cos(one)) for one in turns)


@cache
def _places() -> Mapping[str, Place]:
    """Return every place."""
    found = {}
    for side, port in enumerate(("intake", "exhaust")):
        out = sketch.RADIUS + 4.0
        opened = sketch.OPEN[side]
        ends = FRAME.all((sketch.on_valve(side, 0.0, out), sketch.on_valve(side, 0.0, out, opened)))
        edges: Strokes = tuple(
            FRAME.all(
                (sketch.on_valve(side, 0.0, sketch.RADIUS, by), sketch.on_valve(side, 0.0, out + 2, by))
            )
            for by in (0.0, opened)
        )
        found[f"edge_{port}"] = Place(-1 if side == 0 else 1, middle(*ends), (*between(*ends), *edges))
    arc = _arc(sketch.APEX, sketch.ARC, -sketch.LEAN, sketch.LEAN)
    found["between_stems"] = Place(-1, arc[0], (arc,))
    heads = (sketch.CENTRES[1], sketch.FROM_ABOVE)
    turned = _arc(heads, sketch.TIPS + 8, math.pi / 2, math.pi / 2 - sketch.SPREAD)
    flat = FRAME.all((heads, (heads[0] + sketch.TIPS + 10, heads[1])))
    found["spread_off"] = Place(1, turned[-1], (turned, flat))
    met = FRAME.at(sketch.on_valve(0, 0.0, -sketch.RADIUS, sketch.OPEN[0]))
    found["together"] = Place(1, met, word="together")
    return {f"{TABLE}.{entry}": place for entry, place in found.items()}


def touch(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the two valves; facts : none are asked for."""
    del facts
    own = {entry if entry.startswith(TABLE) else f"{TABLE}.{entry}": one for entry, one in spots.items()}
    svg = drawn("touch", _body(), _places(), own, HIGH)
    return Pose(
        svg,
        "Light springs, piston far down, both dials nought when closed: one valve held open, the other opened until they touch. "
        "Below: seen along the cylinder.",
    )
