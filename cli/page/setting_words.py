"""How an adjuster is set, and where the crank has to stand for it, in words and for JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from tallstack.geometry.pushrod.adjusting import Setting
from tallstack.geometry.pushrod.ordering import Order
from tallstack.geometry.pushrod.stations import Station

from .model import Block, Heading, Words
from .wording import length, steady

TAKES_UP = {  # which way each adjuster is turned to take up lash
    "pushrod screw": "out of the rocker towards the pushrod",
    "valve screw": "out of the rocker towards the stem",
    "pivot nut": "down its stud",
    "lifter screw": "up out of the lifter",
}
BLEED_DOWN = (
    "A hydraulic lifter that is full of oil holds against the spring: after setting, let it bleed down until "
    "its pushrod spins between the fingers, before the crank is turned."
)
BLEEDS = "let each filled lifter bleed down until its pushrod spins, before the crank is turned"
AT_THE_POSITION = "Set both pushrods of that cylinder there, then turn to the next. Check everything again after two slow turns by hand."
OWN_SCREW = "pushrod's own screw"  # of an adjustable pushrod from a shelf
HOLD = "hold it still while its lock nut is tightened, and feel the setting again"
TIGHTER = {  # which way of a right-hand thread takes up lash, as somebody stands before it
    OWN_SCREW: "a pushrod's own screw turned counter-clockwise, looking at its ball, makes it longer; its lock nut runs "
    "clockwise, seen from the same end, against the part the screw stands in; " + HOLD,
    "pushrod screw": "a screw in the rocker over the pushrod turned clockwise, seen from its slot, takes up lash; "
    + HOLD,
    "valve screw": "a screw in the rocker over the stem turned clockwise, seen from its slot, takes up lash; "
    + HOLD,
    "pivot nut": "a nut on its stud turned clockwise, seen from above, takes up lash; lock it as it is made to be locked, "
    "and feel the setting again",
    "lifter screw": "a screw in the lifter turned counter-clockwise, looking at its cup, comes up and takes up lash; "
    + HOLD,
}


def tighter(kinds: Iterable[str]) -> list[str]:
    """Return which way is tighter of each kind of adjuster that is there, in sentences; of what has no thread, none."""
    there = set(kinds)
    return [
        f"With right-hand threads, common practice: {words}."
        for kind, words in TIGHTER.items()
        if kind in there
    ]


ZERO_LASH, CLOSED = "from zero lash", "from fully closed, on the bench"
QUARTERS = ("", " 1/4", " 1/2", " 3/4")


def turned_words(turns: float, flats: float | None, origin: str) -> str:
    """Return how far something is turned, and from where; origin : ZERO_LASH or CLOSED."""
    way = "back " if turns < 0 else ""
    text = f"{way}{abs(turns):.2f} turn{'' if f'{abs(turns):.2f}' == '1.00' else 's'}"
    return f"{text}, {flats_words(abs(flats))}, {origin}" if flats is not None else f"{text} {origin}"


def flats_words(flats: float) -> str:
    """Return a number of flats to the nearest quarter of one."""
    whole, quarters = divmod(round(4 * flats), 4)
    number = f"{whole or (0 if not quarters else '')}{QUARTERS[quarters]}".strip()
    return f"{number} flat{'' if number == '1' else 's'}"


def adjuster_blocks(order: Order, setting: Setting, units: str) -> list[Words]:
    """Return what a valve gear's own adjuster does and how far it is turned."""
    where = setting.kind
    if setting.lacks:
        return [Words(f"{where}: not known without {', '.join(setting.lacks)}", 1)]
    told = []
    way = TAKES_UP.get(where, "in")
    solid = order.train.lifter.kind == "solid"
    what = f"of lash at the {order.train.lifter.lash_at}" if solid else "at the lifter"
    if setting.per_turn is not None:
        text = f"{where}: a turn {way}, which takes up lash, is {length(abs(setting.per_turn), units)} {what}"
        if setting.per_flat is not None:
            text += f", a flat {length(abs(setting.per_flat), units)}"
        told.append(text + ("" if setting.exact else ", about: exact by coordinates alone"))
    if setting.per_degree is not None:
        way = "about" if setting.about > 0 else "against"
        text = f"{where}: turned {way} its direction, which takes up lash, a degree is {length(abs(setting.per_degree), units)} {what} where lash is just gone"
        if setting.per_flat is not None:
            text += f", a flat {length(abs(setting.per_flat), units)}"
        told.append(f"{text}; it goes by no thread, and further round a degree is worth another")
    if setting.turns is None:
        told.append(f"{where}: no turn of it reaches the wanted setting")
    else:
        told.append(_from_zero_lash(setting, solid, units))
    if setting.shortest is not None or setting.longest is not None:
        ends = [
            f"{word} {length(value, units)}"
            for word, value in (("from", setting.shortest), ("to", setting.longest))
            if value is not None
        ]
        what = "its thread" if setting.is_thread else "as far as it goes round, it"
        told.append(f"{what} takes up pushrods {' '.join(ends)} between ball centres")
    return [Words(one, 1) for one in told]


def _from_zero_lash(setting: Setting, solid: bool, units: str) -> str:
    assert setting.turns is not None
    way = "the other way, which makes room," if setting.turns < 0 else "that way"
    turns = turned_words(abs(setting.turns), None, ZERO_LASH)
    if not setting.is_thread:
        turns = f"{abs(setting.turns) * 360:.1f} degrees {ZERO_LASH}"
    text = f"turn it {way} {turns}"
    if setting.flats and setting.whole_flats is not None:
        gives = f"{length(setting.whole_flats, units)} of {'lash' if solid else 'preload'}"
        text += f"; in whole flats {flats_words(abs(setting.flats))}, which give {gives}"
    return text


