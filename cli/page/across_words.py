"""Pistons across the cylinders, and when a cylinder can be lowered, in words and for JSON."""

from __future__ import annotations

import math
from typing import Any

from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.core.targets import SPIGOTS
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.fits.across import Across, Closest, Spigots
from tallstack.geometry.fits.across_doubt import CONROD, LOWERED, PASSING, PISTON, PISTONS, SEATED
from tallstack.geometry.fits.cut_tube import Relief
from tallstack.geometry.fits.drop_on import DropOn, Window

from ..job.contradicted import word
from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.fits import Crossing
from .model import Block, Form, Heading, Words
from .wording import MEET, at_top_centre, length, steady, whose

HOLD = (
    "Hold the crank at that angle with a stop, not with a hand, and turn nothing while a cylinder is half on; look "
    "along the whole way down before it is pushed home."
)


UNSEEN = "pistons, connecting rods and lowering across the cylinders, all or some of them"
NO_RELIEF = (
    "no relief is worked out for a connecting rod: look at where its beam is widest, and at a shorter spigot"
)
AS_FAR_AS = "as far as piston and connecting rod go: the two spigots against each other are NOT LOOKED AT"
AS_SOLID = (
    "skirts taken as solid: cautious; there is more room where the thrust faces are arched, once piston.arch_width and arch_height "
    "are entered"
)
NO_SPIGOTS_RELIEF = (
    "no relief in their lower edges is enough, it would reach the case deck: shorten the spigots"
)
THEN_THE_RING = "enter them once they are cut: what a relief takes away, the oil ring no longer runs in"
PART = {PISTON: "piston", CONROD: "connecting rod"}


def never_lowered(found: Crossing) -> list[str]:
    """Return which two cylinders cannot be put on in either order, in words."""
    ways: dict[frozenset[str], list[bool]] = {}
    for one in found.drop_on:
        ways.setdefault(frozenset((one.fitted, one.lowered)), []).append(bool(one.windows))
    met = {frozenset((one.fitted, one.lowered)) for one in found.drop_on if one.blocked}
    return [
        f"CANNOT BE ASSEMBLED: neither of {' and '.join(sorted(pair))} can be lowered past the other's "
        f"{'spigot' if pair in met else 'piston'}"
        for pair, possible in ways.items()
        if not any(possible)
    ]


def one_way(found: Crossing) -> list[str]:
    """Return which cylinder has to be fitted first, and which spigots were not looked at, in sentences."""
    goes = {(one.fitted, one.lowered): bool(one.windows) for one in found.drop_on}
    told = [
        f"FIT {lowered} FIRST: {fitted} goes on past it, {lowered} never goes on past {fitted}"
        for (fitted, lowered), possible in goes.items()
        if not possible and goes.get((lowered, fitted))
    ]
    return [
        *told,
        *(
            f"NOT LOOKED AT: the spigots of {one} and {other} against each other"
            for one, other in found.not_looked_at
        ),
        *_not_known(found),
    ]


def _not_known(found: Crossing) -> list[str]:
    """Return what across the cylinders is not looked at, with what it lacks, where any spigot is entered."""
    lacks = dict.fromkeys(entry for one in found.lacks for entry in one.entries)
    needs = [f"needs {', '.join(lacks)}"] if lacks else []
    return [
        f"NOT LOOKED AT: {UNSEEN}: {why}" for why in (*needs, *(one.why for one in found.lacks if one.why))
    ]


