"""What a page needs to turn the engine: numbers that were computed, at every whole degree of the cycle.

Lengths are whole tenths of a micrometre, cosines and sines whole parts in 100,000; None where a value is not known. Points are
in millimetres of the picture, down from its upper edge, as a page counts.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from tallstack.geometry.core.frames import Array

from ..page.wording import steady
from .engine import numbers, series
from .lines import Mark, Point, View
from .parts import Moved
from .sheet import ratio
from .trace import HALF_WAY, PER_DEGREE, across

if TYPE_CHECKING:
    from ..page.model import Turn
    from .engine import Engine

FINE, FINER = 10_000, 100_000


def moving_marks(engine: Engine, place: int, view: View) -> list[tuple[str, list[Mark]]]:
    """Return the lines of every part in mm of paper at one angle, each with the name of its element."""
    there = numbers(engine.turning, place)
    return [
        (f"part-{index}", list(View("", "", part.posed(there), view.origin, view.scale).on_page()))
        for index, part in enumerate(engine.parts)
    ]


def turned_caption(engine: Engine, scale: float) -> tuple[str, str]:
    """Return what stands before and after the crank's place beneath the engine; scale : of mm, 2 where it is half as large."""
    after = f"; printed, to scale {ratio(scale)}" if engine.to_scale else "; not to scale"
    return "the engine from the front, ", after


def turning_data(turn: Turn, traced: list[str]) -> dict[str, Any]:
    """Return everything that moves, for the page's own script.

    turn : the engine on paper;  traced : cylinders that have a trace
    """
    engine, turning, picture = turn.engine, turn.turning, turn.picture.drawing
    view, there = picture.views[0], numbers(engine.turning, turn.place)

    def page(point: Point) -> list[float]:
        placed = view.place(point)
        return [round(steady(placed[0]), 3), round(steady(picture.height - placed[1]), 3)]

    def moved(one: Moved) -> dict[str, Any]:
        scale = view.scale
        ways = [
            [name, round(steady(way[0] * scale), 5), round(steady(-way[1] * scale), 5)]
            for name, way in one.ways
        ]
        return {"at": page(one.at), "ways": ways}

    parts = [
        {
            "from": moved(part.start),
            "to": moved(part.end),
            "drawn": [page(part.start.where(there)), page(part.end.where(there))],
        }
        for part in engine.parts
    ]
    used = {name for part in engine.parts for one in (part.start, part.end) for name, _ in one.ways}
    return {
        "caption": turned_caption(engine, round(1 / view.scale, 3)),
        "first": round(math.degrees(float(turning.crank[0]))),
        "numbers": {
            name: _whole(values, _fineness(name)) for name, values in series(engine.turning) if name in used
        },
        "per_mm": FINE,
        "fineness": {name: _fineness(name) for name in sorted(used)},
        "parts": parts,
        "cylinders": [
            {
                "name": name,
                "own": [round(steady(value), 3) for value in np.degrees(own).tolist()],
                "below": None
                if name not in turning.cylinders
                else _whole(turning.cylinders[name].below, FINE),
                "trace": traced.index(name) if name in traced else None,
            }
            for name, own in turning.own.items()
        ],
        "valves": [
            {
                "name": name,
                "cylinder": list(turning.own).index(name.rpartition(".")[0]),
                "lift": _whole(valve.lift, FINE),
                "drop": None if valve.drop is None else _whole(valve.drop, FINE),
                "gap": None if valve.gap is None else _whole(valve.gap, FINE),
            }
            for name, valve in turning.valves.items()
        ],
        "traces": {"middle": across(0.0), "degree": PER_DEGREE, "half": HALF_WAY},
    }


def _fineness(name: str) -> int:
    return FINER if name.endswith((".cosine", ".sine")) else FINE


def _whole(values: Array, fineness: int) -> list[int | None]:
    return [
        round(steady(value * fineness)) if math.isfinite(value) else None
        for value in np.asarray(values).tolist()
    ]
