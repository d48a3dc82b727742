"""What each word of a choice looks like: a small picture for where a plunger stood, between which ends a rod is read, and such."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import cache

from markupsafe import Markup

from ...drawing.lines import Circle, Fill, Line, Mark, Point, Stroke
from ...drawing.solids import ball, body
from .lifters import BALL, DEEP, lifter
from .marks import INK, Frame

WIDE, HIGH = 96, 72
LIFTER = Frame(1.35, WIDE / 2, 20.0)
PLAIN = Frame(1.0, WIDE / 2, HIGH / 2)
ROD, SEAT, HOLE = 5.0, 10.0, 4.0  # half of a rod, radius of its end, half of its oil hole
END = 26.0  # from the middle to a ball's centre
STEPS = 36  # points of an end
MEETING = 26.0  # half of a valve's head


def _lifter(option: str) -> Sequence[Mark]:
    """Return a lifter with the rod's ball on it."""
    rod = ((-2.5, 3.0), (2.5, 3.0), (2.5, 12.0), (-2.5, 12.0))
    return (*lifter(option), body(rod, known=True), ball((0.0, 0.0), BALL, known=True))


def _kind(option: str) -> Sequence[Mark]:
    return _lifter("top" if option == "hydraulic" else "solid")


def _ends(option: str) -> Sequence[Mark]:
    """Return a rod lying, each end's ball cut off by its oil hole, and between which ends it is read."""
    found: list[Mark] = [body(((-END, ROD), (END, ROD), (END, -ROD), (-END, -ROD)), known=True)]
    flat = (SEAT * SEAT - HOLE * HOLE) ** 0.5
    reach = {"overall": flat, "theoretical": SEAT, "gauge": 0.7 * SEAT, "centres": 0.0}[option]
    turns = [2 * math.pi * step / STEPS for step in range(STEPS)]
    for side in (-1.0, 1.0):
        if option == "theoretical":
            found.append(Circle((side * END, 0.0), SEAT, Stroke.INDICATED))
        cut = [(side * (END + min(flat, SEAT * math.cos(one))), SEAT * math.sin(one)) for one in turns]
        mouth = tuple(
            (side * (END + far), up) for far, up in ((flat, 3.0), (3.0, 3.0), (3.0, -3.0), (flat, -3.0))
        )
        found += [body(cut, known=True), Line(mouth, Stroke.THIN)]
        found += HELD[option](side, side * (END + reach))
    return found


def _jaw(side: float, at: float) -> Sequence[Mark]:
    """Return a jaw of the calipers over an end."""
    return (
        body(((at, -SEAT - 3), (at, 30.0), (at + side * 8, 30.0), (at + side * 8, -SEAT - 3)), known=True),
    )


def _line(side: float, at: float) -> Sequence[Mark]:
    """Return what is worked out, not read: a dashed line, the centre or the ball's end on it."""
    del side
    return (
        Line(((at, -24.0), (at, 30.0)), Stroke.INDICATED),
        Circle((at, 0.0), 1.6, Stroke.THIN, Fill.BLACK),
    )


def _seat(side: float, at: float) -> Sequence[Mark]:
    """Return a sharp-edged seat of a length gauge on an end."""
    edge = (SEAT * SEAT - (0.7 * SEAT) ** 2) ** 0.5
    out = at + side * 10
    return (
        body(((at, edge), (at, 24.0), (out, 24.0), (out, edge)), known=True),
        body(((at, -edge), (at, -24.0), (out, -24.0), (out, -edge)), known=True),
    )


HELD = {"overall": _jaw, "theoretical": _line, "gauge": _seat, "centres": _line}


def _meets(option: str) -> Sequence[Mark]:
    """Return a valve's head on the floor of a pocket, or on the crown."""
    floor = -14.0
    crown: tuple[Point, ...] = ((-46.0, -4.0), (46.0, -4.0), (46.0, -34.0), (-46.0, -34.0))
    if option == "pocket":
        cut = ((-MEETING - 5, -4.0), (-MEETING - 5, floor), (MEETING + 5, floor), (MEETING + 5, -4.0))
        crown = ((-46.0, -4.0), *cut, (46.0, -4.0), (46.0, -34.0), (-46.0, -34.0))
    foot = floor if option == "pocket" else -4.0
    half = ((MEETING, foot), (MEETING, foot + 4), (4.0, foot + 20), (4.0, 34.0))
    return (body(crown, known=True), body((*half, *((-u, v) for u, v in reversed(half))), known=True))


PICTURES: Mapping[str, tuple[Frame, Callable[[str], Sequence[Mark]], Sequence[str]]] = {
    "plunger": (LIFTER, _lifter, (*DEEP, "solid checking lifter")),
    "lifter.kind": (LIFTER, _kind, ("hydraulic", "solid")),
    "as": (PLAIN, _ends, ("overall", "theoretical", "gauge", "centres")),
    "meets": (PLAIN, _meets, ("pocket", "crown")),
}


@cache
def picture_of(question: str, option: str) -> Markup | None:
    """Return what an option of a question looks like; None where there is no picture of it."""
    frame, draw, options = PICTURES.get(question, (PLAIN, _kind, ()))
    if option not in options:
        return None
    return Markup(
        f'<svg aria-hidden="true" focusable="false" viewBox="0 0 {WIDE} {HIGH}" width="{WIDE}" height="{HIGH}" '
        f'fill="none" stroke="{INK}" stroke-linejoin="round">{frame.markup(draw(option))}</svg>'
    )
