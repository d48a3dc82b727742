"""What the pushrod's own doubt does to a clearance with the lifter pumped up.

A pushrod is ordered once, by the numbers as they are. Where the engine would have asked for another, the plunger
stands that much deeper or higher than was wanted; and pumped up, at its top stop, the valve is further open by what
the preload really was, times the rocker's ratio.

    preload           wanted + ordered - needed
    clearance, pumped moves by  d(clearance)/d(lift) · ratio · d(preload)

Where coordinates alone stand behind a length it is an estimate and not ordered: the preload is then taken as it is
wanted.

Source: first order in the preload's error; the derivatives of `pushrods.required`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities
from ..core.minima import STEP as STEP_RAD
from ..core.minima import Minimum, minima
from ..doubt.budget import FACTOR, Doubt, budget
from ..doubt.derivatives import derivatives
from ..doubt.result import MOVES
from ..engine.engine import build
from ..piston.over_piston import OverPiston
from ..pushrod.pushrods import required
from .moving import NOTHING, Weighed, counted
from .situation import OF_BOTH, Asked, Placed, clearance_at, valve_of
from .valve_lift import ValveLift
from .valve_over_piston import OverValve

STEP = 1e-3  # mm of lift
BESIDE = float(np.radians(12.0))  # of the crank angles at which a drop is least

Slopes = Mapping[str, Mapping[str, float]]  # valve gear → quantity → mm of length per mm, rad or plain


def length_slopes(mapping: Flat, quantities: Quantities, gears: Iterable[str]) -> dict[str, dict[str, float]]:
    """Return how much quantities move the pushrod that each valve gear needs; none where none was measured."""
    engine, conventions = build(mapping), dict[str, str]()
    for name in gears:
        train = engine.train(name)
        if train.measured is None:
            continue
        try:
            conventions[name] = next(iter(required(train).lengths), "")
        except GeometryError:
            continue
    known = {name: one for name, one in conventions.items() if one}
    if not known or not quantities:
        return {name: {} for name in known}

    def lengths(varied: Flat) -> dict[str, Array]:
        there = build(varied)
        return {name: required(there.train(name)).lengths[one] for name, one in known.items()}

    return derivatives(mapping, quantities, lengths)


def per_preload(
    one: Asked, lifts: Mapping[str, ValveLift], valves: Mapping[str, OverValve], over: OverPiston
) -> dict[str, float]:
    """Return how much a clearance moves with the preload of each of its valve gears, mm per mm.

    lifts, valves, over : of its cylinder
    """
    found: dict[str, float] = {}
    gears = list(lifts) if one.what in OF_BOTH else [one.name]
    for moved in gears:
        share = 1.0
        if not lifts[moved].pumps:
            continue
        if lifts[moved].risen_by < lifts[moved].can_rise:
            part = lifts[moved].train.lifter.pumped_share
            share = 0.0 if part is None else float(part)
        if share == 0.0:
            continue  # what it rises by is not what its preload is
        placed = []
        for name in gears:
            lift = lifts[name]
            stands = one.lift_of(lift).at(array(one.angle))
            ends = stands + STEP * np.array([1.0, -1.0]) if name == moved else np.array([stands, stands])
            placed.append(Placed(valve_of(one, over, name, lift, valves.get(name)), ends))
        up, down = clearance_at(one, placed)
        ratio = lifts[moved].ratio(array(np.maximum(lifts[moved].lobe.placed.lift(array(one.angle)), 0.0)))
        found[moved] = 0.0 if ratio is None else share * float(up - down) / (2 * STEP) * float(ratio)
    return found


def meets_after(over: OverValve, lift: ValveLift, about: tuple[float, float]) -> Minimum | None:
    """Return how far a plunger rises before its valve meets the piston, and at what crank angle; None: it never could.

    about : crank angles [rad] of the least drop, running and pumped up
    Source: the lifter's lift at which the valve would be open by the whole drop of the closed one, less the one it has
    there: with one ratio (drop)/(ratio), and the angle does not move.
    """

    def rise(crank: Array, _: bool) -> Array:
        opens = lift.at(crank)
        room = over.drop(crank, array(0.0))
        with np.errstate(invalid="ignore"):
            found: Array = lift.lifter_for(room) - lift.lifter_for(opens)
        return np.where(np.isnan(found), np.inf, found)

    first, last = min(about) - BESIDE, max(about) + BESIDE
    angles = first + STEP_RAD * np.arange(int(np.ceil((last - first) / STEP_RAD)) + 1)
    found = minima(rise, array(angles), near=0.0)[0]
    return found if np.isfinite(found.value) else None


def per_rise(weighed: Weighed, ratio: float) -> Weighed:
    """Return the budget of a rise from that of the drop that it leaves, the valve moving so many times as far."""
    by = 1.0 / ratio
    scaled = weighed.budget._replace(
        standard=weighed.budget.standard * by,
        upward=None if weighed.budget.upward is None else weighed.budget.upward * by,
    )
    return weighed._replace(
        budget=scaled, slopes={entry: slope * by for entry, slope in weighed.slopes.items()}
    )


def with_preload(
    mapping: Flat,
    weighed: Weighed,
    moves: Mapping[str, float],
    lengths: Slopes,
    doubts: Mapping[str, Doubt],
) -> Weighed:
    """Return a budget with what the preloads may be off by; nobody knows it where no pushrod was measured nor a +/- said.

    moves   : valve gear → mm of clearance for a mm of its preload
    lengths : what moves each pushrod
    """
    slopes, unsaid = dict(weighed.slopes), list[str]()
    for name, move in moves.items():
        for entry, slope in lengths.get(name, {}).items():
            if abs(move * slope) > NOTHING:
                slopes[entry] = slopes.get(entry, 0.0) - move * slope
        wish = f"{name}.lifter.preload"
        if wish in doubts and doubts[wish].half_width > 0:
            slopes[wish] = slopes.get(wish, 0.0) + move
        elif name not in lengths and abs(move) > MOVES:
            unsaid.append(wish)
    linear = budget(slopes, doubts, mapping)
    before = budget(weighed.slopes, doubts, mapping)
    below = 0.0 if weighed.shape is None else weighed.shape.below / FACTOR
    noise = float(np.sqrt(max(weighed.budget.standard**2 - before.standard**2 - below**2, 0.0)))
    unproved = tuple(dict.fromkeys((*weighed.budget.undoubted, *linear.undoubted, *unsaid)))
    whole = counted(linear.widened(noise)._replace(undoubted=unproved), weighed.shape)
    return Weighed(whole, slopes, weighed.shape)
