"""What runs in a cylinder: piston, connecting rod and the crank's web, each a body, in the cylinder's own plane.

The piston is cut through: its crown as it is along x, hollow from below.
"""

from __future__ import annotations

import math

from .lines import Circle, Fill, Line, Mark, Point, Stroke
from .solids import arm, ball, bar, body
from .subject import Entered

# mm, of parts whose size no entry gives
MAIN, BIG_END, SMALL_END, PIN = 20.0, 15.0, 11.0, 9.0
CROWN_ABOVE_PIN, HALF_BORE, LOOSE, WALL = 32.0, 42.0, 1.0, 6.0
SKIRT_SHARE, INNER_SHARE, HOLLOW_SHARE = (
    0.5,
    0.8,
    0.45,
)  # of half the piston twice, of what stands over the pin
HALF_TURN = 24  # points of a counterweight


def half_bore(one: Entered) -> tuple[float, bool]:
    """Return half the bore, or one to show the cylinder by, and whether it was entered."""
    found = one.number("stack.bore")
    return (HALF_BORE, False) if found is None else (found / 2, True)


def crown_height(one: Entered) -> float:
    """Return the crown plane above the pin [mm]."""
    found = one.number("piston.compression_height")
    return CROWN_ABOVE_PIN if found is None else found


def half_piston(one: Entered) -> float:
    """Return half the piston's width [mm]."""
    found = one.number("piston.diameter")
    return half_bore(one)[0] - LOOSE if found is None else found / 2


def skirt_below(one: Entered) -> float:
    """Return how far the skirt reaches below the pin [mm]."""
    found = one.number("piston.skirt_below_pin")
    return half_piston(one) * SKIRT_SHARE if found is None else found


def piston(one: Entered, height: float = 0.0) -> tuple[Mark, ...]:
    """Return the piston, its pin at a height over the crank centre."""
    half, skirt, top = half_piston(one), height - skirt_below(one), height + crown_height(one)
    inner, aside = one.number("piston.skirt_inner"), one.number("piston.pin_offset") or 0.0
    within = INNER_SHARE * half if inner is None else inner / 2
    roof = height + HOLLOW_SHARE * crown_height(one)
    flat = ((-half, 0.0), (half, 0.0))
    crown = [(u, top + v) for u, v in one.crown or flat if abs(u) <= half + LOOSE]
    known = all(
        one.number(entry) is not None for entry in ("piston.compression_height", "piston.skirt_below_pin")
    ) and any(one.number(entry) is not None for entry in ("piston.diameter", "stack.bore"))
    width, high = one.number("piston.arch_width"), one.number("piston.arch_height")
    arch = 0.0 if width is None or high is None else high
    foot = skirt + arch  # at the thrust faces, which are what is cut through
    hollow = (
        (half, foot),
        (within, foot),
        (within, roof),
        (-within, roof),
        (-within, foot),
        (-half, foot),
    )
    marks: list[Mark] = [body(((-half, crown[0][1]), *crown, (half, crown[-1][1]), *hollow), known)]
    if one.crown and not known:
        marks.append(Line(tuple(crown), Stroke.OUTLINE))
    if arch:  # what stands before and behind it
        marks += [Line(((s * half, skirt), (s * within, skirt)), Stroke.INDICATED) for s in (-1.0, 1.0)]
    boss = one.number("piston.boss_below_pin")
    if boss is not None:
        low = height - boss
        marks.append(Line(((aside - PIN - 3.0, low), (aside + PIN + 3.0, low)), Stroke.INDICATED))
    ring = one.number("piston.oil_ring")
    if ring is not None:
        marks += [Line(((s * half, top - ring), (s * within, top - ring)), Stroke.FACE) for s in (-1.0, 1.0)]
    return (*marks, ball((aside, height), PIN + 3.0, known=False), ball((aside, height), PIN, known=False))


def conrod(one: Entered, low: Point, high: Point) -> tuple[Mark, ...]:
    """Return the connecting rod between its two centres."""
    beam = one.number("crank.conrod_beam_width")
    shank = (
        arm(low, BIG_END * 0.7, high, SMALL_END * 0.8, known=False)
        if beam is None
        else bar(low, high, beam / 2, known=True)
    )
    return (
        shank,
        *(
            ball(at, size, known=False)
            for at, size in ((low, BIG_END), (high, SMALL_END), (low, PIN), (high, 0.7 * PIN))
        ),
        Line((low, high), Stroke.AXIS),
    )


def web(one: Entered, throw: float, turn: float = 0.0) -> tuple[Mark, ...]:
    """Return the crank's web with its counterweight, its pin turned to the right from upright [rad]."""
    pin = (throw * math.sin(turn), throw * math.cos(turn))
    weight = one.number("crank.counterweight_radius")
    marks: list[Mark] = []
    if weight is not None:
        turns = [turn + math.pi * (0.5 + step / HALF_TURN) for step in range(HALF_TURN + 1)]
        marks.append(body([(weight * math.sin(at), weight * math.cos(at)) for at in turns], known=True))
    return (
        *marks,
        arm((0.0, 0.0), MAIN, pin, BIG_END, known=False),
        ball((0.0, 0.0), 0.6 * MAIN, known=False),
        Circle((0.0, 0.0), 1.0, Stroke.THIN, Fill.BLACK),
    )


def walls(one: Entered, low: float, high: float, known: bool, outer: float | None = None) -> tuple[Mark, ...]:
    """Return the two walls of a cylinder that is cut through; outer : half its outside, where that is known."""
    half, _ = half_bore(one)
    out = half + WALL if outer is None else outer
    return tuple(
        body(((s * half, low), (s * half, high), (s * out, high), (s * out, low)), known) for s in (-1.0, 1.0)
    )
