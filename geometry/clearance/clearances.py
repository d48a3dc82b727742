"""The least clearances of every valve through the whole cycle, each with its verdict.

Verdicts on the piston are given on the smaller of drop and straight gap, so that no convention flatters; the
room to a pocket's wall and the distance between two valves have targets of their own. The headline is at the
running preload; with a hydraulic lifter pumped up, contact is SHORT whatever the headline says.

The gap counts the pocket's edge too. So a valve that stands in its pocket needs its piston limit sideways as well,
which is more than the limit to the wall; a remedy that cuts a pocket makes it wide enough for that.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ..cam.cam import Cam, Tables
from ..core import targets
from ..core.answer import Figure
from ..core.errors import GeometryError
from ..core.frames import array
from ..core.mapping import Flat, Quantities, Reader, names
from ..core.verdict import Verdict, at_best_unproved, judge
from ..doubt.budget import Budget, Doubt
from ..doubt.result import BARE, Result
from ..piston.cycle import Minimum, Valve, least_between
from ..piston.in_bore import Bore, InBore, least_in_bore, nearest_part
from .moving import Weighed, budgets
from .pumped import length_slopes, per_preload, with_preload
from .situation import CAM, LIFT, Asked, Lacks, Situation, situation
from .valve_lift import Shape, ValveLift, shape
from .valve_over_piston import ByCoordinates, ByReading, Known, OverValve

ALONG = "piston, along the stem"
DROP, GAP, WALL, BORE, PAIR = "drop", "gap", "wall", "bore", "between"  # as the search and JSON call them
PUMPED, PAIR_PUMPED = "pumped", "pumped pair"
KEYS = {PAIR: "valve_to_valve", PUMPED: "drop_pumped", PAIR_PUMPED: "valve_to_valve_pumped"}
FIGURES = {
    DROP: Figure(ALONG),
    GAP: Figure("piston, straight gap"),
    WALL: Figure("pocket wall", least=targets.WALL),
    BORE: Figure("cylinder's bore", least=targets.VALVE_TO_BORE),
    PAIR: Figure("valve to valve", least=targets.VALVE_TO_VALVE, alias=PAIR),
    PUMPED: Figure("piston, stem, pumped up", zero=True, alias=PUMPED),
    PAIR_PUMPED: Figure("valve to valve, pumped up", zero=True, alias=PAIR_PUMPED),
}
SEVERITY = (Verdict.OK, Verdict.TIGHT, Verdict.UNPROVED, Verdict.SHORT)
SAME_MM = 1e-6
ALSO_MM = 0.5  # a second minimum matters when it is this near the least
OF_HEAD = ("valve.face", "valve.lean", "valve.head_diameter", "valve.margin")

NONE: Mapping[str, float] = MappingProxyType({})


class ValveClearance(NamedTuple):
    """One valve's answer; what is not known is None."""

    train: str
    basis: str | None
    motion: Shape | None
    drop: tuple[Minimum, ...]  # its local minima, the least first
    gap: Minimum | None
    wall: Minimum | None
    pumped: Minimum | None  # least drop with the lifter pumped up
    pumped_doubt: Budget | None  # of that
    pumped_slopes: Mapping[str, float]  # entry → mm per mm, rad or plain
    pumped_lobes: tuple[str, ...]  # those known by their cards
    pumped_per_preload: float  # mm of that drop for a mm of preload more
    piston: Result | None
    room: Result | None  # to the pocket's wall
    known: Known | None  # by a dial reading: over which angles
    in_pocket: bool  # there is a pocket under it
    unfinished: bool  # the drop was still falling where the reading ends
    differ: float | None  # mm, what coordinates alone would add to the drop
    unlike: bool  # by a reading that met a pocket, though by coordinates there is none
    assumed_to_meet: str
    no_pumped: tuple[str, ...]
    lacks: Lacks
    problem: tuple[str, ...]
    lash_unknown: str = ""  # entry without which nobody knows with what lash its lifts were read
    bore: Result | None = None  # to the cylinder that it opens into, and the gasket on that
    bore_pumped: Minimum | None = None  # the same with the lifter pumped up
    bore_part: str = ""  # "cylinder" or "gasket", whichever is nearer
    bore_lacks: tuple[str, ...] = ()  # what that still needs, of a valve whose head is known

    @property
    def judged(self) -> tuple[Result, ...]:
        """Every clearance of it that has a limit."""
        return tuple(one for one in (self.piston, self.room, self.bore) if one is not None)

    @property
    def up(self) -> Result | None:
        """The drop with the lifter pumped up, which has to be more than nothing; None where it is not known."""
        if self.pumped is None or self.pumped_doubt is None:
            return None
        up = _up(self.train, PUMPED, self.pumped, self.pumped_doubt, self.pumped_slopes, self.pumped_lobes)
        again = () if self.piston is None else self.piston.look_again
        return up._replace(verdict=at_best_unproved(up.verdict), look_again=again) if again else up


