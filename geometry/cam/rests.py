"""Two rests of one lobe at different levels: before its lift the dial stood elsewhere than behind it.

    lift        ╭───╮
               ╱     ╲
              ╱       ╰──────────── high
    low ─────╯                          a dial that slipped, a lifter that bled, a follower that rides on something

A lobe has one heel, so one of the two is wrong, and nothing in the table says which. The lower one is taken as
the heel: the lift above it is the greater, so that nothing comes out further away than it may be.
"""

from __future__ import annotations

import heapq
from typing import NamedTuple

import numpy as np

from ..core.frames import Array
from ..crank.heels import TURN
from .readings import Mask, gaps, median
from .smooth import FINE

LOW = 0.06  # share of the lift below which a rest is looked for
LEAST_MM = 0.025  # a thousandth of an inch: no dial repeats better
SCATTERS = 5.0  # of the readings at rest, that two rests differ by
LEVEL = 0.25  # of their difference, by which the two halves of either rest may differ
SHORTEST = np.radians(15)  # of cam: either rest
SAME_MM = 1e-9  # what is less apart is equal
FEWEST = 4  # readings of either rest, where nothing else parts them


class Rests(NamedTuple):
    """Two levels at which the dial rests."""

    low: float  # mm as the dial showed it
    high: float
    above: Mask  # on FINE: the higher rest


def two_rests(angle: Array, lift: Array) -> Rests | None:
    """Return the two levels at which readings (n) rest, angles in cam rad, lifts in mm; None where there is one.

    Where the heel was not read, see `apart_by`.
    """
    if gaps(angle, lift):
        return None
    order = np.argsort(np.mod(angle - angle[int(np.argmax(lift))], TURN), kind="stable")
    turned, read = np.mod(angle - angle[int(np.argmax(lift))], TURN)[order], lift[order]
    low = read < read.min() + LOW * float(np.ptp(read))
    lowest = int(np.argmin(read))
    begins = lowest - int(np.argmin(low[lowest::-1])) + 1
    ends = lowest + (int(np.argmin(low[lowest:])) if not low[lowest:].all() else len(read) - lowest)
    where, there = turned[begins:ends], read[begins:ends]
    if len(there) < 2 * FEWEST:
        return None
    costs = (_away(there)[:-1] + _away(there[::-1])[-2::-1])[FEWEST - 1 : len(there) - FEWEST]
    part = FEWEST + int(np.argmax(costs <= costs.min() + SAME_MM))
    sides = [(where[:part], there[:part]), (where[part:], there[part:])]
    levels = [float(median(one)) for _, one in sides]
    apart = abs(levels[1] - levels[0])
    scatter = 1.4826 * float(median(np.abs(np.concatenate([one - float(median(one)) for _, one in sides]))))
    if apart < max(LEAST_MM, SCATTERS * scatter):
        return None
    for at, one in sides:
        halves = float(median(one[len(one) // 2 :])) - float(median(one[: len(one) // 2]))
        if at[-1] - at[0] < SHORTEST or abs(halves) > LEVEL * apart:
            return None
    above = int(levels[1] > levels[0])
    at = sides[above][0] + angle[int(np.argmax(lift))]
    edge = (sides[1][0][0] - sides[0][0][-1]) / 2
    first, last = float(at[0]), float(at[-1])
    inside: Mask = np.mod(FINE - (first - edge), TURN) <= last - first + 2 * edge
    return Rests(min(levels), max(levels), inside)


def _away(values: Array) -> Array:
    """Return how far the first k values are from their own median, all together, for every k, (n) to (n).

    Source: the half below the median and the half above it, each in a heap, and the sum of either.
    """
    below: list[float] = []  # negative, so that the greatest comes first
    above: list[float] = []
    low = high = 0.0
    found = []
    for value in values.tolist():
        pushed = heapq.heappushpop(above, value)
        low, high = low + pushed, high + value - pushed
        heapq.heappush(below, -pushed)
        if len(below) > len(above):
            back = -heapq.heappop(below)
            low, high = low - back, high + back
            heapq.heappush(above, back)
        odd = above[0] if len(above) > len(below) else 0.0  # the median itself
        found.append(high - odd - low)
    return np.array(found)
