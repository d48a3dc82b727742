"""Where a bore is read: a sketch that is not to scale.

The cylinder cut across the wrist pin and along it, its wear drawn larger than it is, with the gauge at the top, in the
middle and at the bottom of the rings' travel; beneath, each height seen along the cylinder, with the gauge swept round to
where it reads most. Its shapes are always the same; only letters and values come from the job.
"""

from __future__ import annotations

import math

from tallstack.geometry.piston.bore_entries import ACROSS, ALONG, HEIGHTS, LARGEST, READINGS

from .lines import Circle, Dimension, Line, Mark, Point, Stroke, Text, Way
from .solids import body
from .subject import Entered

# mm of the sketch
RADIUS, WALL, LONG = 32.0, 8.0, 96.0
APART = 120.0  # from one view to the other
MIDDLES = {ACROSS: -APART / 2, ALONG: APART / 2}
WORN = {ACROSS: (7.0, 4.0, 1.5), ALONG: (3.5, 2.0, 0.8)}  # of the radius, at the three heights
LEVELS = dict(zip(HEIGHTS, (LONG * 0.8, LONG * 0.46, LONG * 0.12), strict=True))
SEEN, ROUND = -62.0, 19.0  # height and radius of what is seen along the cylinder
ASIDE = dict(zip(HEIGHTS, (-88.0, 0.0, 88.0), strict=True))
SWEPT = math.radians(28.0)  # where the gauge reads most
SMALL = 2.4  # mm of paper


def wall(way: str, side: float) -> list[Point]:
    """Return the worn wall of a view, from the bottom up; side : -1 or 1."""
    middle = MIDDLES[way]
    worn = [(0.0, LONG), *((by, LEVELS[one]) for one, by in zip(HEIGHTS, WORN[way], strict=True)), (0.0, 0.0)]
    return [(middle + side * (RADIUS + by), high) for by, high in reversed(worn)]


def outline() -> tuple[Mark, ...]:
    """Return the bodies of the sketch."""
    marks: list[Mark] = []
    for way, middle in MIDDLES.items():
        for side in (-1.0, 1.0):
            outer = middle + side * (RADIUS + WALL + max(WORN[ACROSS]))
            marks.append(body([*wall(way, side), (outer, LONG), (outer, 0.0)], known=True))
        marks.append(Line(((middle, -8.0), (middle, LONG + 8.0)), Stroke.AXIS))
        said = "cut across the wrist pin" if way == ACROSS else "cut along the wrist pin"
        marks.append(Text((middle - 24.0, LONG + 12.0), said, SMALL))
    for height, aside in ASIDE.items():
        pin = ((aside, SEEN - ROUND - 9), (aside, SEEN + ROUND + 9))
        marks += [
            Circle((aside, SEEN), ROUND, Stroke.OUTLINE),
            Line(pin, Stroke.AXIS),
            Text((aside - 16.0, SEEN - ROUND - 16.0), f"{height}, swept round", SMALL),
        ]
    return tuple(marks)


def dimensions(subject: Entered) -> tuple[Dimension, ...]:
    """Return where each reading is taken, with the values that were entered."""
    found: list[Dimension] = []
    for place, height in enumerate(HEIGHTS):
        for way, middle in MIDDLES.items():
            reach, level = RADIUS + WORN[way][place], LEVELS[height]
            ends = (middle - reach, level), (middle + reach, level)
            found += subject.dimension(f"{READINGS}.{height}_{way}", Way.ALONG, *ends, offset=0.0, blank=True)
        aside = ASIDE[height]
        turned = ROUND * math.cos(SWEPT), ROUND * math.sin(SWEPT)
        ends = (aside - turned[0], SEEN - turned[1]), (aside + turned[0], SEEN + turned[1])
        found += subject.dimension(f"{READINGS}.{height}_{LARGEST}", Way.ALONG, *ends, offset=0.0, blank=True)
    return tuple(found)
