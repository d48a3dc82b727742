"""The whole engine seen along its crankshaft: what stands still, and the parts that move with the crank.

The engine's frame: X to the right, Z up, the crank centre at (0, 0); each cylinder leans in it. Cylinders that stand
behind one another are drawn side by side, each over a crank of its own. Where a place was not entered one stands in for
it, and the drawing is not to scale; see `stand_in`. Every part is a body, grey where its size was entered and dashed
where it was not, and covers what stands behind it: crank and piston first, then the cylinder that is cut through, then
the valve gear. What does not move and stands before what does is a part that goes nowhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from tallstack.geometry.clearance.turning import Turning, opening
from tallstack.geometry.core.frames import Array, cross
from tallstack.geometry.gear.train import closed

from . import gear as gear_lines
from . import lobe
from .lines import Anchor, Circle, Fill, Item, Line, Mark, Point, Stroke, Text, extent, shifted
from .parts import Moved, Part, slides
from .running import WALL, conrod, half_bore, piston, walls, web
from .solids import Look
from .stand_in import Standing, follows
from .subject import Entered, Gear, Heights, Subject, gear, heights

# mm, of parts whose size no entry gives
FLANGE, GASKET = 9.0, 1.2
CASE_BEYOND = 26.0
AXIS_BEYOND = 14.0
BETWEEN_ROWS = 16.0
ABOVE = 30.0  # the highest part, where a cylinder's name stands
NAME, STAMP = 4.0, 5.0  # mm of paper
SAME = 1e-6  # mm, between pins that are one
NOT_TO_SCALE = "NOT TO SCALE"


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
    turning: Turning  # of what is drawn
    to_scale: bool
    notes: tuple[str, ...]  # what was invented, and what does not move, in sentences

    def posed(self, place: int) -> tuple[Item, ...]:
        """Return every line at one of the crank angles."""
        there = numbers(self.turning, place)
        return (*self.fixed, *(mark for part in self.parts for mark in part.posed(there)))


def _way(cylinder: Entered) -> tuple[float, float]:
    """Return the way in which a cylinder leans: 180 and -180 degrees are one."""
    lean = look_at(cylinder).lean
    return round(math.cos(lean), 9), round(math.sin(lean), 9)


def engine(cylinders: Sequence[Entered], subjects: Sequence[Subject], there: Standing) -> Engine:
    """Return the engine as it is drawn; subjects : every valve gear;  there : where all of it stands."""
    rows: list[list[Entered]] = []
    for one in cylinders:  # of those that stand behind one another each begins a row of its own
        way = _way(one)
        row = next((row for row in rows if all(_way(each) != way for each in row)), None)
        if row is None:
            rows.append([one])
        else:
            row.append(one)
    drawn = [_row(row, subjects, there) for row in rows]
    wide = [extent((*fixed, *(mark for part in parts for mark in part.marks))) for fixed, parts in drawn]
    pitch = max((box[2] - box[0] for box in wide), default=0.0) + BETWEEN_ROWS
    fixed: list[Mark] = []
    parts: list[Part] = []
    for place, (still, moving) in enumerate(drawn):
        by = (place * pitch, 0.0)
        fixed += [shifted(one, by) for one in still]
        parts += [_part_shifted(one, by) for one in moving]
    if not there.to_scale and fixed:
        left, _, _, high = extent((*fixed, *(mark for part in parts for mark in part.marks)))
        fixed.append(Text((left, high + 2 * STAMP), NOT_TO_SCALE, STAMP, bold=True))
    return Engine(tuple(fixed), tuple(parts), there.turning, there.to_scale, there.notes)


def _part_shifted(one: Part, by: Point) -> Part:
    def moved(end: Moved) -> Moved:
        return replace(end, at=(end.at[0] + by[0], end.at[1] + by[1]))

    first, second = ((u + by[0], v + by[1]) for u, v in one.reference)
    marks = tuple(shifted(mark, by) for mark in one.marks)
    return replace(one, marks=marks, start=moved(one.start), end=moved(one.end), reference=(first, second))


def _row(
    cylinders: Sequence[Entered], subjects: Sequence[Subject], there: Standing
) -> tuple[list[Mark], list[Part]]:
    """Return cylinders over one crank, none behind another."""
    fixed: list[Mark] = []
    cranks: list[Part] = []
    pistons: list[Part] = []
    tops: list[Part] = []
    gears: list[Part] = []
    pins: list[Point] = []  # at the first of the angles
    for one in cylinders:
        moving, look = there.turning.cylinders[one.cylinder], look_at(one)
        throw = float(np.hypot(*moving.pin[0]))
        pin = look.flat((float(moving.pin[0, 0]), float(moving.pin[0, 1])))
        if all(math.dist(pin, other) > SAME for other in pins):
            pins.append(pin)
            cranks.append(
                Part(
                    f"{one.cylinder}.crank",
                    web(one, throw),
                    Moved((0.0, 0.0)),
                    _pin(one, look),
                    ((0.0, 0.0), (0.0, throw)),
                )
            )
        faces = heights(replace(one, mapping=there.mapping))
        assert faces is not None
        tops.append(_still(f"{one.cylinder}.cylinder", _cylinder(one, look, faces, there.to_scale)))
        pistons += [_piston(one, look), _conrod(one, look, moving.pin[0], moving.wrist[0])]
        tallest = faces.head_face
        for subject in subjects:
            if subject.cylinder == one.cylinder:
                place = _placed(subject, there)
                tallest = max(tallest, float(place.tip[2]), float(place.shaft[2]))
                gears += _valve_gear(subject, place, there)
        fixed.append(_named(one, look, tallest))
    radius = max(math.hypot(*one) for one in pins) + CASE_BEYOND
    fixed.insert(0, Circle((0.0, 0.0), radius, Stroke.INDICATED, Fill.WHITE))
    return fixed, [*cranks, *pistons, *tops, *gears]


def _still(name: str, marks: Sequence[Mark]) -> Part:
    """Return a part that goes nowhere."""
    ends = ((0.0, 0.0), (0.0, 1.0))
    return Part(name, tuple(marks), Moved(ends[0]), Moved(ends[1]), ends)


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
    for name, own in turning.own.items():  # the cam turns half as far, to the right
        yield f"{name}.cam.cosine", np.cos(own / 2)
        yield f"{name}.cam.sine", np.sin(own / 2)


def _cylinder(one: Entered, look: Leaning, here: Heights, to_scale: bool) -> list[Mark]:
    """Return a cylinder's walls and faces; where they stand in an invented place they are not known."""
    half, entered = half_bore(one)
    known = entered and to_scale
    outer, length = one.number("spigot.outer_diameter"), one.number("spigot.length")
    marks = [*walls(one, here.cylinder_foot, here.cylinder_top, known)]
    if length is not None:
        out = half + WALL if outer is None else outer / 2
        marks += walls(one, here.case_face - length, here.cylinder_foot, known and outer is not None, out)
    beyond = half + WALL + FLANGE
    for height in dict.fromkeys((here.case_face, here.cylinder_foot, here.cylinder_top, here.head_face)):
        face = Stroke.FACE if known else Stroke.INDICATED
        marks += [Line(((s * half, height), (s * beyond, height)), face) for s in (-1.0, 1.0)]
    marks.append(Line(((0.0, 0.0), (0.0, here.head_face + AXIS_BEYOND)), Stroke.AXIS))
    return [_turned(mark, look) for mark in marks]


