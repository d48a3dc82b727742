"""Which pushrods of a shelf fit, and the best set of them, in words and for JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from tallstack.geometry.core.verdict import Verdict

from .model import Block, Break, Column, Heading, Row, Table, Words
from .order_words import waits_for
from .setting_words import CLOSED, ZERO_LASH, turned_words
from .wording import VERDICTS, length

if TYPE_CHECKING:
    from tallstack.geometry.pushrod.shelf import Chosen, Offer

MOST_SHOWN = 6  # offers of one valve gear on the terminal


def shelf_blocks(offers: Mapping[str, Sequence[Offer]], chosen: Chosen | None, units: str) -> list[Block]:
    """Return what fits where, then the set to take."""
    blocks: list[Block] = [Heading("FROM THE SHELF")]
    for train, each in offers.items():
        fitting = sorted((one for one in each if one.fits), key=lambda one: (one.off, one.label))
        told = [f"{one.label}: {_setting(one, units)}" for one in fitting[:MOST_SHOWN]]
        if len(fitting) > MOST_SHOWN:
            told.append(f"and {len(fitting) - MOST_SHOWN} more")
        if not fitting:
            unknown = bool(each) and all(one.waits for one in each)
            told.append("not known what fits" if unknown else f"nothing fits{_nearest(each, units)}")
        refused = dict.fromkeys(one.why for one in each if math.isinf(one.miss))
        told += [f"not compared, {_labels(each, why)}: {why}" for why in refused]
        blocks += [Words(train.replace(".", " "), 1), *(Words(one, 2) for one in told)]
    return [*blocks, Break(), *_set(offers, chosen, units)]


def _labels(each: Sequence[Offer], why: str) -> str:
    return ", ".join(one.label for one in each if one.why == why and math.isinf(one.miss))


def _nearest(each: Sequence[Offer], units: str) -> str:
    from tallstack.geometry.pushrod.shelf import nearest_miss

    nearest = nearest_miss(each)
    if nearest is None:
        return ""
    return f"; the nearest is {nearest.label}: {_setting(nearest, units)}, {length(nearest.miss, units)} {nearest.way}"


def _setting(one: Offer, units: str) -> str:
    text = ""
    if one.preload is not None:
        text = (
            f"preload {length(one.preload, units)}"
            if one.preload >= 0
            else f"slack {length(-one.preload, units)}"
        )
        if one.room is not None and one.preload >= 0:
            text += f", {_to_bottom(one.room, units)}"
    elif one.lash is not None:
        text = f"lash {length(one.lash, units)}" if one.lash >= 0 else "holds the valve open"
    if one.turns is not None and one.flats is not None and one.length is not None:
        text = f"set to {length(one.length, units)}, {turned_words(one.turns, one.flats, CLOSED)}: {text}"
        if one.turns_from_zero_lash is not None:
            text += f"; on the engine {turned_words(one.turns_from_zero_lash, one.flats_from_zero_lash, ZERO_LASH)}"
        if one.thread_left is not None:
            text += f"; thread left {length(one.thread_left, units)}"
    if one.set_by:
        text += f", set by its {one.set_by}"
    if one.goes_in is not None:
        text += f"; {_going_in(one, units)}"
    if one.fits and one.verdict is not None and one.verdict is not Verdict.OK:
        text += f"; {VERDICTS[one.verdict]}"
    return text if one.ball_compared else f"{text}; its ball was not compared, enter both"


def _going_in(one: Offer, units: str) -> str:
    """Return in words whether a pushrod can be put in with the rocker on its shaft."""
    assert one.goes_in is not None
    if one.goes_in >= 0:
        return f"goes in with {length(one.goes_in, units)} to spare, lifter bled down"
    short = f"does not go in, {length(-one.goes_in, units)} short"
    lever = (
        "" if one.to_open is None else f"open the valve by {length(one.to_open, units)} more with a lever, "
    )
    return f"{short}: {lever}piston down, or take the rocker off"


def _to_bottom(room: float, units: str) -> str:
    if room < 0:
        return f"the plunger bottoms with {length(-room, units)} to go"
    return f"{length(room, units)} to the plunger's bottom"


def _set(offers: Mapping[str, Sequence[Offer]], chosen: Chosen | None, units: str) -> list[Block]:
    from tallstack.geometry.pushrod.shelf import waiting

    if chosen is None and (unknown := waiting(offers)):
        return [Words(f"NO SET YET: {waits_for(unknown)[0]}", 1)]
    if chosen is None:
        all_fit = all(any(one.fits for one in each) for each in offers.values())
        why = "the shelf holds too few of what fits" if all_fit else "not every valve gear has one that fits"
        return [Words(f"NO SET: {why}", 1)]
    rows = tuple(
        Row((one.train.replace(".", " "), f"{one.label}: {_setting(one, units)}"), 2) for one in chosen.offers
    )
    return [Words(set_words(chosen, units), 1), Table((Column(room=20), Column(wide=True)), rows)]


def set_words(chosen: Chosen, units: str) -> str:
    """Return what a set was chosen for."""
    kinds = "one kind" if chosen.kinds == 1 else f"{chosen.kinds} kinds"
    why = f"the fewest kinds ({kinds}), then nearest to the preload or lash that is wanted ({length(chosen.off, units)} off in all)"
    if math.isfinite(chosen.thread_left):
        why += f", then most thread left ({length(chosen.thread_left, units)} in the worst place)"
    return f"THE SET, chosen for {why}"


def offer_row(one: Offer) -> dict[str, Any]:
    """Return one offer for JSON."""
    return {
        "label": one.label,
        "kind": one.kind,
        "length_mm": one.length,
        "preload_mm": one.preload,
        "lash_mm": one.lash,
        "turns": one.turns,
        "flats": one.flats,
        "turns_from_zero_lash": one.turns_from_zero_lash,
        "flats_from_zero_lash": one.flats_from_zero_lash,
        "thread_left_mm": one.thread_left,
        "set_by": one.set_by or None,
        "goes_in_mm": one.goes_in,
        "valve_to_open_mm": one.to_open,
        "room_to_bottom_mm": one.room,
        "verdict": None if one.verdict is None else one.verdict.value,
        "fits": one.fits,
        "misses_by_mm": None if math.isinf(one.miss) else one.miss,
        "why": one.why,
    }


def set_row(chosen: Chosen | None) -> dict[str, Any] | None:
    """Return the set for JSON."""
    if chosen is None:
        return None
    return {
        "kinds": chosen.kinds,
        "off_mm": chosen.off,
        "thread_left_mm": None if math.isinf(chosen.thread_left) else chosen.thread_left,
        "pushrods": [{"train": one.train, "label": one.label} for one in chosen.offers],
    }
