"""Every answer of a job, in the order of the screens: lengths, clearances, fits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from tallstack.geometry.core.lengths import CONVENTIONS
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.fits.across_doubt import LOWERED
from tallstack.geometry.fits.judging import Judged as Fit
from tallstack.geometry.fits.part import Lacking
from tallstack.geometry.pushrod.ordering import Order
from tallstack.geometry.sure.planned import of_pushrod

from ..page.across_words import AS_FAR_AS, CALLED
from ..page.fits_words import LABELS, is_told, whose
from ..page.wording import COMMON_PRACTICE, PARTS_OWN, YOURS
from .results import Limit, Missing, Result, Results

if TYPE_CHECKING:
    from tallstack.geometry.clearance.clearances import Judged, PairClearance, ValveClearance
    from tallstack.geometry.doubt.budget import Budget
    from tallstack.geometry.piston.cycle import Minimum

    from ..job.job import Job

GROUPS = ("pushrods", "clearance", "fits")
LENGTHS = {
    "centres": "pushrod, between ball centres",
    "theoretical": "pushrod, theoretical length",
    "overall": "pushrod, overall length",
    "gauge": "pushrod, over gauge seats",
}
CLEARANCES = {
    "drop": "piston to valve, along the stem",
    "gap": "piston to valve, straight gap",
    "drop_pumped": "piston to valve, along the stem, lifter pumped up",
    "wall": "rim to the pocket's wall",
    "bore": "valve to its bore",
    "valve_to_valve": "valve to valve",
}

GIVES = {  # part of `fits` → its main figures, each lacking what the part lacks
    "DISPLACEMENT": ("displacement",),
    "DECK AND SQUISH": ("deck", "squish"),
    "SQUISH AT SPEED": ("squish_at_speed",),
    "COMPRESSION": ("compression_ratio",),
    "CONNECTING ROD'S SWING": ("swing_forward", "swing_backward"),
    "SKIRT TO CONNECTING ROD": ("skirt_to_conrod",),
    "SKIRT TO COUNTERWEIGHT": ("skirt_to_counterweight",),
    "CONNECTING ROD TO SPIGOT": ("conrod_to_spigot",),
    "CONNECTING ROD TO CASE MOUTH": ("conrod_to_mouth",),
    "SKIRT AND OIL RING BELOW THE SPIGOT": ("skirt_hangs", "oil_ring_hangs"),
    "STUDS": ("thread_in_nut",),
    "BASE GASKET": ("base_gasket_crush",),
    "HEAD GASKET": ("head_gasket_crush",),
    "PUSHROD TUBES": ("tube_length",),
    "ROOM IN THE TUBES": ("tube_room",),
    "SPRINGS, VALVE CLOSED": ("seat_force",),
    "SPRINGS AT FULL LIFT": ("open_force",),
    "COIL BIND": ("coil_bind",),
    "COIL BIND, LIFTERS PUMPED UP": ("coil_bind_pumped",),
    "RETAINERS": ("retainer_to_seal",),
    "RETAINERS, LIFTERS PUMPED UP": ("retainer_to_seal_pumped",),
    "VALVE LEAVING THE CAM": ("leaves_the_cam",),
    "PUSHROD UNDER LOAD": ("load_at_full_lift", "buckling_load"),
    "BALLS IN THEIR CUPS": ("contact_low", "contact_high"),
    "COLD TO HOT": ("hot_lash", "hot_preload"),
}


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
    name, needed = order.train.name, order.required
    for convention in CONVENTIONS:
        title = LENGTHS[convention]
        if needed is None or order.impossible:
            yield Missing(name, convention, title, order.missing, "; ".join(order.obstacles))
            continue
        plan = of_pushrod(order, convention, job.mapping, job.quantities, job.doubts)
        if plan.value is None:
            yield Missing(name, convention, title, {"the pushrod's ends": plan.lacks})
            continue
        yield Result(
            name,
            convention,
            title,
            plan.value,
            "mm",
            None if plan.undoubted else plan.doubt,
            _word(order.verdict),
            moved_by=_still(order.slopes if convention == order.convention else {}),
            without_doubt=plan.undoubted,
            look_again=order.look_again,
            note="" if order.verdict is None else f"the verdict is on the {_setting(order)} it gives",
            is_estimate=order.is_estimate,
        )
    lifter, what = order.train.lifter, _setting(order)
    wish = lifter.lash if lifter.kind == "solid" else lifter.preload
    if wish is not None:
        limit = Limit(0.0, None, PARTS_OWN) if lifter.kind == "solid" else None
        if order.limits is not None:
            are_set = order.limits.least_is_set and order.limits.most_is_set
            limit = Limit(order.limits.least, order.most_preload, YOURS if are_set else COMMON_PRACTICE)
        yield Result(
            name,
            what,
            f"{what} wanted",
            float(wish),
            "mm",
            verdict=_word(order.verdict),
            limit=limit,
            without_doubt=order.unsure,
            look_again=order.look_again,
            is_estimate=order.is_estimate,
        )
    room = order.room
    if room is not None and room.value is None:
        yield Missing(name, "room_to_bottom", "room to the plunger's bottom", {"the lifter": room.lacks})
    elif room is not None and room.value is not None:
        yield Result(
            name,
            "room_to_bottom",
            "room to the plunger's bottom",
            room.value,
            "mm",
            _sure(room.budget),
            _word(room.verdict),
            Limit(0.0, None, PARTS_OWN),
            moved_by=_still(room.slopes),
            without_doubt=room.budget.undoubted,
            look_again=order.look_again,
        )


def _of_valve(valve: ValveClearance) -> Iterator[Result | Missing]:
    """Yield one valve's clearances: the one that is judged with its doubt, the other as it stands."""
    name = valve.train
    if valve.piston is None:
        yield Missing(name, "drop", CLEARANCES["drop"], valve.lacks, "; ".join(valve.problem))
    plain: dict[str, Minimum | None] = {"drop": valve.drop[0] if valve.drop else None, "gap": valve.gap}
    for key, least in plain.items():
        if valve.piston is not None and valve.piston.what == key:
            yield _judged(name, key, valve.piston)
        elif least is not None:
            note = "" if valve.piston is None else f"judged is the other, {CLEARANCES[valve.piston.what]}"
            at = math.degrees(least.angle)
            yield Result(name, key, CLEARANCES[key], least.value, "mm", at=at, note=note)
    if valve.up is not None:
        yield _judged(name, "drop_pumped", valve.up)
    for key, one in (("wall", valve.room), ("bore", valve.bore)):
        if one is not None:
            yield _judged(name, key, one)
    if valve.bore is None and valve.bore_lacks:
        yield Missing(name, "bore", CLEARANCES["bore"], {"the bore": valve.bore_lacks})


