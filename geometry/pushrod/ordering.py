"""The pushrod to order for every valve gear: its length, its doubt, and whether its setting holds.

The length people order is `overall` where it is known, else the convention that was measured, else
the one between ball centres; the doubt is that of this length.

A hydraulic lifter's plunger has two ends: its preload below the top stop, and room above its bottom. The pushrod
is ordered once, so that what the length is off by takes from the one what it adds to the other:

    room to the bottom = plunger's travel - preload,     off by what the length needed and the travel are off by

Each end has a limit, a length or a share of the travel. A setting holds where both do, and below `preload_most` where
that is set: the tighter of the two is the most. Without the travel the room is not known, and no preload is proved.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from types import MappingProxyType
from typing import Any, NamedTuple

from ..core.answer import Figure
from ..core.errors import MissingEntryError
from ..core.frames import Array
from ..core.lengths import CONVENTIONS
from ..core.mapping import Flat, Quantities
from ..core.targets import BOTTOM_LEAST, CONTACT, MOST_BLIND, PRELOAD_LEAST, PRELOAD_MOST, Limit, limit_of
from ..core.verdict import Verdict, at_best_unproved, judge, worst
from ..doubt.budget import Budget, Doubt, budget
from ..doubt.derivatives import derivatives
from ..doubt.result import Result
from ..engine.alone import each_alone, those_of
from ..engine.engine import COORDINATES, Train, build, train_of
from .assembly import obstacles
from .pushrods import Required, required

BELOW = ", below the plunger"  # after a valve gear's name


NONE: Mapping[str, Any] = MappingProxyType({})
LENGTHS = {one: Figure(f"length {one.upper()}", alias=f"length {one}") for one in CONVENTIONS}
PRELOAD = Figure("preload it will give", least=PRELOAD_LEAST, most=PRELOAD_MOST)
LASH = Figure("lash it will give", zero=True, at_nought="NONE LEFT")
ROOM = Figure(
    "room to the plunger's bottom",
    least=BOTTOM_LEAST,
    zero=True,
    at_nought="ON ITS BOTTOM",
    alias="room to bottom",
)


class Limits(NamedTuple):
    """The preload a hydraulic lifter may have."""

    least: Limit
    most: Limit  # the tighter of what is set and what the room below the plunger leaves
    own_most: Limit | None  # of the preload itself, whatever its plunger's travel
    bottom: Limit  # of the room below the plunger

    @property
    def bottoms(self) -> bool:
        """Whether the room below the plunger is what limits the preload."""
        return self.most is not self.own_most


class Room(NamedTuple):
    """What a hydraulic lifter's plunger is left with above its bottom, its preload as wanted."""

    value: float | None  # mm; None: the plunger's travel was not entered
    slopes: Mapping[str, float]  # entry → mm per mm or rad
    budget: Budget
    verdict: Verdict  # on its being there at all
    lacks: tuple[str, ...] = ()  # entries without which it is not known
    travel_doubt: float = 0.0  # mm, expanded, of the plunger's travel alone

    @property
    def unsure(self) -> tuple[str, ...]:
        """Every entry that has no doubt, or is not there, so that it is not proved."""
        return (*self.lacks, *self.budget.undoubted)


