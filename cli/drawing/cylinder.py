"""One cylinder over its crank, piston at its lowest, where skirt, spigot and counterweight come close.

Seen along the crankshaft, in the cylinder's own frame; and the spigot from above, with its reliefs. Studs and ports
stand where they were measured from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from .lines import Circle, Dimension, Fill, Line, Mark, Point, Stroke, Text, Way
from .stack import SMALL, bore, moving
from .subject import Entered, Heights

# mm, of parts whose size no entry gives
SKIRT, SHANK, INNER, PIN_RADIUS, FACE, STUD_FROM_BORE = 24.0, 20.0, 0.8, 10.0, 18.0, 16.0
RELIEFS = 4  # that have letters
ARC = 16  # points of a relief


@dataclass(frozen=True, slots=True)
class Lowest:
    """Crank pin, wrist pin, crown and skirt with the piston at its lowest, mm over the crank centre."""

    crank_pin: Point
    wrist_pin: Point
    crown: float
    skirt: float


def lowest(subject: Entered) -> Lowest | None:
    """Return where crank and piston stand, or None where entries are missing or crank and rod cannot fold."""
    high, rod = moving(subject), subject.number("crank.conrod_length")
    if high is None or rod is None:
        return None
    folded, offset = rod - high.throw, subject.number("piston.pin_offset") or 0.0
    if folded <= abs(offset):
        return None
    pin = (offset, math.sqrt(folded**2 - offset**2))
    share = -high.throw / folded
    crown = pin[1] + (subject.number("piston.compression_height") or 0.0)
    below = subject.number("piston.skirt_below_pin")
    return Lowest((share * pin[0], share * pin[1]), pin, crown, pin[1] - (SKIRT if below is None else below))


def outline(subject: Entered, faces: Heights) -> tuple[Mark, ...]:
    """Return the lines of the cylinder, its spigot, its piston and its crank."""
    half, edge = bore(subject)
    parts = lowest(subject) if faces.from_crank else None
    marks: list[Mark] = [Line(((0.0, _low(subject, faces)), (0.0, faces.head_face + FACE)), Stroke.AXIS)]
    outer = subject.number("spigot.outer_diameter")
    beyond = half + STUD_FROM_BORE if outer is None else max(half + STUD_FROM_BORE, outer / 2 + 6)
    length = subject.number("spigot.length") or 0.0
    foot = faces.case_face - length
    for side in (-1.0, 1.0):
        thick = side * (half + 5 if outer is None else outer / 2)
        marks += [
            Line(((thick, faces.case_face), (side * beyond, faces.case_face)), Stroke.FACE),
            Line(((side * half, faces.head_face), (side * beyond, faces.head_face)), Stroke.FACE),
            Line(((side * half, foot), (side * half, faces.cylinder_top)), edge),
            Line(((side * half, faces.cylinder_top), (side * beyond, faces.cylinder_top)), Stroke.INDICATED),
        ]
        if length:
            stroke = Stroke.INDICATED if outer is None else Stroke.OUTLINE
            marks.append(Line(((side * half, foot), (thick, foot), (thick, faces.case_face)), stroke))
    marks += [*_mouth(subject, faces), *_studs(subject, faces, beyond), *_ports(subject, faces)]
    marks.append(Text((beyond + 2, faces.case_face - 8), "case", SMALL))
    marks.append(Text((beyond + 2, faces.head_face + 3), "head", SMALL))
    return (*marks, *(_moving(subject, parts, half) if parts else ()))


def _low(subject: Entered, faces: Heights) -> float:
    parts = lowest(subject) if faces.from_crank else None
    length = subject.number("spigot.length") or 0.0
    return faces.case_face - length - 10 if parts is None else parts.crank_pin[1] - 8


def _mouth(subject: Entered, faces: Heights) -> list[Mark]:
    wide = subject.number("stack.mouth_width")
    if wide is None:
        return []
    foot = faces.case_face - (subject.number("stack.mouth_below") or 0.0)
    return [
        Line(((side * wide / 2, faces.case_face), (side * wide / 2, foot), (side * (wide / 2 + 6), foot)))
        for side in (-1.0, 1.0)
    ]


def _studs(subject: Entered, faces: Heights, at: float) -> list[Mark]:
    stands = subject.number("studs.stands")
    if stands is None:
        return []
    wide, stroke = subject.number("studs.diameter"), Stroke.OUTLINE
    if wide is None:
        wide, stroke = 8.0, Stroke.INDICATED
    top, marks = faces.case_face + stands, list[Mark]()
    for edge in (at - wide / 2, at + wide / 2):
        marks.append(Line(((edge, faces.case_face), (edge, top)), stroke))
    marks.append(Line(((at - wide / 2, top), (at + wide / 2, top)), stroke))
    seat = subject.number("studs.head_seat")
    if seat is not None:
        levels = [faces.head_face + seat]
        levels.append(levels[0] + (subject.number("studs.washer") or 0.0))
        nut = subject.number("studs.nut_height")
        levels.append(levels[1] + (1.2 * wide if nut is None else nut))
        marks += [Line(((at - wide, one), (at + wide, one)), Stroke.OUTLINE) for one in levels]
        marks += [
            Line(
                ((at + s * wide, levels[1]), (at + s * wide, levels[2])),
                Stroke.INDICATED if nut is None else Stroke.OUTLINE,
            )
            for s in (-1, 1)
        ]
    return marks


def _ports(subject: Entered, faces: Heights) -> list[Mark]:
    marks: list[Mark] = []
    for name in ("intake_face", "exhaust_face"):
        at = port_at(subject, faces, name)
        normal = [subject.number(f"{name}.normal.{axis}") for axis in "xz"]
        if at is None or normal[0] is None or normal[1] is None:
            continue
        away = math.hypot(normal[0], normal[1])
        if away == 0:
            continue
        along = (-normal[1] / away * FACE, normal[0] / away * FACE)
        marks.append(Line(((at[0] - along[0], at[1] - along[1]), (at[0] + along[0], at[1] + along[1]))))
        marks.append(Circle(at, 1.2, Stroke.THIN, Fill.BLACK))
    return marks


def port_at(subject: Entered, faces: Heights, name: str) -> Point | None:
    """Return where the centre of a port's face is seen."""
    across, up = (subject.number(f"{name}.centre.{axis}") for axis in "xz")
    return None if across is None or up is None else (across, faces.gasket_face + up)