class PairClearance(NamedTuple):
    """One cylinder's two valves."""

    cylinder: str
    least: Minimum | None
    pumped: Minimum | None
    judged: Result | None
    lacks: tuple[str, ...]
    problem: tuple[str, ...]
    up: Result | None = None  # with the lifters pumped up; None where they cannot, or the heads then meet
    up_per_preload: Mapping[str, float] = NONE  # valve gear → mm of that for a mm of its preload more
    no_pumped: tuple[str, ...] = ()  # what it lacks with the lifters pumped up


class Clearances(NamedTuple):
    """Every clearance of one engine."""

    valves: tuple[ValveClearance, ...]
    pairs: tuple[PairClearance, ...]
    situations: dict[str, Situation]
    cam: Cam

    @property
    def is_usable(self) -> bool:
        """Whether any clearance is known, or cannot be."""
        return bool(self.judged) or any(one.problem for one in self.valves)

    @property
    def judged(self) -> list[Result]:
        """Every clearance that has a limit, the valves' first."""
        pairs = [one.judged for one in self.pairs if one.judged is not None]
        return [*(one for valve in self.valves for one in valve.judged), *pairs]


def clearances(
    mapping: Flat,
    tables: Tables,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
) -> Clearances:
    """Return the least clearances of every valve and pair of valves of one engine.

    mapping    : one engine, see `mapping`
    tables     : what was read beside the job
    quantities : measured quantity → the entries that move with it, and their sign
    doubts     : quantity → its doubt, where stated
    """
    cam = Cam(mapping, tables)
    valves: list[ValveClearance] = []
    pairs: list[PairClearance] = []
    situations: dict[str, Situation] = {}
    for cylinder in names(mapping, "cylinders"):
        here = situation(mapping, cylinder, cam)
        if not here.trains:
            continue
        situations[cylinder] = here
        plain = [_valve(mapping, here, name) for name in here.trains]
        pair = _pair(mapping, here)
        asked = [Asked(one.train, judged.name, judged.angle) for one in plain for judged in one.judged]
        asked += [Asked(one.train, "drop", one.pumped.angle, pumped=True) for one in plain if one.pumped]
        if pair.judged is not None:
            asked.append(Asked(cylinder, "between", pair.judged.angle))
        if pair.pumped is not None and pair.pumped.value > 0:
            asked.append(Asked(cylinder, "between", pair.pumped.angle, pumped=True))
        found = budgets(mapping, here, asked, quantities, doubts, tables) if asked else {}
        moves = _pumped_too(mapping, here, asked, found, quantities, doubts)
        valves += [_weighed(one, found, moves) for one in plain]
        pairs.append(_pair_weighed(pair, found, moves))
    return Clearances(tuple(valves), tuple(pairs), situations, cam)


def figure(name: str, port: str = "") -> Figure:
    """Return the declaration of one clearance; port : of a valve, whose own limit the piston keeps."""
    return FIGURES[name]._replace(least=targets.DROP.get(port)) if name in (DROP, GAP) else FIGURES[name]


def nearest(over: OverValve) -> tuple[tuple[Minimum, ...], Minimum | None]:
    """Return the local minima of one valve's drop, the least first, and its least straight gap."""
    drops = over.least_drop()
    return drops, over.least_gap(drops[0].angle) if drops else None


def judged_on(drop: Minimum, gap: Minimum | None) -> tuple[str, Minimum]:
    """Return the smaller of drop and straight gap, and which it is; of equals the drop."""
    return ("gap", gap) if gap is not None and gap.value < drop.value - SAME_MM else ("drop", drop)