def crossing_blocks(job: JobFile, found: Crossing) -> list[Block]:
    """Return what meets across the cylinders and the windows for lowering them."""
    blocks: list[Block] = []
    if found.across:
        who = whose(found.limit)
        blocks.append(Heading("ACROSS THE CYLINDERS"))
        blocks.append(Words(f"at least {length(found.limit.value, job.units)}: {who} (targets.across)", 1))
    for one in found.across:
        blocks.append(_closest(job, found, one, PISTON, one.piston))
        if (one.moving, one.spigot) in found.reliefs:
            blocks.append(Words(_cut(job, one.spigot, found.reliefs[one.moving, one.spigot]), 3))
        if one.conrod is not None:
            blocks.append(_closest(job, found, one, CONROD, one.conrod))
            if found.sure[CONROD, one.moving, one.spigot].verdict is Verdict.SHORT:
                blocks.append(Words(NO_RELIEF, 3))
    for pair in found.pistons:
        names = " and ".join(pair.cylinders)
        at = at_top_centre(math.degrees(pair.at))
        text = f"pistons of {names}: {length(pair.gap, job.units)}, {at} of {pair.cylinders[0]}"
        meets = "; 0 is contact" if pair.gap <= 0 else ""
        meets += "; both taken as solid rounds, an arch in a skirt is not counted here"
        blocks.append(
            Words(f"{text}: {_told(job, found.sure[PISTONS, *pair.cylinders])}{meets}", 1, Form.ITEM)
        )
    for seated in found.spigots:
        blocks += _spigots(job, found, seated)
    if any(one.solid for one in found.across):
        blocks.append(Words(AS_SOLID, 1))
    for spigot, other in found.not_looked_at:
        text = f"spigot of {spigot} against spigot of {other}: NOT LOOKED AT; lay one over the other by hand before either goes on"
        blocks.append(Words(text, 1, Form.ITEM))
    if found.drop_on:
        blocks.append(Heading("LOWERING ONE CYLINDER WITH THE OTHER FITTED, crank angles of the fitted one"))
        if found.room > 0:
            blocks.append(Words(f"with {length(found.room, job.units)} of room: yours (targets.lowering)", 1))
    for drop in found.drop_on:
        blocks += _drop(job, found, drop)
        if drop.windows and found.unseen(drop.fitted, drop.lowered):
            blocks.append(Words(AS_FAR_AS, 3))
    if any(drop.windows and not drop.always for drop in found.drop_on):
        blocks.append(Words(HOLD, 1))
    needs = list(dict.fromkeys(entry for one in found.lacks for entry in one.entries))
    if needs:
        named = ", ".join(meant(entry) for entry in needs)
        blocks += [Words(f"across the cylinders, not measured: {named}", form=Form.ITEM)]
    return blocks


def lowering_words(job: JobFile, found: Crossing) -> list[str]:
    """Return how each cylinder goes on past the other, for one screen."""
    told = []
    for drop in found.drop_on:
        head = f"{drop.lowered} onto fitted {drop.fitted}"
        if drop.always:
            told.append(f"{head}: at any crank angle")
        elif drop.blocked:
            told.append(f"{head}: NEVER, the spigots meet")
        elif not drop.windows:
            told.append(f"{head}: NEVER, most room {length(drop.margin, job.units)}")
        else:
            assert drop.safest is not None
            windows = " or ".join(f"{_of_top(one.begins)} to {_of_top(one.ends)}" for one in drop.windows)
            hold = f"hold it {_of_top(drop.safest)}, with a stop, not a hand"
            told.append(f"{head}: crank from {windows} top centre of {drop.fitted}; {hold}")
    return told


def _closest(job: JobFile, found: Crossing, pair: Across, kind: str, close: Closest) -> Words:
    sure = found.sure[kind, pair.moving, pair.spigot]
    how = MEET if sure.meets else length(close.gap, job.units)
    text = f"{PART[kind]} of {pair.moving} to the spigot of {pair.spigot}: {how}"
    at = at_top_centre(math.degrees(close.at))
    place = f"{at} of {pair.moving}, at {_around(close.around)} degrees around the bore of {pair.spigot}"
    return Words(f"{text}, {place}: {_told(job, sure)}", 1, Form.ITEM)


def _spigots(job: JobFile, found: Crossing, pair: Spigots) -> list[Words]:
    """Return how two spigots stand to each other, and what to cut where that is too near."""
    sure = found.sure[SEATED, *pair.cylinders]
    first, second = pair.cylinders
    how = "they MEET" if sure.meets else length(pair.apart.gap, job.units)
    around = [
        f"at {_around(at)} degrees around the bore of {of}"
        for at, of in zip(pair.around, pair.cylinders, strict=True)
    ]
    limit = f"; {_least(job, sure)}" if sure.least is not None and sure.least.is_set else ""
    text = f"spigot of {first} to the spigot of {second}: {how}, {' and '.join(around)}: {_told(job, sure)}{limit}"
    words = [Words(text, 1, Form.ITEM)]
    if pair.cylinders not in found.cuts:
        return words
    cuts = found.cuts[pair.cylinders]
    if cuts is None:
        return [*words, Words(NO_SPIGOTS_RELIEF, 3)]
    words.append(Words(f"cut both, for {length(found.wanted, job.units)} between them:", 3))
    for cylinder, relief in zip(pair.cylinders, cuts, strict=True):
        told = _relief(job, cylinder, relief) if float(relief.half) > 0 else "nothing"
        words.append(Words(f"{cylinder}: {told}", 4))
    return [*words, Words(THEN_THE_RING, 3)]


