"""One cylinder over its crank, piston at its lowest, where skirt, spigot and counterweight come close.

Seen along the crankshaft, in the cylinder's own frame; and from above the spigot, with its reliefs, and the skirt, with
its arches. Studs and ports stand where they were measured from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from .lines import Circle, Dimension, Fill, Line, Mark, Point, Stroke, Text, Way
from .running import WALL, conrod, half_bore, piston, skirt_below, walls, web
from .solids import ball, body
from .stack import SMALL, moving
from .subject import Entered, Heights

# mm, where no entry says
FACE, STUD_FROM_BORE, STUD_WIDE = 18.0, 16.0, 8.0
RELIEFS = 4  # that have letters
ARC = 16  # points of a relief
INNER = 0.86  # of a skirt's diameter


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
    return Lowest((share * pin[0], share * pin[1]), pin, crown, pin[1] - skirt_below(subject))


def outline(subject: Entered, faces: Heights) -> tuple[Mark, ...]:
    """Return the cylinder, its spigot, its piston and its crank, cut through."""
    half, bore_known = half_bore(subject)
    parts = lowest(subject) if faces.from_crank else None
    outer = subject.number("spigot.outer_diameter")
    beyond = half + STUD_FROM_BORE if outer is None else max(half + STUD_FROM_BORE, outer / 2 + 6)
    length = subject.number("spigot.length") or 0.0
    marks: list[Mark] = [*(_moving(subject, parts) if parts else ())]
    marks += walls(subject, faces.cylinder_foot, faces.cylinder_top, bore_known)
    if length:
        out = half + WALL if outer is None else outer / 2
        marks += walls(subject, faces.case_face - length, faces.cylinder_foot, outer is not None, out)
        marks += _chamfer(subject, faces.case_face - length, half, out)
    for side in (-1.0, 1.0):
        thick = side * (half + WALL if outer is None else outer / 2)
        marks += [
            Line(((thick, faces.case_face), (side * beyond, faces.case_face)), Stroke.FACE),
            Line(((side * half, faces.head_face), (side * beyond, faces.head_face)), Stroke.FACE),
            Line(((side * half, faces.cylinder_top), (side * beyond, faces.cylinder_top)), Stroke.INDICATED),
        ]
    marks.append(Line(((0.0, _low(subject, faces)), (0.0, faces.head_face + FACE)), Stroke.AXIS))
    marks += [*_mouth(subject, faces), *_studs(subject, faces, beyond), *_ports(subject, faces)]
    marks.append(Text((beyond + 2, faces.case_face - 8), "case", SMALL))
    marks.append(Text((beyond + 2, faces.head_face + 3), "head", SMALL))
    return tuple(marks)


def _chamfer(subject: Entered, foot: float, half: float, out: float) -> list[Mark]:
    """Return the chamfers inside a spigot's lower edge, as wide as they are high where the wall has room."""
    high = subject.number("spigot.chamfer")
    if not high:
        return []
    wide = min(high, (out - half) / 2)
    return [
        Line(
            ((side * half, foot), (side * half, foot + high), (side * (half + wide), foot)),
            Stroke.FACE,
            closed=True,
            fill=Fill.WHITE,
        )
        for side in (-1.0, 1.0)
    ]


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
    wide, known = STUD_WIDE, False
    entered = subject.number("studs.diameter")
    if entered is not None:
        wide, known = entered, True
    top, marks = faces.case_face + stands, list[Mark]()

    def box(half: float, low: float, high: float, known: bool) -> Line:
        return body(((at - half, low), (at - half, high), (at + half, high), (at + half, low)), known)

    marks.append(box(wide / 2, faces.case_face, top, known))
    seat = subject.number("studs.head_seat")
    if seat is not None:
        foot = faces.head_face + seat
        washer, nut = subject.number("studs.washer") or 0.0, subject.number("studs.nut_height")
        if washer:
            marks.append(box(1.1 * wide, foot, foot + washer, known=True))
        high = 1.2 * wide if nut is None else nut
        marks.append(box(wide, foot + washer, foot + washer + high, nut is not None))
    return marks


def _ports(subject: Entered, faces: Heights) -> list[Mark]:
    marks: list[Mark] = []
    for name in ("intake_face", "exhaust_face"):
        at = port_at(subject, faces, name)
        out = subject.reader.direction(f"{name}.normal")
        normal = [float(out[..., 0]), float(out[..., 2])]
        if at is None or not all(math.isfinite(one) for one in normal):
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


