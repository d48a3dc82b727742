"""The pushrod to order for every valve gear: its length, its doubt, and whether its setting holds.

The length people order is `overall` where it is known, else the convention that was measured, else
the one between ball centres; the doubt is that of this length.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
from tallstack.geometry.assembly import obstacles
from tallstack.geometry.defaults import PRELOAD_MM
from tallstack.geometry.doubt.budget import Budget, Doubt, budget
from tallstack.geometry.doubt.derivatives import derivatives
from tallstack.geometry.engine import COORDINATES, Engine, Train, build
from tallstack.geometry.errors import MissingEntryError
from tallstack.geometry.frames import Array
from tallstack.geometry.mapping import Flat, Quantities, Reader
from tallstack.geometry.pushrods import Required, required
from tallstack.geometry.verdict import Verdict, judge

MOVING = 0.02  # mm per mm or per rad: less moves a length by less than 2 µm for 0.1 mm or 0.01 rad


NONE: Mapping[str, Any] = MappingProxyType({})


class Limits(NamedTuple):
    """The preload a hydraulic lifter may have, mm, and who said so."""

    least: float
    most: float
    least_is_set: bool  # by the job; otherwise common practice
    most_is_set: bool


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
    verdict: Verdict | None = None  # on the preload between its limits, or on the lash: the valve must close
    look_again: tuple[str, ...] = ()  # why something that was entered contradicts it

    @property
    def is_proved(self) -> bool:
        """Whether a measured pushrod stands behind the length and every entry that moves it has a doubt."""
        return self.budget is not None and not self.budget.undoubted and not self.is_estimate

    @property
    def is_estimate(self) -> bool:
        """Whether coordinates alone stand behind the length."""
        return self.required is not None and self.required.basis == COORDINATES

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
    slopes = (
        derivatives(mapping, quantities, lambda varied: _lengths(build(varied), chosen)) if chosen else {}
    )
    return tuple(
        _judged(order, slopes[order.train.name], doubts, mapping) if order.train.name in chosen else order
        for order in first
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


def _lengths(engine: Engine, chosen: Mapping[str, str]) -> dict[str, Array]:
    return {name: required(engine.train(name)).lengths[convention] for name, convention in chosen.items()}


def _judged(order: Order, slopes: dict[str, float], doubts: Mapping[str, Doubt], mapping: Flat) -> Order:
    needed = order.required
    assert needed is not None
    moving = {entry: slope for entry, slope in slopes.items() if slope != 0.0}
    linear = budget(moving, doubts, MOVING)
    extra = float(np.asarray(needed.along_doubt)) / np.sqrt(3.0)
    linear = linear.widened(float(extra))
    limits, verdict = None, None
    preload = order.train.lifter.preload
    proved = not linear.undoubted and not order.is_estimate
    if order.train.lifter.kind == "hydraulic" and preload is not None:
        limits = _limits(mapping)
        verdict = judge(float(preload), limits.least, limits.most, linear.expanded, proved)
    elif order.train.lifter.lash is not None:
        verdict = judge(
            float(order.train.lifter.lash), 0.0, None, _at_lash(order.train, linear.expanded), proved
        )
    return Order(order.train, needed, {}, order.obstacles, order.convention, moving, linear, limits, verdict)


def _at_lash(train: Train, doubt: float) -> float:
    """Return what a doubt of the length is where the lash is measured [mm]."""
    ratio = 1.0 if train.ratio is None or train.lifter.lash_at == "pushrod" else float(train.ratio)
    return doubt * ratio


def _limits(mapping: Flat) -> Limits:
    targets = Reader(mapping, ("targets.",))
    least, most = targets.find("preload_least"), targets.find("preload_most")
    return Limits(
        least=PRELOAD_MM[0] if least is None else float(least),
        most=PRELOAD_MM[1] if most is None else float(most),
        least_is_set=least is not None,
        most_is_set=most is not None,
    )
