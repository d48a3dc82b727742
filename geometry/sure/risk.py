"""How sure every answer is and how likely it misses its limits: by its linear budget, and by draws of the whole engine.

All answers are drawn from the same builds, so that what they share stays shared. A pushrod is ordered once, by the
numbers as they are; what the draws ask for in place of it is what its preload or lash will be off by.

Source: `draws` and `budget`; the length of `pushrods.required`, clearances as in `risk_clearance`, the figures of
`fits`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ..clearance.clearances import Judged as Clearance
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, frozen
from ..core.verdict import Verdict
from ..doubt.budget import Budget, Doubt
from ..doubt.draws import Block, Chance, Drawn, block_of, chance, differs, told
from ..doubt.readings import Tied
from ..fits.judging import LEFT_BY, MEETS
from ..fits.judging import Judged as Figured
from ..fits.part import Lacking, Part
from ..pushrod.ordering import Order
from ..pushrod.pushrods import required
from .risk_clearance import Assembled, Least, drawn, slow, some_of

Values = Callable[[Flat, Block], Array]  # of the builds of a block, (builds) in the answer's unit

BLOCK = 10_000  # builds that are worked out together
SLOW_SHARE = 0.1  # of a block, above which an answer is looked at in fewer builds
FEWER = 10  # times fewer
LEAST_BUILDS = 1000
PROBES = 200  # builds that tell whether an answer is one of those
KEPT = 100_000  # builds whose values are kept for the intervals
ALONG = "along"  # stream of what only two views of a pushrod leave open


class Answer(NamedTuple):
    """One answer with its doubt and, where a target belongs to it, how likely that is missed."""

    of: str  # cylinder or valve gear; two cylinders as "front, rear"
    what: str
    unit: str  # as in `fits.part.Figure`
    value: float
    budget: Budget
    slopes: Mapping[str, float]  # entry → derivative
    least: float | None
    most: float | None
    verdict: Verdict | None
    drawn: Drawn | None = None  # None: it was not drawn
    missed: Chance | None = None  # None: no target belongs to it, or it was not drawn
    looked: int = 0  # builds in which it was looked at
    impossible: int = 0  # builds in which it cannot be
    absent: int = 0  # builds in which there is nothing to meet
    is_estimate: bool = False  # a pushrod's, from coordinates alone
    look_again: tuple[str, ...] = ()  # why something that was entered contradicts it

    @property
    def differs(self) -> bool:
        """Whether the linear budget tells another interval than the draws."""
        return self.drawn is not None and differs(self.value, self.budget.expanded, self.drawn)

    @property
    def by_budget(self) -> float | None:
        """The chance of missing a target as the linear budget tells it; None where no target belongs to it."""
        return None if self.least is None and self.most is None else missing(self, self.budget.standard)


class Asked(NamedTuple):
    """One answer and how it is drawn."""

    bare: Answer
    values: Values | None  # None: it is told by its linear budget alone
    is_slow: Callable[[Flat, Block], bool] | None = None  # whether a build takes the whole search


def of_pushrods(orders: Sequence[Order]) -> list[Asked]:
    """Return the length of every pushrod, and the preload, room below the plunger or lash that it will give once ordered."""
    found, built = [], Assembled()
    for order in orders:
        if order.budget is None or order.required is None or order.impossible:
            continue
        name, lifter, length = order.train.name, order.train.lifter, order.required.lengths[order.convention]
        longer = _Longer(order, built)
        found.append(
            Asked(
                Answer(
                    name,
                    f"length {order.convention}",
                    "mm",
                    float(length),
                    order.budget,
                    order.slopes,
                    None,
                    None,
                    None,
                    is_estimate=order.is_estimate,
                    look_again=order.look_again,
                ),
                longer.length,
            )
        )
        wanted = lifter.preload if lifter.kind == "hydraulic" else lifter.lash
        if wanted is None:
            continue
        least, most = (
            (0.0, None)
            if lifter.kind == "solid"
            else (None, None)
            if order.limits is None
            else (order.limits.least, order.most_preload)
        )
        way = longer.way
        bare = Answer(
            name,
            "lash" if lifter.kind == "solid" else "preload",
            "mm",
            float(wanted),
            order.budget._replace(standard=abs(way) * order.budget.standard),
            {entry: way * slope for entry, slope in order.slopes.items()},
            least,
            most,
            order.verdict,
            is_estimate=order.is_estimate,
            look_again=order.look_again,
        )
        found.append(Asked(bare, longer.setting))
        room = order.room
        if room is not None and room.value is not None:
            bare = Answer(
                name,
                "room to bottom",
                "mm",
                room.value,
                room.budget,
                room.slopes,
                0.0,
                None,
                order.verdict,
                is_estimate=order.is_estimate,
            )
            found.append(Asked(bare, longer.room))
    return found


class _Longer(NamedTuple):
    """By how much the pushrod that a build asks for is longer than the one that was ordered."""

    order: Order
    built: Assembled  # shared by all the pushrods of a run

    @property
    def way(self) -> float:
        """What a longer one would have to be takes from the preload, or adds to the lash where it is measured."""
        train = self.order.train
        if train.lifter.kind != "solid":
            return -1.0
        at_valve = train.ratio is not None and train.lifter.lash_at == "valve"
        return float(train.ratio) if at_valve and train.ratio is not None else 1.0

    def length(self, flat: Flat, block: Block) -> Array:
        needed, name = self.order.required, self.order.train.name
        assert needed is not None
        lengths = required(self.built.engines(flat).train(name)).lengths[self.order.convention]
        aside = float(needed.along_doubt)
        off = block.rectangular(f"{name}.{ALONG}") * aside if aside > 0 else array(0.0)
        return np.broadcast_to(lengths + off, (block.builds,))

    def setting(self, flat: Flat, block: Block) -> Array:
        lifter, needed = self.order.train.lifter, self.order.required
        assert needed is not None
        wanted = lifter.preload if lifter.kind == "hydraulic" else lifter.lash
        assert wanted is not None
        longer = self.length(flat, block) - needed.lengths[self.order.convention]
        return np.asarray(wanted + self.way * longer)

    def room(self, flat: Flat, block: Block) -> Array:
        travel = self.built.engines(flat).train(self.order.train.name).lifter.plunger_travel
        assert travel is not None
        return np.asarray(travel - self.setting(flat, block))


class Needed:
    """By how much less preload each build has than was wanted, worked out once for each block.

    orders  : valve gear → its pushrod
    settings : valve gear → how well its preload is set, where that is stated
    """

    def __init__(self, orders: Mapping[str, Order], settings: Mapping[str, Doubt]) -> None:
        self.settings = settings
        self.longer = {name: _Longer(order, Assembled()) for name, order in orders.items()}
        self.flat: Flat | None = None
        self.found: dict[str, Array] = {}

    def of(self, name: str, flat: Flat, block: Block) -> Array:
        """Return it for one valve gear, (builds) [mm]; as it was set where its pushrod is not known."""
        if self.flat is not flat:
            self.flat, self.found = flat, {}
        if name not in self.found:
            one = self.longer.get(name)
            needed = None if one is None else one.order.required
            self.found[name] = (
                np.zeros(block.builds)
                if one is None or needed is None
                else one.length(flat, block) - needed.lengths[one.order.convention]
            )
            set_to = self.settings.get(name)
            if set_to is not None:
                stream = f"{name}.lifter.preload"
                even = set_to.sigmas is None
                off = (
                    block.rectangular(stream) * set_to.half_width
                    if even
                    else block.normal(stream) * set_to.standard
                )
                self.found[name] = self.found[name] - off
        return self.found[name]


def of_clearance(
    name: str,
    one: Clearance,
    least: Least | None,
    needed: Needed | None = None,
    per_preload: Mapping[str, float] = MappingProxyType({}),
) -> Asked:
    """Return one least clearance.

    least       : as it is drawn, None for its linear budget alone
    needed      : with the lifters pumped up, what the pushrods are off by
    per_preload : valve gear → mm of clearance for a mm of its preload
    """
    assert one.budget is not None
    bare = Answer(
        name,
        one.what,
        "mm",
        one.value,
        one.budget,
        one.slopes,
        one.target.least,
        None,
        one.verdict,
        look_again=one.look_again,
    )
    if least is None:
        return Asked(bare, None)

    def values(flat: Flat, block: Block) -> Array:
        found = drawn(least, flat, block)
        if needed is not None:
            for gear, by in per_preload.items():
                found = found - by * needed.of(gear, flat, block)
        return found

    return Asked(
        bare,
        values,
        lambda flat, block: slow(least, flat, block, SLOW_SHARE),
    )


def of_figures(
    part: Part | None, name: str, judged: Mapping[str, Figured], is_slow: bool = False
) -> list[Asked]:
    """Return a part's figures.

    part    : None where they are told by their linear budgets alone
    is_slow : the part is searched through the cycle, and looked at in fewer builds
    """
    found = []
    together = None if part is None else _Figures(part, name)
    for key, one in judged.items():
        values = None if together is None else _off_too(together.of(key), one.beside)
        found.append(Asked(_figured(name, key, one), values, (lambda *_: True) if is_slow else None))
    return found


def _off_too(values: Values, beside: Mapping[str, tuple[float, Doubt]]) -> Values:
    """Return the values with what moves them and is no reading, each drawn as the clearances draw it."""
    if not beside:
        return values

    def moved(flat: Flat, block: Block) -> Array:
        found = values(flat, block)
        for stream, (slope, doubt) in beside.items():
            even = doubt.sigmas is None
            off = (
                block.rectangular(stream) * doubt.half_width
                if even
                else block.normal(stream) * doubt.standard
            )
            found = found + slope * off
        return found

    return moved


class _Figures:
    """The figures of one part, worked out once for each block."""

    def __init__(self, part: Part, name: str) -> None:
        self.part, self.name = part, name
        self.flat: Flat | None = None
        self.figures: dict[str, Array] = {}

    def of(self, key: str) -> Values:
        def values(flat: Flat, block: Block) -> Array:
            if self.flat is not flat:
                there = self.part(flat, self.name)
                self.flat = flat
                self.figures = (
                    {} if isinstance(there, Lacking) else {k: one.value for k, one in there.items()}
                )
            return np.broadcast_to(self.figures.get(key, array(np.nan)), (block.builds,))

        return values


def _figured(of: str, key: str, one: Figured) -> Answer:
    least, most = None, None
    for limit in one.limits if key not in LEFT_BY else ():
        if limit.name and limit.name == one.figure.most:
            most = limit.value
        else:
            least = limit.value
    if least is None and key in MEETS and key not in LEFT_BY:
        least = 0.0
    return Answer(
        of,
        key,
        one.figure.unit,
        one.value,
        one.budget,
        one.slopes,
        least,
        most,
        one.verdict,
        look_again=one.look_again,
    )


class Run:
    """A run of draws, block by block; what it has at any time is an answer, of so many builds."""

    def __init__(
        self,
        mapping: Flat,
        quantities: Quantities,
        doubts: Mapping[str, Doubt],
        asked: Sequence[Asked],
        wanted: int,
        seed: int,
    ) -> None:
        self.mapping, self.quantities, self.asked, self.seed = mapping, quantities, asked, seed
        self.tied: Tied | None = getattr(doubts, "tied", None)
        self.doubts = {name: doubt for name, doubt in doubts.items() if name in quantities}
        self.wanted = wanted
        self.drawn = 0
        self.tallies = [Tally(one.bare) for one in asked]
        self.most = [wanted for _ in asked]

    def blocks(self) -> list[tuple[int, int]]:
        """Return the number of every block and its builds."""
        starts = range(0, self.wanted, BLOCK)
        return [(number, min(BLOCK, self.wanted - start)) for number, start in enumerate(starts)]

    def look(self) -> None:
        """Find out which answers take the whole search in many builds, and are looked at in fewer."""
        flat, block = self._drawn(0, min(PROBES, self.wanted))
        for place, one in enumerate(self.asked):
            if one.is_slow is not None and one.is_slow(flat, block):
                self.most[place] = min(self.wanted, max(LEAST_BUILDS, self.wanted // FEWER))

    def block(self, number: int, builds: int) -> list[Array | None]:
        """Return the values of every answer in one block of builds; None where it is not drawn there."""
        flat, block = self._drawn(number, builds)
        fewer: tuple[Flat, Block] | None = None
        rows: list[Array | None] = []
        for one, most in zip(self.asked, self.most, strict=True):
            left = min(most - number * BLOCK, builds)
            if one.values is None or left <= 0:
                rows.append(None)
                continue
            if left == builds:
                rows.append(one.values(flat, block))
                continue
            if fewer is None or fewer[1].builds != left:
                first = np.arange(left)
                fewer = some_of(flat, first, builds), block.some(first)
            rows.append(one.values(*fewer))
        return rows

    def take(self, builds: int, rows: Sequence[Array | None]) -> None:
        """Add the values of a block, the next one."""
        for tally, row in zip(self.tallies, rows, strict=True):
            if row is not None:
                tally.add(row)
        self.drawn += builds

    def _drawn(self, number: int, builds: int) -> tuple[Flat, Block]:
        block = block_of(self.doubts, builds, self.seed, number)
        if self.tied is not None:
            shapes = {one: block.normal(one) for one in self.tied.names if one not in self.doubts}
            block = block._replace(off=self.tied.drawn({**block.off, **shapes}))
        return varied(self.mapping, self.quantities, block), block

    def answers(self) -> list[Answer]:
        """Return every answer with what its draws say."""
        return [tally.answer() for tally in self.tallies]


def varied(mapping: Flat, quantities: Quantities, block: Block) -> Flat:
    """Return the engine's mapping with an array, (builds), for every entry that is in doubt."""
    arrays: dict[str, Array] = {}
    for name, by in block.off.items():  # the shape of a card's lobe is no entry
        for path, sign in quantities.get(name, {}).items():
            value = mapping.get(path)
            if value is not None and not isinstance(value, (str, tuple)):
                arrays[path] = arrays.get(path, array(value)) + sign * by
    return frozen(mapping).with_(arrays)