def _valve(mapping: Flat, here: Situation, name: str) -> ValveClearance:
    lift, over = here.lifts.get(name), here.valves.get(name)
    motion = None if lift is None else shape(lift)
    answer = ValveClearance(
        train=name,
        basis=None,
        motion=motion,
        drop=(),
        gap=None,
        wall=None,
        pumped=None,
        pumped_doubt=None,
        pumped_slopes=NONE,
        pumped_lobes=(),
        pumped_per_preload=0.0,
        piston=None,
        room=None,
        known=None,
        in_pocket=name in here.over.own_pockets,
        unfinished=False,
        differ=None,
        unlike=isinstance(over, ByReading) and over.unlike,
        assumed_to_meet="",
        no_pumped=() if lift is None else lift.no_pumped,
        lacks=here.lacks[name],
        problem=here.problems.get(name, ()),
    )
    if lift is not None:
        answer = answer._replace(lash_unknown=lift.lash_unknown)
        answer = _in_bore(mapping, here, name, lift, answer)
    if lift is None or over is None:
        return answer
    drops, gap = nearest(over)
    known = over.known()
    answer = answer._replace(basis=over.basis, known=known)
    if isinstance(over, ByReading):
        answer = answer._replace(assumed_to_meet=over.assumed)
    if not drops:
        return answer._replace(
            problem=("the reading tells nothing on the stack of today: the rim leaves the floor",)
        )
    wall = over.least_wall()
    what, least = judged_on(drops[0], gap)
    pumped = over._replace(lift=lift._replace(pumped=True)).least_drop() if lift.pumps else ()
    answer = answer._replace(
        drop=tuple(one for one in drops if one.value - drops[0].value <= ALSO_MM),
        gap=gap,
        wall=wall,
        pumped=pumped[0] if pumped else None,
        piston=_bare(mapping, name, what, least),
        room=None if wall is None else _bare(mapping, name, WALL, wall),
        unfinished=isinstance(over, ByReading) and known is not None and _ends_low(over, drops[0]),
    )
    if isinstance(over, ByCoordinates) and over.differ is not None:
        answer = answer._replace(differ=float(over.differ))
    return answer


def _in_bore(
    mapping: Flat, here: Situation, name: str, lift: ValveLift, answer: ValveClearance
) -> ValveClearance:
    """Return an answer with how close the head comes to the cylinder; its own place alone decides that."""
    head, bore = here.over.heads.get(name), here.over.bore
    if head is None:
        return answer
    if not isinstance(bore, Bore):
        return answer._replace(bore_lacks=bore)
    where = InBore(head, bore)
    least = least_in_bore(where, lift.at)
    return answer._replace(
        bore=_bare(mapping, name, BORE, least),
        bore_pumped=least_in_bore(where, lift._replace(pumped=True).at) if lift.pumps else None,
        bore_part=nearest_part(where, lift.at(array(least.angle))),
    )


def _ends_low(over: ByReading, least: Minimum) -> bool:
    """Say whether the drop would be less beyond the angles at which the reading tells it."""
    return over.if_it_went_on().value < least.value - 1e-6


def _bare(mapping: Flat, of: str, name: str, least: Minimum) -> Result:
    """Return a clearance before it is known how sure it is."""
    there = figure(name, of.rpartition(".")[2])
    limit, _ = there.limits(mapping)
    key = KEYS.get(name, name)
    return Result(of, key, there, least.value, BARE, least=limit, verdict=Verdict.UNPROVED, at=least.angle)


def _pair(mapping: Flat, here: Situation) -> PairClearance:
    valves = here.heads_apart()
    if valves is None or here.problems:
        lacks = _lacks_of_pair(mapping, here)
        problem = tuple(sentence for found in here.problems.values() for sentence in found)
        return PairClearance(here.cylinder, None, None, None, lacks, problem)
    least = least_between(*valves)
    pumped = None
    no_pumped = tuple(dict.fromkeys(entry for lift in here.lifts.values() for entry in lift.no_pumped))
    if any(lift.pumps for lift in here.lifts.values()) and not no_pumped:
        up = [_pumped(here.lifts[name], one) for name, one in zip(here.trains, valves, strict=True)]
        pumped = least_between(up[0], up[1])
    judged = _bare(mapping, here.cylinder, PAIR, least)
    return PairClearance(here.cylinder, least, pumped, judged, (), (), no_pumped=no_pumped)


def _pumped(lift: ValveLift, valve: Valve) -> Valve:
    return valve._replace(lift=lift._replace(pumped=lift.pumps).at)


def _lacks_of_pair(mapping: Flat, here: Situation) -> tuple[str, ...]:
    """Return what the distance between two valves lacks."""
    if len(here.trains) < 2:
        return (f"the other valve gear of {here.cylinder}",)
    found: list[str] = []
    for name in here.trains:
        if name not in here.over.heads:
            gear = Reader(mapping, (f"{name}.",))
            found += here.over.lacks.get(name, ()) or (gear.path(one) for one in OF_HEAD if not gear.has(one))
        if name not in here.lifts:
            found += [entry for way in (CAM, LIFT) for entry in here.lacks[name].get(way, ())]
    return tuple(dict.fromkeys(found))


