"""What the entries foretell of each thing that is set or measured at assembly, with its limits and its doubt.

The numbers are those of the other answers: the pushrod as ordered, the preload or lash that is wanted, the least
clearances, deck and squish, the window in which a cylinder is set. What was set is then held against them: a
difference larger than both doubts together explain is told apart from one that says nothing.

Source: JCGM 100:2008, 5.1.2 (independent contributions add in squares) and 6.2.1 (expanded uncertainty).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import Enum
from typing import NamedTuple

from ..cam.cam import Cam, CamLobe, Tables
from ..clearance.clearances import PairClearance, ValveClearance
from ..clearance.moving import budgets
from ..clearance.situation import Asked, situation
from ..clearance.valve_lift import ValveLift, shape, valve_lift
from ..core import targets
from ..core.answer import Figure, Missing
from ..core.errors import GeometryError
from ..core.mapping import Flat, Quantities
from ..core.targets import Limit, Source, Target
from ..doubt.budget import Budget, Doubt, budget
from ..doubt.coverage import coverage_factor
from ..doubt.derivatives import STEP, derivatives, moved
from ..doubt.result import Result, Results
from ..engine.engine import build, train_of
from ..pushrod.adjusting import setting
from ..pushrod.ordering import Order, Room
from ..pushrod.pushrods import required
from ..pushrod.shelf import Offer
from ..pushrod.stations import Station

WHOLE = Doubt(0.5)  # a plan in whole flats is as near as half a one
COUNTED = Doubt(0.0)  # whole flats that were counted
COARSE = 3.0  # times a plan's own doubt: a reading that is no surer tells nothing of what it differs by
EDGE = 1e-9  # a value typed as its limit is within it


class Standing(Enum):
    """How what was set stands against what was planned."""

    AS_PLANNED = "as_planned"  # no further from it than both doubts explain
    BEYOND = "beyond_the_doubt"
    OFF = "not_as_planned"  # no limit is missed, but the setting that it gives is not the one that is wanted
    MISSES = "short"  # a limit
    TIGHT = "tight"  # within its limits, by less than its own doubt
    WITHIN = "within_limits"  # by more than that, and nothing else is planned of it
    UNJUDGED = "not_judged"  # one side carries no doubt, or there is no number to hold it against
    UNPLANNED = "not_planned"
    OPEN = "not_recorded"


class Planned(NamedTuple):
    """One thing as planned; mm, rad or plain. What is not known is None."""

    value: float | None = None
    doubt: float | None = None  # expanded, of the entries that carry one
    undoubted: tuple[str, ...] = ()  # entries that move it and carry none
    least: float | None = None
    most: float | None = None
    limits: tuple[Limit, ...] = ()  # whose they are
    most_doubt: float = (
        0.0  # expanded, of the most itself where that is what a part allows, not what is wished
    )
    most_is: str = ""  # what the most is, where the parts set it
    unknown: tuple[str, ...] = ()  # entries without which a limit is not known
    lacks: tuple[str, ...] = ()  # entries without which it is not known
    why: str = ""  # in words, where it cannot be
    upward: float | None = None  # expanded towards more, where it is another

    @property
    def limits_are_set(self) -> bool:
        """Whether job or parts set them; otherwise common practice."""
        return all(one.source in (Source.SET, Source.PARTS) for one in self.limits)


def standing_of(plan: Planned, built: float, doubt: Doubt | None) -> Standing:
    """Return how a value that was set or measured stands against the plan.

    built, doubt : mm, rad or plain; None: nobody said how sure it is
    """
    low, high = plan.least, plan.most
    if (low is not None and built < low - EDGE) or (high is not None and built > high + EDGE):
        return Standing.MISSES
    limited = low is not None or high is not None
    if plan.value is None and not limited:
        return Standing.UNPLANNED
    if doubt is None:
        return Standing.UNJUDGED
    own = expanded(doubt)
    is_known = plan.value is not None and plan.doubt is not None and not plan.undoubted and not plan.unknown
    if is_known:
        off = built - (plan.value or 0.0)
        way = plan.upward if off > 0 and plan.upward is not None else plan.doubt or 0.0
        if abs(off) > math.hypot(way, own) + EDGE:
            return Standing.BEYOND
    if low is not None and built - low < own - EDGE:
        return Standing.TIGHT
    if high is not None and high - built < math.hypot(own, plan.most_doubt) - EDGE:
        return Standing.TIGHT
    if plan.value is None:
        return Standing.WITHIN
    coarse = bool(plan.doubt) and own > COARSE * (plan.doubt or 0.0) and is_off(plan, built)
    return Standing.AS_PLANNED if is_known and not coarse else Standing.UNJUDGED


def is_off(plan: Planned, built: float, rounding: float = 0.0) -> bool:
    """Say whether a value stands further from its plan than the plan's own doubt explains.

    rounding : by how much it may be off for having been written with so many digits
    """
    if plan.value is None or plan.doubt is None:
        return False
    off = built - plan.value
    way = plan.upward if off > 0 and plan.upward is not None else plan.doubt
    return abs(off) > way + rounding + EDGE


def expanded(doubt: Doubt) -> float:
    """Return the expanded uncertainty of one reading."""
    return coverage_factor(doubt.freedom) * doubt.standard


def of_pushrod(
    order: Order, convention: str, mapping: Flat, quantities: Quantities, doubts: Mapping[str, Doubt]
) -> Planned:
    """Return a pushrod's length in one convention."""
    needed = order.required
    if needed is None or order.impossible:
        return _missing(order)
    if convention not in needed.lengths:
        return Planned(lacks=tuple(f"{order.train.name}.pushrod.{one}" for one in needed.lacks[convention]))
    found = order.budget
    if convention != order.convention:
        name = order.train.name
        slopes = derivatives(
            mapping,
            quantities,
            lambda varied: {name: required(train_of(varied, name)).lengths[convention]},
        )[name]
        moving = {entry: slope for entry, slope in slopes.items() if slope != 0.0}
        found = budget(moving, doubts, mapping).widened(Doubt(float(needed.along_doubt)).standard)
    undoubted = () if found is None else found.undoubted
    if order.is_estimate:
        undoubted = (*undoubted, f"{order.train.name}.measured_pushrod")
    return Planned(float(needed.lengths[convention]), _expanded(found), undoubted)


