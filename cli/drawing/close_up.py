"""One valve over its crown, near enough to see the gap between them: what a page moves as the crank turns.

By coordinates it is the section through the stem that `section` draws. The section's plane holds the stem and stands
upright, so that the valve, which goes along its stem, and the crown, which goes along the cylinder, both stay in it.
Across counts from the middle of the closed valve's face, up from where the crown plane stands at its highest.

By a dial reading nobody knows a shape: a plain valve at the lean that was read stands over the floor or the crown that
it met, as far along its stem as the reading says. That is not to scale, and is said to be.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from tallstack.geometry.clearance.bench_drop import MeasuredDrop
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates, ByReading, OverValve
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.core.mapping import Flat, Reader

from .lines import Drawing, Fill, Line, Mark, Point, Stroke, View, thinned
from .section import USUAL_STEM_MM, Face, heights_along, level

PLAIN_RADIUS_MM, PLAIN_MARGIN_MM = 20.0, 1.5  # of a valve of which a dial reading alone is known
WIDTHS = "piston.diameter", "stack.bore"  # how wide a crown is, the first that is entered
BESIDE_MM, DEEP_MM = 60.0, 60.0  # of metal, so that a round window shows no end of it that is not one
WALL_MM = 9.0  # to a pocket's wall that no reading tells


MIDDLE = 150.0  # mm of the picture, to either side of the closed face
GROUPS = "crown", "valve"


class CloseUp(NamedTuple):
    """What is drawn of one valve and the metal under it, mm; the valve closed, the piston at its highest."""

    valve: tuple[Mark, ...]
    crown: tuple[Mark, ...]
    face: Point  # the middle of the valve's face
    opens: Point  # unit, the way the valve opens
    aside: float  # how far from its middle the face comes nearest to the metal drawn, positive to the right
    is_to_scale: bool


def close_up(mapping: Flat, train: str, over: OverValve, angle: float) -> CloseUp:
    """Return one valve and what lies under it.

    mapping : one engine, see `mapping`;  angle : crank rad, where the valve comes closest
    """
    stem = Reader(mapping, (f"{train}.",)).find("valve.stem_diameter")
    half = (USUAL_STEM_MM if stem is None else float(stem)) / 2
    if isinstance(over, ByReading):
        return _plain(over, half)
    piston = Reader(mapping, (f"{train.rpartition('.')[0]}.", ""))
    wide = next((one for name in WIDTHS if (one := piston.find(name)) is not None), None)
    return _cut(over, half, math.inf if wide is None else float(wide) / 2, angle)


def drawn(near: Mapping[str, CloseUp]) -> tuple[Drawing, list[tuple[str, list[Mark]]]]:
    """Return the picture of all of them, each closed face in its middle, and its groups: each valve's metal and itself."""
    words = "valve and crown, from near"
    groups = [
        (
            f"near-{index}-{name}",
            list(View("", "", marks, (MIDDLE - one.face[0], MIDDLE - one.face[1])).on_page()),
        )
        for index, one in enumerate(near.values())
        for name, marks in zip(GROUPS, (one.crown, one.valve), strict=True)
    ]
    return Drawing(words, words, 2 * MIDDLE, 2 * MIDDLE, (View("near", words, ()),)), groups


def _cut(over: ByCoordinates, half: float, edge: float, angle: float) -> CloseUp:
    """Return the section through the stem.

    edge : how far the crown reaches from the cylinder's axis;  angle : where the valve comes closest
    """
    head, across = over.head, level(over.head.stem)
    lean = math.atan2(float(np.dot(head.stem[:2], across)), float(head.stem[2]))
    radius, height = float(head.radius), float(head.centre[2])
    most = float(over.lift.at(_CYCLE).max())
    face = Face(height, lean, radius)
    ends = sorted((0.0, -most * math.sin(lean)))
    seen = np.linspace(ends[0] - radius - BESIDE_MM, ends[1] + radius + BESIDE_MM, 4001)
    out = head.centre[:2] + seen[:, None] * across
    seen = seen[np.hypot(out[:, 0], out[:, 1]) <= edge]
    crown = heights_along(over.below.crown, head.centre, across, seen)
    floor = float(crown.min()) - DEEP_MM
    line = thinned([(float(u), float(v)) for u, v in zip(seen, crown, strict=True)])
    lift, descent = float(over.lift.at(array(angle))), float(over.descent(array(angle)))
    out = np.linspace(-radius, radius, 401)
    rim = np.array([face.at(one, -lift) for one in out])
    apart = rim[:, 1] - np.interp(rim[:, 0], seen, crown) + descent
    return CloseUp(
        _valve(face, float(head.margin), half, Stroke.OUTLINE),
        _metal(line, floor),
        (0.0, height),
        (-math.sin(lean), -math.cos(lean)),
        float(out[np.argmin(np.round(apart, 6))]),
        is_to_scale=True,
    )


def _plain(over: ByReading, half: float) -> CloseUp:
    measured = over.reading.measured
    lean, closed = float(measured.lean), _closed_drop(over)
    face = Face(0.0, lean, PLAIN_RADIUS_MM)
    reach = PLAIN_RADIUS_MM + BESIDE_MM
    if measured.meets == "crown":
        low = -PLAIN_RADIUS_MM * math.sin(lean) - closed * math.cos(lean)
        line: tuple[Point, ...] = ((-reach, low), (reach, low))
    else:
        line = _pocket(face, measured, closed, reach)
    floor = min(v for _, v in line) - DEEP_MM
    return CloseUp(
        _valve(face, PLAIN_MARGIN_MM, half, Stroke.INDICATED),
        _metal(line, floor),
        (0.0, 0.0),
        (-math.sin(lean), -math.cos(lean)),
        PLAIN_RADIUS_MM if measured.meets == "crown" and lean else 0.0,
        is_to_scale=False,
    )


def _closed_drop(over: ByReading) -> float:
    """Return the drop of the closed valve, the piston at its highest on the stack of today."""
    highest = over.drop(array(0.0), array(0.0))
    return float(highest) if math.isfinite(highest) else float(over.reading.measured.drop)


def _pocket(face: Face, measured: MeasuredDrop, drop: float, reach: float) -> tuple[Point, ...]:
    """Return a floor square to the stem between walls along it; the head goes aside to the left as it opens."""
    room = WALL_MM if measured.room is None else float(measured.room)
    near = face.at(-face.radius - room + float(measured.growth) * math.sin(face.lean), -drop)
    far = face.at(face.radius + WALL_MM, -drop)
    up = max(near[1], far[1]) + 1.0

    def rim(foot: Point) -> Point:
        return (foot[0] + (up - foot[1]) * math.tan(face.lean), up)

    return (
        (min(-reach, rim(near)[0] - 1.0), up),
        rim(near),
        near,
        far,
        rim(far),
        (max(reach, rim(far)[0] + 1.0), up),
    )


def _valve(face: Face, margin: float, half: float, stroke: Stroke) -> tuple[Mark, ...]:
    fill = Fill.GREY if stroke is Stroke.OUTLINE else Fill.WHITE
    return (Line(face.outline(margin, half), stroke, closed=True, fill=fill),)


def _metal(line: tuple[Point, ...], floor: float) -> tuple[Mark, ...]:
    block = ((line[0][0], floor), *line, (line[-1][0], floor))
    return (Line(block, Stroke.THIN, closed=True, fill=Fill.GREY), Line(line, Stroke.OUTLINE))


_CYCLE: Array = np.radians(np.arange(-360.0, 360.0))
