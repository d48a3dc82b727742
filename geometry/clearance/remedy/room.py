"""The one number that mends too little room to a pocket's wall, or between two valves.

A wall asks for a wider pocket. Two valves that come too close are kept apart by a lobe that stands further
from overlap, by less lift of one of them, or by a valve sunk into the head; each is worked out alone.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ...cam.cam import Cam
from ...core.mapping import Flat, Reader, frozen
from ...doubt.result import Result
from ...engine.metal import metal
from ..situation import ByTouch, Situation, side_of, situation
from ..valve_lift import ValveLift
from ..valve_over_piston import ByCoordinates
from .remedy import LEAST_LIFT, MOST_SINK_MM, MOST_TIMING, Remedy, Steps, none, solve

MOST_WIDER_MM = 12.0


def wall_remedy(mapping: Flat, cam: Cam, here: Situation, name: str, short: Result, steps: Steps) -> Remedy:
    """Return the wider pocket that gives a valve its room to the wall, with the metal under it."""
    entry, depth = f"{name}.pocket.diameter", Reader(mapping, (f"{name}.",)).find("pocket.depth")
    now = float(Reader(mapping, ("",)).number(entry))

    def room(by: float) -> float:
        over = situation(frozen(mapping).with_({entry: now + by}), here.cylinder, cam).valves.get(name)
        least = over.least_wall() if isinstance(over, ByCoordinates) else None
        return float("inf") if least is None else least.value

    found = solve(
        lambda by: room(by) - short.limit.value,
        2 * (short.limit.value - short.value),
        MOST_WIDER_MM,
        steps.length,
        short.value - short.limit.value,
    )
    left = metal(mapping, here.cylinder, "", None if depth is None else float(depth))
    if left.lacks:
        return none("pocket diameter", entry, "", left)
    if found is None:
        return none("pocket diameter", entry, f"no pocket up to {MOST_WIDER_MM:g} mm wider is enough")
    there = frozen(mapping).with_({entry: now + found})
    return Remedy("pocket diameter", entry, found, now + found, room(found), "", left, {}, there)


def pair_remedies(
    mapping: Flat, cam: Cam, here: Situation, short: Result, steps: Steps
) -> tuple[Remedy, ...]:
    """Return what keeps two valves of a cylinder further apart, each alone."""
    found: list[Remedy] = []
    if short.value >= short.limit.value:
        return ()  # pumped up alone they meet; what opens that is the preload, or the lifter
    for name in here.trains:
        found += [
            _centreline(mapping, here, name, short, steps),
            _lift(here, name, short, steps),
            _sink(mapping, cam, here, name, short, steps),
        ]
    return tuple(found)


def _apart(here: Situation, name: str, changed: Callable[[ValveLift], ValveLift]) -> float:
    """Return the distance between two valves, the lift of one of them changed."""
    pair = here.apart()
    assert pair is not None
    lifts = [changed(here.lifts[one]) if one == name else here.lifts[one] for one in here.trains]
    return pair.with_lifts(lifts).least(alone=True).value


def _centreline(mapping: Flat, here: Situation, name: str, short: Result, steps: Steps) -> Remedy:
    lobe = here.lifts[name].lobe
    entry, port = f"lobe.{lobe.name}.centreline", name.rpartition(".")[2]
    way = -1.0 if port == "intake" else 1.0  # away from overlap: the intake later, the exhaust earlier

    def value(by: float) -> float:
        return _apart(here, name, lambda lift: lift.advanced(way * by))

    lacking = short.limit.value - short.value
    found = solve(
        lambda by: value(by) - short.limit.value, lacking / 8.0, float(MOST_TIMING), steps.angle, -lacking
    )
    kind = f"{port} lobe further from overlap"
    if found is None:
        return none(kind, entry, f"up to {np.degrees(MOST_TIMING):.0f} degrees are not enough")
    now = lobe.placed.at + lobe.placed.advance
    then = abs(now) + found
    there = frozen(mapping).with_({entry: then})
    return Remedy(kind, entry, found, then, value(found), "", None, {}, there, way * found)


def _lift(here: Situation, name: str, short: Result, steps: Steps) -> Remedy:
    lobe, port = here.lifts[name].lobe, name.rpartition(".")[2]
    _, peak = lobe.peak

    def value(by: float) -> float:
        return _apart(here, name, lambda lift: lift._replace(scale=1.0 + by / peak))

    most = -(1.0 - LEAST_LIFT) * peak
    lacking = short.value - short.limit.value
    found = solve(lambda by: value(by) - short.limit.value, lacking, most, steps.length, lacking)
    kind, entry = f"{port} lobe lift", f"lobe.{lobe.name}"
    if found is None:
        return none(kind, entry, f"no lobe down to {LEAST_LIFT:.0%} of this one's lift is enough")
    return Remedy(kind, entry, found, peak + found, value(found), "", None, {}, None, 0.0, 1.0 + found / peak)


def _sink(mapping: Flat, cam: Cam, here: Situation, name: str, short: Result, steps: Steps) -> Remedy:
    entry = f"{name}.valve.sink"
    now = Reader(mapping, ("",)).find(entry)
    sunk = 0.0 if now is None else float(now)

    def value(by: float) -> float:
        pair = situation(frozen(mapping).with_({entry: sunk + by}), here.cylinder, cam).apart()
        if isinstance(pair, ByTouch):  # as read, and a valve sunk after that has its edge so much later
            pair = pair._replace(touch=pair.touch.raised(side_of(name), by))
        return float("-inf") if pair is None else pair.least(alone=True).value

    lacking = short.limit.value - short.value
    found = solve(lambda by: value(by) - short.limit.value, lacking, MOST_SINK_MM, steps.length, -lacking)
    if found is None:
        return none("valve sink", entry, f"up to {MOST_SINK_MM:g} mm are not enough")
    there = frozen(mapping).with_({entry: sunk + found})
    return Remedy("valve sink", entry, found, sunk + found, value(found), "", None, {}, there)