def _moving(subject: Entered, parts: Lowest, half: float) -> tuple[Mark, ...]:
    (pin_x, pin_z), (crank_x, crank_z) = parts.wrist_pin, parts.crank_pin
    diameter, inner = subject.number("piston.diameter"), subject.number("piston.skirt_inner")
    body = half - 1.0 if diameter is None else diameter / 2
    sides = Stroke.INDICATED if subject.number("piston.skirt_below_pin") is None else Stroke.OUTLINE
    within = INNER * body if inner is None else inner / 2
    way = math.atan2(pin_z - crank_z, pin_x - crank_x)
    beam = subject.number("crank.conrod_beam_width")
    wide = SHANK if beam is None else beam
    aside = (-math.sin(way) * wide / 2, math.cos(way) * wide / 2)
    marks: list[Mark] = [
        Circle((0.0, 0.0), math.hypot(crank_x, crank_z), Stroke.AXIS),
        Line(((-body, parts.skirt), (-body, parts.crown), (body, parts.crown), (body, parts.skirt)), sides),
        Circle((pin_x, pin_z), PIN_RADIUS, Stroke.INDICATED),
        Circle((crank_x, crank_z), 1.6 * PIN_RADIUS, Stroke.INDICATED),
        Line(((0.0, 0.0), (crank_x, crank_z), (pin_x, pin_z)), Stroke.AXIS),
        Circle((0.0, 0.0), 2.0, Stroke.THIN),
    ]
    for s in (-1.0, 1.0):
        ends = (
            (crank_x + s * aside[0], crank_z + s * aside[1]),
            (pin_x + s * aside[0], pin_z + s * aside[1]),
        )
        marks.append(Line(ends, Stroke.INDICATED if beam is None else Stroke.OUTLINE))
        marks.append(Line(((s * body, parts.skirt), (s * within, parts.skirt)), sides))
        marks.append(
            Line(
                ((s * within, parts.skirt), (s * within, pin_z)),
                Stroke.INDICATED if inner is None else Stroke.OUTLINE,
            )
        )
    ring = subject.number("piston.oil_ring")
    if ring is not None:
        marks.append(Line(((-body, parts.crown - ring), (body, parts.crown - ring)), Stroke.FACE))
    weight = subject.number("crank.counterweight_radius")
    if weight is not None:
        marks.append(Circle((0.0, 0.0), weight, Stroke.FACE))
    return tuple(marks)