def _moving(subject: Entered, parts: Lowest) -> tuple[Mark, ...]:
    """Return crank, connecting rod and piston at its lowest."""
    throw, turn = math.hypot(*parts.crank_pin), math.atan2(*parts.crank_pin)
    return (
        *web(subject, throw, turn),
        Circle((0.0, 0.0), throw, Stroke.AXIS),
        *piston(subject, parts.wrist_pin[1]),
        *conrod(subject, parts.crank_pin, parts.wrist_pin),
    )


def dimensions(subject: Entered, faces: Heights) -> tuple[Dimension, ...]:
    """Return the dimensions of the cylinder."""
    half, _ = half_bore(subject)
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
        chamfer = subject.number("spigot.chamfer")
        if chamfer:
            up("spigot.chamfer", foot, foot + chamfer, half, 1)
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
    arch, boss = subject.number("piston.arch_height"), subject.number("piston.boss_below_pin")
    if arch is not None:
        up("piston.arch_height", parts.skirt, parts.skirt + arch, -half, -1)
    if boss is not None:
        up("piston.boss_below_pin", pin[1] - boss, pin[1], pin[0], -1)
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
    """Return spigot and skirt from above, x to the right and y up; nothing where neither reliefs nor arches are cut."""
    found = (*_spigot_from_above(subject), *_skirt_from_above(subject))
    if not found:
        return ()
    half, _ = half_bore(subject)
    out = max(half, (subject.number("spigot.outer_diameter") or 0.0) / 2)
    return (
        *found,
        Line(((-out - 4, 0.0), (out + 4, 0.0)), Stroke.AXIS),
        Line(((0.0, -out - 4), (0.0, out + 4)), Stroke.AXIS),
        Text((out + 5, 0.0), "x", SMALL),
        Text((1.0, out + 5), "y", SMALL),
    )


def _skirt_from_above(subject: Entered) -> list[Mark | Dimension]:
    """Return the skirt with an arch in either thrust face, cut through at its lower edge."""
    wide, across = subject.number("piston.arch_width"), subject.number("piston.diameter")
    if wide is None or across is None:
        return []
    half, spread = across / 2, math.asin(min(wide / across, 1.0))
    within = (subject.number("piston.skirt_inner") or INNER * across) / 2
    marks: list[Mark | Dimension] = [
        ball((0.0, 0.0), half, known=True),
        Circle((0.0, 0.0), within, Stroke.INDICATED, Fill.WHITE),
    ]
    for facing in (0.0, math.pi):
        turns = [facing + spread * (2 * step / ARC - 1) for step in range(ARC + 1)]
        far, near = ([(out * math.cos(one), out * math.sin(one)) for one in turns] for out in (half, within))
        marks.append(Line((*far, *reversed(near)), Stroke.FACE, closed=True, fill=Fill.WHITE))
        if facing == 0.0:
            marks += subject.dimension("piston.arch_width", Way.ALONG, far[0], far[-1], offset=-14.0)
    return marks


def _spigot_from_above(subject: Entered) -> list[Mark | Dimension]:
    """Return the spigot with its reliefs, cut through at its lower edge."""
    half, known = half_bore(subject)
    outer = subject.number("spigot.outer_diameter")
    if outer is None or subject.number("spigot.reliefs.0.at") is None:
        return []
    marks: list[Mark | Dimension] = [
        ball((0.0, 0.0), outer / 2, known=True),
        Circle((0.0, 0.0), half, Stroke.OUTLINE if known else Stroke.INDICATED, Fill.WHITE),
    ]
    for index in range(RELIEFS):
        at, wide = (subject.number(f"spigot.reliefs.{index}.{one}") for one in ("at", "width"))
        if at is None or wide is None:
            continue
        spread = math.asin(min(wide / (2 * half), 1.0))
        turns = [at + spread * (2 * step / ARC - 1) for step in range(ARC + 1)]
        inner = [(half * math.cos(one), half * math.sin(one)) for one in turns]
        far = [(outer / 2 * math.cos(one), outer / 2 * math.sin(one)) for one in reversed(turns)]
        marks.append(Line((*inner, *far), Stroke.FACE, closed=True, fill=Fill.WHITE))
        ends = (inner[0], inner[-1])
        marks += subject.dimension(f"spigot.reliefs.{index}.width", Way.ALONG, *ends, offset=-6.0)
        middle = (outer / 2 + 3) * math.cos(at), (outer / 2 + 3) * math.sin(at)
        start = (outer / 2 + 3, 0.0)
        marks += subject.dimension(f"spigot.reliefs.{index}.at", Way.ANGLE, start, middle)
    return marks
