"""A cylinder's clearances against the crank angle, drawn in millimetres of paper.

Above, the drop of each valve with its limits and its least; beneath, on the same angles, the lifts and the piston.
The intake is drawn through, the exhaust dashed; a pumped-up lifter's drop is thin. Where a dial reading does not
tell the drop its line ends.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from tallstack.geometry.clearance.clearances import Clearances, ValveClearance
from tallstack.geometry.clearance.situation import Situation
from tallstack.geometry.core.frames import Array

from ..job.contradicted import word
from ..job.entries.fields import INCH
from ..page.clearance_words import at_crank
from ..page.wording import in_one
from .lines import Anchor, Circle, Drawing, Fill, Item, Line, Mark, Point, Stroke, Text, View, measured

EDGE = 1e-9  # mm: a point on a frame is in it
WIDE, HIGH, LOW_HIGH, BETWEEN = 158.0, 62.0, 34.0, 9.0  # of the two frames, mm of paper
LEFT, RIGHT = 14.0, 14.0  # beside them, for the numbers
HALF_WAY = 100.0  # crank degrees to either side of overlap top centre
SMALL, SAID = 2.5, 2.8
ROOM = 3.2  # times its limit: how high the drop is shown
SCREEN = 128.0, 60.0  # mm, beside an engine that is turned
SEEN = {"intake": "drawn through", "exhaust": "dashed"}
STROKES = {"intake": Stroke.CURVE, "exhaust": Stroke.CURVE_DASHED}
NICE = (0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0)
NICE_IN = (0.005, 0.01, 0.02, 0.025, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where values stand on the paper."""

    low: float  # value at the frame's foot, mm
    high: float
    foot: float  # mm of paper
    tall: float
    left: float = LEFT
    wide: float = WIDE

    def up(self, value: float) -> float:
        """Return the height of a value on the paper."""
        return self.foot + self.tall * (value - self.low) / (self.high - self.low)

    def across(self, degrees: float) -> float:
        """Return where a crank angle stands on the paper."""
        return self.left + self.wide * (degrees + HALF_WAY) / (2 * HALF_WAY)

    @property
    def right(self) -> float:
        """Where it ends."""
        return self.left + self.wide


def size() -> tuple[float, float]:
    """Return how wide and high the picture is, mm of paper."""
    return LEFT + WIDE + RIGHT, 8.0 + LOW_HIGH + BETWEEN + HIGH + 5.0


def trace(units: str, here: Situation, valves: Sequence[ValveClearance]) -> View | None:
    """Return the picture of one cylinder; None where no drop of it is known.

    valves : those of the cylinder
    """
    known = [one for one in valves if one.piston is not None and one.drop]
    if not known:
        return None
    degrees = np.arange(-HALF_WAY, HALF_WAY + 0.25, 0.5)
    angles = np.radians(degrees)
    upper = Frame(*_range(known), 8.0 + LOW_HIGH + BETWEEN, HIGH)
    items: list[Item] = [*_frame(upper, units, "drop along the stem"), *_angles(upper, named=False)]
    items += _drops(upper, here, known, degrees)
    items += _limits(upper, units, known)
    for one in known:
        items += _least(upper, units, one)
    lifts = {one.train: here.valves[one.train].lift.at(angles) for one in known}
    most = max(1.0, *(float(lift.max()) for lift in lifts.values()))
    lower = Frame(0.0, most * 1.2, 8.0, LOW_HIGH)
    items += [*_frame(lower, units, "lift; piston below its top"), *_angles(lower, named=True)]
    for one in known:
        items += _curve(lower, degrees, lifts[one.train], STROKES[_port(one)])
    items += _curve(lower, degrees, here.valves[known[0].train].descent(angles), Stroke.CURVE_DOTTED)
    thin = "; thin: lifter pumped up" if any(one.pumped is not None for one in known) else ""
    title = f"cylinder {here.cylinder}: intake drawn through, exhaust dashed{thin}; dotted: piston"
    items.append(Text((LEFT, upper.foot + HIGH + 2.0), title, SMALL))
    return View(
        f"trace-{here.cylinder}", f"clearances of cylinder {here.cylinder} against crank angle", tuple(items)
    )


class OnScreen(NamedTuple):
    """One cylinder's drop as a page moves a cursor over it."""

    drawing: Drawing
    frame: Frame
    groups: tuple[tuple[str, tuple[Mark, ...]], ...]  # what a page moves, each by its name


