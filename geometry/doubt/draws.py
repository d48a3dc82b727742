"""Draws of every doubted quantity, and what the answers drawn from them say.

One draw for each physical quantity and build: what was read once is drawn once, however many entries follow it.
The stream of a quantity depends on its name and the seed alone, so that another quantity changes none of the draws.

Draws are in blocks, each with streams of its own, by seed, block and the quantity's name: more draws or more
processes change none of those that were there either.

Source: JCGM 101:2008: 6.4.2 (rectangular), 6.4.7 (normal), 6.4.9 (the mean of repeated readings: Student's
distribution, scaled and shifted), 7.7 (symmetric and shortest intervals), 7.9 (whether the results are steady),
8 (the linear budget held against the draws).
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..core.frames import Array
from .budget import Doubt

SHARE = 0.95
DIGITS = 2  # of the standard uncertainty that are to be steady
PARTS = 10  # of the draws of one run, which have to agree
LEAST_PART = 100  # draws in one of them


class Interval(NamedTuple):
    """The ends of an interval that holds a share of the draws; the answer's unit."""

    low: float
    high: float


class Drawn(NamedTuple):
    """What the draws say of one answer; its unit is the answer's."""

    mean: float
    standard: float
    symmetric: Interval  # as many draws below as above
    shortest: Interval
    number: int  # of draws
    steady: bool  # whether more draws would change nothing that is shown


class Chance(NamedTuple):
    """How likely something is, by how many draws it came true in."""

    share: float
    error: float  # standard error; of none or all, what would still be likely to come out so


class Block(NamedTuple):
    """Some builds that are drawn together."""

    off: Mapping[str, Array]  # quantity → by how much it is off, (builds)
    builds: int
    seed: int
    number: int  # which block of its run
    among: NDArray[np.intp] | None = (
        None  # places (builds) of these builds among those that were drawn with them
    )
    still: bool = False  # nothing is off: the engine as entered

    def normal(self, name: str) -> Array:
        """Return a quantity drawn from the standard normal distribution, (builds)."""
        return self._of(lambda numbers, count: numbers.normal(0.0, 1.0, count), name)

    def rectangular(self, name: str) -> Array:
        """Return a quantity drawn evenly between -1 and 1, (builds)."""
        return self._of(lambda numbers, count: numbers.uniform(-1.0, 1.0, count), name)

    def _of(self, drawn: Callable[[np.random.Generator, int], Array], name: str) -> Array:
        if self.still:
            return np.zeros(self.builds)
        numbers = stream(name, self.seed, self.number)
        if self.among is None:
            return drawn(numbers, self.builds)
        return drawn(numbers, int(self.among[-1]) + 1)[self.among]

    def some(self, index: NDArray[np.intp]) -> Block:
        """Return some of the builds, by their places in ascending order."""
        among = index if self.among is None else self.among[index]
        off = {name: by[index] for name, by in self.off.items()}
        return self._replace(off=off, builds=len(index), among=among)


def block_of(doubts: Mapping[str, Doubt], count: int, seed: int, number: int = 0) -> Block:
    """Return a block of builds with every quantity of some doubt drawn."""
    return Block(draws(doubts, count, seed, number), count, seed, number)


def draws(doubts: Mapping[str, Doubt], count: int, seed: int, number: int = 0) -> dict[str, Array]:
    """Return by how much each quantity is off in every build, (count); mm, rad or what it counts in.

    number : of the block, each of which has draws of its own
    """
    return {
        name: _one(name, doubt, count, seed, number) for name, doubt in doubts.items() if doubt.half_width > 0
    }


def stream(name: str, seed: int, number: int) -> np.random.Generator:
    """Return the stream of random numbers of one quantity in one block."""
    return np.random.default_rng([seed, number, zlib.crc32(name.encode())])


def _one(name: str, doubt: Doubt, count: int, seed: int, number: int) -> Array:
    numbers = stream(name, seed, number)
    if doubt.sigmas is None:
        return numbers.uniform(-doubt.half_width, doubt.half_width, count)
    if math.isinf(doubt.freedom):
        return numbers.normal(0.0, doubt.standard, count)
    return doubt.standard * numbers.standard_t(doubt.freedom, count)


def symmetric(ordered: Array, share: float = SHARE) -> Interval:
    """Return the interval that leaves as many draws below as above; ordered : (M), ascending."""
    count = len(ordered)
    held = math.floor(share * count + 0.5)
    first = (count - held) // 2
    return Interval(float(ordered[first]), float(ordered[first + held - 1]))


def shortest(ordered: Array, share: float = SHARE) -> Interval:
    """Return the shortest interval that holds a share of the draws; ordered : (M), ascending."""
    count = len(ordered)
    held = math.floor(share * count + 0.5)
    wide = ordered[held - 1 :] - ordered[: count - held + 1]
    first = int(np.argmin(wide))
    return Interval(float(ordered[first]), float(ordered[first + held - 1]))


def told(values: Array, share: float = SHARE) -> Drawn:
    """Return what draws say of an answer; values : (M), in the order in which they were drawn.

    They are steady when their mean, uncertainty and interval are, from one to the other of PARTS parts.
    Source: JCGM 101:2008, 7.9.4: twice the standard deviation of the parts' means is less than the numerical
    tolerance of the standard uncertainty to DIGITS digits.
    """
    ordered = np.sort(values)
    standard = float(ordered.std(ddof=1))
    size = len(values) // PARTS
    rows = []
    for part in np.split(values[: size * PARTS], PARTS) if size >= LEAST_PART else ():
        low, high = symmetric(np.sort(part), share)
        rows.append((float(part.mean()), float(part.std(ddof=1)), low, high))
    return Drawn(
        float(ordered.mean()),
        standard,
        symmetric(ordered, share),
        shortest(ordered, share),
        len(ordered),
        _steady(rows, standard),
    )


def _steady(rows: Sequence[tuple[float, ...]], standard: float) -> bool:
    """Say whether twice the standard deviation of the means of parts' results is within the tolerance."""
    if len(rows) < 2:
        return False
    spread = np.std(np.array(rows), axis=0, ddof=1) / math.sqrt(len(rows))
    return bool((2 * spread < tolerance(standard)).all())


def tolerance(standard: float, digits: int = DIGITS) -> float:
    """Return half of the last digit that a standard uncertainty is told to (JCGM 101:2008, 7.9.2)."""
    if standard <= 0.0:
        return 0.0
    return 0.5 * 10.0 ** (math.floor(math.log10(standard)) - digits + 1)


def differs(value: float, expanded: float, drawn: Drawn, digits: int = 1) -> bool:
    """Say whether a linear budget's interval is not that of the draws.

    Source: JCGM 101:2008, 8.1.3, the ends of both within the tolerance of the standard uncertainty.
    """
    allowed = tolerance(drawn.standard, digits)
    ends = (abs(value - expanded - drawn.symmetric.low), abs(value + expanded - drawn.symmetric.high))
    return max(ends) > allowed


def chance(true: int, count: int) -> Chance:
    """Return how likely something is that came true in so many of the draws."""
    share = true / count
    if true in (0, count):
        return Chance(
            share, 1.0 - 0.05 ** (1.0 / count)
        )  # less likely than this it would have shown, 95 percent
    return Chance(share, math.sqrt(share * (1.0 - share) / count))