def dimensions(subject: Entered, faces: Heights) -> tuple[Dimension, ...]:
    """Return the dimensions of the cylinder."""
    half, _ = bore(subject)
    length, outer = subject.number("spigot.length"), subject.number("spigot.outer_diameter")
    foot = faces.case_face - (length or 0.0)
    found: list[Dimension] = []

    def across(entry: str, wide: float | None, at: float, side: float = -1.0) -> None:
        if wide is not None:
            found.extend(subject.dimension(entry, Way.ACROSS, (-wide / 2, at), (wide / 2, at), side))

    def up(entry: str, low: float, high: float, at: float, side: float) -> None:
        found.extend(subject.dimension(entry, Way.UP, (at, low), (at, high), side))

    across("stack.bore", 2 * half, faces.cylinder_top, 1.0)
    across("chamber.gasket_bore", subject.number("chamber.gasket_bore"), faces.head_face, 1.0)
    if length is not None:
        across("spigot.outer_diameter", outer, foot)
        up("spigot.length", foot, faces.case_face, -half if outer is None else -outer / 2, -1)
        for index in range(RELIEFS):
            high = subject.number(f"spigot.reliefs.{index}.height")
            at = subject.number(f"spigot.reliefs.{index}.at")
            if high is not None and at is not None:
                side = 1.0 if math.cos(at) >= 0 else -1.0
                up(f"spigot.reliefs.{index}.height", foot, foot + high, half * math.cos(at), side)
    mouth, below = subject.number("stack.mouth_width"), subject.number("stack.mouth_below")
    across("stack.mouth_width", mouth, faces.case_face - (below or 0.0))
    if mouth is not None and below:
        up("stack.mouth_below", faces.case_face - below, faces.case_face, mouth / 2, 1)
    found += [*_of_studs(subject, faces, half), *_of_ports(subject, faces)]
    parts = lowest(subject) if faces.from_crank else None
    if parts is None:
        return tuple(found)
    pin, crank = parts.wrist_pin, parts.crank_pin
    across("piston.diameter", subject.number("piston.diameter"), parts.crown, 1.0)
    across("piston.skirt_inner", subject.number("piston.skirt_inner"), parts.skirt)
    up("piston.skirt_below_pin", parts.skirt, pin[1], half, 1)
    up("piston.compression_height", pin[1], parts.crown, half, 1)
    ring = subject.number("piston.oil_ring")
    if ring is not None:
        up("piston.oil_ring", parts.crown - ring, parts.crown, -half, -1)
    middle = ((pin[0] + crank[0]) / 2, (pin[1] + crank[1]) / 2)
    beam = subject.number("crank.conrod_beam_width")
    if beam is not None:
        ends = ((middle[0] - beam / 2, middle[1]), (middle[0] + beam / 2, middle[1]))
        found += subject.dimension("crank.conrod_beam_width", Way.ALONG, *ends)
    found += subject.dimension("crank.conrod_length", Way.UP, crank, pin, 1)
    throw = math.hypot(*crank)
    found += subject.dimension("crank.stroke", Way.UP, (0.0, -throw), (0.0, throw), -1.0)
    weight = subject.number("crank.counterweight_radius")
    if weight is not None:
        found += subject.dimension("crank.counterweight_radius", Way.ACROSS, (0.0, 0.0), (weight, 0.0), -1.0)
    up("stack.case_deck", 0.0, faces.case_deck, -half, -1)
    return tuple(found)


