"""The whole engine seen along its crankshaft: what stands still, and the parts that move with the crank.

The engine's frame: X to the right, Z up, the crank centre at (0, 0); each cylinder leans in it. A valve gear is drawn
where its coordinates are entered, a cylinder where its crank is. Dashed outlines show parts whose size no entry
gives.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from tallstack.geometry.clearance.turning import Turning
from tallstack.geometry.core.frames import Array, cross
from tallstack.geometry.gear.train import closed

from . import gear as gear_lines
from .lines import Anchor, Circle, Item, Line, Mark, Point, Stroke, Text
from .parts import Moved, Numbers, Part, slides
from .solids import Look, belt
from .subject import Entered, Gear, Heights, Subject, gear, heights

# mm, of parts whose size no entry gives
MAIN, BIG_END, SMALL_END, PIN = 20.0, 15.0, 11.0, 9.0
CROWN_ABOVE_PIN, HALF_BORE, WALL, FLANGE = 32.0, 42.0, 5.0, 9.0
SKIRT_SHARE = 0.5  # of the piston's diameter, below the pin
CASE_BEYOND = 26.0
AXIS_BEYOND = 14.0
NAME = 4.0  # mm of paper
SAME = 1e-6  # mm, between pins that are one


Undrawn = dict[str, list[str]]  # why → what


@dataclass(frozen=True)
class Leaning(Look):
    """A look along the crankshaft at a cylinder that leans."""

    lean: float  # rad, positive to the right

    def at(self, where: Array) -> Point:
        """Return where a point of the cylinder is seen in the engine."""
        return self.flat((float(where[0]), float(where[2])))

    def flat(self, where: Point) -> Point:
        """Return where a point of the cylinder's own plane is seen in the engine."""
        cosine, sine = math.cos(self.lean), math.sin(self.lean)
        return (where[0] * cosine + where[1] * sine, where[1] * cosine - where[0] * sine)


@dataclass(frozen=True, slots=True)
class Engine:
    """The engine as it is drawn, mm."""

    fixed: tuple[Mark, ...]
    parts: tuple[Part, ...]
    undrawn: tuple[str, ...]  # why some of it is not drawn, in words

    def posed(self, numbers: Numbers) -> tuple[Item, ...]:
        """Return every line at one crank angle."""
        return (*self.fixed, *(mark for part in self.parts for mark in part.posed(numbers)))


def engine(cylinders: Sequence[Entered], subjects: Sequence[Subject], turning: Turning) -> Engine:
    """Return the engine as it is drawn.

    subjects : every valve gear;  turning : where its parts stand, at any angles
    """
    fixed: list[Mark] = [
        Circle((0.0, 0.0), MAIN, Stroke.INDICATED),
        Line(((-MAIN - 6, 0.0), (MAIN + 6, 0.0)), Stroke.AXIS),
        Line(((0.0, -MAIN - 6), (0.0, MAIN + 6)), Stroke.AXIS),
    ]
    parts: list[Part] = []
    undrawn: Undrawn = {}
    pins: list[Point] = []  # at the first of the angles
    for one in cylinders:
        moving = turning.cylinders.get(one.cylinder)
        if moving is None:
            undrawn.setdefault("crank.stroke or crank.conrod_length is not entered", []).append(
                f"cylinder {one.cylinder}"
            )
            continue
        look = look_at(one)
        throw = float(np.hypot(*moving.pin[0]))
        there = look.flat((float(moving.pin[0, 0]), float(moving.pin[0, 1])))
        if all(math.dist(there, other) > SAME for other in pins):
            pins.append(there)
            parts.append(_web(one, look, throw))
        faces = _faces(one, float(moving.wrist[0, 1] + moving.below[0]) + _crown(one))  # its highest point
        fixed += _cylinder(one, look, faces)
        fixed.append(Text(_beside(one, look, faces), one.cylinder, NAME, Anchor.MIDDLE, bold=True))
        parts += [_conrod(one, look), _piston(one, look)]
    if pins:
        throw = max(math.hypot(*one) for one in pins)
        fixed.append(Circle((0.0, 0.0), throw + CASE_BEYOND, Stroke.INDICATED))
    for subject in subjects:
        still, moved = _valve_gear(subject, turning, undrawn)
        fixed += still
        parts += moved
    told = (f"{', '.join(names)}: {why}" for why, names in undrawn.items())
    return Engine(tuple(fixed), tuple(parts), tuple(told))


def look_at(one: Entered) -> Leaning:
    """Return the look along the crankshaft at one cylinder."""
    return Leaning("engine", 0, one.number("lean") or 0.0)


def numbers(turning: Turning, place: int) -> dict[str, float]:
    """Return what moves the parts, at one of the angles."""
    return {name: float(values[place]) for name, values in series(turning)}


