"""How a pushrod is measured on the mock-up: a sketch that is not to scale.

It stands in for the two views of a valve gear whose coordinates are not entered. Its shapes are always
the same; only letters and values come from the job.
"""

from __future__ import annotations

import math
from dataclasses import replace

from .lines import Circle, Dimension, Fill, Line, Mark, Point, Stroke, Text, Way
from .solids import arm, ball, body
from .subject import Subject

# mm of the sketch: the rod leans by 8 degrees from the lifter's ball at (0, 0)
LENGTH, BALL, ROD, LEAN = 150.0, 6.0, 4.5, math.radians(8.0)
SMALL = 2.4  # mm of paper
ARC = 112.0  # radius of the lean's arc
AXIS_AT = 62.0  # the cylinder's axis
SHAFT, TIP = (52.0, 163.0), (96.0, 150.0)  # the rocker's, the stem's


def along(away: float, aside: float = 0.0) -> Point:
    """Return a point on the rod, so far from its lower ball centre, and aside to the left of it."""
    return (
        away * math.sin(LEAN) - aside * math.cos(LEAN),
        away * math.cos(LEAN) + aside * math.sin(LEAN),
    )


def outline(is_solid: bool = False) -> tuple[Mark, ...]:
    """Return the bodies of the sketch; is_solid : the lifter, which has no plunger then."""
    return (
        *_lobe(),
        *(_solid() if is_solid else _hydraulic()),
        *_valve(),
        *_rocker(),
        *_rod(),
        Line(((AXIS_AT, -60.0), (AXIS_AT, 140.0)), Stroke.AXIS),
        *_told(is_solid),
    )


def _lobe() -> tuple[Mark, ...]:
    """Return the lobe, its nose away from the lifter."""
    nose = [(16.9 * math.sin(turn), -52.0 + 16.9 * math.cos(turn)) for turn in _turns(-110.0, 110.0)]
    tip = [(6.0 * math.sin(turn), -68.0 - 6.0 * math.cos(turn)) for turn in _turns(60.0, -60.0)]
    return (body((*nose, *tip), known=True), Circle((0.0, -52.0), 1.2, Stroke.THIN, Fill.BLACK))


def _turns(first: float, last: float) -> list[float]:
    return [math.radians(first + (last - first) * step / 24) for step in range(25)]


def _solid() -> tuple[Mark, ...]:
    cup = ((-8.0, 2.0), (-5.0, -BALL), (5.0, -BALL), (8.0, 2.0))
    return (body(((-13.0, -35.0), (-13.0, 2.0), *cup, (13.0, 2.0), (13.0, -35.0)), known=True),)


def _hydraulic() -> tuple[Mark, ...]:
    hollow = ((-9.0, 2.0), (-9.0, -22.0), (9.0, -22.0), (9.0, 2.0))
    plunger = (
        (-8.5, -3.0),
        (-6.0, -3.0),
        (-4.5, -BALL),
        (4.5, -BALL),
        (6.0, -3.0),
        (8.5, -3.0),
        (8.5, -14.0),
        (-8.5, -14.0),
    )
    spring = ((-3.0, -22.0), (3.0, -20.5), (-3.0, -19.0), (3.0, -17.5), (-3.0, -16.0), (3.0, -14.0))
    return (
        body(((-13.0, -35.0), (-13.0, 2.0), *hollow, (13.0, 2.0), (13.0, -35.0)), known=True),
        body(plunger, known=True),
        Line(spring, Stroke.THIN),
        *(Line(((s * 12.0, 2.0), (s * 8.0, 2.0), (s * 8.0, -1.5)), Stroke.FACE) for s in (-1, 1)),
    )


def _rod() -> tuple[Mark, ...]:
    nut = 58.0
    thread = tuple(along(nut + 8 + 2.0 * step, (1 if step % 2 else -1) * 2.4) for step in range(13))

    def shank(low: float, high: float, half: float) -> Line:
        return body((along(low, half), along(high, half), along(high, -half), along(low, -half)), known=True)

    return (
        shank(BALL * 0.6, nut, ROD),
        shank(nut + 8, nut + 32, 2.4),
        Line(thread, Stroke.FACE),
        shank(nut, nut + 8, 7.5),
        shank(nut + 32, LENGTH - BALL * 0.6, ROD),
        ball(along(0.0), BALL, known=True),
        ball(along(LENGTH), BALL, known=True),
        Line((along(-12.0), along(LENGTH + 14)), Stroke.AXIS),
    )