def _of_pair(pair: PairClearance) -> Result | Missing:
    if pair.judged is not None:
        return _judged(pair.cylinder, "valve_to_valve", pair.judged)
    title, why = CLEARANCES["valve_to_valve"], "; ".join(pair.problem)
    return Missing(pair.cylinder, "valve_to_valve", title, {"coordinates": pair.lacks}, why)


def _judged(of: str, key: str, one: Judged) -> Result:
    return Result(
        of,
        key,
        CLEARANCES[key],
        one.value,
        "mm",
        _sure(one.budget),
        _word(one.verdict),
        Limit(one.target.least, None, _whose(one)),
        math.degrees(one.angle),
        _still(one.slopes),
        () if one.budget is None else one.budget.undoubted,
        one.look_again,
    )


def _whose(one: Judged) -> str:
    if one.what.startswith("pumped"):
        return f"contact, {PARTS_OWN}"
    return YOURS if one.target.is_set else COMMON_PRACTICE


def _of_fits(job: Job) -> Iterator[Result | Missing]:
    """Yield every figure, subject by subject, the cylinders' first."""
    found = job.fits
    for subject in (*job.names["cylinders"], *job.names["trains"]):
        for each in (*found.cylinders, *found.trains):
            if each.subject != subject:
                continue
            if isinstance(each.found, Lacking):
                needs = {"entries": each.found.entries} if each.found.entries else {}
                for key in GIVES[each.title]:
                    yield Missing(subject, key, LABELS[key], needs, each.found.why)
                continue
            for key, figure in each.found.items():
                if is_told(key, each.found):
                    yield _figure(subject, key, LABELS.get(key, key), figure)
    for (kind, moving, other), figure in found.crossing.sure.items():
        if kind != LOWERED:
            yield _figure(f"{moving}, {other}", f"{kind}_across", CALLED[kind], figure)
    for drop in found.crossing.drop_on:
        sure = found.crossing.sure[LOWERED, drop.fitted, drop.lowered]
        one = _figure(f"{drop.fitted}, {drop.lowered}", "margin", CALLED[LOWERED], sure)
        windows = [
            f"{math.degrees(each.begins):.1f} to {math.degrees(each.ends):.1f}" for each in drop.windows
        ]
        room = f"{drop.fitted} fitted, {drop.lowered} lowered, crank degrees of {drop.fitted}"
        where = "any" if drop.always else " and ".join(windows) or "none leaves the room that is wanted"
        unseen = f"; {AS_FAR_AS}" if found.crossing.unseen(drop.fitted, drop.lowered) else ""
        yield replace(one, note=f"{room}: {where}{unseen}")


def _figure(of: str, key: str, title: str, one: Fit) -> Result:
    ends = {bool(limit.name) and limit.name == one.figure.most: limit for limit in one.limits}
    least, most = (ends[way].value if way in ends else None for way in (False, True))
    limit = Limit(least, most, "; ".join(dict.fromkeys(map(whose, one.limits)))) if one.limits else None
    return Result(
        of,
        key,
        title,
        one.value,
        one.figure.unit,
        _sure(one.budget),
        _word(one.verdict),
        limit,
        None if one.figure.at is None else math.degrees(float(one.figure.at)),
        _still(one.slopes),
        one.budget.undoubted,
        one.look_again,
        one.figure.note,
    )


def _setting(order: Order) -> str:
    return "lash" if order.train.lifter.kind == "solid" else "preload"


def _still(slopes: Mapping[str, float]) -> Mapping[str, float]:
    """Return slopes that nobody can change."""
    return MappingProxyType(dict(slopes))


def _sure(budget: Budget | None) -> float | None:
    """Return an expanded uncertainty; None where an entry that counts has none, so that it is not known."""
    return None if budget is None or budget.undoubted else budget.expanded


def _word(verdict: Verdict | None) -> str | None:
    return None if verdict is None else verdict.value