def series(turning: Turning) -> Iterator[tuple[str, Array]]:
    """Yield each number that moves parts, by name, at every angle; mm, cosines and sines."""
    for name, moving in turning.cylinders.items():
        yield f"{name}.pin_x", moving.pin[:, 0]
        yield f"{name}.pin_z", moving.pin[:, 1]
        yield f"{name}.wrist", moving.wrist[:, 1]
    for name, valve in turning.valves.items():
        yield f"{name}.lift", valve.lift
        if valve.lifter is not None and valve.cosine is not None and valve.sine is not None:
            yield f"{name}.lifter", valve.lifter
            yield f"{name}.cosine", valve.cosine
            yield f"{name}.sine", valve.sine


def _crown(one: Entered) -> float:
    found = one.number("piston.compression_height")
    return CROWN_ABOVE_PIN if found is None else found


def _half_bore(one: Entered) -> tuple[float, Stroke]:
    found = one.number("stack.bore")
    return (HALF_BORE, Stroke.INDICATED) if found is None else (found / 2, Stroke.OUTLINE)


def _faces(one: Entered, top: float) -> tuple[Heights, bool] | None:
    """Return the faces' heights over the crank centre, and whether those are known rather than by the piston's top."""
    found = heights(one)
    if found is None or found.from_crank:
        return None if found is None else (found, True)
    up = top - found.cylinder_top
    names = ("case_deck", "case_face", "gasket_face", "head_face", "cylinder_foot", "cylinder_top")
    return Heights(**{name: getattr(found, name) + up for name in names}, from_crank=False), False


def _cylinder(one: Entered, look: Leaning, faces: tuple[Heights, bool] | None) -> list[Mark]:
    """Return a cylinder's walls and faces."""
    half, stroke = _half_bore(one)
    top = 0.0 if faces is None else faces[0].head_face
    marks: list[Mark] = [
        Line((look.flat((0.0, 0.0)), look.flat((0.0, max(top, 120.0) + AXIS_BEYOND))), Stroke.AXIS)
    ]
    if faces is None:
        return marks
    here, known = faces
    wall = stroke if known else Stroke.INDICATED
    face = Stroke.FACE if known else Stroke.INDICATED
    outer = half + WALL
    for side in (-1.0, 1.0):
        marks.append(
            Line(
                (look.flat((side * half, here.cylinder_foot)), look.flat((side * half, here.cylinder_top))),
                wall,
            )
        )
        marks.append(
            Line(
                (look.flat((side * outer, here.cylinder_foot)), look.flat((side * outer, here.cylinder_top))),
                Stroke.INDICATED,
            )
        )
    for height in dict.fromkeys((here.case_face, here.cylinder_foot, here.cylinder_top, here.head_face)):
        ends = ((-outer - FLANGE, height), (outer + FLANGE, height))
        marks.append(Line((look.flat(ends[0]), look.flat(ends[1])), face))
    return marks


def _beside(one: Entered, look: Leaning, faces: tuple[Heights, bool] | None) -> Point:
    """Return where a cylinder's name stands: beside it, on the side away from upright."""
    half, _ = _half_bore(one)
    away = 1.0 if look.lean >= 0 else -1.0
    return look.flat((away * (half + WALL + 16), 60.0 if faces is None else faces[0].cylinder_top - 45))


def _pin(one: Entered, look: Leaning) -> Moved:
    ways = (
        (f"{one.cylinder}.pin_x", look.flat((1.0, 0.0))),
        (f"{one.cylinder}.pin_z", look.flat((0.0, 1.0))),
    )
    return Moved((0.0, 0.0), ways)


def _web(one: Entered, look: Leaning, throw: float) -> Part:
    """Return the crank's web, drawn upright."""
    pin = (0.0, throw)
    marks: list[Mark] = [
        *belt((0.0, 0.0), MAIN, pin, BIG_END, Stroke.INDICATED),
        Circle(pin, PIN),
        Circle(pin, BIG_END, Stroke.INDICATED),
    ]
    weight = one.number("crank.counterweight_radius")
    if weight is not None:
        turns = [math.pi * (1.0 + step / 24) for step in range(25)]
        ring = tuple((weight * math.cos(turn), weight * math.sin(turn)) for turn in turns)
        marks.append(Line(ring, Stroke.OUTLINE))
    return Part(f"{one.cylinder}.crank", tuple(marks), Moved((0.0, 0.0)), _pin(one, look), ((0.0, 0.0), pin))


def _wrist(one: Entered, look: Leaning) -> Moved:
    aside = one.number("piston.pin_offset") or 0.0
    return Moved(look.flat((aside, 0.0)), ((f"{one.cylinder}.wrist", look.flat((0.0, 1.0))),))


def _conrod(one: Entered, look: Leaning) -> Part:
    length = one.number("crank.conrod_length")
    assert length is not None
    low, high = (0.0, 0.0), (0.0, length)
    beam = one.number("crank.conrod_beam_width")
    marks: list[Mark] = [Circle(high, SMALL_END, Stroke.INDICATED), Circle(low, BIG_END, Stroke.INDICATED)]
    if beam is None:
        marks += belt(low, BIG_END * 0.7, high, SMALL_END * 0.8, Stroke.INDICATED)
    else:
        marks += [
            Line(((side * beam / 2, BIG_END), (side * beam / 2, length - SMALL_END))) for side in (-1, 1)
        ]
    marks.append(Line((low, high), Stroke.AXIS))
    return Part(f"{one.cylinder}.conrod", tuple(marks), _pin(one, look), _wrist(one, look), (low, high))