def of_setting(order: Order) -> Planned:
    """Return the preload or lash that is wanted.

    What is set at an adjuster, and lash wherever it is felt, is what was wished for or it is not: how well the length of
    a pushrod is known explains nothing of it. The preload that a pushrod without an adjuster gives has its doubt.
    """
    lifter = order.train.lifter
    wish = lifter.lash if lifter.kind == "solid" else lifter.preload
    if wish is None:
        return _missing(order)
    if lifter.kind == "solid" or order.train.adjuster is not None:
        plan = Planned(float(wish), 0.0)
    else:
        undoubted = () if order.budget is None else order.budget.undoubted
        plan = Planned(float(wish), _expanded(order.budget), undoubted)
    if order.limits is not None:
        limits, travel = order.limits, lifter.plunger_travel
        sure = 0.0 if order.room is None else order.room.travel_doubt
        own = None if limits.own_most is None else limits.own_most.value
        near = travel is not None and (own is None or float(travel) - limits.bottom.value - sure < own)
        bare = plan.undoubted
        return plan._replace(
            least=limits.least.value,
            most=limits.most.value,
            limits=() if order.setting is None else order.setting.limits,
            most_doubt=sure if near else 0.0,
            most_is="the plunger's travel less the room wanted below it" if limits.bottoms else "",
            undoubted=bare if order.room is None else (*bare, *_further(order.room, bare)),
            unknown=() if order.room is None else order.room.lacks,
        )
    return plan._replace(least=0.0)


def _further(room: Room, undoubted: tuple[str, ...]) -> list[str]:
    return [one for one in room.budget.undoubted if one not in undoubted]


def of_adjuster(order: Order, in_flats: bool) -> Planned:
    """Return how far a rocker's own adjuster is turned from zero lash; zero lash is felt, so no length moves it."""
    found = None if order.required is None else setting(order.train, order.required)
    if found is None:
        return Planned()
    flats = found.flats if found.flats_turned is None else found.flats_turned
    value = flats if in_flats else found.turns
    if value is None:
        return Planned(lacks=found.lacks)
    ratio = f"{order.train.name}.rocker.ratio"
    by_ratio = not found.exact and found.kind in ("pivot nut", "valve screw")
    return Planned(float(value), expanded(WHOLE) if in_flats else 0.0, (ratio,) if by_ratio else ())


def of_shelf(offer: Offer, order: Order, pitch: float, in_flats: bool, from_closed: bool) -> Planned:
    """Return how far an adjustable pushrod of the shelf is turned out.

    pitch : mm for a turn
    """
    turns = offer.turns if from_closed else offer.turns_from_zero_lash
    flats = offer.flats if from_closed else offer.flats_from_zero_lash
    value = flats if in_flats else turns
    if value is None or offer.turns is None or offer.flats is None:
        return Planned()
    a_turn = offer.flats / offer.turns if in_flats and offer.turns else 1.0
    length = _expanded(order.budget) or 0.0
    doubt = length / pitch * a_turn if from_closed else 0.0
    whole = expanded(WHOLE) if in_flats else 0.0
    undoubted = order.budget.undoubted if from_closed and order.budget is not None else ()
    return Planned(float(value), math.hypot(doubt, whole), undoubted)


