"""How sure every answer is and how likely it misses its limits: by its linear budget, and by draws of the whole engine.

All answers are drawn from the same builds, so that what they share stays shared. A pushrod is ordered once, by the
numbers as they are; what the draws ask for in place of it is what its preload or lash will be off by.

Source: `draws` and `budget`; the length of `pushrods.required`, clearances as in `risk_clearance`, the figures of
`fits`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np

from ..core.answer import Group, Missing
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, frozen
from ..doubt.budget import Doubt
from ..doubt.draws import Block, block_of, chance, differs, told
from ..doubt.readings import Tied
from ..doubt.result import Builds, Result, missing
from ..pushrod.ordering import Order
from ..pushrod.pushrods import required
from .risk_clearance import Assembled, Least, drawn, rivals_of, slow, some_of

Values = Callable[[Flat, Block], Array]  # of the builds of a block, (builds) in the answer's unit

BLOCK = 10_000  # builds that are worked out together
SLOW_SHARE = 0.1  # of a block, above which an answer is looked at in fewer builds
FEWER = 10  # times fewer
LEAST_BUILDS = 1000
PROBES = 200  # builds that tell whether an answer is one of those
KEPT = 100_000  # builds whose values are kept for the intervals
ALONG = "along"  # stream of what only two views of a pushrod leave open


class Asked(NamedTuple):
    """One answer and how it is drawn."""

    bare: Result
    values: Values | None  # None: it is told by its linear budget alone
    is_slow: Callable[[Flat, Block], bool] | None = None  # whether a build takes the whole search
    narrowed: Callable[[Flat, Block], Asked] | None = None  # less to look at, by what some builds tell


def tells_another(one: Result) -> bool:
    """Say whether the linear budget tells another interval than the draws."""
    there = one.builds.told
    return there is not None and differs(one.value, one.budget.expanded, there)


def of_pushrods(orders: Sequence[Order], built: Assembled) -> list[Asked]:
    """Return the length of every pushrod, and the preload, room below the plunger or lash that it will give once ordered.

    built : shared by everything that is drawn from the same builds
    """
    found = []
    for order in orders:
        longer = _Longer(order, built)
        ways = (longer.length, longer.setting, longer.room)
        found += [
            Asked(one, values)
            for one, values in zip((order.length, order.setting, order.room_left), ways, strict=True)
            if one is not None
        ]
    return found


class _Longer:
    """By how much the pushrod that a build asks for is longer than the one that was ordered.

    built : shared by all the pushrods of a run
    """

    def __init__(self, order: Order, built: Assembled) -> None:
        self.order, self.built = order, built
        self.flat: Flat | None = None
        self.found: Array = np.empty(0)

    def length(self, flat: Flat, block: Block) -> Array:
        if self.flat is not flat:
            self.flat, self.found = flat, self._length(flat, block)
        return self.found

    def _length(self, flat: Flat, block: Block) -> Array:
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
        return np.asarray(wanted + self.order.lash_for_length * longer)

    def room(self, flat: Flat, block: Block) -> Array:
        travel = self.built.engines(flat).train(self.order.train.name).lifter.plunger_travel
        assert travel is not None
        return np.asarray(travel - self.setting(flat, block))


class Needed:
    """By how much less preload each build has than was wanted, worked out once for each block.

    orders  : valve gear → its pushrod
    settings : valve gear → how well its preload is set, where that is stated
    built    : shared by everything that is drawn from the same builds
    """

    def __init__(self, orders: Mapping[str, Order], settings: Mapping[str, Doubt], built: Assembled) -> None:
        self.settings = settings
        self.longer = {name: _Longer(order, built) for name, order in orders.items()}
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
                self.found[name] = self.found[name] - _off(f"{name}.lifter.preload", set_to, block)
        return self.found[name]


def of_clearance(
    one: Result,
    least: Least | None,
    needed: Needed | None = None,
    per_preload: Mapping[str, float] = MappingProxyType({}),
) -> Asked:
    """Return one least clearance.

    least       : as it is drawn, None for its linear budget alone
    needed      : with the lifters pumped up, what the pushrods are off by
    per_preload : valve gear → mm of clearance for a mm of its preload
    """
    if least is None:
        return Asked(one, None)

    def values(flat: Flat, block: Block) -> Array:
        found = drawn(least, flat, block)
        if needed is not None:
            for gear, by in per_preload.items():
                found = found - by * needed.of(gear, flat, block)
        return found

    def narrowed(flat: Flat, block: Block) -> Asked:
        return of_clearance(one, rivals_of(least, flat, block), needed, per_preload)

    is_slow = partial(slow, least, share=SLOW_SHARE)
    return Asked(one, values, is_slow, narrowed if least.others else None)


def of_figures(group: Group[Any], name: str, known: Any, found: Iterable[Result]) -> list[Asked]:
    """Return the figures of a group; known : as for `Group.work_out`."""
    together = _Figures(group, name, known)
    is_slow = (lambda *_: True) if group.searched else None
    return [Asked(one, _off_too(together.of(one.key), one.beside), is_slow) for one in found]


def _off_too(values: Values, beside: Mapping[str, tuple[float, Doubt]]) -> Values:
    """Return the values with what moves them and is no reading, each drawn as the clearances draw it."""
    if not beside:
        return values

    def moved(flat: Flat, block: Block) -> Array:
        found = values(flat, block)
        for stream, (slope, doubt) in beside.items():
            found = found + slope * _off(stream, doubt, block)
        return found

    return moved


def _off(stream: str, doubt: Doubt, block: Block) -> Array:
    """Return by how much something is off in each build, (builds)."""
    if doubt.sigmas is None:
        return block.rectangular(stream) * doubt.half_width
    return block.normal(stream) * doubt.standard


class _Figures:
    """The figures of one group, worked out once for each block."""

    def __init__(self, group: Group[Any], name: str, known: Any) -> None:
        self.group, self.name, self.known = group, name, known
        self.flat: Flat | None = None
        self.figures: dict[str, Array] = {}

    def of(self, key: str) -> Values:
        def values(flat: Flat, block: Block) -> Array:
            if self.flat is not flat:
                there = self.group.work_out(flat, self.name, self.known)
                self.flat = flat
                self.figures = (
                    {} if isinstance(there, Missing) else {k: one.value for k, one in there.items()}
                )
            return np.broadcast_to(self.figures.get(key, array(np.nan)), (block.builds,))

        return values


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
        """Find out what need not be looked at, and which answers take the whole search in many builds: they in fewer."""
        flat, block = self._drawn(0, min(PROBES, self.wanted))
        self.asked = [one if one.narrowed is None else one.narrowed(flat, block) for one in self.asked]
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

    def results(self) -> list[Result]:
        """Return every answer with what its draws say."""
        return [tally.result() for tally in self.tallies]


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

    def __init__(self, bare: Result) -> None:
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
        off = np.zeros(len(possible), dtype=bool)  # one may miss both, where they leave nothing between them
        for limit, beyond in zip(self.bare.bounds, (np.less, np.greater), strict=True):
            off |= False if limit is None else beyond(possible, limit)
        self.missed += int(off.sum())
        if self.kept < KEPT:
            self.values.append(possible[: KEPT - self.kept])
            self.kept += len(self.values[-1])

    def result(self) -> Result:
        """Return the answer with what its draws say."""
        found = Builds(looked=self.looked, impossible=self.impossible, absent=self.absent)
        if self.kept >= 2:
            found = found._replace(told=told(np.concatenate(self.values)))
        if (self.kept >= 2 or self.impossible) and self.bare.bounds != (None, None):
            found = found._replace(missed=chance(self.missed + self.impossible, self.looked))
        return self.bare._replace(builds=found)


def wrong(one: Result, standard: float) -> float:
    """Return the chance that an answer is on the other side of its limits than it seems."""
    chance_missed = missing(one, standard)
    return chance_missed if missing(one, 0.0) == 0.0 else 1.0 - chance_missed
