"""An answer with its number: its doubt, what moves it, its limits and, where it has any, its verdict.

Entries are varied through the mapping, all of them in one batch, as for a pushrod's length. What nobody named a
target for has no limit; nought is one where the parts themselves say so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from ..core.answer import Figure, Group, Missing, Value
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, frozen
from ..core.targets import CONTACT, TOLD_ALONE, Limit
from ..core.verdict import Verdict, judge
from .budget import Budget, Doubt, budget
from .derivatives import THREE, derivatives

if TYPE_CHECKING:
    from .draws import Chance, Drawn

NOTHING = 1e-9  # a derivative that is rounding
UNSTATED = 0.01  # mm, by which two readings of one thing may differ where no doubt of one is stated
MOVES = 0.05  # mm per mm: less of what nobody measured is but how the gear swings
NONE: Mapping[str, Any] = MappingProxyType({})
BARE = Budget(0.0, {}, ())
IMPOSSIBLE = "as entered the parts cannot be put together, see `tallstack pushrods`"


class Builds(NamedTuple):
    """What the draws of an answer come to."""

    told: Drawn | None = None  # None: it was not drawn
    missed: Chance | None = None  # of missing its limits; None: it has none, or was not drawn
    looked: int = 0  # builds in which it was looked at
    impossible: int = 0  # builds in which it cannot be
    absent: int = 0  # builds in which there is nothing to meet


class Result(NamedTuple):
    """One answer of one engine."""

    of: str  # cylinder or valve gear; two cylinders as "front, rear"
    key: str  # its name in JSON
    figure: Figure
    value: float  # in the figure's unit
    budget: Budget
    slopes: Mapping[str, float] = NONE  # entry → derivative, the figure's unit per mm, rad or plain
    least: Limit | None = None
    most: Limit | None = None
    verdict: Verdict | None = None  # None: no limit belongs to it
    at: float | None = None  # crank rad from the cylinder's own top centre, where it is least or greatest
    note: str = ""  # what the number rests on, in words
    beside: Mapping[str, tuple[float, Doubt]] = NONE  # what moves it and is no reading → derivative, doubt
    look_again: tuple[str, ...] = ()  # why something that was entered contradicts it
    is_estimate: bool = False  # a pushrod's length that rests on coordinates alone
    lobes: tuple[str, ...] = ()  # those known by their cards that it rests on
    builds: Builds = Builds()

    @property
    def name(self) -> str:
        """Its name in the JSON of risk."""
        return self.figure.alias or self.key

    @property
    def proved(self) -> bool:
        """Whether every entry that moves it carries a doubt."""
        return not self.budget.undoubted

    @property
    def doubt(self) -> float | None:
        """Its expanded uncertainty; None where an entry that moves it carries none, so that it is not known."""
        return self.budget.expanded if self.proved else None

    @property
    def limits(self) -> tuple[Limit, ...]:
        """Those that it has, the least first."""
        return tuple(one for one in (self.least, self.most) if one is not None)

    @property
    def limit(self) -> Limit:
        """What it must not fall below; contact where nothing is named."""
        return CONTACT if self.least is None else self.least

    @property
    def spare(self) -> float:
        """How far it is above that, negative below it."""
        return self.value - self.limit.value

    @property
    def angle(self) -> float:
        """The crank angle at which it is least [rad]; nought of what has none."""
        return 0.0 if self.at is None else self.at

    @property
    def ends(self) -> tuple[float, float] | None:
        """Between what it lies, about 95 %; None where its doubt reaches as far either way."""
        upward = self.budget.upward
        return None if upward is None else (self.value - self.budget.expanded, self.value + upward)

    @property
    def bounds(self) -> tuple[float | None, float | None]:
        """Between what it holds, as it is drawn: parts that must not meet have nought to keep."""
        if self.figure.left_by:
            return None, None
        low = None if self.least is None else self.least.value
        if low is None and self.figure.below_zero is not None:
            low = 0.0
        return low, None if self.most is None else self.most.value

    @property
    def nearer_bound(self) -> float | None:
        """The end of its bounds that it misses, or the one that it has; None where there is none."""
        low, high = self.bounds
        return low if high is None or (low is not None and self.value < low) else high

    @property
    def meets(self) -> bool:
        """Whether two parts meet and its value says no more than that: by how much is no length."""
        return self.figure.meets(self.value)

    @property
    def offered(self) -> bool:
        """Whether it is no suggestion, or one that can be followed."""
        return self.figure.refused is None or self.value > 0

    @property
    def means(self) -> Iterator[str]:
        """In words what it means that it is below nought, or that what a suggestion leaves misses its limits."""
        if self.value < 0 and self.figure.below_zero:
            yield self.figure.below_zero
        elif self.figure.left_by:
            if self.least is not None and self.value < self.least.value:
                yield "too little"
            if self.most is not None and self.value > self.most.value:
                yield "too much"


Results = dict[str, Result]


def results(
    mapping: Flat,
    group: Group[Any],
    name: str,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
    known: Any = None,
    beside: Mapping[str, Doubt | None] = NONE,
    alone: Flat | None = None,
) -> Results | Missing:
    """Return the figures of a group with doubts and verdicts, or what they lack.

    quantities, doubts : as for `ordering.orders`
    known  : as for `Group.work_out`
    beside : entry → its doubt, of what moves a figure too and is none of the quantities; 0 where it is not there;
             None where nobody says how well it is known
    alone  : the mapping without the other cylinders, see `engine.alone`; all quantities move entries of it
    """
    own = frozen(mapping if alone is None else alone)
    found = group.work_out(own, name, known)
    if isinstance(found, Missing):
        return found
    if any(np.isnan(one.value).any() for one in found.values()):
        return Missing.of((), IMPOSSIBLE)

    def values(varied: Flat) -> dict[str, Array]:
        there = group.work_out(varied, name, known)
        at_hand = {} if isinstance(there, Missing) else there
        return {key: at_hand[key].value if key in at_hand else array(np.nan) for key in found}

    further = {entry: {entry: 1.0} for entry in beside if entry not in quantities}
    every = {**quantities, **further}
    unread = {entry: 0.0 for entry in further if entry not in own}
    table = (
        derivatives(own.with_(unread) if unread else own, every, values, THREE)
        if every
        else {key: {} for key in found}
    )
    return {
        key: result(
            mapping,
            name,
            key,
            group.figures[key],
            value,
            {entry: slope for entry, slope in table[key].items() if entry not in further},
            doubts,
            {entry: (table[key][entry], beside[entry]) for entry in further},
        )
        for key, value in found.items()
    }


def result(
    mapping: Flat,
    of: str,
    key: str,
    figure: Figure,
    value: Value,
    slopes: Mapping[str, float],
    doubts: Mapping[str, Doubt],
    beside: Mapping[str, tuple[float, Doubt | None]] = NONE,
) -> Result:
    """Return one answer of one engine with its doubt and its verdict.

    slopes : entry → derivative, figure's unit per mm, rad or what the entry counts in
    beside : the same with its doubt, of what is no reading
    """
    moving = {entry: slope for entry, slope in slopes.items() if np.isfinite(slope) and abs(slope) > NOTHING}
    whole = budget(moving, doubts, mapping)
    sure: dict[str, tuple[float, Doubt]] = {}
    bare: list[str] = []
    for entry, (slope, doubt) in beside.items():
        if not np.isfinite(slope) or abs(slope) <= NOTHING:
            continue
        if doubt is None:
            bare += [entry] if abs(slope) > MOVES else []
        else:
            sure[entry] = slope, doubt
    whole = whole._replace(undoubted=tuple(dict.fromkeys((*value.unsaid, *whole.undoubted, *bare))))
    if value.allowed:
        whole = whole.widened(Doubt(value.allowed).standard)
    for slope, doubt in sure.values():
        whole = whole.widened(abs(slope) * doubt.standard)
    number, note = float(value.value), value.note
    if figure.told_alone(mapping):
        meets = f"{figure.below_zero}; " if number < 0 and figure.below_zero else ""
        figure, note = figure.without_limits(), f"{meets}{note}; {TOLD_ALONE}"
    if figure.lost and 0 < number <= whole.expanded:
        note = figure.lost.format(f"{number / (1 + whole.expanded / number):.0f}")
    least, most = figure.limits(mapping, of)
    verdict = None
    if figure.falls_short(mapping, number, of):
        verdict = Verdict.SHORT
    elif (least is not None or most is not None) and not figure.left_by:
        low, high = (None if one is None else one.value for one in (least, most))
        verdict = judge(number, low, high, whole.expanded, not whole.undoubted)
    at = None if value.at is None else float(value.at)
    off = whole.expanded + (UNSTATED if whole.undoubted else 0.0)
    again = (figure.nought,) if figure.nought and abs(number) > off else ()
    return Result(of, key, figure, number, whole, moving, least, most, verdict, at, note, sure, again)


def told(found: Mapping[str, Result]) -> dict[str, Result]:
    """Return the figures of a group that are told: not what a suggestion would leave that is not offered."""
    return {
        key: one for key, one in found.items() if not one.figure.left_by or found[one.figure.left_by].offered
    }


def by_budget(one: Result) -> float | None:
    """Return the chance of missing a limit as the linear budget tells it; None where there is none."""
    return None if one.bounds == (None, None) else missing(one, one.budget.standard)


def missing(one: Result, standard: float) -> float:
    """Return the chance of missing a limit with a standard uncertainty, as of a normal distribution."""
    least, most = one.bounds
    if standard <= 0.0:
        return float((least is not None and one.value < least) or (most is not None and one.value > most))
    low = 0.0 if least is None else _below((least - one.value) / standard)
    high = 0.0 if most is None else _below((one.value - most) / standard)
    return low + high


def _below(sigmas: float) -> float:
    return 0.5 * math.erfc(-sigmas / math.sqrt(2.0))