def of_valve(
    one: ValveClearance,
    what: str,
    mapping: Flat,
    tables: Tables,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
) -> Planned:
    """Return a valve's least drop ("drop") or straight gap ("gap") over its piston."""
    least = (one.drop[0] if one.drop else None) if what == "drop" else one.gap
    limit = targets.limit_of(mapping, targets.DROP[one.train.rpartition(".")[2]])
    if least is None:
        lacks = tuple(dict.fromkeys(entry for entries in one.lacks.values() for entry in entries))
        return _limited(Planned(lacks=lacks, why="; ".join(one.problem)), limit)
    if one.piston is not None and one.piston.name == what:
        return of_result(one.piston)
    asked = Asked(one.train, what, least.angle)
    here = situation(mapping, one.train.rpartition(".")[0], Cam(mapping, tables))
    found = budgets(mapping, here, [asked], quantities, doubts, tables)[asked.key].budget
    return _limited(Planned(least.value, found.expanded, found.undoubted, upward=found.upward), limit)


def of_pair(pair: PairClearance | None, mapping: Flat) -> Planned:
    """Return the least distance between a cylinder's two valves; its limit holds where it cannot be foretold too."""
    if pair is not None and pair.judged is not None:
        plan = of_result(pair.judged)
        return plan._replace(upward=math.inf) if pair.at_least else plan  # it is at least that
    plan = Planned() if pair is None else Planned(lacks=pair.lacks, why="; ".join(pair.problem))
    return _limited(plan, targets.limit_of(mapping, targets.VALVE_TO_VALVE))


def of_result(one: Result) -> Planned:
    """Return what an answer foretells."""
    plan = Planned(one.value, one.budget.expanded, one.budget.undoubted, upward=one.budget.upward)
    return _limited(plan, one.least, one.most)


def of_limit(target: Target, mapping: Flat) -> Planned:
    """Return what nothing foretells and has a limit all the same."""
    return _limited(Planned(), targets.limit_of(mapping, target))


def _limited(plan: Planned, least: Limit | None, most: Limit | None = None) -> Planned:
    """Return a plan with its limits."""
    return plan._replace(
        least=None if least is None else least.value,
        most=None if most is None else most.value,
        limits=tuple(limit for limit in (least, most) if limit is not None),
    )


def of_lift(
    name: str, mapping: Flat, tables: Tables, quantities: Quantities, doubts: Mapping[str, Doubt]
) -> Planned:
    """Return a valve's greatest lift; each quantity is raised and lowered in turn, a cam takes no batch."""

    def lift(varied: Flat) -> float | tuple[str, ...]:
        train = train_of(varied, name)
        lobe = Cam(varied, tables).lobe_of(name)
        if not isinstance(lobe, CamLobe):
            return lobe
        gear = valve_lift(train, lobe)
        return shape(gear).peak_lift if isinstance(gear, ValveLift) else gear

    try:
        value = lift(mapping)
        if isinstance(value, tuple):
            return Planned(lacks=value)
        slopes = {}
        others = tuple(f"{train.name}." for train in build(mapping).trains if train.name != name)
        for quantity, paths in quantities.items():
            if all(path.startswith(others) for path in paths):
                continue
            ends = [lift(moved(mapping, paths, way * STEP)) for way in (1.0, -1.0)]
            if all(isinstance(end, float) for end in ends):
                slopes[quantity] = (float(ends[0]) - float(ends[1])) / (2 * STEP)  # type: ignore[arg-type]
    except GeometryError as error:
        return Planned(why=str(error))
    moving = {entry: slope for entry, slope in slopes.items() if abs(slope) > EDGE}
    found = budget(moving, doubts, mapping)
    return Planned(value, found.expanded, found.undoubted)


def of_figure(found: Results | Missing, figure: Figure, key: str, mapping: Flat, of: str = "") -> Planned:
    """Return a figure of a group; its limits hold where it cannot be foretold too; of : whose it is."""
    if isinstance(found, Missing) or key not in found:
        lacks, why = (found.entries, found.why) if isinstance(found, Missing) else ((), "")
        return _limited(Planned(lacks=lacks, why=why), *figure.limits(mapping, of))
    return of_result(found[key])


def of_station(one: Station) -> Planned:
    """Return in which window of the crank a cylinder is set, or that it is not known how wide one is."""
    if one.heel is None:
        return Planned(lacks=one.lacks)
    before, after = one.heel
    return Planned(least=before, most=after)


def _missing(order: Order) -> Planned:
    lacks = tuple(dict.fromkeys(entry for entries in order.missing.values() for entry in entries))
    return Planned(lacks=lacks, why="; ".join(order.obstacles))


def _expanded(found: Budget | None) -> float | None:
    return None if found is None else found.expanded
