"""Which pushrods of a shelf fit which valve gear, and the best set of them.

A fixed pushrod gives one preload or lash; an adjustable one is set to the whole flat nearest the
wish. Where the valve gear has an adjuster of its own, and it is known how far that turns, every pushrod that it takes up
gives what is wanted. How far a pushrod misses is counted from the nearest setting that holds: a preload between its limits and
above the plunger's bottom, or a lash within 0.001 in of the wish that leaves the valve shut. One so far off that the parts no longer meet
misses by what the last one that meets does, and by as much more as it is longer or shorter than that. A set gives every valve gear one that fits, and takes none more often than the shelf holds it.
Sets rank by the fewest kinds of pushrod, then by how near the settings come to the wishes in all,
then by the most thread left in the worst place.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ..core.answer import in_both
from ..core.errors import MissingEntryError
from ..core.frames import array
from ..core.verdict import Verdict, at_best_unproved
from .adjusting import Setting, setting
from .goes_in import longer_by, spare_of, to_open
from .ordering import Order, verdict_on
from .pushrods import fit

BALL_SLACK_MM = 0.05  # balls that differ by more are of two sizes
LASH_SLACK_MM = 0.025  # common practice, 0.001 in: nothing turns a fixed pushrod's lash right
NOT_KNOWN = "this valve gear's length is not known"
EDGE_MM = 1e-9  # a length typed as the limit is within it


@dataclass(frozen=True, slots=True)
class Rod:
    """One line of a shelf; lengths in mm, None where not stated."""

    label: str
    kind: str  # "fixed" or "adjustable"
    shortest: float  # a fixed pushrod's length
    longest: float
    convention: str
    ball_diameter: float | None
    pitch: float | None  # adjustable only
    flats: int | None  # of its nut, for a turn
    count: int


@dataclass(frozen=True, slots=True)
class Offer:
    """What one pushrod of the shelf would be in one valve gear; lengths in mm."""

    label: str
    train: str
    kind: str
    fits: bool
    why: str  # in words, whether it fits or not
    miss: float  # 0 where it fits; else by how much not, infinite where it never can
    off: float  # how far the setting lies from the wish
    way: str = ""  # where it misses: "too short", "too long", or neither
    length: float | None = None  # in its own convention
    preload: float | None = None
    lash: float | None = None
    turns: float | None = None  # from fully closed
    flats: int | None = None  # the same in whole flats
    turns_from_zero_lash: float | None = None
    flats_from_zero_lash: float | None = None
    ball_compared: bool = True
    room: float | None = None  # above the plunger's bottom
    verdict: Verdict | None = None  # on the setting, with its doubt
    thread_left: float | None = None  # until it is as long as it gets
    goes_in: float | None = (
        None  # room to spare putting it in as short as it gets; None: nobody asked, or not known
    )
    to_open: float | None = None  # how much further the valve would have to be pushed open for it
    convention: str = ""  # its own
    set_by: str = ""  # the valve gear's own adjuster, where that takes it up

    @property
    def waits(self) -> bool:
        """Whether nobody knows if it fits, before the valve gear's length is known."""
        return self.why == NOT_KNOWN

    @property
    def misses_limit(self) -> bool:
        """Whether what it gives misses a limit: a preload's, a valve held open, parts that do not meet.

        A lash that is not the one wished for misses no limit while there is any.
        """
        held_open = self.lash is None or self.lash < -EDGE_MM
        return not self.fits and self.length is not None and held_open


@dataclass(frozen=True, slots=True)
class Chosen:
    """One pushrod for every valve gear."""

    offers: tuple[Offer, ...]
    kinds: int  # how many different lines of the shelf
    off: float  # mm, all settings' distances from their wishes
    thread_left: float  # mm in the worst place; infinite where all are fixed


def offer(order: Order, rod: Rod) -> Offer:
    """Return what a pushrod of the shelf would be in one valve gear."""
    return offers(order, (rod,))[0]


def offers(order: Order, rods: Sequence[Rod]) -> tuple[Offer, ...]:
    """Return what each pushrod of the shelf would be in one valve gear."""
    refusals = [_refusal(order, rod) for rod in rods]
    gear = _Gear(order)
    gear.look([_set_to(order, rod) for rod, why in zip(rods, refusals, strict=True) if not why])
    return tuple(
        Offer(rod.label, order.train.name, rod.kind, False, why, math.inf, math.inf)
        if why
        else _judged(gear, rod, _set_to(order, rod))
        for rod, why in zip(rods, refusals, strict=True)
    )


class _Set(NamedTuple):
    """How a pushrod of the shelf is set in one valve gear; mm."""

    length: float  # in its own convention
    beyond: float  # by which that is more than in the convention that `fit` takes
    flats: int | None  # from fully closed; None of a fixed one


