"""What every entry of one valve gear measures, from where to where, in the view that shows it best."""

from __future__ import annotations

import math

import numpy as np
from tallstack.geometry.core.frames import Array, unit
from tallstack.geometry.engine import alternatives

from ..job.entries.letters import OF_REQUIRED, REQUIRED
from .lines import Dimension, Point, Way
from .solids import FRONT, SIDE, Look
from .subject import UP, Gear, Subject

LIFTER_ARC, VALVE_ARC = 42.0, 62.0  # mm, radius of the arcs of their leans
NEAR, FAR = 4.0, 7.5  # mm of paper from a part to its dimension line


def dimensions(subject: Subject, gear: Gear, look: Look) -> tuple[Dimension, ...]:
    """Return the dimensions of a valve gear that are shown in one view."""
    return (
        *_points(subject, gear, look),
        *_leans(subject, gear, look),
        *_rocker(subject, gear, look),
        *_valve(subject, gear, look),
        *_pushrod(subject, gear, look),
    )


def valve_side(gear: Gear) -> float:
    """Return on which side of the front view the stem's tip stands, seen from the shaft: 1 right, -1 left."""
    return 1.0 if float(gear.tip[0]) > float(gear.shaft[0]) else -1.0


def _points(subject: Subject, gear: Gear, look: Look) -> tuple[Dimension, ...]:
    """Return the coordinates of the points that were entered, each from the face or axis it counts from."""
    faces = gear.heights
    cup = subject.reader.point("rocker.cup") + faces.gasket_face * UP
    places = [
        ("lifter.seat", gear.seat_measured, faces.case_deck, -1.0),
        ("rocker.shaft", gear.shaft, faces.gasket_face, 1.0 if look is FRONT else -1.0),
        ("valve.face", gear.face_measured, faces.gasket_face, -1.0),
        ("rocker.cup", cup, faces.gasket_face, 1.0),
    ]
    side = -valve_side(gear)
    found: list[Dimension] = []
    for entry, where, zero, row in places:
        if not np.all(np.isfinite(where)):
            continue
        axis = "xy"[look.across]
        across, up = look.at(where)
        found += subject.dimension(f"{entry}.{axis}", Way.ACROSS, (0.0, up), (across, up), row)
        if look is FRONT:
            found += subject.dimension(f"{entry}.z", Way.UP, (across, zero), (across, up), side)
    if look is FRONT and subject.number("valve.tip_height") is not None:
        length = alternatives.valve_length(subject.reader)
        across, up = look.at(gear.face_measured + length * gear.stem)
        found += subject.dimension(
            "valve.tip_height", Way.UP, (across, faces.gasket_face), (across, up), side
        )
    return tuple(found)


def _leans(subject: Subject, gear: Gear, look: Look) -> tuple[Dimension, ...]:
    axis = "xy"[look.across]
    found: list[Dimension] = []
    for entry, where, way, radius in (
        ("lifter.lean", gear.seat, gear.lift_axis, LIFTER_ARC),
        ("valve.lean", gear.face, gear.stem, VALVE_ARC),
    ):
        apex, towards = look.at(where), look.at(way)
        away = math.hypot(*towards)
        start = (apex[0], apex[1] + radius)
        end = (apex[0] + radius * towards[0] / away, apex[1] + radius * towards[1] / away)
        turn = -1.0 if end[0] >= start[0] else 1.0
        found += subject.dimension(f"{entry}.{axis}", Way.ANGLE, start, end, turn, apex=apex)
    return tuple(found)


def _rocker(subject: Subject, gear: Gear, look: Look) -> tuple[Dimension, ...]:
    found: list[Dimension] = []
    reader = subject.reader
    if not look.is_along(gear.axis):
        for entry, station in (("valve", gear.valve_foot), ("pushrod", gear.cup_foot)):
            start, end = look.at(gear.shaft), look.at(station)
            worked_out = float(np.vecdot(station - gear.shaft, gear.axis))
            found += subject.dimension(
                f"rocker.{entry}_station", Way.ACROSS, start, end, 1.0, worked_out=worked_out
            )
        across, up = look.at(gear.shaft + 0.5 * (gear.cup_foot - gear.shaft))
        found += subject.dimension("rocker.direction", Way.ALONG, (across, up), (across, up))
    if gear.contact_centre is None or gear.contact is None or gear.cup is None or gear.opening is None:
        return tuple(found)
    if look.is_along(gear.axis):
        foot, contact, cup = (look.at(one) for one in (gear.valve_foot, gear.contact_centre, gear.cup))
        cup_foot = look.at(gear.cup_foot)
        arms = (
            ("valve_arm", foot, contact, float(alternatives.valve_arm(reader))),
            ("pushrod_arm", cup_foot, cup, float(alternatives.pushrod_arm(reader))),
        )
        for entry, start, end, length in arms:
            above = NEAR if end[0] >= start[0] else -NEAR
            found += subject.dimension(
                f"rocker.{entry}", Way.ALONG, start, end, offset=2.2 * above, worked_out=length
            )
        below = -FAR if cup[0] >= contact[0] else FAR
        found += subject.dimension("rocker.span", Way.ALONG, contact, cup, offset=below)
        found += subject.dimension("rocker.tip_radius", Way.ALONG, contact, look.at(gear.contact))
        found += _arm_angle(subject, gear, look)
    return tuple(found)