def _rocker() -> tuple[Mark, ...]:
    cup, tip = along(LENGTH), TIP
    return (
        arm(SHAFT, 10.0, cup, BALL + 4.0, known=True),
        arm(SHAFT, 10.0, (tip[0] - 1, tip[1] + 5), 5.0, known=True),
        ball(SHAFT, 10.0, known=True),
        Circle(SHAFT, 7.0, Stroke.OUTLINE, Fill.WHITE),
    )


def _valve() -> tuple[Mark, ...]:
    u, top, neck, rim, face = TIP[0], TIP[1] - 0.5, 62.0, 52.0, 49.0
    side = ((u + 4, top), (u + 4, neck), (u + 18, rim), (u + 18, face))
    shape = (*side, *((2 * u - a, b) for a, b in reversed(side)))
    seats = (
        body(
            [(u + s * a, b) for a, b in ((18.0, rim), (15.0, rim + 4), (24.0, rim + 4), (24.0, rim))],
            known=True,
        )
        for s in (-1, 1)
    )
    return (*seats, body(shape, known=True))


def _told(is_solid: bool) -> tuple[Text, ...]:
    lifter, load = ("solid lifter", "the valve does not move")
    if not is_solid:
        lifter, load = ("plunger up at its top stop", "no load on the plunger")
    return (
        Text((17.0, -14.0), lifter, SMALL),
        Text((20.0, -54.0), "on the base circle", SMALL),
        Text((AXIS_AT + 3, -40.0), "cylinder's axis", SMALL),
        Text((122.0, 48.0), "valve closed", SMALL),
        Text((70.0, 196.0), "touching: no up-and-down shake,", SMALL),
        Text((70.0, 186.0), load, SMALL),
    )


def dimensions(subject: Subject) -> tuple[Dimension, ...]:
    """Return where each reading is taken, with the values that were entered; the chief ones also without."""
    read_as = subject.reader.word("measured_pushrod.as")
    start, end = _read_between(read_as)
    found: list[Dimension] = []
    turned = subject.number("measured_pushrod.checking_rod.closed") is not None
    for entry, blank in (("length", not turned), ("checking_rod.closed", False)):
        lengths = subject.dimension(
            f"measured_pushrod.{entry}", Way.ALONG, start, end, offset=14.0, blank=blank
        )
        found += [replace(one, remark=f"read as {read_as}" if read_as else "") for one in lengths]
    for entry, away in (("turns", 80.0), ("threads_per_inch", 72.0), ("pitch", 72.0)):
        at = along(away, 1.5)
        found += subject.dimension(f"measured_pushrod.checking_rod.{entry}", Way.ALONG, at, at)
    in_two_views = subject.number("measured_pushrod.lean.x") is not None
    for entry, blank in (("lean", not in_two_views), ("lean.x", False), ("lean.y", False)):
        arc = ((0.0, ARC), along(ARC))
        found += subject.dimension(f"measured_pushrod.{entry}", Way.ANGLE, *arc, side=-1.0, blank=blank)
    for side, away in (("low", 0.0), ("high", LENGTH)):
        ends = (along(away, BALL), along(away, -BALL))
        found += subject.dimension(f"pushrod.ball_diameter_{side}", Way.ALONG, *ends, blank=True)
        hole = along(away + (BALL if away else -BALL))
        found += subject.dimension(f"pushrod.hole_{side}", Way.ALONG, hole, hole, blank=True)
    found += subject.dimension("measured_pushrod.plunger.down", Way.ALONG, (-7.0, -4.0), (-7.0, -3.0))
    hydraulic = subject.reader.word("lifter.kind") != "solid"
    found += subject.dimension("lifter.preload", Way.ALONG, (-8.5, -3.0), (-8.5, -9.0), blank=hydraulic)
    found += subject.dimension("rocker.ratio", Way.ALONG, SHAFT, SHAFT, blank=True)
    return tuple(found)


def _read_between(convention: str) -> tuple[Point, Point]:
    """Return the two ends between which a length is read."""
    beyond = {"centres": 0.0, "gauge": 0.75 * BALL}.get(convention, BALL)
    return along(-beyond), along(LENGTH + beyond)
