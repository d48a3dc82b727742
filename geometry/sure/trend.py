"""How fast a setting drifts from visit to visit, and how much further it goes before it misses its limit.

The least-squares line of the summed drifts against the distance, each reading with its own doubt and counted once:
what stands untouched from one visit to the next is one reading of one setting, and what is set anew begins another.
So the readings of each setting lie on a line of their own, all of one slope b:

    b = Σ w (x - x̄) y / Σ w (x - x̄)²,   w = 1/u², x̄ of each setting for itself,   u(b)² = 1 / Σ w (x - x̄)²

which is the generalised least-squares line of the summed drifts with all their covariances. Whether they lie on a line at
all is asked of the squares that are left. How far is left until a limit is a ratio of two doubtful numbers: both ends
of its interval after Fieller.

Source: C. F. Gauss and A. A. Markov (least variance), E. C. Fieller (1954, the ratio); JCGM 100:2008, 6.2.1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from ..doubt.coverage import ENDLESS
from ..doubt.distributions import beyond

LEAST = 3  # drifts after the first visit, from which on a rate is told
UNLIKELY = 0.05  # chance of squares as large as those that are left, below which no line is told


class Sighting(NamedTuple):
    """One reading of a setting."""

    at: float  # the distance, any unit
    value: float  # mm
    standard: float  # mm, above nought
    setting: int  # which one it is of: what was set anew is another


class Trend(NamedTuple):
    """How fast a setting drifts."""

    rate: float  # mm for a unit of distance
    standard: float
    chance: float  # of squares as large as those that are left, where it does drift evenly

    @property
    def is_even(self) -> bool:
        """Whether the drifts lie on a line."""
        return self.chance >= UNLIKELY

    @property
    def expanded(self) -> float:
        """The expanded uncertainty of the rate, about 95 %."""
        return ENDLESS * self.standard

    @property
    def is_shown(self) -> bool:
        """Whether it drifts at all, as far as these readings show."""
        return self.is_even and abs(self.rate) > self.expanded


def trend(seen: Sequence[Sighting]) -> Trend | None:
    """Return how fast a setting drifts, or None where no setting was read at two distances."""
    means = _means(seen)
    weight = _weight(seen, means)
    if weight <= 0.0:
        return None
    rate = math.fsum((one.at - means[one.setting][0]) * one.value / one.standard**2 for one in seen) / weight
    left = (
        (one.value - means[one.setting][1] - rate * (one.at - means[one.setting][0])) / one.standard
        for one in seen
    )
    freedom = len(seen) - len(means) - 1
    return Trend(rate, 1.0 / math.sqrt(weight), beyond(math.fsum(one**2 for one in left), freedom))


def further(
    found: Trend, seen: Sequence[Sighting], now: Sighting, limit: float
) -> tuple[float, float] | None:
    """Return how much further it is until a setting reaches its limit: at least, and at most.

    now   : how it stands; where it is one of those that were seen, its doubt counts once
    limit : mm, on the side to which it drifts
    Returns: two distances from there on, nought where it may be there already; None where no rate is shown
    """
    if not found.is_shown:
        return None
    means = _means(seen)
    shared = (now.at - means[now.setting][0]) * found.standard**2 if now in seen else 0.0
    square, margin = ENDLESS**2, limit - now.value
    first = found.rate**2 - square * found.standard**2
    middle = margin * found.rate + square * shared
    last = margin**2 - square * now.standard**2
    root = math.sqrt(max(middle**2 - first * last, 0.0))
    return max((middle - root) / first, 0.0), max((middle + root) / first, 0.0)


def _means(seen: Sequence[Sighting]) -> dict[int, tuple[float, float]]:
    """Return the weighted mean distance and value of each setting."""
    found = {}
    for setting in dict.fromkeys(one.setting for one in seen):
        here = [one for one in seen if one.setting == setting]
        whole = math.fsum(1.0 / one.standard**2 for one in here)
        found[setting] = (
            math.fsum(one.at / one.standard**2 for one in here) / whole,
            math.fsum(one.value / one.standard**2 for one in here) / whole,
        )
    return found


def _weight(seen: Sequence[Sighting], means: dict[int, tuple[float, float]]) -> float:
    return math.fsum(((one.at - means[one.setting][0]) / one.standard) ** 2 for one in seen)
