"""The lobe under a lifter: its metal, where its lift curve and its base circle are known, else a lobe that stands for it.

The ring of metal stands as it does at the cylinder's overlap top centre, its axis at nought, up the way the lifter
rises. As the crank turns the cam turns half as far, to the right; which way it does turn no entry says. What rides on
it decides the metal too: where that was not entered the lobe is dashed, and drawn as for a roller.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from tallstack.geometry.cam.follower import Follower, contact
from tallstack.geometry.core.frames import Array
from tallstack.geometry.core.mapping import Reader

from .lines import Circle, Fill, Mark, Point, Stroke
from .solids import Look, body
from .subject import Gear, Subject

BASE, ROLLER, LIFT, THICK = 15.0, 9.0, 8.0, 12.0  # mm, where no entry says
WIDE = math.radians(110.0)  # cam, of a lobe that stands for one
STEPS = 360  # points of the ring
LIFTER_BELOW = 40.0  # mm, from the lifter's ball to where it meets the lobe


class Metal(NamedTuple):
    """A lobe's ring, mm, with its axis at nought."""

    ring: tuple[Point, ...]
    heel: float  # radius of its base circle
    axis: Point  # where the cam's axis stands from where the follower touches at rest
    nose: float  # cam rad from the overlap to where it lifts most
    known: bool


def angles() -> Array:
    """Return the cylinder's own crank angles at which a ring's lifts are told [rad]."""
    return 4 * math.pi * (np.arange(STEPS) / STEPS - 0.5)


def roller(subject: Subject) -> float | None:
    """Return the radius of the lifter's roller where it was entered [mm]."""
    return subject.number("lifter.follower.roller")


def metal(subject: Subject, lifts: Array | None) -> Metal:
    """Return a lobe's metal; lifts : the lifter's at `angles`, mm; None, or not all of them: not known, a lobe stands for it."""
    if lifts is not None and not np.isfinite(lifts).all():
        lifts = None
    name = subject.reader.word("lobe", subject.train.port)
    base = Reader(subject.mapping, ("",)).find(f"lobe.{name}.base_radius")
    flat = subject.reader.word("lifter.follower") == "flat"
    riding = roller(subject)
    offset = subject.number("lifter.follower_offset") or 0.0
    follower = Follower(None if flat else ROLLER if riding is None else riding, 0.0 if flat else offset)
    heel = BASE if base is None else float(base)
    cam = angles() / 2
    known = base is not None and (flat or riding is not None) and lifts is not None
    if lifts is None:
        lifts = LIFT * np.where(np.abs(cam) < WIDE / 2, np.cos(math.pi * cam / WIDE) ** 2, 0.0)
    slope = (np.roll(lifts, -1) - np.roll(lifts, 1)) / (4 * math.pi / STEPS)  # mm per cam rad
    touched = contact(lifts, slope, heel, follower)
    out = 0.0 if follower.radius is None else follower.radius
    (d, e), (along, across) = touched.centre, touched.normal
    d, e = d - out * along, e - out * across
    ring = np.column_stack((-d * np.sin(cam) - e * np.cos(cam), d * np.cos(cam) - e * np.sin(cam)))
    high = heel if follower.radius is None else math.sqrt((heel + out) ** 2 - follower.offset**2) - out
    return Metal(
        tuple((float(u), float(v)) for u, v in ring),
        heel,
        (follower.offset, -high),
        float(cam[int(np.argmax(lifts))]),
        known,
    )


def foot(gear: Gear, look: Look) -> tuple[Point, Point]:
    """Return where the lifter meets the lobe at rest, and the way it rises, as they are seen."""
    way = look.at(gear.lift_axis)
    size = math.hypot(*way)
    return look.at(gear.seat - LIFTER_BELOW * gear.lift_axis), (way[0] / size, way[1] / size)


def placed(one: Metal, at: Point, way: Point) -> tuple[Point, tuple[Mark, ...]]:
    """Return where the cam's axis stands, and the lobe on it as at the overlap; at, way : see `foot`."""

    def turned(point: Point) -> Point:
        return (point[0] * way[1] + point[1] * way[0], point[1] * way[1] - point[0] * way[0])

    aside = turned(one.axis)
    axis = (at[0] + aside[0], at[1] + aside[1])
    ring = [turned(point) for point in one.ring]
    return axis, (
        body([(axis[0] + u, axis[1] + v) for u, v in ring], one.known),
        Circle(axis, 1.0, Stroke.THIN, Fill.BLACK),
    )


def lines(subject: Subject, gear: Gear, look: Look) -> tuple[Mark, ...]:
    """Return the lobe at rest under its lifter, its nose away from it; from the side, a disc on its edge."""
    one = metal(subject, subject.lobe_lifts)
    at, way = foot(gear, look)
    if not look.is_along(gear.axis):
        corners = (
            (-THICK / 2, 0.0),
            (THICK / 2, 0.0),
            (THICK / 2, -2 * one.heel),
            (-THICK / 2, -2 * one.heel),
        )
        return (
            body(
                [(at[0] + u * way[1] + v * way[0], at[1] + v * way[1] - u * way[0]) for u, v in corners],
                one.known,
            ),
        )
    turn = math.pi - one.nose
    cosine, sine = math.cos(turn), math.sin(turn)
    ring = tuple((u * cosine - v * sine, u * sine + v * cosine) for u, v in one.ring)
    return placed(one._replace(ring=ring), at, way)[1]
