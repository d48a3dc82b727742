"""One valve gear, seen from the front and from the side: every part a body that covers what stands behind it.

Grey bodies are drawn by entries; dashed ones show a part whose size no entry gives, so that a part is recognised, and
nothing more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from tallstack.geometry.core.frames import Array, unit

from . import lobe
from .lines import Anchor, Circle, Fill, Line, Mark, Point, Stroke, Text
from .lobe import LIFTER_BELOW
from .solids import FRONT, SIDE, Look, arc, arm, ball, body, disc, is_point, line, strip, tube
from .subject import UP, Gear, Subject

# mm, of parts whose size no entry gives
LIFTER_RADIUS, LIFTER_ABOVE = 10.5, 3.0
ROD_RADIUS, BALL_RADIUS, STEM_RADIUS, HEAD_RADIUS, TUBE_RADIUS = 4.0, 4.0, 4.0, 20.0, 10.0
SHAFT_RADIUS, HUB, ARM_HALF = 8.0, 12.0, 5.0
TIP_ROUND, CUP_WALL = 7.0, 3.0
MARGIN, SEAT_WIDE, SEAT_HIGH = 1.2, 3.0, 5.0
RETAINER_BELOW, RETAINER_HIGH = 5.0, 3.0  # from the stem's tip
SPRING_SHARE, COILS_SHARE = 0.62, 0.62  # of the stem over the head, of the head's radius
COILS = 7  # strokes of a spring
AXIS_BEYOND = 12.0
FAR = 1e4  # mm: nearer, or further off, than anything
EDGE_ON = 0.05  # a disc's axis is square to the look but for this
SMALL = 2.4  # mm of paper: the names of faces


def outline(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return a valve gear seen from one side."""
    return (*_faces(subject, gear, look), *outline_of_parts(subject, gear, look))


