"""The outline of one valve gear, seen from the front and from the side.

Whole lines are drawn from entries; dashed ones show a part whose size no entry gives, so that a part
is recognised, and nothing more.
"""

from __future__ import annotations

import math

import numpy as np
from tallstack.geometry.core.frames import Array, unit

from .lines import Anchor, Circle, Fill, Line, Mark, Stroke, Text
from .solids import FRONT, Look, arc, belt, disc, is_point, line, strip, tube
from .subject import UP, Gear, Subject

# mm, of parts whose size no entry gives
LIFTER_RADIUS, LIFTER_BELOW, LIFTER_ABOVE = 10.5, 40.0, 3.0
ROD_RADIUS, BALL_RADIUS, STEM_RADIUS, HEAD_RADIUS, TUBE_RADIUS = 4.0, 4.0, 4.0, 20.0, 10.0
SHAFT_RADIUS, ARM_HALF = 8.0, 5.0
TIP_ROUND, CUP_WALL = 7.0, 3.0
AXIS_BEYOND = 12.0
SMALL = 2.2  # mm of paper: the names of faces


def outline(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the lines of a valve gear seen from one side."""
    return (*_faces(subject, gear, look), *outline_of_parts(subject, gear, look))


def outline_of_parts(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the lines of a valve gear without the faces it stands on."""
    return (
        *lifter_lines(gear, look),
        *valve_lines(subject, gear, look),
        *pushrod_lines(subject, gear, look),
        *tube_lines(subject, gear, look),
        *rocker_lines(subject, gear, look),
    )


def reach(subject: Subject, gear: Gear, look: Look) -> tuple[float, float]:
    """Return the least and the greatest place across that the valve gear takes up.

    In the front view with the wall of the bore on the valve's side.
    """
    points = (gear.seat, gear.shaft, gear.valve_foot, gear.cup_foot, gear.face, gear.tip)
    known = [look.at(one)[0] for one in (*points, *(one for one in (gear.cup,) if one is not None))]
    known += [one + side * LIFTER_RADIUS for one in known for side in (-1.0, 1.0)]
    wall = _bore_wall(subject, gear, look)
    known += [0.0] if wall is None else [0.0, wall]
    return min(known), max(known)


def _bore_wall(subject: Subject, gear: Gear, look: Look) -> float | None:
    bore = subject.number("stack.bore")
    if look is not FRONT or bore is None:
        return None
    return math.copysign(bore / 2, float(gear.tip[0]) - float(gear.shaft[0]))


def _faces(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    faces, (left, right) = gear.heights, reach(subject, gear, look)
    low = float((gear.seat - LIFTER_BELOW * gear.lift_axis)[2]) - 5
    high = max(float(gear.shaft[2]), float(gear.tip[2])) + AXIS_BEYOND
    marks: list[Mark] = [
        Line(((0.0, low), (0.0, high)), Stroke.AXIS),
        Line(((left, faces.case_face), (right, faces.case_face)), Stroke.FACE),
        Line(((left, faces.head_face), (right, faces.head_face)), Stroke.FACE),
    ]
    if faces.case_deck != faces.case_face:
        marks.append(Line(((left, faces.case_deck), (right, faces.case_deck)), Stroke.INDICATED))
    if faces.gasket_face != faces.head_face:
        marks.append(Line(((left, faces.gasket_face), (right, faces.gasket_face)), Stroke.INDICATED))
    wall = _bore_wall(subject, gear, look)
    if wall is not None:
        marks.append(Line(((wall, faces.cylinder_foot), (wall, faces.cylinder_top)), Stroke.FACE))
    end = right if abs(right) > abs(left) else left
    anchor = Anchor.END if end > 0 else Anchor.START
    marks.append(Text((end, faces.case_face + 3), "case deck", SMALL, anchor))
    marks.append(Text((end, faces.head_face - 8), "head's gasket face", SMALL, anchor))
    return tuple(marks)


def lifter_lines(gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the lifter."""
    foot = gear.seat - LIFTER_BELOW * gear.lift_axis
    top = gear.seat + LIFTER_ABOVE * gear.lift_axis
    marks: list[Mark] = [
        tube(look, foot, top, LIFTER_RADIUS, Stroke.INDICATED),
        line(look, foot - 5 * gear.lift_axis, gear.seat + 50 * gear.lift_axis, stroke=Stroke.AXIS),
        *_cross(look, gear.seat_measured),
    ]
    return tuple(marks)


def pushrod_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the pushrod."""
    low, high = gear.ball, gear.ball_high
    radii = [_half(subject, f"pushrod.ball_diameter_{side}", BALL_RADIUS) for side in ("low", "high")]
    marks: list[Mark] = [Circle(look.at(low), radii[0][0], radii[0][1])]
    if high is None:
        return tuple(marks)
    marks.append(Circle(look.at(high), radii[1][0], radii[1][1]))
    radius, stroke = _half(subject, "pushrod.diameter", min(ROD_RADIUS, 0.8 * radii[0][0]))
    way = unit(high - low)
    marks.append(tube(look, low + 0.8 * radii[0][0] * way, high - 0.8 * radii[1][0] * way, radius, stroke))
    marks.append(line(look, low, high, stroke=Stroke.AXIS))
    return tuple(marks)


def tube_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the tube around the pushrod, between its two seats."""
    reader = subject.reader
    low = reader.point("tube.seat_low") + gear.heights.case_deck * UP
    high = reader.point("tube.seat_high") + gear.heights.gasket_face * UP
    if not (is_point(low) and is_point(high)):
        return ()
    radius, stroke = _half(subject, "tube.inner_diameter", TUBE_RADIUS)
    return (tube(look, low, high, radius, Stroke.FACE if stroke is Stroke.OUTLINE else stroke),)


def rocker_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the whole rocker on its shaft."""
    return (
        *shaft_lines(gear, look),
        *valve_arm_lines(subject, gear, look),
        *cup_arm_lines(subject, gear, look),
    )


def shaft_lines(gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the rocker's shaft."""
    ends = [float(np.vecdot(one - gear.shaft, gear.axis)) for one in (gear.valve_foot, gear.cup_foot)]
    first = gear.shaft + (min(0.0, *ends) - 2 * ARM_HALF) * gear.axis
    last = gear.shaft + (max(0.0, *ends) + 2 * ARM_HALF) * gear.axis
    beyond = AXIS_BEYOND * gear.axis
    return (
        tube(look, first, last, SHAFT_RADIUS, Stroke.INDICATED),
        line(look, first - beyond, last + beyond, stroke=Stroke.AXIS),
        *_cross(look, gear.shaft),
    )


def valve_arm_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the rocker's arm over the valve; none where it cannot be assembled."""
    if gear.contact_centre is None or gear.contact is None:
        return ()
    radius = subject.number("rocker.tip_radius") or 0.0
    tip = min(radius, TIP_ROUND)
    marks: list[Mark] = [line(look, gear.valve_foot, gear.contact_centre, stroke=Stroke.OUTLINE)]
    marks.append(Circle(look.at(gear.contact), 0.9, Stroke.THIN, Fill.BLACK))
    if look.is_along(gear.axis):
        end = look.at(gear.contact + tip * gear.stem)
        marks += belt(look.at(gear.shaft), SHAFT_RADIUS, end, tip, Stroke.INDICATED)
    else:
        marks.append(strip(look, gear.valve_foot, gear.contact_centre, gear.axis, ARM_HALF, Stroke.INDICATED))
    half = math.pi if radius <= TIP_ROUND else min(math.pi / 2, TIP_ROUND / radius)
    aside = unit(np.cross(gear.axis, gear.stem))
    marks.append(arc(look, gear.contact_centre, -gear.stem, aside, radius, half))
    return tuple(marks)


def cup_arm_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the rocker's arm over the pushrod; none where it cannot be assembled."""
    if gear.cup is None:
        return ()
    cup = _half(subject, "pushrod.ball_diameter_high", BALL_RADIUS)[0] + CUP_WALL
    marks: list[Mark] = [line(look, gear.cup_foot, gear.cup, stroke=Stroke.OUTLINE)]
    if look.is_along(gear.axis):
        marks += belt(look.at(gear.shaft), SHAFT_RADIUS, look.at(gear.cup), cup, Stroke.INDICATED)
        marks.append(Circle(look.at(gear.cup), cup, Stroke.INDICATED))
    else:
        marks.append(strip(look, gear.cup_foot, gear.cup, gear.axis, ARM_HALF, Stroke.INDICATED))
    return tuple(marks)


def valve_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the valve."""
    stem, stem_stroke = _half(subject, "valve.stem_diameter", STEM_RADIUS)
    head, head_stroke = _half(subject, "valve.head_diameter", HEAD_RADIUS)
    margin = subject.number("valve.margin")
    rim = gear.face + (margin or 0.0) * gear.stem
    neck = rim + 0.45 * head * gear.stem
    marks: list[Mark] = [
        tube(look, neck, gear.tip, stem, stem_stroke),
        line(
            look,
            gear.face - AXIS_BEYOND * gear.stem,
            gear.tip + AXIS_BEYOND * gear.stem,
            stroke=Stroke.AXIS,
        ),
        disc(look, gear.face, gear.stem, head, head_stroke),
        *_cross(look, gear.face_measured),
    ]
    if margin is not None:
        marks.append(disc(look, rim, gear.stem, head, head_stroke))
    aside = _aside(look, gear.stem)
    for side in (-1.0, 1.0):
        marks.append(
            line(look, gear.face + side * head * aside, rim + side * head * aside, stroke=head_stroke)
        )
        marks.append(
            line(look, rim + side * head * aside, neck + side * stem * aside, stroke=Stroke.INDICATED)
        )
    return tuple(marks)


def _aside(look: Look, axis: Array) -> Array:
    """Return the direction in which a round part's edge is seen, square to its axis."""
    towards = np.zeros(3)
    towards[1 - look.across] = 1.0
    return unit(np.cross(towards, axis))


def _half(subject: Subject, entry: str, otherwise: float) -> tuple[float, Stroke]:
    """Return half an entry, drawn whole, or a size to show the part by, drawn dashed."""
    found = subject.number(entry)
    return (otherwise, Stroke.INDICATED) if found is None else (found / 2, Stroke.OUTLINE)


def _cross(look: Look, where: Array) -> tuple[Line, ...]:
    """Return a small cross at a point that was entered."""
    across, up = look.at(where)
    arm = 3.5
    return (
        Line(((across - arm, up), (across + arm, up)), Stroke.THIN),
        Line(((across, up - arm), (across, up + arm)), Stroke.THIN),
    )