def _pumped_too(
    mapping: Flat,
    here: Situation,
    asked: Sequence[Asked],
    found: dict[str, Weighed],
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
) -> dict[str, dict[str, float]]:
    """Count in what the preloads may be off by, and return how much each pumped-up clearance moves with them."""
    up = [one for one in asked if one.pumped]
    if not up:
        return {}
    moves = {one.key: per_preload(one, here.lifts, here.valves, here.over) for one in up}
    lengths = length_slopes(
        mapping, quantities, dict.fromkeys(name for one in moves.values() for name in one)
    )
    for one in up:
        found[one.key] = with_preload(mapping, found[one.key], moves[one.key], lengths, doubts)
    return moves


def _weighed(
    one: ValveClearance, found: Mapping[str, Weighed], moves: Mapping[str, Mapping[str, float]]
) -> ValveClearance:
    """Return an answer with its doubts and the verdicts that follow from them.

    Contact with the lifter pumped up is SHORT; a pumped-up drop within its own doubt of contact is TIGHT.
    """
    piston, room = (_with_doubt(judged, one.train, found) for judged in (one.piston, one.room))
    pumped = found.get(f"{one.train} drop pumped")
    if piston is not None and (one.unfinished or one.no_pumped):
        piston = piston._replace(verdict=at_best_unproved(piston.verdict))
    if piston is not None and one.pumped is not None and pumped is not None:
        with_contact = pumped_up(one.pumped.value, pumped.budget)
        piston = piston._replace(verdict=max(piston.verdict, with_contact, key=SEVERITY.index))
    one = one._replace(piston=piston, room=room, bore=_with_doubt(one.bore, one.train, found))
    if one.bore is not None and one.bore_pumped is not None:
        with_contact = pumped_up(one.bore_pumped.value, one.bore.budget)
        one = one._replace(
            bore=one.bore._replace(verdict=max(one.bore.verdict, with_contact, key=SEVERITY.index))
        )
    if pumped is None:
        return one
    moved = moves.get(f"{one.train} drop pumped", {}).get(one.train, 0.0)
    return one._replace(
        pumped_doubt=pumped.budget,
        pumped_slopes=pumped.slopes,
        pumped_lobes=() if pumped.shape is None else pumped.shape.lobes,
        pumped_per_preload=moved,
    )


def pumped_up(value: float, doubt: Budget) -> Verdict:
    """Return the verdict on a drop with the lifter pumped up, which has to be more than nothing."""
    return Verdict.SHORT if value <= 0 else judge(value, 0.0, None, doubt.expanded, not doubt.undoubted)


def _up(
    of: str,
    name: str,
    least: Minimum,
    doubt: Budget,
    slopes: Mapping[str, float],
    lobes: tuple[str, ...],
) -> Result:
    """Return a clearance with the lifter pumped up, which has to be more than nothing."""
    verdict = pumped_up(least.value, doubt)
    found = _bare({}, of, name, least)
    return found._replace(budget=doubt, verdict=verdict, slopes=slopes, lobes=lobes)


def _pair_weighed(
    one: PairClearance, found: Mapping[str, Weighed], moves: Mapping[str, Mapping[str, float]]
) -> PairClearance:
    judged = _with_doubt(one.judged, one.cylinder, found)
    if judged is not None and one.no_pumped:
        judged = judged._replace(verdict=at_best_unproved(judged.verdict))
    if judged is None or one.pumped is None:
        return one._replace(judged=judged)
    if one.pumped.value <= 0:
        return one._replace(judged=judged._replace(verdict=Verdict.SHORT))
    key = f"{one.cylinder} between pumped"
    budget, slopes, shape = found[key]
    lobes = () if shape is None else shape.lobes
    up = _up(one.cylinder, PAIR_PUMPED, one.pumped, budget, slopes, lobes)
    judged = judged._replace(verdict=max(judged.verdict, up.verdict, key=SEVERITY.index))
    return one._replace(judged=judged, up=up, up_per_preload=moves.get(key, NONE))


def _with_doubt(judged: Result | None, name: str, found: Mapping[str, Weighed]) -> Result | None:
    if judged is None:
        return None
    budget, slopes, shape = found[f"{name} {judged.name}"]
    verdict = judge(judged.value, judged.limit.value, None, budget.expanded, not budget.undoubted)
    if not np.isfinite(budget.expanded):
        message = f"the doubt of {name}, {judged.name}, is not a number"
        raise GeometryError(message)
    if judged.name in ("between", "bore") and judged.value <= 0:
        verdict = Verdict.SHORT  # contact, whatever the target
    lobes = () if shape is None else shape.lobes
    return judged._replace(budget=budget, verdict=verdict, slopes=slopes, lobes=lobes)
