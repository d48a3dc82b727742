"""What a remedy does elsewhere, as far as the job knows it.

The cylinder is worked out anew with the remedy: the other valve, the distance between the two, the pushrods,
squish and, by how far the head or the valve has moved, compression and the springs' installed height.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ...cam.cam import Cam
from ...core import targets
from ...core.errors import GeometryError
from ...core.mapping import Flat, Reader
from ...core.verdict import Verdict, judge
from ...crank.crank import crank_of
from ...doubt.result import Result
from ...engine.alternatives import head_face
from ...engine.defaults import STACK, completed, signed
from ...engine.engine import build
from ...pushrod.ordering import ordering_convention
from ...pushrod.pushrods import required
from ..clearances import judged_on, nearest
from ..situation import Situation, situation
from ..valve_over_piston import OverValve
from .remedy import Remedy

SAME_MM = 5e-4  # less is no change
MOVING = 0.02  # of a remedy's own change: less does not show
NOTHING: Mapping[str, Result | None] = MappingProxyType({})


class Effect(NamedTuple):
    """One thing that a remedy changes."""

    what: str  # "piston", "between", "pushrod", "squish", "spring height", "stem tip", "compression"
    name: str  # valve gear or cylinder
    change: float | None  # mm; None: only which way is known
    value: float | None  # mm, then; None: not known
    verdict: Verdict | None  # of a clearance, then, as long as what was changed has no doubt
    close: bool = False  # met by less than the doubt it has now


def effects(
    mapping: Flat,
    cam: Cam,
    here: Situation,
    name: str,
    remedy: Remedy,
    judged: Mapping[str, Result | None] = NOTHING,
) -> tuple[Effect, ...]:
    """Return what a remedy does elsewhere in its cylinder.

    name : the valve gear whose clearance it mends; the cylinder, for its two valves
    judged : valve gear or cylinder → its clearance as it is, whose doubt is taken for the one with the remedy, too;
             worked out again for those that are not in it
    """
    if remedy.change is None:
        return ()
    there = _with(mapping, cam, here, remedy)
    found = _other_valves(mapping, here, there, name, judged, remedy)
    if name != here.cylinder:
        found += _between(mapping, here, there, judged, remedy)
    if remedy.mapping is not None and not remedy.advance:
        found += _pushrods(mapping, remedy.mapping, here.cylinder)
        found += _squish(mapping, remedy.mapping, here.cylinder)
    if remedy.kind == "valve sink":
        sunk = remedy.entry.removesuffix(".valve.sink")
        found.append(Effect("spring height", sunk, remedy.change, None, None))
        if not any(one.what == "pushrod" for one in found):
            found.append(Effect("stem tip", sunk, remedy.change, None, None))
    if remedy.kind.startswith("pocket") or remedy.kind in ("valve sink", "head gasket", "base gasket"):
        found.append(Effect("compression", here.cylinder, None, None, None))
    return tuple(found)


def _with(mapping: Flat, cam: Cam, here: Situation, remedy: Remedy) -> Situation:
    """Return the cylinder with a remedy in it."""
    if remedy.advance or remedy.mapping is None:
        there = situation(mapping, here.cylinder, cam)
    else:
        there = situation(remedy.mapping, here.cylinder, cam)
    for name, over in list(there.valves.items()):
        lift = over.lift
        if remedy.entry in ("cam.advance", f"lobe.{lift.lobe.name}.centreline"):
            lift = lift.advanced(remedy.advance)
        if remedy.scale != 1.0 and remedy.entry == f"lobe.{lift.lobe.name}":
            lift = lift._replace(scale=remedy.scale)
        there.lifts[name] = lift
        there.valves[name] = over._replace(lift=lift)
    return there


def _judged(effect: Effect, least: float, now: Result | None, remedy: Remedy) -> Effect:
    """Return an effect on a clearance with its verdict: a part that nobody has measured yet proves nothing."""
    assert effect.value is not None
    assert effect.change is not None
    assert remedy.change is not None
    moved = abs(effect.change) > MOVING * abs(remedy.change)
    proved = not moved and now is not None and now.verdict is not Verdict.UNPROVED
    doubt = 0.0 if now is None else now.budget.expanded
    close = 0 <= effect.value - least <= doubt
    return effect._replace(verdict=judge(effect.value, least, None, doubt, proved), close=close)


def _other_valves(
    mapping: Flat,
    here: Situation,
    there: Situation,
    name: str,
    judged: Mapping[str, Result | None],
    remedy: Remedy,
) -> list[Effect]:
    found = []
    for other, over in there.valves.items():
        if other == name or other not in here.valves:
            continue
        now = judged.get(other)
        before = _to_piston(here.valves[other]) if now is None else now.value
        value = _to_piston(over)
        if before is None or value is None:
            continue
        if abs(value - before) >= SAME_MM:
            limit = targets.DROP[other.rpartition(".")[2]].wanted(mapping)
            found.append(_judged(Effect("piston", other, value - before, value, None), limit, now, remedy))
    return found


def _to_piston(over: OverValve) -> float | None:
    """Return a valve's clearance to the piston [mm]; None where it is not known."""
    drops, gap = nearest(over)
    return judged_on(drops[0], gap)[1].value if drops else None


def _between(
    mapping: Flat, here: Situation, there: Situation, judged: Mapping[str, Result | None], remedy: Remedy
) -> list[Effect]:
    pairs = here.apart(), there.apart()
    if pairs[0] is None or pairs[1] is None:
        return []
    now = judged.get(here.cylinder)
    before = pairs[0].least(alone=True).value if now is None else now.value
    after = pairs[1].least(alone=True).value
    if abs(after - before) < SAME_MM:
        return []
    limit = targets.VALVE_TO_VALVE.wanted(mapping)
    found = _judged(Effect("between", here.cylinder, after - before, after, None), limit, now, remedy)
    return [found._replace(verdict=Verdict.SHORT) if after <= 0 else found]


def _pushrods(before: Flat, after: Flat, cylinder: str) -> list[Effect]:
    found = []
    engines = build(before), build(after)
    for train in engines[0].trains:
        if train.cylinder != cylinder:
            continue
        lengths = []
        for engine in engines:
            try:
                needed = required(engine.train(train.name))
            except GeometryError:
                break
            lengths.append(float(needed.lengths[ordering_convention(train, needed)]))
        if len(lengths) == 2 and np.isfinite(lengths).all() and abs(lengths[1] - lengths[0]) >= SAME_MM:
            found.append(Effect("pushrod", train.name, lengths[1] - lengths[0], lengths[1], None))
    return found


def _squish(before: Flat, after: Flat, cylinder: str) -> list[Effect]:
    """Return what becomes of the room between the crown and the head's gasket face at top centre."""
    heights = [_head_over_crown(flat, cylinder) for flat in (before, after)]
    change = sum(
        signed(part) * (_part(after, cylinder, part) - _part(before, cylinder, part)) for part in STACK
    )
    if abs(change) < SAME_MM:
        return []
    return [Effect("squish", cylinder, change, heights[1], None)]


def _part(mapping: Flat, cylinder: str, part: str) -> float:
    entered = Reader(mapping, (f"{cylinder}.", "")).find(f"stack.{part}")
    return 0.0 if entered is None else float(entered)


def _head_over_crown(mapping: Flat, cylinder: str) -> float | None:
    full, _ = completed(mapping)
    reader = Reader(full, (f"{cylinder}.", ""))
    top = crank_of(reader).top
    face = head_face(reader)
    return None if reader.missing else float(face - top)