def on_screen(units: str, here: Situation, valves: Sequence[ValveClearance]) -> OnScreen | None:
    """Return the drop of one cylinder's valves, large enough to read beside an engine; None where none is known.

    Its groups: "cursor", and for each valve gear a mark on its curve.
    """
    known = [one for one in valves if one.piston is not None and one.drop]
    if not known:
        return None
    wide, tall = SCREEN
    frame = Frame(*_range(known), 9.0, tall - 15.0, 11.0, wide - 23.0)
    items: list[Item] = [*_frame(frame, units), *_angles(frame, named=True)]
    items += _drops(frame, here, known, np.arange(-HALF_WAY, HALF_WAY + 0.25, 0.5))
    limits = sorted({one.piston.limit.value for one in known if one.piston})
    items += [
        Line(((frame.left, frame.up(one)), (frame.right, frame.up(one))), Stroke.LIMIT) for one in limits
    ]
    for one in known:
        at = (frame.across(math.degrees(one.drop[0].angle)), frame.up(max(frame.low, one.drop[0].value)))
        items.append(Circle(at, 0.9, Stroke.FACE, Fill.WHITE))
    ports = {_port(one) for one in known}
    told = ", ".join(f"{port} {SEEN[port]}" for port in STROKES if port in ports)
    items.append(Text((frame.left, tall - 4.2), f"drop: {told}; dotted: limit", SAID))
    top, middle = frame.foot + frame.tall, frame.across(0.0)
    groups: list[tuple[str, tuple[Mark, ...]]] = [
        ("cursor", (Line(((middle, frame.foot), (middle, top)), Stroke.OUTLINE),))
    ]
    groups += [
        (one.train, (Circle((middle, frame.up(0.0)), 1.3, Stroke.OUTLINE, Fill.BLACK),)) for one in known
    ]
    words = f"cylinder {here.cylinder}: drop of its valves against crank angle"
    view = View(f"drop-{here.cylinder}", words, tuple(items))
    return OnScreen(Drawing(words, words, wide, tall, (view,)), frame, tuple(groups))


def _range(known: Sequence[ValveClearance]) -> tuple[float, float]:
    """Return the least and the most drop that a frame shows."""
    top = max(max(one.piston.limit.value * ROOM, one.drop[0].value + 4.0) for one in known if one.piston)
    return min(0.0, *(one.drop[0].value for one in known), *(_pumped(one) for one in known)) - 0.5, top


def _drops(frame: Frame, here: Situation, known: Sequence[ValveClearance], degrees: Array) -> list[Item]:
    """Return the drop of every valve, and of those whose lifter can pump up."""
    angles = np.radians(degrees)
    items: list[Item] = [Line(((frame.left, frame.up(0.0)), (frame.right, frame.up(0.0))), Stroke.FACE)]
    for one in known:
        over, port = here.valves[one.train], _port(one)
        items += _curve(frame, degrees, over.drop(angles, over.lift.at(angles)), STROKES[port])
        if one.pumped is not None:
            up = over.lift._replace(pumped=True)
            items += _curve(frame, degrees, over.drop(angles, up.at(angles)), Stroke.THIN)
    return items


def _port(one: ValveClearance) -> str:
    return one.train.rpartition(".")[2]


def _pumped(one: ValveClearance) -> float:
    return 0.0 if one.pumped is None else one.pumped.value


def _curve(frame: Frame, degrees: Array, values: Array, stroke: Stroke) -> list[Item]:
    """Return a curve, cut off at its frame's edges and where it is not known."""
    pieces: list[list[Point]] = [[]]
    for at, value in zip(degrees, values, strict=True):
        if math.isfinite(value) and frame.low - EDGE <= value <= frame.high + EDGE:
            pieces[-1].append((frame.across(float(at)), frame.up(float(value))))
        elif pieces[-1]:
            pieces.append([])
    return [Line(tuple(piece), stroke) for piece in pieces if len(piece) > 1]


def _frame(frame: Frame, units: str, name: str = "") -> list[Item]:
    """Return the frame with both units at its sides, the job's first; a page leaves out the one not chosen."""
    top = frame.foot + frame.tall
    corners = ((frame.left, frame.foot), (frame.right, frame.foot), (frame.right, top), (frame.left, top))
    marks: list[Item] = [Line(corners, Stroke.FACE, closed=True)]
    sides = [("mm", 1.0, NICE), ("in", INCH, NICE_IN)]
    for side, (unit, scale, steps) in zip((-1.0, 1.0), sides if units == "mm" else sides[::-1], strict=True):
        marks += _numbers(frame, side, scale, steps, unit)
    if name:
        marks.append(Text((frame.right - 1.0, top - 3.2), name, SMALL, Anchor.END, bold=True))
    return marks


