"""The linear uncertainty budget of one answer.

Each entry with a stated doubt contributes its standard uncertainty times the derivative of the
answer; independent contributions add in squares.

One instrument, one zero: every length that was read with an instrument moves with that instrument's zero as one
quantity, `instrument.NAME.zero`, besides its own reading's doubt; so sums carry it twice and differences not at
all, without a table of correlations.

Source: JCGM 100:2008, equation 10 (combined standard uncertainty), 4.3.7 (a half-width a of a
rectangular distribution has a/√3), 4.2.3 (the mean of repeated readings) and 6.2.1 (expanded
uncertainty, its factor from `coverage`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from ..core.frames import array
from ..core.mapping import Flat
from ..core.ranking import ranked
from .coverage import coverage_factor, effective

SHOWS = 1e-3  # of an answer's own unit
OFF = 0.05  # mm, rad or plain, by which an entry without a doubt may be off
OFF_K = 5.0
OFF_SHARE = 0.01  # of what is neither a length nor an angle
TEMPERATURES = ("running.cold", "running.hot_")
OTHERS = (
    "running.speed",
    "running.pressure",
    "running.altitude",
    "running.cranking",
    "mass",
    "volume",
    "_area",
    "modulus",
    ".force",
    ".rate",
    "expansion",
)
FACTOR = 2.0  # of the expanded uncertainty, where nothing rests on few readings


class Doubt(NamedTuple):
    """What was stated after ±: in mm, rad or plain, like the value it belongs to."""

    half_width: float
    sigmas: float | None = None  # None: half-width of a rectangular distribution; else that many sigma
    freedom: float = math.inf  # degrees of freedom: how well the doubt itself is known

    @property
    def standard(self) -> float:
        """The standard uncertainty."""
        return self.half_width / (math.sqrt(3.0) if self.sigmas is None else self.sigmas)


class Budget(NamedTuple):
    """One answer's doubt; its unit is the answer's."""

    standard: float
    shares: dict[str, float]  # entry → share of the variance, largest first
    undoubted: tuple[str, ...]  # entries that move the answer and have no stated doubt
    freedom: float = math.inf  # effective degrees of freedom
    upward: float | None = None  # the expanded uncertainty towards more, where it is another

    @property
    def expanded(self) -> float:
        """The expanded uncertainty, about 95 %: coverage factor 2, or more where readings are few."""
        return coverage_factor(self.freedom) * self.standard

    def widened(self, more: float) -> Budget:
        """Return it with another independent standard uncertainty, of endless degrees of freedom."""
        standard = math.hypot(self.standard, more)
        grown = math.inf if self.standard == 0.0 else self.freedom * (standard / self.standard) ** 4
        upward = None if self.upward is None else math.hypot(self.upward, FACTOR * more)
        return self._replace(standard=standard, freedom=grown, upward=upward)

    def with_part(self, entry: str, below: float, above: float) -> Budget:
        """Return it with another independent contribution that reaches further one way, and its share.

        below, above : how far it reaches either way, about 95 %
        """
        whole = self.widened(below / FACTOR)
        if whole.standard == 0.0:
            return whole._replace(upward=above)
        kept = (self.standard / whole.standard) ** 2
        parts = {entry: 1 - kept, **{name: share * kept for name, share in self.shares.items()}}
        before = self.expanded if self.upward is None else self.upward
        return whole._replace(
            shares=dict(ranked(parts.items(), lambda item: max(item[1], 0.0))),
            upward=math.hypot(before, above),
        )


def moves(mapping: Flat, entry: str, slope: float, shows: float = SHOWS) -> bool:
    """Say whether an entry to which nobody gave a doubt moves an answer: it could be off by what shows.

    slope : derivative of the answer, its unit per mm, rad or what the entry counts in
    shows : of the answer's own unit
    """
    if entry.startswith(TEMPERATURES):
        return abs(slope) * OFF_K > shows
    value = mapping.get(entry)
    if any(part in entry for part in OTHERS) and value is not None and not isinstance(value, (str, tuple)):
        return abs(slope) * OFF_SHARE * abs(float(array(value))) > shows
    return abs(slope) * OFF > shows


def budget(
    slopes: Mapping[str, float], doubts: Mapping[str, Doubt], mapping: Flat, shows: float = SHOWS
) -> Budget:
    """Return the linear budget of an answer.

    slopes  : entry → derivative of the answer
    doubts  : entry → its doubt, where stated; where checks tie them together a share may be below nought
    mapping : the engine, for by how much what has no doubt may be off
    shows   : of the answer's own unit: what moves it by no more, where its doubt is not stated, does not count
    What moves an answer nobody knows how far, its derivative NaN, counts as entered without a doubt.
    """
    untold = [entry for entry, slope in slopes.items() if math.isnan(slope)]
    slopes = {entry: slope for entry, slope in slopes.items() if not math.isnan(slope)}
    squares = {
        entry: (slope * doubts[entry].standard) ** 2 for entry, slope in slopes.items() if entry in doubts
    }
    tied = getattr(doubts, "tied", None)  # see `readings`
    if tied is not None:
        _, taken = tied.taken(slopes)
        squares = {entry: square - taken.get(entry, 0.0) for entry, square in squares.items()}
    variance = max(math.fsum(squares.values()), 0.0)
    sizes = ranked(squares.items(), lambda item: max(item[1], 0.0))
    return Budget(
        standard=math.sqrt(variance),
        shares={entry: square / variance for entry, square in sizes if square != 0 and variance > 0},
        undoubted=(
            *(
                entry
                for entry, slope in slopes.items()
                if entry not in doubts and moves(mapping, entry, slope, shows)
            ),
            *untold,
        ),
        freedom=effective(
            (math.sqrt(max(square, 0.0)), doubts[entry].freedom) for entry, square in squares.items()
        ),
    )


def repeated(readings: Sequence[float]) -> tuple[float, Doubt]:
    """Return the mean of repeated readings, two or more, and its doubt as their scatter tells it."""
    count = len(readings)
    mean = math.fsum(readings) / count
    scatter = math.sqrt(math.fsum((one - mean) ** 2 for one in readings) / (count - 1))
    return mean, Doubt(scatter / math.sqrt(count), 1.0, count - 1.0)