def _of_studs(subject: Entered, faces: Heights, half: float) -> list[Dimension]:
    found: list[Dimension] = []
    stands, seat = subject.number("studs.stands"), subject.number("studs.head_seat")
    if stands is None:
        return found
    outer = subject.number("spigot.outer_diameter")
    at = half + STUD_FROM_BORE if outer is None else max(half + STUD_FROM_BORE, outer / 2 + 6)

    def up(entry: str, low: float, high: float) -> None:
        found.extend(subject.dimension(entry, Way.UP, (at, low), (at, high), 1.0))

    up("studs.stands", faces.case_face, faces.case_face + stands)
    wide = subject.number("studs.diameter")
    if wide is not None:
        top = faces.case_face + stands
        found += subject.dimension(
            "studs.diameter", Way.ACROSS, (at - wide / 2, top), (at + wide / 2, top), 1.0
        )
    if seat is not None:
        level = faces.head_face + seat
        up("studs.head_seat", faces.head_face, level)
        washer, nut = subject.number("studs.washer") or 0.0, subject.number("studs.nut_height")
        if washer:
            up("studs.washer", level, level + washer)
        if nut is not None:
            up("studs.nut_height", level + washer, level + washer + nut)
    return found


def _of_ports(subject: Entered, faces: Heights) -> list[Dimension]:
    found: list[Dimension] = []
    for name in ("intake_face", "exhaust_face"):
        at = port_at(subject, faces, name)
        if at is None:
            continue
        side = 1.0 if at[0] >= 0 else -1.0
        found += subject.dimension(f"{name}.centre.x", Way.ACROSS, (0.0, at[1]), at, 1.0)
        found += subject.dimension(f"{name}.centre.z", Way.UP, (at[0], faces.gasket_face), at, side)
    return found


def from_above(subject: Entered) -> tuple[Mark | Dimension, ...]:
    """Return the spigot from above, x to the right and y up; nothing where it has no reliefs."""
    half, edge = bore(subject)
    outer = subject.number("spigot.outer_diameter")
    if outer is None or subject.number("spigot.reliefs.0.at") is None:
        return ()
    marks: list[Mark | Dimension] = [
        Circle((0.0, 0.0), half, edge),
        Circle((0.0, 0.0), outer / 2),
        Line(((-outer / 2 - 4, 0.0), (outer / 2 + 4, 0.0)), Stroke.AXIS),
        Line(((0.0, -outer / 2 - 4), (0.0, outer / 2 + 4)), Stroke.AXIS),
        Text((outer / 2 + 5, 0.0), "x", SMALL),
        Text((1.0, outer / 2 + 5), "y", SMALL),
    ]
    for index in range(RELIEFS):
        at, wide = (subject.number(f"spigot.reliefs.{index}.{one}") for one in ("at", "width"))
        if at is None or wide is None:
            continue
        spread = math.asin(min(wide / (2 * half), 1.0))
        turns = [at + spread * (2 * step / ARC - 1) for step in range(ARC + 1)]
        inner = [(half * math.cos(one), half * math.sin(one)) for one in turns]
        far = [(outer / 2 * math.cos(one), outer / 2 * math.sin(one)) for one in reversed(turns)]
        marks.append(Line((*inner, *far), Stroke.FACE, closed=True))
        ends = (inner[0], inner[-1])
        marks += subject.dimension(f"spigot.reliefs.{index}.width", Way.ALONG, *ends, offset=-6.0)
        middle = (outer / 2 + 3) * math.cos(at), (outer / 2 + 3) * math.sin(at)
        start = (outer / 2 + 3, 0.0)
        marks += subject.dimension(f"spigot.reliefs.{index}.at", Way.ANGLE, start, middle)
    return tuple(marks)