class Order(NamedTuple):
    """One valve gear's answer."""

    train: Train
    required: Required | None  # None: entries are missing, see `missing`
    missing: Mapping[str, tuple[str, ...]] = NONE  # route → entries it needs
    obstacles: tuple[str, ...] = ()  # why its coordinates cannot be assembled, in words
    convention: str = ""  # in which the pushrod is ordered
    slopes: Mapping[str, float] = NONE  # entry → mm of length per mm or rad
    budget: Budget | None = None
    limits: Limits | None = None  # hydraulic lifters only
    verdict: Verdict | None = None  # on the preload, between its limits and above the bottom; or on the lash
    room: Room | None = None  # hydraulic lifters only
    look_again: tuple[str, ...] = ()  # why something that was entered contradicts it

    @property
    def setting_doubt(self) -> float:
        """What the doubt of the length makes of the wanted preload, or of the lash where it is felt, expanded [mm]."""
        length = 0.0 if self.budget is None else self.budget.expanded
        return length if self.limits is not None else _at_lash(self.train, length)

    @property
    def unsure(self) -> tuple[str, ...]:
        """Every entry that has no doubt, or is not there, so that the setting is not proved."""
        entries = () if self.budget is None else self.budget.undoubted
        return tuple(dict.fromkeys((*entries, *(() if self.room is None else self.room.unsure))))

    @property
    def is_proved(self) -> bool:
        """Whether a measured pushrod stands behind the length and every entry that moves it has a doubt."""
        return self.is_told and not self.is_estimate

    @property
    def is_told(self) -> bool:
        """Whether every entry that moves the length has a doubt, so that its own is told."""
        return self.budget is not None and not self.budget.undoubted

    @property
    def is_estimate(self) -> bool:
        """Whether coordinates alone stand behind the length."""
        return self.required is not None and self.required.basis == COORDINATES

    @property
    def lash_for_length(self) -> float:
        """What a pushrod that should be 1 mm longer takes from the preload, or adds to the lash where it is measured [mm]."""
        if self.train.lifter.kind != "solid":
            return -1.0
        return _at_lash(self.train, 1.0)

    @property
    def length(self) -> Result | None:
        """The length that is ordered; None where it is not known or cannot be."""
        if self.budget is None or self.required is None or self.impossible:
            return None
        value = float(self.required.lengths[self.convention])
        return self._result(self.convention, LENGTHS[self.convention], value, self.budget, self.slopes)

    @property
    def setting(self) -> Result | None:
        """The preload or lash that the pushrod will give; None where none is wanted."""
        lifter, by = self.train.lifter, self.lash_for_length
        wanted = lifter.lash if lifter.kind == "solid" else lifter.preload
        if wanted is None or self.length is None or self.budget is None:
            return None
        budget = self.budget._replace(standard=abs(by) * self.budget.standard)
        slopes = {entry: by * slope for entry, slope in self.slopes.items()}
        key, figure = ("lash", LASH) if lifter.kind == "solid" else ("preload", PRELOAD)
        found = self._result(key, figure, float(wanted), budget, slopes)._replace(verdict=self.verdict)
        if lifter.kind == "solid":
            return found._replace(least=CONTACT)
        if self.limits is None:
            return found
        return found._replace(least=self.limits.least, most=self.limits.most)

    @property
    def room_left(self) -> Result | None:
        """The room below the plunger; None where it is not known, or there is none."""
        room = self.room
        if room is None or room.value is None or self.length is None:
            return None
        found = self._result("room_to_bottom", ROOM, room.value, room.budget, room.slopes)
        verdict = at_best_unproved(room.verdict) if self.look_again else room.verdict
        bottom = CONTACT if self.limits is None else self.limits.bottom
        return found._replace(least=bottom, verdict=verdict)

    def _result(
        self, key: str, figure: Figure, value: float, budget: Budget, slopes: Mapping[str, float]
    ) -> Result:
        return Result(
            self.train.name,
            key,
            figure,
            value,
            budget,
            slopes,
            look_again=self.look_again,
            is_estimate=self.is_estimate,
        )

    @property
    def results(self) -> tuple[Result, ...]:
        """What is known of it: length, setting, room."""
        return tuple(one for one in (self.length, self.setting, self.room_left) if one is not None)

    @property
    def impossible(self) -> bool:
        """Whether the geometry behind the length cannot be assembled."""
        return bool(self.obstacles) and self.is_estimate


def orders(mapping: Flat, quantities: Quantities, doubts: Mapping[str, Doubt]) -> tuple[Order, ...]:
    """Return the pushrod to order for every valve gear of one engine.

    mapping    : one engine, see `mapping`
    quantities : measured quantity → the entries that move with it, and their sign
    doubts     : quantity → its doubt, where stated
    """
    engine = build(mapping)
    first = [_plain(train) for train in engine.trains]
    chosen = {
        order.train.name: order.convention
        for order in first
        if order.required is not None and not order.impossible
    }
    slopes: dict[str, dict[str, float]] = {}
    alone = each_alone(mapping)
    for cylinder in dict.fromkeys(name.rpartition(".")[0] for name in chosen):
        own, of = alone.get(cylinder, mapping), [name for name in chosen if name.startswith(f"{cylinder}.")]
        lengths = partial(_lengths, {name: chosen[name] for name in of})
        slopes |= derivatives(own, those_of(quantities, own), lengths)
    return tuple(
        _judged(order, slopes, doubts, mapping) if order.train.name in chosen else order for order in first
    )


def _plain(train: Train) -> Order:
    try:
        needed = required(train)
    except MissingEntryError as error:
        return Order(train, None, error.routes)
    return Order(train, needed, {}, obstacles(train), ordering_convention(train, needed))


def ordering_convention(train: Train, needed: Required) -> str:
    """Return the convention in which the pushrod is ordered; see the module."""
    if "overall" in needed.lengths:
        return "overall"
    as_read = "" if train.measured is None else train.measured.convention
    return as_read if as_read in needed.lengths else "centres"


def _lengths(chosen: Mapping[str, str], mapping: Flat) -> dict[str, Array]:
    """Return the length of every pushrod, and what a longer one and more travel add to the room below the plunger."""
    found: dict[str, Array] = {}
    for name, convention in chosen.items():
        train = train_of(mapping, name)
        found[name] = required(train).lengths[convention]
        if train.lifter.kind == "hydraulic" and train.lifter.plunger_travel is not None:
            found[name + BELOW] = found[name] + train.lifter.plunger_travel
    return found