def _set_to(order: Order, rod: Rod) -> _Set:
    """Return a pushrod at the whole flat that is nearest to what a valve gear needs."""
    needed = order.required
    assert needed is not None
    wanted = float(needed.lengths[rod.convention])
    beyond = wanted - _fit_length(order)
    if rod.kind == "fixed" or rod.pitch is None or rod.flats is None:
        return _Set(rod.shortest, beyond, None)
    flat = rod.pitch / rod.flats
    most = math.floor((rod.longest - rod.shortest) / flat + 1e-9)
    flats = min(max(round((wanted - rod.shortest) / flat), 0), most)
    return _Set(rod.shortest + flats * flat, beyond, flats)


def best_set(offers: Mapping[str, Sequence[Offer]], counts: Mapping[str, int]) -> Chosen | None:
    """Return the best set, or None where the shelf holds none.

    offers : valve gear → what each pushrod of the shelf would be in it
    counts : label → how many the shelf holds
    Source: exhaustive search by growing numbers of kinds; a branch is left when it can no longer win.
    """
    fitting = [sorted((one for one in each if one.fits), key=_order) for each in offers.values()]
    if not fitting or not all(fitting):
        return None
    for kinds in range(1, len(fitting) + 1):
        found = _search(fitting, dict(counts), kinds)
        if found is not None:
            return found
    return None


def waiting(offers: Mapping[str, Sequence[Offer]]) -> tuple[str, ...]:
    """Return the valve gears whose lengths have to be known before a set can be chosen.

    None where one of the others has nothing that fits: no set does then, whatever those lengths are.

    offers : valve gear → what each pushrod of the shelf would be in it
    """
    unknown = tuple(name for name, each in offers.items() if each and all(one.waits for one in each))
    others = (each for name, each in offers.items() if name not in unknown)
    return unknown if all(any(one.fits for one in each) for each in others) else ()


def nearest_miss(offers: Sequence[Offer]) -> Offer | None:
    """Return the pushrod that comes nearest to fitting where none does; None: none ever can."""
    nearest = min(offers, key=lambda one: (round(one.miss, 9), one.label), default=None)
    return None if nearest is None or math.isinf(nearest.miss) else nearest


def _search(fitting: Sequence[Sequence[Offer]], left: dict[str, int], most_kinds: int) -> Chosen | None:
    """Return the best set of at most so many kinds."""
    least_off = [min(one.off for one in each) for each in fitting]
    ahead = [math.fsum(least_off[index:]) for index in range(len(fitting) + 1)]
    best: Chosen | None = None
    taken: list[Offer] = []

    def go(index: int, off: float) -> None:
        nonlocal best
        if best is not None and off + ahead[index] > best.off + EDGE_MM:
            return
        if index == len(fitting):
            chosen = _chosen(taken)
            if best is None or _rank(chosen) < _rank(best):
                best = chosen
            return
        used = {one.label for one in taken}
        for one in fitting[index]:
            if left.get(one.label, 0) < 1 or (one.label not in used and len(used) == most_kinds):
                continue
            left[one.label] -= 1
            taken.append(one)
            go(index + 1, off + one.off)
            taken.pop()
            left[one.label] += 1

    go(0, 0.0)
    return best


def _chosen(taken: Sequence[Offer]) -> Chosen:
    threads = [one.thread_left for one in taken if one.thread_left is not None]
    return Chosen(
        offers=tuple(taken),
        kinds=len({one.label for one in taken}),
        off=math.fsum(one.off for one in taken),
        thread_left=min(threads, default=math.inf),
    )


def _rank(chosen: Chosen) -> tuple[int, float, float, tuple[str, ...]]:
    """Return what sets are compared by; the least is best."""
    labels = tuple(one.label for one in chosen.offers)
    return chosen.kinds, round(chosen.off, 9), -round(chosen.thread_left, 9), labels


def _order(one: Offer) -> tuple[float, str]:
    return one.off, one.label


def _refusal(order: Order, rod: Rod) -> str:
    """Return why a pushrod cannot be compared with what a valve gear needs, or nothing."""
    needed = order.required
    if order.impossible:
        return "this valve gear cannot be assembled"
    if needed is None:
        return NOT_KNOWN
    if rod.convention not in needed.lengths:
        lacks = ", ".join(f"pushrod.{one}" for one in needed.lacks.get(rod.convention, ())) or "ball ends"
        return f"its length counts as {rod.convention}, which is not known here without {lacks}"
    for side, end in (("lower", order.train.ends.low), ("upper", order.train.ends.high)):
        if rod.ball_diameter is None or end.ball_diameter is None:
            continue
        here = float(end.ball_diameter)
        if abs(rod.ball_diameter - here) > BALL_SLACK_MM:
            return f"its ball of {in_both(rod.ball_diameter)} does not match the {side} one here, {in_both(here)}"
    if rod.kind != "fixed" and (rod.pitch is None or rod.flats is None):
        return "adjustable, but its thread or its flats are not stated"
    return ""