def _named(one: Entered, look: Leaning, top: float) -> Text:
    """Return a cylinder's name, over the highest of its parts."""
    across, up = look.flat((0.0, top + ABOVE))
    return Text((across, up), one.cylinder, NAME, Anchor.MIDDLE, bold=True)


def _pin(one: Entered, look: Leaning) -> Moved:
    ways = (
        (f"{one.cylinder}.pin_x", look.flat((1.0, 0.0))),
        (f"{one.cylinder}.pin_z", look.flat((0.0, 1.0))),
    )
    return Moved((0.0, 0.0), ways)


def _wrist(one: Entered, look: Leaning) -> Moved:
    aside = one.number("piston.pin_offset") or 0.0
    return Moved(look.flat((aside, 0.0)), ((f"{one.cylinder}.wrist", look.flat((0.0, 1.0))),))


def _conrod(one: Entered, look: Leaning, pin: Array, wrist: Array) -> Part:
    low, high = (0.0, 0.0), (0.0, math.dist(pin, wrist))
    return Part(
        f"{one.cylinder}.conrod", conrod(one, low, high), _pin(one, look), _wrist(one, look), (low, high)
    )


def _piston(one: Entered, look: Leaning) -> Part:
    """Return the piston, drawn with its wrist pin at the crank centre's height."""
    marks = tuple(_turned(mark, look) for mark in piston(one))
    return slides(f"{one.cylinder}.piston", marks, f"{one.cylinder}.wrist", look.flat((0.0, 1.0)))


def _turned(mark: Mark, look: Leaning) -> Mark:
    if isinstance(mark, Line):
        return replace(mark, points=tuple(look.flat(one) for one in mark.points))
    assert isinstance(mark, Circle)
    return replace(mark, centre=look.flat(mark.centre))