def outline_of_parts(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return a valve gear without the faces it stands on, what stands nearer after what stands behind."""
    groups: list[tuple[Array, Sequence[Mark]]] = [
        (gear.seat, lobe.lines(subject, gear, look)),
        (gear.seat, lifter_lines(subject, gear, look)),
        (gear.face, seat_lines(subject, gear, look)),
        (gear.face, valve_lines(subject, gear, look)),
        (gear.face, spring_lines(subject, gear, look)),
        (0.5 * (gear.seat + gear.cup_foot), tube_lines(subject, gear, look)),
        (gear.seat, pushrod_lines(subject, gear, look)),
        (gear.cup_foot, cup_arm_lines(subject, gear, look)),
        (gear.valve_foot, valve_arm_lines(subject, gear, look)),
    ]
    # seen along it the shaft stands out of its arms, from the side it runs through them
    shaft = gear.shaft + (FAR if look.is_along(gear.axis) else -FAR) * look.towards
    groups.append((shaft, shaft_lines(subject, gear, look)))
    groups.sort(key=lambda one: round(look.depth(one[0]), 6))
    return tuple(mark for _, marks in groups for mark in marks)


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


def lifter_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the lifter, with the roller it rides on where it has one."""
    foot = gear.seat - LIFTER_BELOW * gear.lift_axis
    top = gear.seat + LIFTER_ABOVE * gear.lift_axis
    roller = lobe.roller(subject)
    marks: list[Mark] = [
        tube(
            look, foot if roller is None else foot + roller * gear.lift_axis, top, LIFTER_RADIUS, known=False
        ),
        line(look, foot, gear.seat + 50 * gear.lift_axis, stroke=Stroke.AXIS),
    ]
    if roller is not None:
        marks.append(ball(look.at(foot + roller * gear.lift_axis), roller, known=True))
    return (*marks, *_cross(subject, look, gear.seat_measured))


def pushrod_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the pushrod."""
    low, high = gear.ball, gear.ball_high
    radii = [_half(subject, f"pushrod.ball_diameter_{side}", BALL_RADIUS) for side in ("low", "high")]
    if high is None:
        return (ball(look.at(low), *radii[0]),)
    radius, known = _half(subject, "pushrod.diameter", min(ROD_RADIUS, 0.8 * radii[0][0]))
    way = unit(high - low)
    return (
        tube(look, low + 0.7 * radii[0][0] * way, high - 0.7 * radii[1][0] * way, radius, known),
        ball(look.at(low), *radii[0]),
        ball(look.at(high), *radii[1]),
        line(look, low, high, stroke=Stroke.AXIS),
    )


def tube_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the tube around the pushrod, cut open, between its two seats."""
    reader = subject.reader
    low = reader.point("tube.seat_low") + gear.heights.case_deck * UP
    high = reader.point("tube.seat_high") + gear.heights.gasket_face * UP
    if not (is_point(low) and is_point(high)):
        return ()
    return (tube(look, low, high, *_half(subject, "tube.inner_diameter", TUBE_RADIUS)),)


def shaft_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the rocker's shaft; seen along it, with the rocker's hub around it."""
    ends = [float(np.vecdot(one - gear.shaft, gear.axis)) for one in (gear.valve_foot, gear.cup_foot)]
    first = gear.shaft + (min(0.0, *ends) - 2 * ARM_HALF) * gear.axis
    last = gear.shaft + (max(0.0, *ends) + 2 * ARM_HALF) * gear.axis
    beyond = AXIS_BEYOND * gear.axis
    middle = look.at(gear.shaft)
    bodies: tuple[Mark, ...] = (tube(look, first, last, SHAFT_RADIUS, known=False),)
    if look.is_along(gear.axis):
        bodies = (ball(middle, HUB, known=False), ball(middle, SHAFT_RADIUS, known=False))
    return (
        *bodies,
        line(look, first - beyond, last + beyond, stroke=Stroke.AXIS),
        *_cross(subject, look, gear.shaft),
    )


def valve_arm_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the rocker's arm over the valve; none where it cannot be assembled."""
    if gear.contact_centre is None or gear.contact is None:
        return ()
    radius, known = subject.number("rocker.tip_radius") or TIP_ROUND, subject.train.drawn is not None
    tip = min(radius, TIP_ROUND)
    marks: list[Mark] = []
    if look.is_along(gear.axis):
        end = look.at(gear.contact + tip * gear.stem)
        marks.append(arm(look.at(gear.shaft), SHAFT_RADIUS, end, tip, known))
    else:
        marks.append(strip(look, gear.valve_foot, gear.contact_centre, gear.axis, ARM_HALF, known))
    half = math.pi if radius <= TIP_ROUND else min(math.pi / 2, TIP_ROUND / radius)
    aside = unit(np.cross(gear.axis, gear.stem))
    if known:
        marks.append(arc(look, gear.contact_centre, -gear.stem, aside, radius, half))
        marks.append(line(look, gear.valve_foot, gear.contact_centre, stroke=Stroke.AXIS))
    return (*marks, Circle(look.at(gear.contact), 0.9, Stroke.THIN, Fill.BLACK))


def cup_arm_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the rocker's arm over the pushrod; none where it cannot be assembled."""
    if gear.cup is None:
        return ()
    known = subject.train.drawn is not None
    held = _half(subject, "pushrod.ball_diameter_high", BALL_RADIUS)
    cup = held[0] + CUP_WALL
    marks: list[Mark] = [strip(look, gear.cup_foot, gear.cup, gear.axis, ARM_HALF, known)]
    if look.is_along(gear.axis):
        marks = [arm(look.at(gear.shaft), SHAFT_RADIUS, look.at(gear.cup), cup, known)]
    marks.append(ball(look.at(gear.cup), *held))
    return (*marks, line(look, gear.cup_foot, gear.cup, stroke=Stroke.AXIS)) if known else tuple(marks)


def valve_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the valve with its retainer."""
    stem, stem_known = _half(subject, "valve.stem_diameter", STEM_RADIUS)
    head, head_known = _half(subject, "valve.head_diameter", HEAD_RADIUS)
    rim, neck = _rim_and_neck(subject, gear, head)
    aside = _aside(look, gear.stem)
    shank = tube(look, neck - 0.1 * head * gear.stem, gear.tip, stem, stem_known)
    tulip = [rim + head * aside, neck + stem * aside, neck - stem * aside, rim - head * aside]
    edge = [rim - head * aside, rim + head * aside, gear.face + head * aside, gear.face - head * aside]
    sides = [
        body([look.at(one) for one in tulip], head_known),
        body([look.at(one) for one in edge], head_known),
    ]
    discs = [disc(look, gear.face, gear.stem, head, head_known)]
    turned = float(np.vecdot(gear.stem, look.towards))
    if abs(turned) < EDGE_ON:
        discs = []
    marks: list[Mark] = [shank, *sides, *discs] if turned <= 0 else [*discs, *reversed(sides), shank]
    wide = COILS_SHARE * head + 2
    under = gear.tip - RETAINER_BELOW * gear.stem
    over = under + RETAINER_HIGH * gear.stem
    cap = [under + wide * aside, over + wide * aside, over - wide * aside, under - wide * aside]
    return (
        *marks,
        body([look.at(one) for one in cap], known=False),
        line(
            look,
            gear.face - AXIS_BEYOND * gear.stem,
            gear.tip + AXIS_BEYOND * gear.stem,
            stroke=Stroke.AXIS,
        ),
        *_cross(subject, look, gear.face_measured),
    )


def _rim_and_neck(subject: Subject, gear: Gear, head: float) -> tuple[Array, Array]:
    """Return where a valve's margin ends, and where its stem begins."""
    margin = subject.number("valve.margin")
    rim = gear.face + (MARGIN if margin is None else margin) * gear.stem
    return rim, rim + 0.45 * head * gear.stem


def seat_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the seat in the head on which the valve lies."""
    head, _ = _half(subject, "valve.head_diameter", HEAD_RADIUS)
    rim, _ = _rim_and_neck(subject, gear, head)
    if abs(float(np.vecdot(gear.stem, look.towards))) > EDGE_ON:
        return (disc(look, rim, gear.stem, head + SEAT_WIDE, known=False),)
    aside = _aside(look, gear.stem)
    return tuple(
        body(
            [
                look.at(rim + side * out * aside + up * gear.stem)
                for out, up in (
                    (head, 0.0),
                    (head + SEAT_WIDE, 0.0),
                    (head + SEAT_WIDE, SEAT_HIGH),
                    (0.8 * head, SEAT_HIGH),
                )
            ],
            known=False,
        )
        for side in (-1.0, 1.0)
    )


def spring_lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the spring's coils."""
    stroke, ends = spring(subject, gear, look)
    return tuple(Line((first[0], last[0]), stroke) for first, last in ends)


Coil = tuple[Point, float]  # an end of a coil, and the share of the valve's lift that it goes along


def spring(subject: Subject, gear: Gear, look: Look) -> tuple[Stroke, list[tuple[Coil, Coil]]]:
    """Return how the spring's coils are drawn, and the two ends of each."""
    head, _ = _half(subject, "valve.head_diameter", HEAD_RADIUS)
    high, across = (
        next((found for place in ("", "0.") if (found := subject.number(f"spring.{place}{one}"))), None)
        for one in ("installed", "mean_diameter")
    )
    top = gear.tip - RETAINER_BELOW * gear.stem
    _, neck = _rim_and_neck(subject, gear, head)
    long = SPRING_SHARE * float(np.vecdot(top - neck, gear.stem)) if high is None else high
    out = (COILS_SHARE * head if across is None else across / 2) * _aside(look, gear.stem)
    if look is not SIDE and float(gear.tip[0]) < 0:  # of a mirrored gear the mirror image
        out = -out
    places = [
        (look.at(top - (1 - step / COILS) * long * gear.stem + (1 if step % 2 else -1) * out), step / COILS)
        for step in range(COILS + 1)
    ]
    known = high is not None and across is not None
    return Stroke.OUTLINE if known else Stroke.INDICATED, list(zip(places, places[1:], strict=False))


def _aside(look: Look, axis: Array) -> Array:
    """Return the direction in which a round part's edge is seen, square to its axis."""
    towards = np.zeros(3)
    towards[1 - look.across] = 1.0
    return unit(np.cross(towards, axis))


def _half(subject: Subject, entry: str, otherwise: float) -> tuple[float, bool]:
    """Return half an entry, or a size to show the part by, and whether it was entered."""
    found = subject.number(entry)
    return (otherwise, False) if found is None else (found / 2, True)


def _cross(subject: Subject, look: Look, where: Array) -> tuple[Line, ...]:
    """Return a small cross at a point that was entered; none where another stands in for it."""
    if subject.train.drawn is None:
        return ()
    across, up = look.at(where)
    arm = 3.5
    return (
        Line(((across - arm, up), (across + arm, up)), Stroke.THIN),
        Line(((across, up - arm), (across, up + arm)), Stroke.THIN),
    )
