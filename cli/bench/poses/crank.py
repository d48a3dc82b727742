"""Where the crank stands while a cylinder is set: its wheel, the mark upright at that cylinder's top centre."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

from markupsafe import Markup

from ...drawing.lines import Circle, Fill, Line, Mark, Point, Stroke
from ...drawing.solids import arm
from .marks import INK, Frame, head, path
from .spots import WIDE, Pose, Spots, opened, words

HIGH = 236.0
FRAME = Frame(1.0, WIDE / 2, 100.0)
RADIUS, THROW = 76.0, 42.0
TURN = 360.0


def _at(radius: float, angle: float) -> Point:
    """Return a place of the wheel, degrees clockwise from upright."""
    return radius * math.sin(math.radians(angle)), radius * math.cos(math.radians(angle))


@cache
def _body() -> str:
    """Return the wheel with its degrees, and the mark over it."""
    marks: list[Mark] = [Circle((0.0, 0.0), RADIUS, Stroke.OUTLINE, Fill.WHITE)]
    for step in range(36):
        long = 8.0 if step % 3 == 0 else 4.0
        marks.append(Line((_at(RADIUS, step * 10), _at(RADIUS - long, step * 10)), Stroke.FACE))
    mark = ((0.0, RADIUS + 1), (-6.0, RADIUS + 13), (6.0, RADIUS + 13))
    marks.append(Line(mark, Stroke.OUTLINE, closed=True, fill=Fill.BLACK))
    said = "".join(
        words((u, v + 5), str(quarter), 30.0, anchor)
        for quarter, anchor, (u, v) in (
            (90, "start", FRAME.at((RADIUS + 6, 0.0))),
            (180, "middle", FRAME.at((0.0, -RADIUS - 12))),
            (270, "end", FRAME.at((-RADIUS - 6, 0.0))),
        )
    )
    return FRAME.markup(marks) + said


def _hand(at: float) -> str:
    """Return the crank's web, turned so far on, and the way that it has come from the mark."""
    tip = _at(THROW, at)
    web = FRAME.markup(
        (
            arm((0.0, 0.0), 15.0, tip, 10.0, known=True),
            Circle(tip, 5.0, Stroke.OUTLINE, Fill.WHITE),
            Circle((0.0, 0.0), 2.0, Stroke.THIN, Fill.BLACK),
        )
    )
    turned = at % TURN
    if turned < 8:
        return web
    curve = FRAME.all(_at(RADIUS - 14, turned * step / 48) for step in range(49))
    arrow = path(curve) + path(head(curve[-1], curve[-3]))
    hand = path(FRAME.all((tip, _at(RADIUS, at))))
    return f'{web}<path d="{hand}" stroke-width="1"/><path d="{arrow}" stroke="{INK}" stroke-width="1.6"/>'


def crank(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the crank's wheel.

    facts : "cylinder", its name; "at", degrees after its compression top centre, None: not known; "words", said beneath
    """
    del spots
    cylinder, at = str(facts.get("cylinder", "")), facts.get("at")
    found = [opened("crank", HIGH), _body()]
    if at is None:
        told = "where the crank stands is not known"
    else:
        found.append(_hand(float(at)))
        second = ", in the second turn" if float(at) % (2 * TURN) >= TURN else ""
        after = f"{float(at) % TURN:.0f} degrees after" if float(at) % TURN else "at"
        told = f"the crank {after} its compression top centre{second}, seen from where it turns clockwise"
    said = str(facts.get("words", ""))
    if said:
        found.append(words((WIDE / 2, HIGH - 10), said, WIDE - 8, "middle", bold=True))
    named = f"Cylinder {cylinder}" if cylinder else "The cylinder in hand"
    return Pose(Markup("".join([*found, "</svg>"])), f"{named}: {told}.")