def _arm_angle(subject: Subject, gear: Gear, look: Look) -> tuple[Dimension, ...]:
    """Return the arc between the arms, which runs by way of the underside."""
    assert gear.contact_centre is not None
    assert gear.cup is not None
    assert gear.opening is not None
    apex = look.at(gear.shaft)
    valve = look.at(unit(gear.contact_centre - gear.valve_foot))
    cup = look.at(unit(gear.cup - gear.cup_foot))
    opening = look.at(gear.opening)
    turn = 1.0 if valve[0] * opening[1] - valve[1] * opening[0] > 0 else -1.0
    radius = 14.0
    return subject.dimension(
        "rocker.arm_angle",
        Way.ANGLE,
        (apex[0] + radius * valve[0], apex[1] + radius * valve[1]),
        (apex[0] + radius * cup[0], apex[1] + radius * cup[1]),
        turn,
        apex=apex,
        worked_out=float(alternatives.arm_angle(subject.reader)),
    )


def _valve(subject: Subject, gear: Gear, look: Look) -> tuple[Dimension, ...]:
    found: list[Dimension] = []
    if look is FRONT:
        length = alternatives.valve_length(subject.reader)
        start, end = look.at(gear.face), look.at(gear.face + length * gear.stem)
        found += subject.dimension(
            "valve.length",
            Way.ALONG,
            start,
            end,
            offset=-FAR * valve_side(gear),
            worked_out=float(length),
        )
        start, end = look.at(gear.face_measured), look.at(gear.face)
        if start != end:
            found += subject.dimension("valve.sink", Way.ALONG, start, end, offset=-NEAR * valve_side(gear))
        start, end = look.at(gear.seat_measured), look.at(gear.seat)
        if start != end:
            found += subject.dimension(
                "lifter.lowered", Way.ALONG, start, end, offset=NEAR * valve_side(gear)
            )
        return tuple(found)
    aside = unit(np.cross(np.array([1.0, 0.0, 0.0]), gear.stem))  # -y where the stem stands upright
    found += _round(subject, "valve.head_diameter", gear.face, aside, look, -NEAR)
    middle = gear.face + 0.62 * (gear.tip - gear.face)
    found += _round(subject, "valve.stem_diameter", middle, aside, look, 0.0)
    margin, head = subject.number("valve.margin"), subject.number("valve.head_diameter")
    if margin is not None:
        rim = gear.face + (40.0 if head is None else head) / 2 * aside
        start, end = look.at(rim), look.at(rim + margin * gear.stem)
        found += subject.dimension("valve.margin", Way.ALONG, start, end, offset=0.6 * NEAR)
    return tuple(found)


def _round(
    subject: Subject, entry: str, where: Array, aside: Array, look: Look, offset: float
) -> tuple[Dimension, ...]:
    across = subject.number(entry)
    if across is None:
        return ()
    start, end = look.at(where + across / 2 * aside), look.at(where - across / 2 * aside)
    return subject.dimension(entry, Way.ALONG, start, end, offset=offset)


def _pushrod(subject: Subject, gear: Gear, look: Look) -> tuple[Dimension, ...]:
    """Return the length of the pushrod that is required, in the side view."""
    if look is not SIDE or gear.ball_high is None or not subject.required_value.words:
        return ()
    way = unit(gear.ball_high - gear.ball)
    convention = subject.required_convention
    ends = subject.train.ends
    beyond = [end.beyond(convention, ends.gauge) for end in (ends.low, ends.high)]
    low, high = (0.0 if one is None else float(one) for one in beyond)
    start: Point = look.at(gear.ball - low * way)
    end: Point = look.at(gear.ball_high + high * way)
    outer = -1.0 if float(gear.ball[1]) >= float(gear.face[1]) else 1.0
    return (
        Dimension(
            OF_REQUIRED.letter,
            REQUIRED,
            *subject.required_value,
            Way.ALONG,
            start,
            end,
            1.0,
            outer * FAR,
            remark=", ".join(one for one in (convention, subject.required_remark) if one),
        ),
    )
