"""A checking rod between lifter and rocker, the valve closed: where its length, its lean and its ends are read."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

from ...drawing import sketch
from ...drawing.lines import Line, Mark, Point
from .lifters import DEEP, lifter
from .marks import Frame, arrow, between, middle
from .spots import WIDE, Place, Pose, Spots, drawn

HIGH = 276.0
FRAME = Frame(1.0, 131.0, 192.0)
READING, ROD = "measured_pushrod", "measured_pushrod.checking_rod"
BEYOND = {
    "centres": 0.0,
    "gauge": 0.75 * sketch.BALL,
}  # a ball's centre, where a length ends; else over the ends
ASIDE = 17.0  # of the rod, where its length is drawn
HELD = {
    "top": "the plunger up at its top stop, no load on it",
    "bottomed": "the plunger pressed down to its end",
    "down": "the plunger held down by a known amount",
    "solid checking lifter": "a solid checking lifter in place of the lifter",
}


@cache
def _body(plunger: str) -> str:
    """Return lobe, lifter, rod, rocker and valve."""
    marks: list[Mark] = []
    for one in sketch.outline(is_solid=True):
        marks += lifter(plunger) if is_lifter(one) else (one,)
    return FRAME.markup(marks)


def is_lifter(mark: Mark) -> bool:
    """Say whether a mark of the sketch is its solid lifter."""
    return isinstance(mark, Line) and mark.points[0] == (-13.0, -35.0)


def _at(side: int, target: Point, start: Point | None = None) -> Place:
    """Return the place of what is pointed at; start : where its arrow begins, else it stands there itself."""
    tip = FRAME.at(target)
    return Place(side, tip) if start is None else Place(side, FRAME.at(start), arrow(tip, FRAME.at(start)))


def _span(side: int, low: Point, high: Point, edges: tuple[tuple[Point, Point], ...] = ()) -> Place:
    """Return the place of what reaches from a point to another; edges : lines from the part to them."""
    start, end = FRAME.at(low), FRAME.at(high)
    return Place(side, middle(start, end), (*between(start, end), *(FRAME.all(one) for one in edges)))


@cache
def _places(read_as: str) -> Mapping[str, Place]:
    """Return every place; read_as : between which ends the rod is read."""
    beyond, long = BEYOND.get(read_as, sketch.BALL), sketch.LENGTH
    ends = (sketch.along(-beyond, ASIDE), sketch.along(long + beyond, ASIDE))
    edges = tuple((sketch.along(far), end) for far, end in zip((-beyond, long + beyond), ends, strict=True))
    length = _span(-1, *ends, edges)
    pitch = _at(-1, sketch.along(70.0, 2.4), sketch.along(70.0, 10.0))
    arc = tuple(
        (sketch.ARC * math.sin(sketch.LEAN * at / 4), sketch.ARC * math.cos(sketch.LEAN * at / 4))
        for at in range(5)
    )
    lean = Place(1, FRAME.at(arc[-1]), (FRAME.all(((0.0, 0.0), (0.0, sketch.ARC + 8))), FRAME.all(arc)))
    found = {
        f"{READING}.length": length,
        f"{ROD}.closed": length,
        f"{ROD}.turns": _at(-1, sketch.along(80.0, 2.4), sketch.along(80.0, 10.0)),
        **{f"{ROD}.{entry}": pitch for entry in ("threads_per_inch", "pitch")},
        **{f"{READING}.{entry}": lean for entry in ("lean", "lean.x", "lean.y")},
    }
    for end, far, out in (("low", 0.0, -1.0), ("high", long, 1.0)):
        tip = sketch.along(far, sketch.BALL)
        found[f"pushrod.ball_diameter_{end}"] = _at(-1, tip, sketch.along(far, sketch.BALL + 6))
        hole = sketch.along(far + out * sketch.BALL)
        found[f"pushrod.hole_{end}"] = _at(-1, hole, sketch.along(far + out * (sketch.BALL + 8), 6.0))
    stands = 8.5
    slack = _at(1, (sketch.TIP[0] + 2, sketch.TIP[1]), (sketch.TIP[0] + 14, sketch.TIP[1] - 5))
    found |= {
        "lifter.preload": _span(1, (stands, -3.0), (stands, -9.0)),
        f"{READING}.plunger.down": _span(1, (stands, 2.0), (stands, -3.0)),
        "lifter.plunger_travel": _span(1, (stands, -14.0), (stands, -22.0)),
        "lifter.lash": slack,
        "lifter.lash_at": slack._replace(word="lash at"),
        "rocker.ratio": _at(
            1, (sketch.SHAFT[0] + 5, sketch.SHAFT[1] + 9), (sketch.SHAFT[0] + 20, sketch.SHAFT[1] + 14)
        ),
        "valve.tip_height": _span(
            1,
            (sketch.TIP[0] + 16, 56.0),
            (sketch.TIP[0] + 16, sketch.TIP[1]),
            (((sketch.TIP[0] + 3, sketch.TIP[1]), (sketch.TIP[0] + 16, sketch.TIP[1])),),
        ),
    }
    return {**found, f"{READING}.tip_height": found["valve.tip_height"]._replace(word="stem tip")}


def rod(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the rod.

    facts : "solid", whether the lifter is; "as", between which ends it is read; "plunger", where it stood;
    "length", the one to order, empty: not known
    """
    plunger = "solid" if facts.get("solid") else str(facts.get("plunger", "")) or "top"
    order = str(facts.get("length", ""))
    said = [((WIDE / 2, 16.0), f"order {order}", "middle", True)] if order else []
    svg = drawn(
        "rod",
        _body(plunger if plunger in DEEP else "solid"),
        _places(str(facts.get("as", ""))),
        spots,
        HIGH,
        above=22.0 if order else 0.0,
        said=said,
    )
    held = f", {HELD[plunger]}" if plunger in HELD and not facts.get("solid") and facts.get("plunger") else ""
    return Pose(
        svg,
        f"Valve closed, lifter on the base circle{held}; checking rod just touching: no up-and-down shake.",
    )
