"""One cylinder's stack, from the crank centre to the head's gasket face, piston at its highest.

Seen along the crankshaft, in the cylinder's own frame. Without the height of the case deck the stack
stands on the case deck instead of the crank centre, and crank and piston are left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from tallstack.geometry.crank.crank import Crank

from .lines import Circle, Dimension, Fill, Line, Mark, Point, Stroke, Text, Way
from .running import WALL, conrod, half_bore, piston, walls, web
from .subject import Entered, Heights

# mm, where no entry says
DECK_BEYOND, HEAD, BELOW = 5.0, 22.0, 30.0
SMALL = 2.4  # mm of paper


@dataclass(frozen=True, slots=True)
class Moving:
    """Crank pin, wrist pin and crown with the piston at its highest, mm."""

    throw: float
    crank_pin: Point
    wrist_pin: Point
    crown: float


def moving(subject: Entered) -> Moving | None:
    """Return where crank and piston stand, or None where entries are missing or the pin is out of reach."""
    needs = ("crank.stroke", "crank.conrod_length", "piston.compression_height")
    stroke, conrod, height = (subject.reader.find(one) for one in needs)
    if stroke is None or conrod is None or height is None:
        return None
    offset = subject.number("piston.pin_offset") or 0.0
    throw = float(stroke) / 2
    if abs(offset) >= throw + float(conrod):
        return None
    crown = float(Crank(stroke / 2, conrod, height, np.asarray(offset)).top)
    pin = (offset, crown - float(height))
    share = throw / (throw + float(conrod))  # crank and connecting rod stand in one line
    return Moving(throw, (share * pin[0], share * pin[1]), pin, crown)


def outline(subject: Entered, faces: Heights) -> tuple[Line | Circle | Text, ...]:
    """Return the stack, cut through."""
    half, bore_known = half_bore(subject)
    outer = half + WALL
    parts = moving(subject) if faces.from_crank else None
    low = -parts.throw - 4 if parts else faces.case_face - BELOW
    marks: list[Mark] = [
        *(_moving(subject, parts) if parts else ()),
        *walls(subject, faces.cylinder_foot, faces.cylinder_top, bore_known),
    ]
    for side in (-1.0, 1.0):
        inner, out, beyond = side * half, side * outer, side * (outer + DECK_BEYOND)
        marks += [
            Line(((inner, faces.case_face), (beyond, faces.case_face)), Stroke.FACE),
            Line(((inner, faces.head_face), (beyond, faces.head_face)), Stroke.FACE),
        ]
        for foot, top in ((faces.case_face, faces.cylinder_foot), (faces.cylinder_top, faces.head_face)):
            if top > foot:
                gasket = ((inner, foot), (inner, top), (out, top), (out, foot))
                marks.append(Line(gasket, Stroke.THIN, closed=True, fill=Fill.BLACK))
        for face, was in ((faces.case_face, faces.case_deck), (faces.head_face, faces.gasket_face)):
            if face != was:
                marks.append(Line(((inner, was), (beyond, was)), Stroke.INDICATED))
    marks.append(Line(((0.0, low), (0.0, faces.head_face + HEAD)), Stroke.AXIS))
    marks.append(Text((outer + 2, faces.case_face - 8), "case", SMALL))
    marks.append(Text((outer + 2, faces.head_face + 3), "head", SMALL))
    if faces.from_crank and not parts:
        marks += [Line(((-10.0, 0.0), (10.0, 0.0)), Stroke.AXIS), Circle((0.0, 0.0), 2.0, Stroke.THIN)]
    return tuple(marks)


def _moving(subject: Entered, parts: Moving) -> tuple[Mark, ...]:
    """Return crank, connecting rod and piston at its highest."""
    turn = math.atan2(*parts.crank_pin)
    return (
        *web(subject, parts.throw, turn),
        Circle((0.0, 0.0), parts.throw, Stroke.AXIS),
        *piston(subject, parts.wrist_pin[1]),
        *conrod(subject, parts.crank_pin, parts.wrist_pin),
    )


def dimensions(subject: Entered, faces: Heights) -> tuple[Dimension, ...]:
    """Return the dimensions of the stack."""
    half, _ = half_bore(subject)
    left, right = -half - WALL, half + WALL

    def height(entry: str, side: float, low: float, high: float, at: float | None = None) -> None:
        if low == high and not subject.was_entered(entry):
            return  # there is none: the cylinder is part of the block
        across = (left if side < 0 else right) if at is None else at
        found.extend(subject.dimension(entry, Way.UP, (across, low), (across, high), side))

    found: list[Dimension] = []
    height("stack.base_gasket", -1, faces.case_face, faces.cylinder_foot)
    height("stack.cylinder", -1, faces.cylinder_foot, faces.cylinder_top)
    height("stack.head_gasket", -1, faces.cylinder_top, faces.head_face)
    if faces.case_deck != faces.case_face:
        height("stack.case_cut", -1, faces.case_face, faces.case_deck)
    if faces.gasket_face != faces.head_face:
        height("stack.head_cut", -1, faces.gasket_face, faces.head_face)
    inside = faces.cylinder_foot + 0.3 * (faces.cylinder_top - faces.cylinder_foot)
    found += subject.dimension("stack.bore", Way.ACROSS, (-half, inside), (half, inside), -1.0)
    if not faces.from_crank:
        return tuple(found)
    if subject.number("stack.case_deck") is not None:
        height("stack.case_deck", -1, 0.0, faces.case_deck)
    parts = moving(subject)
    if parts is None:
        return tuple(found)
    ends = ((0.0, -parts.throw), (0.0, parts.throw))
    found += subject.dimension("crank.stroke", Way.UP, *ends, inside=-0.3 * half)
    ends = (parts.crank_pin, parts.wrist_pin)
    found += subject.dimension("crank.conrod_length", Way.UP, *ends, inside=0.7 * half)
    height("piston.compression_height", 1, parts.wrist_pin[1], parts.crown, half)
    below = subject.number("stack.measured_deck.below")
    if below is not None:
        height("stack.measured_deck.below", 1, parts.crown, parts.crown + below, half)
    if parts.wrist_pin[0] != 0:
        found += subject.dimension(
            "piston.pin_offset", Way.ACROSS, (0.0, parts.wrist_pin[1]), parts.wrist_pin, 1.0
        )
    return tuple(found)