def _fit_length(order: Order) -> float:
    """Return the required length in the convention that `fit` takes."""
    needed = order.required
    assert needed is not None
    return float(needed.lengths.get("centres", needed.lengths[order.convention]))


def _judged(gear: _Gear, rod: Rod, set_to: _Set) -> Offer:
    order, (length, beyond, flats) = gear.order, set_to
    taken = gear.taken_up(length - beyond)
    try:
        given = gear.given(length - beyond)
    except MissingEntryError as error:
        return Offer(rod.label, order.train.name, rod.kind, False, str(error), math.inf, math.inf)
    if taken is not None:
        lifter = order.train.lifter
        preload, lash = (None if one is None else float(one) for one in (lifter.preload, lifter.lash))
        miss, off, way, why = taken
    elif given.meets:
        preload, lash = given.preload, given.lash
        miss, off, way, why = _miss(order, preload, lash)
    else:
        preload, lash = None, None
        miss, off, way, why = _beyond(gear, length - beyond)
    if taken is None and miss > 0 and gear.own is not None:
        why += f"; how far its {gear.own.kind} turns is not entered"
    turns = None if flats is None or rod.flats is None else flats / rod.flats
    from_zero = None
    if turns is not None and rod.pitch is not None and preload is not None:
        from_zero = (length - beyond - gear.zero_lash) / rod.pitch
    thread_left = None if flats is None else rod.longest - length
    if miss > 0 and thread_left is not None and flats is not None:
        why += ", as long as it gets" if thread_left < 1e-6 else ", fully closed" if flats == 0 else ""
    spare = _goes_in(gear, rod, beyond)
    opens = None if spare is None else to_open(order.train, array(spare))
    if spare is not None and spare < -EDGE_MM and miss == 0:
        miss, way = -spare, "too long to go in"
        why += f", but does not go in: {in_both(-spare)} short"
    return Offer(
        label=rod.label,
        train=order.train.name,
        kind=rod.kind,
        fits=miss == 0,
        why=why,
        miss=miss,
        off=off,
        way=way,
        length=length,
        convention=rod.convention,
        set_by=gear.own.kind if taken is not None and gear.own is not None else "",
        preload=preload,
        lash=lash,
        turns=turns,
        flats=flats,
        turns_from_zero_lash=from_zero,
        flats_from_zero_lash=None if from_zero is None or rod.flats is None else from_zero * rod.flats,
        ball_compared=rod.ball_diameter is not None and order.train.ends.low.ball_diameter is not None,
        thread_left=thread_left,
        room=_room(order, preload),
        verdict=_unless_unknown(order, spare, verdict_on(order, preload, lash)),
        goes_in=spare,
        to_open=None if opens is None or not opens > 0 else float(opens),
    )


def _unless_unknown(order: Order, spare: float | None, verdict: Verdict | None) -> Verdict | None:
    """Return a verdict, no better than unproved where somebody asked whether a pushrod goes in and nobody knows."""
    how = order.train.assembly
    asked = how is not None and how.box_on and spare is None
    return at_best_unproved(verdict) if asked and verdict is not None else verdict


def _goes_in(gear: _Gear, rod: Rod, beyond: float) -> float | None:
    """Return by how much a pushrod goes in, screwed as short as it gets [mm]; None: nobody asked, or it is not known."""
    train = gear.order.train
    if train.assembly is None or not train.assembly.box_on:
        return None
    given = gear.given(rod.shortest - beyond)
    preload, lash = (None if one is None else array(one) for one in (given.preload, given.lash))
    longer = longer_by(train, preload, lash)
    if longer is None or math.isnan(longer):
        return None
    spare = spare_of(train, longer)
    return None if spare is None else float(spare)


class _Given(NamedTuple):
    """What a pushrod of one length gives, mm."""

    preload: float | None
    lash: float | None

    @property
    def meets(self) -> bool:
        """Whether the parts meet at all."""
        return not any(one is not None and math.isnan(one) for one in self)