def _numbers(frame: Frame, side: float, scale: float, steps: Sequence[float], unit: str) -> list[Mark]:
    """Return one unit's numbers; side : -1 left of the frame, 1 right of it."""
    at = frame.left if side < 0 else frame.right
    span = (frame.high - frame.low) / scale
    step = next((one for one in steps if span / one <= 7), steps[-1])
    anchor = Anchor.END if side < 0 else Anchor.START
    marks: list[Mark] = []
    first = math.ceil(frame.low / scale / step - 1e-9)
    for index in range(first, first + 9):
        value = index * step
        if value * scale > frame.high + 1e-9:
            break
        up = frame.up(value * scale)
        marks.append(Line(((at, up), (at + side * 1.2, up)), Stroke.FACE))
        shown = f"{value:.3f}".rstrip("0").rstrip(".")
        marks.append(Text((at + side * 1.8, up - 0.9), shown, SMALL, anchor, unit=unit, other=" "))
    at, up = at + side * 1.8, frame.foot + frame.tall + 2.0
    marks.append(Text((at, up), unit, SMALL, anchor, bold=True, unit=unit, other=" "))
    return marks


def _angles(frame: Frame, named: bool) -> list[Item]:
    marks: list[Item] = []
    for degrees in range(-100, 101, 20):
        at = frame.across(degrees)
        marks.append(Line(((at, frame.foot), (at, frame.foot - 1.2)), Stroke.FACE))
        if named:
            marks.append(Text((at, frame.foot - 4.0), str(degrees), SMALL, Anchor.MIDDLE))
    middle = frame.across(0.0)
    marks.append(Line(((middle, frame.foot), (middle, frame.foot + frame.tall)), Stroke.AXIS))
    if named:
        words = "crank degrees from overlap top centre"
        marks.append(Text((middle, frame.foot - 7.4), words, SMALL, Anchor.MIDDLE))
    return marks


def _limits(frame: Frame, units: str, known: Sequence[ValveClearance]) -> list[Item]:
    found: dict[float, list[str]] = {}
    for one in known:
        assert one.piston is not None
        found.setdefault(one.piston.limit.value, []).append(_port(one))
    marks: list[Item] = []
    for index, (limit, ports) in enumerate(sorted(found.items())):
        up = frame.up(limit)
        marks.append(Line(((frame.left, up), (frame.right, up)), Stroke.LIMIT))
        below = -3.4 if index == 0 and len(found) > 1 else 1.0
        marks.append(_said((LEFT + 1.5, up + below), f"limit, {' and '.join(ports)}:", limit, units, SMALL))
    return marks


def _least(frame: Frame, units: str, one: ValveClearance) -> list[Item]:
    """Return the mark of a least drop, and what the verdict stands on."""
    assert one.piston is not None
    least, port = one.drop[0], _port(one)
    at = (frame.across(math.degrees(least.angle)), frame.up(max(frame.low, least.value)))
    right = port == "intake"
    across, up = (LEFT + WIDE - 2.0 if right else LEFT + 2.0, frame.foot + HIGH * (0.62 if right else 0.86))
    anchor = Anchor.END if right else Anchor.START
    stands = f"{port.upper()} {word(one.piston.verdict, one.piston.look_again)}"
    marks: list[Item] = [
        Circle(at, 1.0, Stroke.FACE, Fill.WHITE),
        Text((across, up), stands, SAID, anchor, bold=True),
        _said((across, up - 3.6), "", least.value, units, SAID, anchor),
    ]
    if one.piston.name == "gap":
        marks.append(_said((across, up - 7.2), "straight gap", one.piston.value, units, SAID, anchor))
    marks.append(Text((across, up - 3.6 * (len(marks) - 1)), at_crank(least.angle), SAID, anchor))
    return marks


def _said(at: Point, told: str, value: float, units: str, size: float, anchor: Anchor = Anchor.START) -> Text:
    return measured(at, units, lambda unit: f"{told} {in_one(value, unit)}".lstrip(), size, anchor)


def traces(units: str, found: Clearances) -> dict[str, View]:
    """Return the picture of every cylinder that has one."""
    views: dict[str, View] = {}
    for cylinder, here in found.situations.items():
        valves = [one for one in found.valves if one.train.rpartition(".")[0] == cylinder]
        view = trace(units, here, valves)
        if view is not None:
            views[cylinder] = view
    return views
