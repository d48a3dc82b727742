"""Draws of every doubted quantity, and what the answers drawn from them say.

One draw for each physical quantity and build: what was read once is drawn once, however many entries follow it.
The stream of a quantity depends on its name and the seed alone, so that another quantity changes none of the draws.

Source: JCGM 101:2008: 6.4.2 (rectangular), 6.4.7 (normal), 6.4.9 (the mean of repeated readings: Student's
distribution, scaled and shifted), 7.7 (symmetric and shortest intervals), 7.9 (draws until the results are steady),
8 (the linear budget held against the draws).
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.frames import Array

SHARE = 0.95
BLOCK = 10_000  # draws of one look
DIGITS = 2  # of the standard uncertainty that are to be steady
MOST_BLOCKS = 100


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


def draws(doubts: Mapping[str, Doubt], count: int, seed: int) -> dict[str, Array]:
    """Return by how much each quantity is off in every build, (count); mm, rad or what it counts in."""
    return {name: _one(name, doubt, count, seed) for name, doubt in doubts.items() if doubt.half_width > 0}


def _one(name: str, doubt: Doubt, count: int, seed: int) -> Array:
    stream = np.random.default_rng([seed, zlib.crc32(name.encode())])
    if doubt.sigmas is None:
        return stream.uniform(-doubt.half_width, doubt.half_width, count)
    if math.isinf(doubt.freedom):
        return stream.normal(0.0, doubt.standard, count)
    return doubt.standard * stream.standard_t(doubt.freedom, count)


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
    """Return what draws say of an answer, steady or not; values : (M)."""
    ordered = np.sort(values)
    return Drawn(
        float(ordered.mean()),
        float(ordered.std(ddof=1)),
        symmetric(ordered, share),
        shortest(ordered, share),
        len(ordered),
        False,
    )


def until_steady(block: Callable[[int], Array], share: float = SHARE, most: int = MOST_BLOCKS) -> Drawn:
    """Return what the draws of an answer say, drawn in blocks until its mean, uncertainty and interval are steady.

    block : number of a block → its values (M)
    Source: JCGM 101:2008, 7.9.4; steady when twice the standard deviation of the blocks' means is less than the
    numerical tolerance of the standard uncertainty to DIGITS digits.
    """
    values: list[Array] = []
    rows: list[tuple[float, float, float, float]] = []
    steady = False
    while len(rows) < most and not steady:
        values.append(block(len(rows)))
        one = told(values[-1], share)
        rows.append((one.mean, one.standard, *one.symmetric))
        if len(rows) > 1:
            spread = np.std(np.array(rows), axis=0, ddof=1) / math.sqrt(len(rows))
            whole = float(np.std(np.concatenate(values), ddof=1))
            steady = bool((2 * spread < tolerance(whole)).all())
    return told(np.concatenate(values), share)._replace(steady=steady)


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