def _judged(
    order: Order, table: Mapping[str, dict[str, float]], doubts: Mapping[str, Doubt], mapping: Flat
) -> Order:
    needed = order.required
    assert needed is not None
    moving = {entry: slope for entry, slope in table[order.train.name].items() if slope != 0.0}
    extra = Doubt(float(needed.along_doubt)).standard
    linear = budget(moving, doubts, mapping).widened(extra)
    limits, verdict, room = None, None, None
    preload = order.train.lifter.preload
    proved = not linear.undoubted and not order.is_estimate
    if order.train.lifter.kind == "hydraulic" and preload is not None:
        limits = _limits(mapping, order.train)
        room = _room(
            mapping,
            order,
            limits.bottom,
            table[order.train.name],
            table.get(order.train.name + BELOW),
            doubts,
            extra,
        )
        verdict = worst(_on_limits(limits, float(preload), linear.expanded, proved), room.verdict)
    elif order.train.lifter.lash is not None:
        verdict = judge(
            float(order.train.lifter.lash), 0.0, None, _at_lash(order.train, linear.expanded), proved
        )
    return order._replace(slopes=moving, budget=linear, limits=limits, verdict=verdict, room=room)


def _room(
    mapping: Flat,
    order: Order,
    bottom: Limit,
    of_length: Mapping[str, float],
    slopes: Mapping[str, float] | None,
    doubts: Mapping[str, Doubt],
    along: float,
) -> Room:
    """Return the room below a plunger whose preload is as wanted.

    bottom : what it must not fall below
    of_length : entry → mm of the pushrod's length
    slopes : the same of the room; None: the travel is not known
    along  : mm, standard uncertainty of the length from the unknown angle of the plunger's travel
    """
    lifter = order.train.lifter
    if slopes is None or lifter.plunger_travel is None or lifter.preload is None:
        lacks = (f"{order.train.name}.lifter.plunger_travel",)
        return Room(None, NONE, Budget(0.0, {}, ()), Verdict.UNPROVED, lacks)
    moving = {entry: slope for entry, slope in slopes.items() if slope != 0.0}
    linear = budget(moving, doubts, mapping).widened(along)
    value = float(lifter.plunger_travel - lifter.preload)
    proved = not linear.undoubted and not order.is_estimate
    of_travel = {entry: slope - of_length.get(entry, 0.0) for entry, slope in slopes.items()}
    travel = budget(of_travel, doubts, mapping).expanded
    verdict = judge(value, bottom.value, None, linear.expanded, proved)
    return Room(value, moving, linear, verdict, travel_doubt=travel)


def _at_lash(train: Train, doubt: float) -> float:
    """Return what a doubt of the length is where the lash is measured [mm]."""
    ratio = 1.0 if train.ratio is None or train.lifter.lash_at == "pushrod" else float(train.ratio)
    return doubt * ratio


def verdict_on(order: Order, preload: float | None, lash: float | None) -> Verdict | None:
    """Return the verdict on a setting that a given pushrod makes in place of the wanted one, mm.

    None: the setting, or the doubt of the length behind it, is not known.
    """
    if order.budget is None:
        return None
    doubt, proved = order.budget.expanded, order.is_proved
    if lash is not None:
        return judge(lash, 0.0, None, _at_lash(order.train, doubt), proved)
    limits, room = order.limits, order.room
    if preload is None or limits is None or room is None:
        return None
    on_limits = _on_limits(limits, preload, doubt, proved)
    travel = order.train.lifter.plunger_travel
    if travel is None:
        return worst(on_limits, room.verdict)
    sure = not room.unsure and not order.is_estimate
    left = float(travel) - preload
    return worst(on_limits, judge(left, limits.bottom.value, None, room.budget.expanded, sure))


def _on_limits(limits: Limits, preload: float, doubt: float, proved: bool) -> Verdict:
    """Return the verdict on a preload by its own limits, the plunger's bottom left aside."""
    most = None if limits.own_most is None else limits.own_most.value
    return judge(preload, limits.least.value, most, doubt, proved)


def _limits(mapping: Flat, train: Train) -> Limits:
    """Return the preloads that a hydraulic lifter may have; what is common practice follows its travel, if measured."""
    travel = train.lifter.plunger_travel
    least = limit_of(mapping, PRELOAD_LEAST, of=train.name)
    own_most = limit_of(mapping, MOST_BLIND if travel is None else PRELOAD_MOST, of=train.name)
    bottom = limit_of(mapping, BOTTOM_LEAST, zero=True, of=train.name)
    assert least is not None
    assert bottom is not None
    if travel is None:
        assert own_most is not None
        return Limits(least, own_most, own_most, bottom)
    left = bottom._replace(value=float(travel) - bottom.value)
    tighter = left if own_most is None or left.value < own_most.value else own_most
    return Limits(least, tighter, own_most, bottom)
