"""The linear uncertainty budget of one answer.

Each entry with a stated doubt contributes its standard uncertainty times the derivative of the
answer; independent contributions add in squares.

Source: JCGM 100:2008, equation 10 (combined standard uncertainty), 4.3.7 (a half-width a of a
rectangular distribution has a/√3) and 6.2.1 (expanded uncertainty, here with k = 2).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

COVERAGE_FACTOR = 2.0


class Doubt(NamedTuple):
    """What was stated after ±: in mm, rad or plain, like the value it belongs to."""

    half_width: float
    sigmas: float | None = None  # None: half-width of a rectangular distribution; else that many sigma

    @property
    def standard(self) -> float:
        """The standard uncertainty."""
        return self.half_width / (math.sqrt(3.0) if self.sigmas is None else self.sigmas)


class Budget(NamedTuple):
    """One answer's doubt; its unit is the answer's."""

    standard: float
    shares: dict[str, float]  # entry → share of the variance, largest first
    undoubted: tuple[str, ...]  # entries that move the answer and have no stated doubt

    @property
    def expanded(self) -> float:
        """The expanded uncertainty with coverage factor 2, about 95 %."""
        return COVERAGE_FACTOR * self.standard


def budget(slopes: Mapping[str, float], doubts: Mapping[str, Doubt], moving: float) -> Budget:
    """Return the linear budget of an answer.

    slopes : entry → derivative of the answer;  doubts : entry → its doubt, where stated
    moving : an entry with |slope| above this moves the answer
    """
    squares = {
        entry: (slope * doubts[entry].standard) ** 2 for entry, slope in slopes.items() if entry in doubts
    }
    variance = math.fsum(squares.values())
    ranked = sorted(squares.items(), key=lambda item: (-item[1], item[0]))
    return Budget(
        standard=math.sqrt(variance),
        shares={entry: square / variance for entry, square in ranked if square > 0},
        undoubted=tuple(
            entry for entry, slope in slopes.items() if entry not in doubts and abs(slope) > moving
        ),
    )
