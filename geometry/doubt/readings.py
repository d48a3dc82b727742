"""Checks made on the bench, laid beside the entries they depend on: both move until they agree.

A check says that what the entries foretell is what was read. Every quantity, the checks' own readings among them, is
known beforehand to its stated doubt; afterwards each stands where all of them together are most likely, and their
doubts hang together. What a check adds to the variance of anything is taken off once, however many ways it is used.

    x, P     quantities before, and their variances (a diagonal)
    r, J     by how much what is foretold is more than what was read, and its derivatives
    S        J P Jᵀ
    shift    P Jᵀ S⁻¹ v,  v = J·shift - r   after shift has settled
    P after  P - P Jᵀ S⁻¹ J P

A check is an equation without noise of its own: what is foretold less what was read is nothing, what was read being
a quantity with its doubt like any other. So a pushrod that was measured beside coordinates counts once, though the
length goes by it; and an instrument's zero is shared by checks and entries alike.

Draws after the checks are draws from before, corrected: each by the gain times what it misses the checks by. So
what no check touches keeps the shape that was stated for it.

Source: conditional normal distribution, its point of linearisation iterated (Gauss and Newton); the normalised
residual and the redundancy of a reading after W. Baarda, A testing procedure for use in geodetic networks (1968),
from memory, held against dropping the reading in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array
from ..core.ranking import ranked
from .budget import Doubt, moves
from .distributions import beyond

ROUNDS = 30
FREE = 6  # rounds before a step is shortened
MET = 0.02  # of a check's standard uncertainty
SETTLED = 1e-4  # of a standard uncertainty
NOTHING = 1e-12  # mm² or rad², variance of what nothing in doubt moves
FALSE = 0.03  # chance of accusing any of the readings where all are sound
UNLIKELY = 0.003  # chance of so much disagreement, below which a set is said to disagree
AS_WELL = 1.0  # standard uncertainties, by which an entry may stand out less and explain as well
THINKABLE = 100.0  # of its own standard uncertainty, by which an entry may be thought to be off
CHECKED = 0.8  # redundancy, from which on the others check a reading


class Row(NamedTuple):
    """One check at one state of the engine."""

    name: str
    excess: float  # what is foretold less what was read
    slopes: Mapping[str, float]  # quantity → derivative of that
    own: str  # quantity of what was read


class Judged(NamedTuple):
    """One check, before and after."""

    name: str
    own: str
    excess: float  # what the entries foretold less what was read
    before: float  # that in standard uncertainties
    after: float  # by how many of its own it stands out from all the others
    redundancy: float  # 0: nothing else tells it; 1: all others together tell it perfectly
    fixed: bool  # it has no doubt itself, or nothing that moves it has one: compared, and not used
    undoubted: tuple[str, ...] = ()  # what moves it and has no doubt


class Accused(NamedTuple):
    """A quantity that would explain a disagreement."""

    name: str
    error: float  # by which it would have to be off
    sigmas: float  # by how many of its own it stands out


class Tied(NamedTuple):
    """How doubts hang together after the checks."""

    names: tuple[str, ...]
    variances: Array  # (n) before
    across: Array  # (n, m) P Jᵀ
    inverse: Array  # (m, m) S⁻¹
    slopes: Array  # (m, n) J
    kept: Array  # (m) v

    def taken(self, slopes: Mapping[str, float]) -> tuple[float, dict[str, float]]:
        """Return by how much the checks lessen an answer's variance, and each quantity's part in that."""
        row = np.array([slopes.get(name, 0.0) for name in self.names])
        seen = row @ self.across
        part = row * (self.across @ (self.inverse @ seen))
        return float(part.sum()), {
            name: float(one) for name, one in zip(self.names, part, strict=True) if one != 0.0
        }

    def covariance(self, slopes: Mapping[str, float]) -> dict[str, float]:
        """Return how much an answer goes with each quantity, their covariance."""
        row = np.array([slopes.get(name, 0.0) for name in self.names])
        after = self.variances * row - self.across @ (self.inverse @ (row @ self.across))
        return dict(zip(self.names, after.tolist(), strict=True))

    def variance(self) -> dict[str, float]:
        """Return the variance of each quantity."""
        taken = np.einsum("ij,jk,ik->i", self.across, self.inverse, self.across)
        return dict(zip(self.names, np.maximum(self.variances - taken, 0.0).tolist(), strict=True))

    def drawn(self, off: Mapping[str, Array]) -> dict[str, Array]:
        """Return draws from before, (builds), as the checks leave them, from where the quantities then stand."""
        known = [name for name in self.names if name in off]
        if not known:
            return dict(off)
        place = [self.names.index(name) for name in known]
        before = np.stack([off[name] for name in known])
        lacking = self.slopes[:, place] @ before - self.kept[:, None]
        gain = self.across @ self.inverse
        moved = before - gain[place] @ lacking - (gain[place] @ self.kept)[:, None]
        return {**off, **dict(zip(known, moved, strict=True))}


def untied(doubts: Mapping[str, Doubt]) -> Tied:
    """Return doubts that do not hang together as ones that might."""
    names = tuple(name for name, doubt in doubts.items() if doubt.half_width > 0)
    variances = np.array([doubts[name].standard ** 2 for name in names])
    nothing = np.zeros((len(names), 0))
    return Tied(names, variances, nothing, np.zeros((0, 0)), nothing.T, np.zeros(0))


class Doubts(dict[str, Doubt]):
    """Doubts by quantity, with how they hang together; a mapping like any other to whom that is nothing."""

    def __init__(self, doubts: Mapping[str, Doubt], tied: Tied | None) -> None:
        super().__init__(doubts)
        self.tied = tied


class Fused(NamedTuple):
    """What the checks make of the quantities."""

    shift: dict[str, float]
    tied: Tied | None  # None: no check tells anything
    checks: tuple[Judged, ...]
    disagreement: float  # sum of squares in standard uncertainties
    freedom: int
    chance: float  # of so much or more where all is sound
    worst: Judged | None  # the check that stands out too far
    without: float | None  # chance of what is left where that one is dropped
    entries: tuple[Accused, ...]  # entries that would explain it as well


def fused(rows_at: Callable[[Mapping[str, float]], Sequence[Row]], doubts: Mapping[str, Doubt]) -> Fused:
    """Return what checks make of quantities.

    rows_at : shift of quantities → the checks there
    doubts  : quantity → its doubt; one that has none stays where it is

    A check that cannot be foretold, or checks that cannot be brought together, raise GeometryError.
    """
    names = tuple(name for name, doubt in doubts.items() if doubt.half_width > 0)
    variances = np.array([doubts[name].standard ** 2 for name in names])
    first = rows_at({})
    bare = [
        tuple(name for name, slope in row.slopes.items() if name not in doubts and moves({}, name, slope))
        for row in first
    ]
    live = [place for place, row in enumerate(first) if _moves(row, names, variances)]
    if not live:
        checks = tuple(
            Judged(row.name, row.own, row.excess, math.nan, math.nan, 0.0, True, each)
            for row, each in zip(first, bare, strict=True)
        )
        return Fused({}, None, checks, 0.0, 0, 1.0, None, None, ())
    tied, shift = _brought_together(first, live, names, variances, rows_at)
    told = _told(first, live, tied, dict(zip(names, shift.tolist(), strict=True)))
    checks = tuple(one._replace(undoubted=each) for one, each in zip(told.checks, bare, strict=True))
    return told._replace(checks=checks)


def _brought_together(
    first: Sequence[Row],
    live: Sequence[int],
    names: Sequence[str],
    variances: Array,
    rows_at: Callable[[Mapping[str, float]], Sequence[Row]],
) -> tuple[Tied, Array]:
    """Return how doubts hang together where quantities and checks agree, and the shift that it takes.

    Where they do not come together, as with a gross error far from where the model is straight, the first step tells
    which stands out; and where none does, there is no answer.

    Raises:
        GeometryError: where quantities and checks cannot be brought together, and none stands out.
    """
    shift, rows, part = np.zeros(len(names)), first, 1.0
    straight: tuple[Tied, Array] | None = None
    off = math.inf
    for turn in range(ROUNDS):
        _must_be_told(rows, live)
        slopes = _matrix([rows[place] for place in live], names)
        excess = np.array([rows[place].excess for place in live])
        across = variances[:, None] * slopes.T
        inverse: Array = np.linalg.pinv(slopes @ across, rcond=1e-12, hermitian=True).astype(np.float64)
        tied = Tied(tuple(names), variances, across, inverse, slopes, slopes @ shift - excess)
        moved = across @ (inverse @ tied.kept)
        if straight is None:
            straight = tied, moved
        settled = bool((np.abs(moved - shift) <= SETTLED * np.sqrt(variances)).all())
        if settled and _met(excess, slopes, variances):
            return tied, moved
        before, shift = off, shift + part * (moved - shift)
        try:
            rows = rows_at(dict(zip(names, shift.tolist(), strict=True)))
            _must_be_told(rows, live)
        except GeometryError:
            break
        off = float(np.abs([rows[place].excess for place in live]).max())
        if turn > FREE and off >= before:
            part /= 2.0  # it runs to and fro
    assert straight is not None
    told = _told(first, live, straight[0], dict(zip(names, straight[1].tolist(), strict=True)))
    if told.worst is None:
        message = "readings and entries cannot be brought together; look at the largest distances first"
        raise GeometryError(message)
    return straight


def _must_be_told(rows: Sequence[Row], live: Sequence[int]) -> None:
    """Refuse checks that are not numbers.

    Raises:
        GeometryError: naming the first of them.
    """
    for place in live:
        if not math.isfinite(rows[place].excess) or not np.isfinite(list(rows[place].slopes.values())).all():
            message = f"{rows[place].name}: the entries do not allow it to be worked out"
            raise GeometryError(message)


def _met(excess: Array, slopes: Array, variances: Array) -> bool:
    """Say whether the checks are met: what is left is nothing beside what their doubts allow."""
    spread = np.sqrt(np.maximum((slopes * slopes) @ variances, NOTHING))
    return bool((np.abs(excess) <= MET * spread).all())


def _moves(row: Row, names: Sequence[str], variances: Array) -> bool:
    """Say whether a check can be used: what was read has a doubt, and something that moves it has one."""
    if row.own not in names:
        return False
    size = sum(row.slopes.get(name, 0.0) ** 2 * one for name, one in zip(names, variances, strict=True))
    return bool(size > NOTHING)


def _matrix(rows: Sequence[Row], names: Sequence[str]) -> Array:
    return np.array([[row.slopes.get(name, 0.0) for name in names] for row in rows])


def _told(first: Sequence[Row], live: Sequence[int], tied: Tied, shift: dict[str, float]) -> Fused:
    """Return what the checks say of each other."""
    own = _matrix([first[place] for place in live], tied.names)
    spread = np.sqrt(np.maximum((own * own) @ tied.variances, 0.0))
    pull = tied.inverse @ tied.kept
    sharp = np.diag(tied.inverse)
    checks = [Judged(row.name, row.own, row.excess, math.nan, math.nan, 0.0, True) for row in first]
    for index, place in enumerate(live):
        row = first[place]
        noise = 0.0 if row.own not in tied.names else float(tied.variances[tied.names.index(row.own)])
        noise *= float(own[index][tied.names.index(row.own)]) ** 2 if noise else 0.0
        stands = -float(pull[index]) / math.sqrt(sharp[index]) if sharp[index] > 0 else 0.0
        checks[place] = Judged(
            row.name,
            row.own,
            row.excess,
            row.excess / float(spread[index]),
            stands,
            min(max(noise * float(sharp[index]), 0.0), 1.0),
            False,
        )
    square, freedom = float(tied.kept @ pull), len(live)
    chance = beyond(square, freedom)
    seen = [checks[place] for place in live]
    worst = ranked(seen, lambda one: abs(one.after))[0]
    from statistics import NormalDist  # loaded where readings are compared

    limit = NormalDist().inv_cdf(1.0 - (1.0 - (1.0 - FALSE) ** (1.0 / freedom)) / 2.0)
    if abs(worst.after) <= limit and chance >= UNLIKELY:
        return Fused(shift, tied, tuple(checks), square, freedom, chance, None, None, ())
    left = beyond(max(square - worst.after**2, 0.0), freedom - 1) if freedom > 1 else None
    row = next(row for row in first if row.name == worst.name)
    entries = _entries(tied, shift, row, abs(worst.after))
    return Fused(shift, tied, tuple(checks), square, freedom, chance, worst, left, entries)


def _entries(tied: Tied, shift: Mapping[str, float], row: Row, least: float) -> tuple[Accused, ...]:
    """Return the entries of a check that explain a disagreement as well as its own reading does, the best first.

    The error that would explain it is what it moved by over the share of its own variance that the checks tell.
    """
    told = np.einsum("ij,jk,ik->i", tied.across, tied.inverse, tied.across)
    found = [
        Accused(name, shift[name] * float(variance) / one, shift[name] / math.sqrt(one))
        for name, one, variance in zip(tied.names, told.tolist(), tied.variances, strict=True)
        if one > NOTHING and not name.startswith("reading.") and moves({}, name, row.slopes.get(name, 0.0))
    ]
    scale = {name: math.sqrt(float(one)) for name, one in zip(tied.names, tied.variances, strict=True)}
    as_well = [
        one
        for one in found
        if one.name != row.own
        and abs(one.sigmas) >= least - AS_WELL
        and abs(one.error) <= THINKABLE * scale[one.name]
    ]
    return tuple(ranked(as_well, lambda one: abs(one.sigmas)))