class Tally:
    """What the draws of one answer come to: every build counts for its chances, the first many for its intervals."""

    def __init__(self, bare: Answer) -> None:
        self.bare = bare
        self.looked = self.impossible = self.absent = self.missed = self.kept = 0
        self.values: list[Array] = []

    def add(self, values: Array) -> None:
        """Add values, (builds).

        values : NaN where the answer cannot be, that misses any target; infinite where there is nothing to meet, that
        misses none
        """
        possible, cannot = values[np.isfinite(values)], int(np.isnan(values).sum())
        self.looked += len(values)
        self.impossible += cannot
        self.absent += len(values) - cannot - len(possible)
        for least, beyond in ((self.bare.least, np.less), (self.bare.most, np.greater)):
            self.missed += 0 if least is None else int(beyond(possible, least).sum())
        if self.kept < KEPT:
            self.values.append(possible[: KEPT - self.kept])
            self.kept += len(self.values[-1])

    def answer(self) -> Answer:
        """Return the answer with what its draws say."""
        found = self.bare._replace(impossible=self.impossible, absent=self.absent, looked=self.looked)
        if self.kept < 2:
            return found
        found = found._replace(drawn=told(np.concatenate(self.values)))
        if found.least is None and found.most is None:
            return found
        return found._replace(missed=chance(self.missed + self.impossible, self.looked))


def missing(one: Answer, standard: float) -> float:
    """Return the chance of missing a target with a standard uncertainty, as of a normal distribution."""
    if standard <= 0.0:
        below = one.least is not None and one.value < one.least
        return float(below or (one.most is not None and one.value > one.most))
    low = 0.0 if one.least is None else _below((one.least - one.value) / standard)
    high = 0.0 if one.most is None else _below((one.value - one.most) / standard)
    return low + high


def wrong(one: Answer, standard: float) -> float:
    """Return the chance that an answer is on the other side of its limits than it seems."""
    chance_missed = missing(one, standard)
    return chance_missed if missing(one, 0.0) == 0.0 else 1.0 - chance_missed


def _below(sigmas: float) -> float:
    return 0.5 * math.erfc(-sigmas / math.sqrt(2.0))