class _Gear:
    """One valve gear, and what pushrods give in it; what is the same of all of them is worked out once.

    Lengths are mm in the convention that `fit` takes; it raises as `fit` does.
    """

    def __init__(self, order: Order) -> None:
        self.order = order
        self.known: dict[float, _Given] = {}
        self.last: dict[bool, float] = {}

    def look(self, rods: Sequence[_Set]) -> None:
        """Look at what pushrods give, all of them together."""
        try:
            found = fit(self.order.train, array([one.length - one.beyond for one in rods]))
        except MissingEntryError:  # of each of them alike
            return
        columns = [
            [None] * len(rods) if one is None else np.broadcast_to(one, len(rods)).tolist()
            for one in (found.preload, found.lash)
        ]
        for one, *given in zip(rods, *columns, strict=True):
            self.known[one.length - one.beyond] = _Given(*given)

    def given(self, length: float) -> _Given:
        """Return what a pushrod gives."""
        if length not in self.known:
            found = fit(self.order.train, array(length))
            self.known[length] = _Given(
                *(None if one is None else float(one) for one in (found.preload, found.lash))
            )
        return self.known[length]

    def last_that_meets(self, too_long: bool, apart: float) -> float:
        """Return the longest, or the shortest, with which the parts meet; apart : one with which they do not."""
        if too_long not in self.last:
            meets = _fit_length(self.order)
            for _ in range(60):
                middle = (meets + apart) / 2
                meets, apart = (middle, apart) if self.given(middle).meets else (meets, middle)
            self.last[too_long] = meets
        return self.last[too_long]

    @cached_property
    def own(self) -> Setting | None:
        """How the valve gear's own adjuster is set, None where it has none."""
        needed = self.order.required
        return None if needed is None else setting(self.order.train, needed)

    def taken_up(self, length: float) -> tuple[float, float, str, str] | None:
        """Return what `_miss` does for a pushrod that the own adjuster is to take up; None where it is not known how far."""
        own, needed = self.own, self.order.required
        if own is None or needed is None or "centres" not in needed.lengths:
            return None
        if own.shortest is None and own.longest is None:
            return None
        ordered = float(needed.lengths["centres"])
        low, high = (ordered if one is None else one for one in (own.shortest, own.longest))
        by = f"its {own.kind}"
        if low - EDGE_MM <= length <= high + EDGE_MM:
            return 0.0, 0.0, "", f"{by} takes it up"
        if length < low:
            return (
                low - length,
                low - length,
                "too short",
                f"{by} takes up none so short, {in_both(low - length)} too short",
            )
        return (
            length - high,
            length - high,
            "too long",
            f"{by} takes up none so long, {in_both(length - high)} too long",
        )

    @cached_property
    def zero_lash(self) -> float:
        """The length that just touches; the fit is nearly straight."""
        high = _fit_length(self.order)
        wish = self.order.train.lifter.preload
        low = high - 2.0 * float(wish if wish is not None else 0.0) - 1.0
        for _ in range(60):
            middle = (low + high) / 2
            depth = self.given(middle).preload
            short = depth is None or not depth >= 0  # one so short that the parts do not meet is short too
            low, high = (middle, high) if short else (low, middle)
        return (low + high) / 2


def _room(order: Order, preload: float | None) -> float | None:
    travel = order.train.lifter.plunger_travel
    return None if preload is None or travel is None else float(travel) - preload


def _beyond(gear: _Gear, length: float) -> tuple[float, float, str, str]:
    """Return what `_miss` does for a pushrod so long or short that the parts no longer meet."""
    ordered = _fit_length(gear.order)
    too_long = length > ordered
    way = "too long" if too_long else "too short"
    if not gear.given(ordered).meets:
        return math.inf, math.inf, "", "the parts do not meet here even with the pushrod that is ordered"
    meets = gear.last_that_meets(too_long, length)
    last, more = gear.given(meets), abs(length - meets)
    miss, off, *_ = _miss(gear.order, last.preload, last.lash)
    return (
        miss + more,
        off + more,
        way,
        f"is so far off that the parts no longer meet, {in_both(miss + more)} {way}",
    )


def _miss(order: Order, preload: float | None, lash: float | None) -> tuple[float, float, str, str]:
    """Return by how much a setting misses, how far it lies from the wish, which way, and all in words."""
    lifter = order.train.lifter
    if preload is not None and lifter.preload is not None and order.limits is not None:
        off = abs(preload - float(lifter.preload))
        words = f"gives {in_both(preload)} of preload" if preload >= 0 else f"is slack by {in_both(-preload)}"
        limits, room = order.limits, _room(order, preload)
        low, high = limits.least.value - preload, preload - limits.most.value
        if room is not None and room < -EDGE_MM:
            words += f": the plunger bottoms with {in_both(-room)} to go"
        if low > EDGE_MM:
            return low, off, "too short", f"{words}, {in_both(low)} too short"
        if high > EDGE_MM:
            return high, off, "too long", f"{words}, {in_both(high)} too long"
        return 0.0, off, "", words
    if lash is not None and lifter.lash is not None:
        off = abs(lash - float(lifter.lash))
        words = f"leaves {in_both(lash)} of lash" if lash >= 0 else "holds the valve open"
        way = "too short" if lash > float(lifter.lash) else "too long"
        fits = off <= LASH_SLACK_MM + EDGE_MM and lash >= -EDGE_MM
        return (0.0, off, "", words) if fits else (off, off, way, words)
    return math.inf, math.inf, "", "the wanted setting is not known"