def _least(job: JobFile, one: Result) -> str:
    assert one.least is not None
    return f"at least {length(one.least.value, job.units)}: {whose(one.least)} ({SPIGOTS.path})"


def _told(job: JobFile, one: Result) -> str:
    """Return a verdict with the doubt behind it, or with what has none."""
    verdict = word(one.verdict, one.look_again)
    if one.meets:
        return verdict
    if one.proved:
        return f"{verdict}; +/- {length(one.budget.expanded, job.units)}"
    first, *more = one.budget.undoubted
    others = f" and {len(more)} more" if more else ""
    return f"{verdict}; no +/- entered for {first}{others}"


def _drop(job: JobFile, found: Crossing, drop: DropOn) -> list[Words]:
    sure = found.sure[LOWERED, drop.fitted, drop.lowered]
    words = _lowered(job, drop)
    if drop.blocked:
        return words
    if sure.proved:
        words.append(Words(f"that room is known to +/- {length(sure.budget.expanded, job.units)}", 3))
    if drop.past is not None:
        past = found.sure[PASSING, drop.fitted, drop.lowered]
        by = f"its spigot passes that of {drop.fitted} by {length(drop.past.gap, job.units)}"
        words.append(Words(f"{by}: {_told(job, past)}", 3))
    if not math.isnan(drop.crown):
        side = "above" if drop.crown >= 0 else "below"
        text = f"the crown of {drop.lowered} then stands {length(abs(drop.crown), job.units)} {side} its case deck"
        words.append(Words(text, 3))
    return words


def _lowered(job: JobFile, drop: DropOn) -> list[Words]:
    head = f"{drop.fitted} fitted, {drop.lowered} lowered"
    if drop.blocked:
        text = f"{head}: NONE, its spigot meets that of {drop.fitted} on the way down, whatever the angle"
        return [Words(text, 1, Form.ITEM)]
    if drop.always:
        return [
            Words(
                f"{head}: at any crank angle, most room {length(drop.margin, job.units)} at {_signed(drop.best)}",
                1,
                Form.ITEM,
            )
        ]
    if not drop.windows:
        why = f"most room {length(drop.margin, job.units)}" if drop.margin > 0 else "they meet even"
        text = f"{head}: NONE, {why} at the least bad angle, {_signed(drop.best)}"
        return [Words(text, 1, Form.ITEM), Words(_cut(job, drop.lowered, drop.relief), 3)]
    words = []
    for one in drop.windows:
        text = f"{head}: {_window(one)}; most room {length(one.margin, job.units)} at {_signed(one.at)}"
        words.append(Words(text, 1, Form.ITEM))
    assert drop.safest is not None
    words.append(Words(f"hold the crank at {_signed(drop.safest)}", 3))
    return words


def _of_top(angle: float) -> str:
    """Return an angle from a top centre, at most half a turn of it, without naming it."""
    degrees = (steady(math.degrees(angle)) + 180.0) % 360.0 - 180.0
    return f"{abs(degrees):.0f} {'after' if degrees > 0 else 'before'}"


def _window(window: Window) -> str:
    """Return a window's ends, both within half a turn of top centre."""
    if window.ends > math.pi:
        return f"from {_signed(window.begins)} over bottom centre to {_signed(window.ends - math.tau)}"
    return f"from {_signed(window.begins)} to {_signed(window.ends)}"


def _cut(job: JobFile, cylinder: str, relief: Relief | None) -> str:
    if relief is None:
        return "no relief in the lower edge alone is enough: shorten the spigot, or look at the skirt"
    return f"cut this much: {_relief(job, cylinder, relief)}"


def _relief(job: JobFile, cylinder: str, relief: Relief) -> str:
    bore = Reader(job.mapping, (f"{cylinder}.", "")).number("stack.bore")
    at, half, height = map(float, relief)
    width = float(bore) * math.sin(min(half, math.pi / 2))
    return (
        f"a relief at {_around(at)} degrees around the bore, {length(height, job.units)} up from the spigot's lower "
        f"edge, over {2 * math.degrees(half):.0f} degrees of it, {length(width, job.units)} straight across at the bore"
    )


