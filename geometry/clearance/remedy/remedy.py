"""What a remedy of a clearance is, and how its number is found.

A remedy changes the engine's mapping, the cam's timing or a lobe's lift, and the clearance is worked out anew
with it. Its number is rounded up to what can be set; the clearance it leads to is that of the rounded number.

Source: false position on the least clearance.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ...cam.cam import Cam
from ...core.mapping import Flat
from ...doubt.result import Result
from ...engine.metal import Metal
from ..clearances import ValveClearance, judged_on, nearest
from ..situation import Situation, situation
from ..valve_over_piston import OverValve

MOST_SINK_MM = 1.5
MOST_TIMING = np.radians(12.0)
LEAST_LIFT = 0.5  # of the lobe as it is
CLOSE_MM = 1e-4  # a clearance this near its target meets it
TRIES = 14

Changed = dict[str, float]


class Steps(NamedTuple):
    """To what a remedy is rounded up."""

    length: float  # mm
    angle: float  # rad


class Remedy(NamedTuple):
    """One way to mend one clearance."""

    kind: str  # "head gasket", "base gasket", "pocket", "cam timing", "lobe lift", "valve sink", …
    entry: str  # what changes; empty where the job has no entry for it
    change: float | None  # mm or rad, of that entry; of the lobe's peak lift; None: see `why_not`
    value: float | None  # mm or rad, the entry then; the lobe's peak lift then
    gives: float | None  # mm, the clearance then
    why_not: str  # in words, where no number is offered
    metal: Metal | None  # left under a cut
    also: Changed  # further entries of the same cut: its diameter, place and lean
    mapping: Flat | None  # the engine then
    advance: float = 0.0  # rad, the cam then stands so much earlier than the job says
    scale: float = 1.0  # of the lobe's lift
    pumped: float | None = None  # mm, the drop then with the lifter pumped up, where that is to be mended


class Case(NamedTuple):
    """What is to be mended."""

    mapping: Flat
    cam: Cam
    here: Situation
    name: str
    short: Result
    steps: Steps
    pumped: float | None  # mm, the drop wanted with the lifter pumped up, where that brings contact
    now: float  # mm, `spare` of the engine as it is

    def over(self, mapping: Flat | None = None) -> OverValve | None:
        """Return the valve over its piston, as it is or with another mapping."""
        if mapping is None:
            return self.here.valves.get(self.name)
        return situation(mapping, self.here.cylinder, self.cam, self.name).valves.get(self.name)

    def spare(self, over: OverValve | None) -> float:
        """Return how far the clearance is above its target, negative where it falls short [mm]."""
        if over is None:
            return -np.inf
        drops = over.least_drop()
        if not drops:
            return -np.inf
        room = drops[0].value - self.short.limit.value
        if room >= 0:  # the straight gap is never more: where the drop falls short nobody need ask for it
            room = judged_on(drops[0], over.least_gap(drops[0].angle))[1].value - self.short.limit.value
        if self.pumped is not None:
            up = pumped_drop(over)
            room = min(room, -np.inf if up is None else up - self.pumped)
        return room

    def then(self, remedy: Remedy) -> Remedy:
        """Return a remedy with the drop it leaves with the lifter pumped up, where that is to be mended."""
        if self.pumped is None or remedy.change is None or remedy.pumped is not None:
            return remedy
        over = self.over(remedy.mapping)
        assert over is not None
        lift = over.lift.advanced(remedy.advance)._replace(scale=remedy.scale)
        return remedy._replace(pumped=pumped_drop(over._replace(lift=lift)))

    def gives(self, over: OverValve | None) -> float:
        """Return the clearance itself, the smaller of drop and straight gap [mm]."""
        assert over is not None
        drops, gap = nearest(over)
        return judged_on(drops[0], gap)[1].value


def wanted_pumped(valve: ValveClearance, steps: Steps) -> float | None:
    """Return the drop to ask for with the lifter pumped up, where that brings contact: clear by its own doubt."""
    if valve.pumped is None or valve.pumped_doubt is None or valve.pumped.value > 0:
        return None
    return max(valve.pumped_doubt.expanded, steps.length)


def pumped_drop(over: OverValve) -> float | None:
    """Return the least drop with the lifter pumped up [mm]; None where it is not known."""
    drops = over._replace(lift=over.lift.risen()).least_drop()
    return drops[0].value if drops else None


def solve(
    spare: Callable[[float], float], guess: float, most: float, step: float, now: float | None = None
) -> float | None:
    """Return the least change, a whole number of steps, at which the target is met; None up to the most.

    spare : change to what is above the target, negative where short;  guess, most : of one sign
    now   : it without a change, where that is known
    Source: false position between a change that is too small and one that suffices.
    """
    way = float(np.sign(most))
    low, lack = 0.0, spare(0.0) if now is None else now
    size = abs(guess)
    if not np.isfinite(size) or size <= 0:
        size = abs(most) / 4
    high, room = 0.0, lack
    for _ in range(TRIES):
        if room >= 0:
            break
        low, lack = high, room
        size = min(max(size, step), abs(most))
        if size <= abs(high):
            return None
        high = way * size
        room = spare(high)
        slope = (room - lack) / abs(high - low)
        more = -room / slope * 1.02 + step if slope > 0 and room < 0 else size
        size = abs(high) + max(more, step)
    if room < 0:
        return None
    for _ in range(TRIES):
        if abs(high - low) <= step / 4 or room < CLOSE_MM:
            break
        share = lack / (lack - room) if np.isfinite(lack) else 0.5
        middle = low + (high - low) * min(max(share, 0.05), 0.95)
        there = spare(middle)
        low, lack, high, room = (middle, there, high, room) if there < 0 else (low, lack, middle, there)
    steps = np.ceil(abs(high) / step - 1e-6)
    return way * float(steps) * step


def solved(
    case: Case, changed: Callable[[float], Flat], most: float, now: float | None = None
) -> float | None:
    """Return the least change of the engine that is enough, in mm; now : as for `solve`."""
    guess = case.short.limit.value - case.short.value
    return solve(lambda by: case.spare(case.over(changed(by))), guess, most, case.steps.length, now)


def none(kind: str, entry: str, why_not: str, metal_left: Metal | None = None) -> Remedy:
    """Return that a remedy has no number, and why."""
    return Remedy(kind, entry, None, None, None, why_not, metal_left, {}, None)