def _piston(one: Entered, look: Leaning) -> Part:
    """Return the piston, drawn with its wrist pin at the crank centre's height."""
    half, stroke = _half_bore(one)
    diameter = one.number("piston.diameter")
    if diameter is not None:
        half, stroke = diameter / 2, Stroke.OUTLINE
    skirt = one.number("piston.skirt_below_pin")
    low = -half * SKIRT_SHARE if skirt is None else -skirt
    high = _crown(one)
    aside = one.number("piston.pin_offset") or 0.0
    side_stroke = stroke if skirt is not None else Stroke.INDICATED
    crown = Stroke.OUTLINE if one.number("piston.compression_height") is not None else Stroke.INDICATED
    flat: list[Mark] = [
        Line(((-half, high), (half, high)), crown),
        Line(((-half, high), (-half, low)), side_stroke),
        Line(((half, high), (half, low)), side_stroke),
        Line(((-half, low), (half, low)), Stroke.OUTLINE if skirt is not None else Stroke.INDICATED),
        Circle((aside, 0.0), PIN),
        Circle((aside, 0.0), 0.9, Stroke.THIN),
    ]
    marks = tuple(_turned(mark, look) for mark in flat)
    return slides(f"{one.cylinder}.piston", marks, f"{one.cylinder}.wrist", look.flat((0.0, 1.0)))


def _turned(mark: Mark, look: Leaning) -> Mark:
    if isinstance(mark, Line):
        return Line(tuple(look.flat(one) for one in mark.points), mark.stroke, mark.closed, mark.fill)
    assert isinstance(mark, Circle)
    return Circle(look.flat(mark.centre), mark.radius, mark.stroke, mark.fill)


def _valve_gear(
    subject: Subject, turning: Turning, undrawn: Undrawn
) -> tuple[Sequence[Mark], Sequence[Part]]:
    """Return what stands still of one valve gear and what moves; say why where it is not drawn."""
    name, parts = subject.train.name, gear(subject)
    words = f"valve gear {name.replace('.', ' ')}"
    if parts is None:
        undrawn.setdefault("its coordinates are not entered", []).append(words)
        return (), ()
    if not parts.heights.from_crank:
        undrawn.setdefault("stack.case_deck or what it follows from is not entered", []).append(words)
        return (), ()
    if subject.obstacles:
        undrawn.setdefault("cannot be assembled", []).append(words)
        return (), ()
    look = look_at(subject)
    valve = turning.valves.get(name)
    if valve is None or valve.cosine is None:
        undrawn.setdefault("drawn closed, what lifts it is not entered", []).append(words)
        return gear_lines.outline_of_parts(subject, parts, look), ()
    return gear_lines.shaft_lines(parts, look), _moving(subject, parts, look)


def _moving(subject: Subject, parts: Gear, look: Leaning) -> list[Part]:
    name, drawn = subject.train.name, subject.train.drawn
    assert drawn is not None
    assert parts.cup is not None
    assert parts.contact_centre is not None
    pose = closed(drawn)

    def way(direction: Array) -> Point:
        return look.at(direction)

    turned = [
        (f"{name}.cosine", f"{name}.sine", drawn.valve_arm, pose.valve_dir),
        (f"{name}.cosine", f"{name}.sine", drawn.pushrod_arm, pose.cup_dir),
    ]
    ends = []
    for foot, (cosine, sine, arm, out) in zip((parts.valve_foot, parts.cup_foot), turned, strict=True):
        swing = arm * cross(pose.turn, out)
        ends.append(Moved(look.at(foot), ((cosine, way(arm * out)), (sine, way(swing)))))
    feet = [Moved(look.at(one)) for one in (parts.valve_foot, parts.cup_foot)]
    ball = Moved(look.at(parts.ball), ((f"{name}.lifter", way(parts.lift_axis)),))
    at = [
        look.at(one)
        for one in (parts.valve_foot, parts.contact_centre, parts.cup_foot, parts.cup, parts.ball)
    ]
    return [
        slides(
            f"{name}.lifter",
            gear_lines.lifter_lines(parts, look),
            f"{name}.lifter",
            way(parts.lift_axis),
        ),
        slides(
            f"{name}.valve", gear_lines.valve_lines(subject, parts, look), f"{name}.lift", way(-parts.stem)
        ),
        Part(
            f"{name}.pushrod", gear_lines.pushrod_lines(subject, parts, look), ball, ends[1], (at[4], at[3])
        ),
        Part(
            f"{name}.cup_arm",
            gear_lines.cup_arm_lines(subject, parts, look),
            feet[1],
            ends[1],
            (at[2], at[3]),
        ),
        Part(
            f"{name}.valve_arm",
            gear_lines.valve_arm_lines(subject, parts, look),
            feet[0],
            ends[0],
            (at[0], at[1]),
        ),
    ]
