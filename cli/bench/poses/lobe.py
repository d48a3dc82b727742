"""A lobe's lift over the crank's turn: what a card states of it, each number at its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from ...drawing.lines import Point
from .marks import INK, between, middle, path
from .spots import COLUMN, WIDE, Place, Pose, Spots, drawn

HIGH = 250.0
LEFT, RIGHT, FOOT, TOP = COLUMN + 14, WIDE - COLUMN - 14, 196.0, 24.0
CHECKED = {"seat": 0.1, "duration": 0.34}  # of the peak, where a check lift is drawn
SPANS = {"seat": (0.06, 0.94), "duration": (0.2, 0.8)}  # of the axis, where no curve says
NOSE, OVERLAP = 0.5, 0.12  # of the axis: where it lifts most, overlap top centre
MOST = 240  # points of a curve
WORDS = {
    "peak": "peak lift",
    "duration.at": "check lift",
    "duration.degrees": "duration",
    "seat.at": "seat lift",
    "seat.degrees": "seat duration",
    "top_centre": "at top centre",
}


class Curve:
    """A lift curve on the pose's axes, or where its numbers stand while there is none."""

    def __init__(self, told: Sequence[tuple[float, float]]) -> None:
        step = max(1, -(-len(told) // MOST))
        told = told[::step]
        self.points: tuple[Point, ...] = ()
        self.nose, self.overlap = (self._across(one) for one in (NOSE, OVERLAP))
        most = max((lift for _, lift in told), default=0.0)
        angles = [angle for angle, _ in told]
        if len(told) < 2 or most <= 0 or max(angles) <= min(angles):
            return
        first, wide = min(angles), max(angles) - min(angles)
        self.points = tuple(
            (self._across((angle - first) / wide), FOOT - (FOOT - TOP) * max(0.0, lift) / most)
            for angle, lift in told
        )
        self.nose = min(self.points, key=lambda one: one[1])[0]
        if first <= 0 <= first + wide:
            self.overlap = self._across(-first / wide)

    @staticmethod
    def _across(share: float) -> float:
        return LEFT + (RIGHT - LEFT) * share

    def span(self, check: str) -> tuple[Point, Point]:
        """Return from where to where a duration reaches."""
        level = FOOT - (FOOT - TOP) * CHECKED[check]
        over = [across for across, high in self.points if high <= level]
        ends = (min(over), max(over)) if over else tuple(self._across(one) for one in SPANS[check])
        return (ends[0], level), (ends[1], level)

    def height(self, across: float) -> float:
        """Return where the curve stands over a place of the axis."""
        if not self.points:
            return FOOT - (FOOT - TOP) * 0.2
        return min(self.points, key=lambda one: abs(one[0] - across))[1]


@cache
def _axis() -> str:
    """Return the axis, a tick at its middle."""
    base = path(((LEFT - 10, FOOT), (RIGHT + 10, FOOT)))
    return f'<path d="{base}" stroke-width="1.4"/>'


def _places(curve: Curve) -> Mapping[str, Place]:
    """Return every place on a curve."""
    nose = ((curve.nose, FOOT), (curve.nose, TOP))
    found = {"card.peak": Place(-1, (curve.nose, TOP + 14), between(*nose))}
    for check in CHECKED:
        start, end = curve.span(check)
        up = (LEFT - 5, FOOT), (LEFT - 5, start[1])
        across = (up[1], start)
        found[f"card.{check}.at"] = Place(-1, middle(*up), (*between(*up), across))
        found[f"card.{check}.degrees"] = Place(1, (end[0], end[1]), between(start, end))
    side = -1 if curve.overlap <= curve.nose else 1
    over = ((curve.overlap, FOOT), (curve.overlap, curve.height(curve.overlap)))
    found["card.top_centre"] = Place(side, over[0], between(*over))
    level = FOOT + 16
    ends = ((curve.overlap, level), (curve.nose, level))
    drops = tuple(((at, FOOT), (at, level + 4)) for at, _ in ends)
    found["centreline"] = Place(-side, ends[1], (*between(*ends), *drops))
    return {
        entry: place._replace(word=WORDS.get(entry.removeprefix("card."), entry))
        for entry, place in found.items()
    }


def lobe(spots: Spots, facts: Mapping[str, Any]) -> Pose:
    """Return the lobe.

    facts : "curve", its lift, crank degrees and mm, empty: not known; "route", "card", "table" or empty
    """
    curve = Curve(list(facts.get("curve") or ()))
    body = _axis()
    if curve.points:
        body += f'<path d="{path(curve.points)}" stroke="{INK}" stroke-width="2.2"/>'
    svg = drawn("lobe", body, _places(curve), spots, HIGH)
    if curve.points:
        return Pose(svg, "The lobe's lift over the crank's turn; each number at its place, not to scale.")
    lacks = {"table": "the table has been read", "card": "the card is whole"}
    return Pose(
        svg,
        f"Lift over the crank's turn: there is no curve until {lacks.get(str(facts.get('route', '')), 'the lobe is entered')}.",
    )