def _placed(subject: Subject, there: Standing) -> Gear:
    """Return where the parts of one valve gear stand, closed."""
    train = there.trains[subject.train.name]
    found = gear(replace(subject, mapping=there.mapping, train=train, obstacles=()))
    assert found is not None
    return found


def _valve_gear(subject: Subject, parts: Gear, there: Standing) -> list[Part]:
    """Return the parts of one valve gear."""
    name = subject.train.name
    if there.turning.lifts.get(name) is not None:
        subject = replace(subject, lobe_lifts=_lifter(subject, there))
    look, drawn = look_at(subject), there.trains[name].drawn
    assert drawn is not None
    assert parts.cup is not None
    assert parts.contact_centre is not None
    pose, moves = closed(drawn), _moves(there.turning, name)

    def way(direction: Array) -> Point:
        return look.at(direction)

    def moved(at: Point, ways: Mapping[str, Point]) -> Moved:
        return Moved(at, tuple(ways.items()) if moves else ())

    ends = []
    turned = (
        (parts.valve_foot, drawn.valve_arm, pose.valve_dir),
        (parts.cup_foot, drawn.pushrod_arm, pose.cup_dir),
    )
    for foot, arm, out in turned:
        closed_end = look.at(foot + arm * out)
        swing = {f"{name}.cosine": way(arm * out), f"{name}.sine": way(arm * cross(pose.turn, out))}
        ends.append(moved(look.at(foot), swing) if moves else Moved(closed_end))
    feet = [Moved(look.at(one)) for one in (parts.valve_foot, parts.cup_foot)]
    ball = moved(look.at(parts.ball), {f"{name}.lifter": way(parts.lift_axis)})
    at = [
        look.at(one)
        for one in (parts.valve_foot, parts.contact_centre, parts.cup_foot, parts.cup, parts.ball)
    ]

    def slid(part: str, marks: tuple[Mark, ...], number: str, along: Point) -> Part:
        return slides(f"{name}.{part}", marks, number, along) if moves else _still(f"{name}.{part}", marks)

    stroke, coils = gear_lines.spring(subject, parts, look)
    down = way(-parts.stem)

    def coil_end(end: gear_lines.Coil) -> Moved:
        (u, v), share = end
        return moved((u, v), {f"{name}.lift": (share * down[0], share * down[1])})

    arms = [
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
    return [
        _lobe(subject, parts, look, moves),
        slid("lifter", gear_lines.lifter_lines(subject, parts, look), f"{name}.lifter", way(parts.lift_axis)),
        _still(f"{name}.seat", gear_lines.seat_lines(subject, parts, look)),
        slid("valve", gear_lines.valve_lines(subject, parts, look), f"{name}.lift", down),
        *(
            Part(
                f"{name}.spring-{place}",
                (Line((first[0], last[0]), stroke),),
                coil_end(first),
                coil_end(last),
                (first[0], last[0]),
            )
            for place, (first, last) in enumerate(coils)
        ),
        Part(
            f"{name}.pushrod", gear_lines.pushrod_lines(subject, parts, look), ball, ends[1], (at[4], at[3])
        ),
        *arms,
        _still(f"{name}.shaft", gear_lines.shaft_lines(subject, parts, look)),
    ]


def _moves(turning: Turning, name: str) -> bool:
    valve = turning.valves.get(name)
    return valve is not None and valve.lifter is not None and valve.cosine is not None


def _lifter(subject: Subject, there: Standing) -> Array | None:
    """Return the lifter's lifts through the whole cycle, as it is drawn."""
    name = subject.train.name
    lift = there.turning.lifts[name]
    if there.to_scale:
        return opening(lift, None, name, lobe.angles()).lifter
    return follows(there.trains[name], lift.at(lobe.angles())).lifter


def _lobe(subject: Subject, parts: Gear, look: Leaning, moves: bool) -> Part:
    """Return the lobe under the lifter, turning with the cam; where nothing is known to lift it, at rest."""
    name = f"{subject.train.name}.lobe"
    if not moves:
        return _still(name, lobe.lines(subject, parts, look))
    axis, marks = lobe.placed(lobe.metal(subject, subject.lobe_lifts), *lobe.foot(parts, look))
    arm = (0.0, 10.0)
    cam = f"{subject.cylinder}.cam"
    ways = ((f"{cam}.cosine", arm), (f"{cam}.sine", (arm[1], -arm[0])))
    return Part(name, marks, Moved(axis), Moved(axis, ways), (axis, (axis[0] + arm[0], axis[1] + arm[1])))