def _around(angle: float) -> str:
    """Return a place around a bore, 0 to 359 degrees."""
    return f"{round(math.degrees(angle)) % 360}"


def _signed(angle: float) -> str:
    return f"{steady(math.degrees(angle)):.1f} degrees"


def across_rows(found: Crossing) -> list[dict[str, Any]]:
    """Return pistons against spigots for JSON."""
    return [
        {
            "piston": one.moving,
            "spigot": one.spigot,
            **_closest_row(one.piston, found.sure[PISTON, one.moving, one.spigot]),
            "relief": _relief_row(found.reliefs.get((one.moving, one.spigot))),
            "skirt_taken_as_solid": one.solid,
            "conrod": None
            if one.conrod is None
            else _closest_row(one.conrod, found.sure[CONROD, one.moving, one.spigot]),
        }
        for one in found.across
    ]


def _closest_row(close: Closest, sure: Result) -> dict[str, Any]:
    return {
        "gap_mm": 0.0 if sure.meets else close.gap,  # how far two tubes stand in one another is no length
        "at_deg": math.degrees(close.at),
        "around_deg": math.degrees(close.around),
        **_sure_row(sure),
    }


def _sure_row(sure: Result) -> dict[str, Any]:
    return {
        "target_mm": None if sure.least is None else sure.least.value,
        "doubt_mm": sure.budget.expanded,
        "without_doubt": list(sure.budget.undoubted),
        "verdict": None if sure.verdict is None else sure.verdict.value,
        "look_again": list(sure.look_again),
    }


def piston_rows(found: Crossing) -> list[dict[str, Any]]:
    """Return pistons against each other for JSON."""
    return [
        {
            "pistons": list(one.cylinders),
            "gap_mm": one.gap,
            "at_deg": math.degrees(one.at),
            **_sure_row(found.sure[PISTONS, *one.cylinders]),
        }
        for one in found.pistons
    ]


def spigot_rows(found: Crossing) -> list[dict[str, Any]]:
    """Return spigots against each other for JSON; those that are not looked at have no distance."""
    rows: list[dict[str, Any]] = []
    for one in found.spigots:
        sure, cuts = found.sure[SEATED, *one.cylinders], found.cuts.get(one.cylinders)
        rows.append(
            {
                "spigots": list(one.cylinders),
                "looked_at": True,
                "meet": sure.meets,
                "gap_mm": None if sure.meets else one.apart.gap,
                "around_deg": [math.degrees(at) for at in one.around],
                **_sure_row(sure),
                "reliefs": None
                if cuts is None
                else {of: _relief_row(cut) for of, cut in zip(one.cylinders, cuts, strict=True)},
                "reliefs_for_mm": found.wanted if one.cylinders in found.cuts else None,
            }
        )
    return rows + [{"spigots": list(pair), "looked_at": False} for pair in found.not_looked_at]


def drop_rows(found: Crossing) -> list[dict[str, Any]]:
    """Return the windows for JSON."""
    return [
        {
            "fitted": one.fitted,
            "lowered": one.lowered,
            "windows_deg": [
                [math.degrees(window.begins), math.degrees(window.ends)] for window in one.windows
            ],
            "margins_mm": [window.margin for window in one.windows],
            "safest_deg": None if one.safest is None else math.degrees(one.safest),
            "margin_mm": max(one.margin, 0.0) if one.piston is not None else one.margin,
            "margin_doubt_mm": found.sure[LOWERED, one.fitted, one.lowered].budget.expanded,
            "margin_without_doubt": list(found.sure[LOWERED, one.fitted, one.lowered].budget.undoubted),
            "at_any_angle": one.always,
            "spigots_meet": one.blocked,
            "past_spigot_mm": None if one.past is None or one.blocked else one.past.gap,
            "not_looked_at": ["spigot to spigot"] if found.unseen(one.fitted, one.lowered) else [],
            "crown_over_deck_mm": None if math.isnan(one.crown) else one.crown,
            "relief": _relief_row(one.relief),
        }
        for one in found.drop_on
    ]


def _relief_row(relief: Relief | None) -> dict[str, float] | None:
    if relief is None:
        return None
    return {
        "at_deg": math.degrees(relief.at),
        "half_deg": math.degrees(relief.half),
        "height_mm": float(relief.height),
    }
