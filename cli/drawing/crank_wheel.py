"""Where the crank may stand while each cylinder's adjusters are set: a wheel for the first page.

Seen along the crankshaft, x to the right. A mark on the crank that stands upright at the first cylinder's compression
top centre stands at the angle that is told; each cylinder has a ring, its band the angles at which both its lifters
rest, its tick its own compression top centre. A cycle is two turns: what fires in the second one says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from tallstack.geometry.crank.heels import TURN
from tallstack.geometry.pushrod.stations import Station

from ..page.wording import steady
from .arrows import head
from .lines import Anchor, Circle, Drawing, Fill, Item, Line, Point, Stroke, Text, View, width

RADIUS, RING, APART = 22.5, 3.0, 0.8  # mm of paper: the wheel, a band at most, between two bands
HUB = 8.0  # within it the way it turns
SAID, PITCH, LEADER = 3.6, 4.8, 3.0  # a label, from one to the next, and its way out of the wheel
EDGE = 1.0
STEPS = 48  # points of a band


def crank_wheel(stations: Sequence[Station], forward: bool, is_said: bool = True) -> Drawing:
    """Return the wheel.

    stations : in the order in which they fire;  forward : it turns from upright towards x
    is_said  : that somebody said which way; else the wheel says that nobody did
    """
    marks: list[Item] = [Circle((0.0, 0.0), RADIUS, Stroke.OUTLINE, Fill.WHITE)]
    marks += [
        Line(
            (_at(RADIUS, step * TURN / 12, forward), _at(RADIUS - 1.5, step * TURN / 12, forward)),
            Stroke.FACE,
        )
        for step in range(12)
    ]
    room = RADIUS - 2.0 - HUB
    deep = min(RING, room / max(1, len(stations)) - APART)
    for place, one in enumerate(stations):
        outer = RADIUS - 2.0 - place * (deep + APART)
        marks += _ring(one, outer, outer - deep, forward)
    marks += _way(forward)
    said = [*_labels(stations, forward), *_beneath(stations, is_said)]
    left = min(one.corners()[0][0] for one in said if isinstance(one, Text)) - EDGE
    right = max(one.corners()[1][0] for one in said if isinstance(one, Text)) + EDGE
    low = min(-RADIUS, *(one.at[1] for one in said if isinstance(one, Text))) - 0.25 * SAID - EDGE
    high = max(RADIUS, *(one.at[1] + 0.8 * SAID for one in said if isinstance(one, Text))) + EDGE
    told = f"The crank's wheel: {'; '.join(_words(one) for one in stations)}"
    view = View("wheel", told, (*marks, *said), (-left, -low))
    return Drawing("where the crank may stand", told, right - left, high - low, (view,))


def _at(radius: float, angle: float, forward: bool) -> Point:
    """Return a place on the wheel, an angle on from upright."""
    way = 1.0 if forward else -1.0
    return (way * radius * math.sin(angle), radius * math.cos(angle))


def _fires(one: Station) -> float:
    return one.place.top_centre if one.place.fires_at is None else one.place.fires_at


def _ring(one: Station, outer: float, inner: float, forward: bool) -> list[Item]:
    """Return a cylinder's band and its top centre; where the band is not known, its ring dashed."""
    top = _fires(one)
    tick = Line((_at(outer, top, forward), _at(inner, top, forward)), Stroke.OUTLINE)
    if one.heel is None:
        return [Circle((0.0, 0.0), (outer + inner) / 2, Stroke.INDICATED), tick]
    begins, ends = top + one.heel.begins, top + one.heel.ends
    turns = [begins + (ends - begins) * step / STEPS for step in range(STEPS + 1)]
    rim = [_at(outer, turn, forward) for turn in turns]
    back = [_at(inner, turn, forward) for turn in reversed(turns)]
    return [Line((*rim, *back), Stroke.FACE, closed=True, fill=Fill.GREY), tick]


def _way(forward: bool) -> list[Item]:
    """Return the arrow that says which way it turns."""
    radius, last = HUB - 2.5, 0.75 * TURN
    turns = [last * step / STEPS for step in range(STEPS + 1)]
    curve = tuple(_at(radius, turn, forward) for turn in turns)
    heading = math.atan2(curve[-1][1] - curve[-4][1], curve[-1][0] - curve[-4][0])
    return [
        Line(curve, Stroke.FACE),
        head(curve[-1], heading),
        Circle((0.0, 0.0), 0.7, Stroke.THIN, Fill.BLACK),
    ]


def _words(one: Station) -> str:
    """Return a cylinder with the angle at which it is set, after the first one's."""
    turned = steady(math.degrees(_fires(one)))
    if one.place.fires_at is None:
        return f"{one.cylinder} {turned:.0f}, first or second turn"
    return f"{one.cylinder} {turned % 360:.0f}{', 2nd turn' if turned >= 360 else ''}"


def _labels(stations: Sequence[Station], forward: bool) -> list[Item]:
    """Return each cylinder's name and angle beside the wheel where it is at top centre, none on another."""
    found: list[Item] = []
    for side in (1.0, -1.0):
        own = []
        for one in stations:
            rim = _at(RADIUS, _fires(one), forward)
            if (rim[0] >= -1e-6) == (side > 0):
                own.append((rim, _fires(one), _words(one)))
        own.sort(key=lambda each: (-round(each[0][1], 6), each[1]))
        ups = _spread([rim[1] for rim, _, _ in own])
        for (rim, _, words), up in zip(own, ups, strict=True):
            start = (side * max(LEADER + abs(rim[0]), math.sqrt(max(0.0, (RADIUS + 2.0) ** 2 - up**2))), up)
            found.append(Line((rim, start), Stroke.THIN))
            anchor = Anchor.START if side > 0 else Anchor.END
            found.append(Text((start[0] + side, up - 0.35 * SAID), words, SAID, anchor))
    return found


def _spread(wished: Sequence[float]) -> list[float]:
    """Return heights from the highest to the lowest, each near its wish and clear of its neighbours."""
    ups: list[float] = []
    for wish in wished:
        ups.append(wish if not ups else min(wish, ups[-1] - PITCH))
    floor = -RADIUS
    for place in range(len(ups) - 1, -1, -1):
        ups[place] = max(ups[place], floor)
        floor = ups[place] + PITCH
    return ups


def _beneath(stations: Sequence[Station], is_said: bool) -> list[Item]:
    """Return what has to be said under the wheel."""
    words = ["tick: compression top centre"]
    words += ["band: both valves rest"] if any(one.heel for one in stations) else []
    unknown = [one.cylinder for one in stations if one.heel is None]
    if unknown:
        words.append(
            f"dashed: not known, {', '.join(unknown)}" if len(unknown) < len(stations) else "bands: not known"
        )
    words += [] if is_said else ["which way it turns: not entered"]
    lowest = -RADIUS - 1.5 - SAID
    return [
        Text((-width(one, SAID) / 2, lowest - place * PITCH), one, SAID) for place, one in enumerate(words)
    ]
