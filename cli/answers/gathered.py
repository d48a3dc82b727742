"""Every answer of a job, in the order of the screens: lengths, clearances, fits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from tallstack.geometry.clearance.clearances import AT_LEAST, BORE, DROP, GAP, PAIR, figure
from tallstack.geometry.core import answer
from tallstack.geometry.core.answer import Figure
from tallstack.geometry.core.lengths import CONVENTIONS
from tallstack.geometry.core.verdict import at_best_unproved
from tallstack.geometry.doubt import result
from tallstack.geometry.fits.across_doubt import LOWERED, MEET
from tallstack.geometry.fits.valves_at_speed import DROP as DROP_AT_SPEED
from tallstack.geometry.pushrod.ordering import LENGTHS, ROOM, Order
from tallstack.geometry.sure.planned import of_pushrod

from ..job import contradicted
from ..page.across_words import AS_FAR_AS
from ..page.wording import whose
from .results import Limit, Missing, Result, Results

if TYPE_CHECKING:
    from tallstack.geometry.clearance.clearances import PairClearance, ValveClearance
    from tallstack.geometry.core.minima import Minimum

    from ..job.job import Job

ENDS = (
    "ball_diameter_low",
    "ball_diameter_high",
    "hole_low",
    "hole_high",
)  # what one convention is told from another by
GROUPS = ("pushrods", "clearance", "fits")


def answers(job: Job, group: str) -> Results:
    """Return every answer of one group; job : as its tables and readings leave it.

    Raises:
        ValueError: where there is no such group.
    """
    if group == "pushrods":
        return Results(one for order in job.orders for one in _of_order(job, order))
    if group == "clearance":
        found = job.clearances
        valves = [one for valve in found.valves for one in _of_valve(valve)]
        return Results([*valves, *(_of_pair(pair) for pair in found.pairs)])
    if group == "fits":
        return Results(_of_fits(job))
    message = f"{group}: no such group of answers; there are {', '.join(GROUPS)}"
    raise ValueError(message)


def _of_order(job: Job, order: Order) -> Iterator[Result | Missing]:
    """Yield the lengths of one valve gear's pushrod, then its setting, then the room below its plunger."""
    name, length, setting, why = order.train.name, order.length, order.setting, contradicted.told(job)
    for convention in CONVENTIONS:
        title = LENGTHS[convention].title
        if length is None:
            yield Missing(name, convention, title, order.missing, "; ".join(order.obstacles))
            continue
        plan = of_pushrod(order, convention, job.mapping, job.quantities, job.doubts)
        if plan.value is None:
            yield Missing(name, convention, title, {"the pushrod's ends": plan.lacks})
            continue
        ends = () if convention == order.convention else (f"{name}.pushrod.{one}" for one in ENDS)
        again = tuple(dict.fromkeys((*order.look_again, *why(name, ends))))
        verdict = at_best_unproved(order.verdict) if again else order.verdict
        yield replace(
            _shown(length),
            answer=convention,
            title=title,
            value=plan.value,
            uncertainty=None if plan.undoubted else plan.doubt,
            verdict=None if verdict is None else verdict.value,
            look_again=again,
            moved_by=MappingProxyType(dict(order.slopes if convention == order.convention else {})),
            without_doubt=plan.undoubted,
            note="" if setting is None else f"the verdict is on the {setting.key} it gives",
        )
    if setting is not None:
        yield replace(_shown(setting), uncertainty=None, without_doubt=order.unsure)
    room = order.room
    if room is not None and room.value is None:
        yield _missing(name, "room_to_bottom", ROOM, {"the lifter": room.lacks})
    elif order.room_left is not None:
        yield _shown(order.room_left)


def _of_valve(valve: ValveClearance) -> Iterator[Result | Missing]:
    """Yield one valve's clearances: the one that is judged with its doubt, the other as it stands."""
    name = valve.train
    if valve.piston is None:
        yield _missing(name, DROP, figure(DROP), valve.lacks, "; ".join(valve.problem))
    plain: dict[str, Minimum | None] = {DROP: valve.drop[0] if valve.drop else None, GAP: valve.gap}
    for key, least in plain.items():
        if valve.piston is not None and valve.piston.name == key:
            yield _shown(valve.piston)
        elif least is not None:
            note = "" if valve.piston is None else f"judged is the other, {valve.piston.figure.title}"
            at = math.degrees(least.angle)
            yield Result(name, key, figure(key).title, least.value, "mm", at=at, note=note)
    fast = valve.at_speed
    told = (valve.up, valve.room, valve.bore, *(() if fast is None else (fast.drop, fast.gap, fast.wall)))
    yield from (_shown(one) for one in told if one is not None)
    if fast is not None and fast.drop is None:
        yield _missing(name, AT_LEAST, DROP_AT_SPEED, {"at speed": fast.lacks}, fast.why)
    if valve.bore is None and valve.bore_lacks:
        yield _missing(name, BORE, figure(BORE), {"the bore": valve.bore_lacks})


def _of_pair(pair: PairClearance) -> Result | Missing:
    if pair.judged is not None:
        return _shown(pair.judged)
    ways = pair.ways or {"coordinates": pair.lacks}
    return _missing(pair.cylinder, "valve_to_valve", figure(PAIR), dict(ways), "; ".join(pair.problem))


def _of_fits(job: Job) -> Iterator[Result | Missing]:
    """Yield every figure, subject by subject, the cylinders' first."""
    found = job.fits
    for subject in (*job.names["cylinders"], *job.names["trains"]):
        for each in found.of(subject):
            if isinstance(each.found, answer.Missing):
                for key, one in each.group.figures.items():
                    if one.main:
                        yield _missing(subject, key, one, each.found.routes, each.found.why)
            yield from map(_shown, each.told.values())
    crossing = found.crossing
    yield from (_shown(one) for one in crossing.sure.values() if one.name != LOWERED)
    for drop in crossing.drop_on:
        windows = [
            f"{math.degrees(each.begins):.1f} to {math.degrees(each.ends):.1f}" for each in drop.windows
        ]
        room = f"{drop.fitted} fitted, {drop.lowered} lowered, crank degrees of {drop.fitted}"
        where = "any" if drop.always else " and ".join(windows) or "none leaves the room that is wanted"
        unseen = f"; {AS_FAR_AS}" if crossing.unseen(drop.fitted, drop.lowered) else ""
        unseen = f"; {MEET} on the way down" if drop.blocked else unseen
        sure = crossing.sure[LOWERED, drop.fitted, drop.lowered]
        yield replace(_shown(sure), note=f"{room}: {where}{unseen}")


def _missing(
    of: str, key: str, figure: Figure, routes: Mapping[str, tuple[str, ...]], why: str = ""
) -> Missing:
    return Missing(of, key, figure.title, routes, why)


def _shown(one: result.Result) -> Result:
    """Return an answer as it is given to a program."""
    least, most = (None if limit is None else limit.value for limit in (one.least, one.most))
    limit = Limit(least, most, "; ".join(dict.fromkeys(map(whose, one.limits)))) if one.limits else None
    note = "; ".join(part for part in (one.note, one.figure.below_zero if one.meets else "") if part)
    return Result(
        one.of,
        one.key,
        one.figure.title,
        0.0 if one.meets else one.value,
        one.figure.unit,
        None if one.meets else one.doubt,
        None if one.verdict is None else one.verdict.value,
        limit,
        None if one.at is None else math.degrees(one.at),
        MappingProxyType(dict(one.slopes)),
        one.budget.undoubted,
        one.look_again,
        note,
        one.is_estimate,
    )
