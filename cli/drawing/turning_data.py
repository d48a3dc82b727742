"""What a page needs to turn the engine: numbers that were computed, at every whole degree of the cycle.

Lengths are whole tenths of a micrometre, cosines and sines whole parts in 100,000; None where a value is not known. Points are
in millimetres of the picture, down from its upper edge, as a page counts. A least clearance is the one of `tallstack
clearance`, found between whole degrees too; what a page goes to is the whole degree next to it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from tallstack.geometry.clearance.clearances import PairClearance, ValveClearance
from tallstack.geometry.core.frames import Array
from tallstack.geometry.crank.heels import CYCLE, TURN
from tallstack.geometry.doubt.result import Result

from ..page.clearance_words import cells
from ..page.wording import steady
from .close_up import MIDDLE, CloseUp, close_up
from .engine import numbers, series
from .lines import Mark, Point, View
from .parts import Moved
from .sheet import ratio
from .trace import HALF_WAY, OnScreen, on_screen

if TYPE_CHECKING:
    from ..page.model import Turn
    from .engine import Engine

FINE, FINER = 10_000, 100_000


class Beside(NamedTuple):
    """What a page shows beside an engine that is turned."""

    traces: dict[str, OnScreen]  # by cylinder
    near: dict[str, CloseUp]  # by valve gear


def beside(turn: Turn, units: str) -> Beside:
    """Return what is known of it; units : "mm" or "in", which comes first."""
    if turn.clear is None:
        return Beside({}, {})
    traces = {
        cylinder: found
        for cylinder, here in turn.clear.situations.items()
        if (found := on_screen(units, here, [one for one in turn.clear.valves if one.train in here.trains]))
    }
    angles = {one.train: one.piston.angle for one in turn.clear.valves if one.piston is not None}
    near = {
        name: close_up(turn.mapping, name, over, angles.get(name, 0.0))
        for cylinder, here in turn.clear.situations.items()
        for name, over in here.valves.items()
        if name in turn.turning.valves and cylinder in turn.turning.cylinders
    }
    return Beside(traces, near)


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


def turning_data(turn: Turn, shown: Beside, units: str) -> dict[str, Any]:
    """Return everything that moves, for the page's own script.

    turn : the engine on paper;  units : "mm" or "in", which comes first
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
    pins = {part.name: part.start for part in engine.parts}
    used = {name for part in engine.parts for one in (part.start, part.end) for name, _ in one.ways}
    names = list(turning.valves)

    def cylinder(name: str, own: Array) -> dict[str, Any]:
        moving, pin = turning.cylinders.get(name), pins.get(f"{name}.conrod")
        heel = next((one.heel for one in turn.stations if one.cylinder == name), None)
        trace, apart = shown.traces.get(name), turning.between.get(name)
        pair = next((one.judged for one in _pairs(turn) if one.cylinder == name), None)
        return {
            "name": name,
            "own": [round(steady(value), 3) for value in np.degrees(own).tolist()],
            "below": None if moving is None else _whole(moving.below, FINE),
            "pin": None if pin is None else moved(pin),
            "valves": {
                port: names.index(f"{name}.{port}") if f"{name}.{port}" in names else None
                for port in ("intake", "exhaust")
            },
            "between": None if apart is None else _whole(apart, FINE),
            "least": _least(pair, units),
            "rests": None if heel is None else [round(math.degrees(one), 3) for one in heel],
            "set": None if heel is None else place_of(own, TURN + (heel.begins + heel.ends) / 2),
            "trace": None if trace is None else list(shown.traces).index(name),
        }

    def valve(name: str) -> dict[str, Any]:
        found, owner = turning.valves[name], name.rpartition(".")[0]
        judged = next((one.piston for one in _valves(turn) if one.train == name), None)
        near = shown.near.get(name)
        return {
            "name": name,
            "cylinder": list(turning.own).index(owner),
            "lift": _whole(found.lift, FINE),
            "drop": None if found.drop is None else _whole(found.drop, FINE),
            "gap": None if found.gap is None else _whole(found.gap, FINE),
            "on": "drop" if judged is None else judged.name,
            "least": _least(judged, units),
            "closest": None if judged is None else place_of(turning.own[owner], judged.angle),
            "near": None
            if near is None
            else {
                "opens": [round(steady(near.opens[0]), 5), round(steady(-near.opens[1]), 5)],
                "aside": round(steady(near.aside), 3),
                "to_scale": near.is_to_scale,
                "place": list(shown.near).index(name),
            },
        }

    frames = {name: one.frame for name, one in shown.traces.items()}
    return {
        "caption": turned_caption(engine, round(1 / view.scale, 3)),
        "first": round(math.degrees(float(turning.crank[0]))),
        "scale": view.scale,
        "near_middle": MIDDLE,
        "units": units,
        "numbers": {
            name: _whole(values, _fineness(name)) for name, values in series(engine.turning) if name in used
        },
        "per_mm": FINE,
        "fineness": {name: _fineness(name) for name in sorted(used)},
        "parts": parts,
        "cylinders": [cylinder(name, own) for name, own in turning.own.items()],
        "valves": [valve(name) for name in names],
        "traces": [
            {
                "middle": frame.across(0.0),
                "degree": frame.wide / (2 * HALF_WAY),
                "half": HALF_WAY,
                "mm": round(steady(frame.tall / (frame.high - frame.low)), 5),
                "low": round(steady(frame.low), 5),
                "high": round(steady(frame.high), 5),
            }
            for frame in frames.values()
        ],
    }


def place_of(own: Array, wanted: float) -> int:
    """Return which of a cylinder's own crank angles is next to the one wanted [rad], a cycle being a circle.

    Of the two ends of the cycle, which are one angle, the first is told.
    """
    apart = np.abs(np.mod(own - wanted + CYCLE / 2, CYCLE) - CYCLE / 2)
    return int(np.argmin(np.round(apart, 9)))


def _valves(turn: Turn) -> Sequence[ValveClearance]:
    return () if turn.clear is None else turn.clear.valves


def _pairs(turn: Turn) -> Sequence[PairClearance]:
    return () if turn.clear is None else turn.clear.pairs


def _least(judged: Result | None, units: str) -> dict[str, str] | None:
    """Return a least clearance in words; its lengths with the digits that its doubt supports."""
    if judged is None:
        return None
    one = cells(judged, units)
    return {
        **(
            {each.unit: each.shown() for each in one.both}
            if one.both
            else {"mm": "they meet", "in": "they meet"}
        ),
        "at": _at(judged.angle),
        "word": one.stands,
    }


def _at(angle: float) -> str:
    degrees = steady(round(math.degrees(angle), 1))
    return "at overlap" if not degrees else f"{abs(degrees):.1f}\u00b0 {'after' if degrees > 0 else 'before'}"


def _fineness(name: str) -> int:
    return FINER if name.endswith((".cosine", ".sine")) else FINE


def _whole(values: Array, fineness: int) -> list[int | None]:
    return [
        round(steady(value * fineness)) if math.isfinite(value) else None
        for value in np.asarray(values).tolist()
    ]