def adjuster_row(setting: Setting | None) -> dict[str, Any] | None:
    """Return an adjuster for JSON."""
    if setting is None:
        return None
    return {
        "kind": setting.kind,
        "exact": setting.exact,
        "per_turn_mm": setting.per_turn,
        "per_flat_mm": setting.per_flat,
        "per_degree_mm": setting.per_degree,
        "takes_up": None
        if setting.lacks or setting.is_thread
        else "about"
        if setting.about > 0
        else "against",
        "turns_from_zero_lash": setting.turns,
        "flats_from_zero_lash": setting.flats,
        "whole_flats_give_mm": setting.whole_flats,
        "shortest_centres_mm": setting.shortest,
        "longest_centres_mm": setting.longest,
        "needs": list(setting.lacks),
    }


def station_blocks(
    found: Sequence[Station], hydraulic: bool, units: str, adjusters: Sequence[str] = ()
) -> list[Block]:
    """Return where the crank has to stand for each cylinder, and what to mind there.

    adjusters : the kinds there are
    """
    if not found:
        return []
    blocks: list[Block] = [Heading("WHERE TO SET THEM")]
    alike: dict[tuple[str, ...], list[str]] = {}
    for one in found:
        alike.setdefault(_where(one, units), []).append(one.cylinder)
    for texts, cylinders in alike.items():
        who = "every cylinder" if len(cylinders) == len(found) > 1 else ", ".join(cylinders)
        blocks.append(Words(f"{who}: {texts[0]}", 1))
        blocks += [Words(text, 2) for text in texts[1:]]
    told = [turning] if (turning := turns_on(found)) else []
    if any(one.place.fires_at is None for one in found):
        told.append(
            "Which of its two top centres a cylinder fires at is not known without fires_at: watch that "
            "both its valves stay closed."
        )
    told += [BLEED_DOWN] if hydraulic else []
    return [*blocks, *(Words(one, 1) for one in (*told, AT_THE_POSITION, *tighter(adjusters)))]


def _where(one: Station, units: str) -> tuple[str, ...]:
    """Return where the crank stands for one cylinder, and the other way to set it."""
    place = _place(one, units)
    if one.flank is None:
        return (place,)
    intake, exhaust = (_degrees(angle) for angle in one.flank)
    other = (
        f"or, the other way: the intake as the exhaust just opens, {intake}; the exhaust as the intake just "
        f"closes, {exhaust}"
    )
    return place, other


def _place(one: Station, units: str) -> str:
    if one.heel is None:
        needs = f" without {', '.join(one.lacks)}" if one.lacks else ": the two lobes leave none"
        return f"top centre at the end of compression, both valves closed; how far to either side is not known{needs}"
    before, after = (_degrees(angle) for angle in one.heel)
    lift = length(one.check, units) if one.check is not None else "the check lift"
    text = f"anywhere from {before} to {after}: both lifters then lift by less than {lift}"
    text += "; keep well inside, a lobe's quiet ramps reach further than its card says"
    return text if one.heel.holds_top_centre else f"{text}; top centre itself is not in it"


def _degrees(angle: float) -> str:
    side = "before" if angle < 0 else "after"
    return f"{steady(abs(math.degrees(angle))):.0f} degrees {side} compression top centre"


def positions(found: Sequence[Station]) -> list[str]:
    """Return where the crank stands for each cylinder, in a line; alike ones together."""
    alike: dict[str, list[str]] = {}
    for one in found:
        alike.setdefault(position(one), []).append(one.cylinder)
    return [
        f"{'every cylinder' if len(names) == len(found) > 1 else ', '.join(names)}: {text}"
        for text, names in alike.items()
    ]


def position(one: Station) -> str:
    """Return where the crank stands for one cylinder, in a line."""
    if one.heel is None:
        return "top centre at the end of compression, both valves closed; how far to either side is not known"
    before, after = (
        f"{steady(abs(math.degrees(angle))):.0f} degrees {'before' if angle < 0 else 'after'}"
        for angle in one.heel
    )
    return f"compression, from {before} to {after} top centre, keep well inside"


def turns_on(found: Sequence[Station]) -> str:
    """Return how far the crank turns from each cylinder to the next; nothing where that is not known."""
    return "; ".join(
        f"from {one.cylinder} turn on {steady(math.degrees(one.to_next)):.0f} degrees to {one.next_cylinder}"
        for one in found
        if one.to_next is not None
    )


def heel_row(found: Sequence[Station], cylinder: str) -> dict[str, Any]:
    """Return a valve gear's setting position for JSON; degrees from compression top centre."""
    one = next((station for station in found if station.cylinder == cylinder), None)
    heel = None if one is None or one.heel is None else [math.degrees(angle) for angle in one.heel]
    turn = None if one is None or one.to_next is None else math.degrees(one.to_next)
    flank = None if one is None or one.flank is None else [math.degrees(angle) for angle in one.flank]
    return {
        "heel_deg": heel,
        "heel_check_mm": None if one is None else one.check,
        "set_intake_and_exhaust_at_deg": flank,
        "turn_to_next_deg": turn,
        "next_cylinder": None if one is None else one.next_cylinder,
    }
