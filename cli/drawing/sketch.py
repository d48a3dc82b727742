"""How a pushrod is measured on the mock-up: a sketch that is not to scale.

It stands in for the two views of a valve gear whose coordinates are not entered. Its shapes are always
the same; only letters and values come from the job.
"""

from __future__ import annotations

import math
from dataclasses import replace

from .lines import Circle, Dimension, Fill, Line, Point, Stroke, Text, Way
from .subject import Subject

# mm of the sketch: the rod leans by 8 degrees from the lifter's ball at (0, 0)
LENGTH, BALL, ROD, LEAN = 150.0, 6.0, 4.5, math.radians(8.0)
SMALL = 2.4  # mm of paper
ARC = 112.0  # radius of the lean's arc
AXIS_AT = 62.0  # the cylinder's axis
SHAFT = (52.0, 163.0)  # the rocker's


def along(away: float, aside: float = 0.0) -> Point:
    """Return a point on the rod, so far from its lower ball centre, and aside to the left of it."""
    return (
        away * math.sin(LEAN) - aside * math.cos(LEAN),
        away * math.cos(LEAN) + aside * math.sin(LEAN),
    )


def outline(is_solid: bool = False) -> tuple[Line | Circle | Text, ...]:
    """Return the lines of the sketch; is_solid : the lifter, which has no plunger then."""
    return (
        *_lobe(),
        *(_solid() if is_solid else _hydraulic()),
        *_rod(),
        *_rocker_and_valve(),
        *_told(is_solid),
    )


def _lobe() -> tuple[Circle, ...]:
    return (
        Circle((0.0, -52.0), 17.0, Stroke.INDICATED),
        Circle((0.0, -52.0), 1.2, Stroke.THIN, Fill.BLACK),
    )


def _solid() -> tuple[Line, ...]:
    body = (
        (-13.0, -35.0),
        (-13.0, 2.0),
        (-8.0, 2.0),
        (-5.0, -BALL),
        (5.0, -BALL),
        (8.0, 2.0),
        (13.0, 2.0),
        (13.0, -35.0),
    )
    return (Line(body, closed=True),)


def _hydraulic() -> tuple[Line, ...]:
    return (
        Line(
            (
                (-13.0, -35.0),
                (-13.0, 2.0),
                (-9.0, 2.0),
                (-9.0, -22.0),
                (9.0, -22.0),
                (9.0, 2.0),
                (13.0, 2.0),
                (13.0, -35.0),
            ),
            closed=True,
        ),
        Line(((-9.0, -3.0), (-6.0, -3.0)), Stroke.FACE),
        Line(((6.0, -3.0), (9.0, -3.0)), Stroke.FACE),
        Line(((-8.5, -4.0), (-8.5, -14.0), (8.5, -14.0), (8.5, -4.0)), Stroke.FACE),
        Line(((-12.0, 2.0), (-8.0, 2.0), (-8.0, -1.5)), Stroke.FACE),
        Line(((12.0, 2.0), (8.0, 2.0), (8.0, -1.5)), Stroke.FACE),
        Line(
            ((-3.0, -22.0), (3.0, -20.5), (-3.0, -19.0), (3.0, -17.5), (-3.0, -16.0), (3.0, -14.0)),
            Stroke.THIN,
        ),
    )


def _rod() -> tuple[Line | Circle, ...]:
    nut = 58.0
    thread = tuple(along(nut + 8 + 2.0 * step, (1 if step % 2 else -1) * 2.4) for step in range(13))
    return (
        Circle(along(0.0), BALL),
        Circle(along(LENGTH), BALL),
        Line((along(BALL * 0.8, ROD), along(nut, ROD))),
        Line((along(BALL * 0.8, -ROD), along(nut, -ROD))),
        Line((along(nut, 7.5), along(nut, -7.5), along(nut + 8, -7.5), along(nut + 8, 7.5)), closed=True),
        Line(thread, Stroke.FACE),
        Line((along(nut + 32, ROD), along(LENGTH - BALL * 0.8, ROD))),
        Line((along(nut + 32, -ROD), along(LENGTH - BALL * 0.8, -ROD))),
        Line((along(nut + 32, ROD), along(nut + 32, -ROD))),
        Line((along(-12.0), along(LENGTH + 14)), Stroke.AXIS),
    )


def _rocker_and_valve() -> tuple[Line | Circle, ...]:
    cup, shaft, tip = along(LENGTH), SHAFT, (96.0, 150.0)
    return (
        Circle(shaft, 7.0),
        Line(
            (
                (cup[0] - 10, cup[1] + 2),
                (cup[0] - 9, cup[1] + 9),
                (shaft[0], shaft[1] + 9),
                (tip[0] + 4, tip[1] + 8),
            )
        ),
        Line(((cup[0] + 10, cup[1] + 2), (shaft[0], shaft[1] - 9), (tip[0] - 6, tip[1] + 1))),
        Line(
            ((tip[0] - 6, tip[1] + 1), (tip[0], tip[1]), (tip[0] + 5, tip[1] + 3), (tip[0] + 4, tip[1] + 8))
        ),
        Line(((92.0, 149.5), (100.0, 149.5)), Stroke.OUTLINE),
        Line(
            (
                (92.0, 149.5),
                (92.0, 62.0),
                (78.0, 52.0),
                (78.0, 49.0),
                (114.0, 49.0),
                (114.0, 52.0),
                (100.0, 62.0),
                (100.0, 149.5),
            )
        ),
        Line(((72.0, 46.5), (79.0, 53.5)), Stroke.FACE),
        Line(((120.0, 46.5), (113.0, 53.5)), Stroke.FACE),
        Line(((AXIS_AT, -60.0), (AXIS_AT, 140.0)), Stroke.AXIS),
    )


def _told(is_solid: bool) -> tuple[Text, ...]:
    lifter, load = ("solid lifter", "the valve does not move")
    if not is_solid:
        lifter, load = ("plunger up at its top stop", "no load on the plunger")
    return (
        Text((17.0, -14.0), lifter, SMALL),
        Text((20.0, -54.0), "lobe's base circle", SMALL),
        Text((AXIS_AT + 3, -40.0), "cylinder's axis", SMALL),
        Text((122.0, 48.0), "valve closed", SMALL),
        Text((58.0, 192.0), "touching: no up-and-down shake,", SMALL),
        Text((58.0, 181.0), load, SMALL),
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
