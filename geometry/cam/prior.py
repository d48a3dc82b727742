"""The most probable lobe of a timing card, by a prior over the terms of its flanks.

Each flank is a `Flank`. Its terms have a prior: mean and covariance over the flanks of 5,300 made-up lobes (textbook laws,
trapezoid and random pulses, bounded jerk, straight flanks; with and without ramps and dwells). The answer is the most
probable lobe that has every duration of the card exactly and every lift at an angle within its own ±, and the
covariance that these leave.

Unknown are the mean of the two flanks' terms and half their difference, 10 numbers each; durations say nothing of the second.

Sources: Gauss's least squares with correlated unknowns, the step of Newton at each round. The prior and the greater doubt
of a seat alone are calibrated on lobes that it was not taken from, see `tests/geometry/cam/test_prior.py`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.polynomial import legendre

from ..core.frames import Array, array
from .card import LEAST_ANGLE, RAMP_FADES_MM, RAMP_MM, Card
from .flank import TERMS, label_at, powers

MEAN = np.array([0.0, -0.100, 0.199, -0.209, -0.299, -0.363, -0.081, 0.128, 0.239, 0.277])
_LOWER = (
    (0.0623,),
    (0.0298, 0.0579),
    (-0.0164, 0.0112, 0.0787),
    (-0.0397, -0.0081, 0.0179, 0.0707),
    (-0.0390, -0.0467, -0.0040, 0.0473, 0.0890),
    (-0.0248, -0.0342, -0.0450, 0.0251, 0.0738, 0.1127),
    (0.0058, -0.0129, -0.0416, -0.0206, 0.0287, 0.0840, 0.1026),
    (0.0246, 0.0094, -0.0249, -0.0399, -0.0146, 0.0336, 0.0745, 0.0758),
    (0.0338, 0.0296, -0.0095, -0.0379, -0.0478, -0.0220, 0.0193, 0.0447, 0.0517),
)
FREE = 100.0  # variance of the scale, which the card alone decides
UNLIKE = np.array(
    [0.036, 0.073, 0.076, 0.070, 0.061, 0.093, 0.115, 0.105, 0.084, 0.071]
)  # half of a difference
SEAT_GAP, SEAT_FADES = np.radians(45), np.radians(30)  # crank, between a seat duration and the one above
SEAT_MORE = 0.3
TELLING = np.radians(1.0)  # cam: a lift that is known less well takes nothing of a seat's greater doubt away
ROUNDS = 100
STEP, WHOLE, HALF_FROM = 1.5, 1e-8, 20


def _prior() -> Array:
    found = np.zeros((2 * TERMS, 2 * TERMS))
    for row, numbers in enumerate(_LOWER, 1):
        found[row, 1 : row + 1] = found[1 : row + 1, row] = numbers
    found[0, 0] = FREE
    found[TERMS:, TERMS:] = np.diag(UNLIKE**2)
    return found


PRIOR = _prior()
ROOT = np.linalg.cholesky(PRIOR)
GAUSS, SUMS = legendre.leggauss(20)
HALVED, WEIGHTS = (GAUSS + 1) / 2, SUMS / 2


def sums(terms: Array, ends: Array) -> tuple[Array, Array]:
    """Return the integral of the pace over pieces between labels, and of the pace times each polynomial.

    terms : (..., 10);  ends : (n + 1) labels.  Returns (..., n) and (..., n, 10), cam rad.
    """
    length = np.diff(ends)
    table = powers(ends[:-1, None] + length[:, None] * HALVED)  # (n, 20, 10)
    return summed(terms, table, length)


def summed(terms: Array, table: Array, length: Array) -> tuple[Array, Array]:
    """Return the same from tables of the polynomials, (n, 20, 10), over lengths of the label (n)."""
    pieces, steps, _ = table.shape
    raised = terms @ table.reshape(-1, table.shape[-1]).T
    pace = np.exp(raised).reshape(*terms.shape[:-1], pieces, steps) * (WEIGHTS * length[:, None])
    return pace.sum(axis=-1), (pace[..., None, :] @ table)[..., 0, :]


def moved(growth: Array, halves: tuple[Array, Array], opening: bool) -> Array:
    """Return how an angle from the centreline moves with the terms' mean and half difference, (..., 20)."""
    apart, together = (halves[0] - halves[1]) / 2, (halves[0] + halves[1]) / 2
    if opening:
        return np.concatenate([growth - apart, growth - together], axis=-1)
    return np.concatenate([growth + apart, together - growth], axis=-1)


def pieces_of(card: Card) -> tuple[Array, Array, Array]:
    """Return the pieces between a card's durations, highest lift first: polynomials, lengths, cam rad that each lasts.

    Returns (n, 20, 10), (n) of the label and (n).
    """
    ends = np.concatenate([[0.0], label_at(array([one.lift for one in card.durations]), card.peak)])
    length = np.diff(ends)
    lasts = np.diff(array([one.duration / 4 for one in card.durations]), prepend=0.0)
    return powers(ends[:-1, None] + length[:, None] * HALVED), length, lasts


class Solved(NamedTuple):
    """The most probable terms of a card, and the rows that they were found from."""

    terms: Array  # (20,) mean and half difference
    rests: Array  # (rows,) what the prior misses the rows by
    rows: Array  # (rows, 20)
    covariance: Array  # (rows, rows) of the rows
    noise: Array  # (rows,) variance of each row by itself; nought of a duration, which a lobe has exactly
    angle_doubts: Array  # (lifts,) cam rad
    converged: bool

    @property
    def spread(self) -> Array:
        """What the card leaves open, (20, 20): the covariance of the terms that have its rows.

        Source: the prior along what the exact rows leave free, then the inverse of what noisy rows add to the identity:
        no difference of two large covariances, of which little would be left.
        """
        exact = self.noise == 0
        whole, _ = np.linalg.qr((self.rows[exact] @ ROOT).T, mode="complete")
        free = ROOT @ whole[:, int(exact.sum()) :]
        told = self.rows[~exact] @ free / np.sqrt(self.noise[~exact])[:, None]
        inverse = np.linalg.inv(np.eye(free.shape[1]) + told.T @ told)
        found: Array = free @ inverse @ free.T
        return (found + found.T) / 2

    @property
    def misfit(self) -> float:
        """Chi squared."""
        return float(self.rests @ np.linalg.solve(self.covariance, self.rests))


def most_probable(card: Card) -> Solved:
    """Return the most probable terms of a card, whose durations stand highest lift first.

    At each round the rows are taken as linear about the last terms.
    """
    peak = card.peak
    table, length, lasts = pieces_of(card)
    up_to = label_at(array([*(one.lift for one in card.lifts), card.halved or card.peak]), peak)
    lift_table = powers(up_to[:, None] * HALVED)
    at_lift = powers(up_to[:-1])
    sizes = np.array([abs(one.angle) for one in card.lifts])
    opens = np.array([one.opening for one in card.lifts], dtype=bool)
    lift_doubt, angle_doubt = (np.array([one[index] for one in card.lifts], dtype=float) for index in (2, 3))
    rate = 6 * card.peak * up_to[:-1] * (1 - up_to[:-1] ** 2) ** 2
    longest = lasts.sum()
    mean = np.concatenate([MEAN, np.zeros(TERMS)])
    mean[0] = np.log(lasts[0] / summed(MEAN, table[:1], length[:1])[0][0])
    terms, round_ = mean.copy(), 0
    while True:
        both = np.stack([terms[:TERMS] + terms[TERMS:], terms[:TERMS] - terms[TERMS:]])
        pieces, grown = summed(both, table, length)
        whole = pieces.mean(axis=0)
        rows = np.concatenate([grown[0] + grown[1], grown[0] - grown[1]], axis=-1) / 2 / whole[:, None]
        rests = np.log(lasts / whole)
        noise = np.zeros(len(rests))
        doubts = np.zeros(0)
        if card.lifts:
            until, growth = summed(both, lift_table, up_to)
            halves = growth[:, -1] if card.halved is not None else np.zeros((2, TERMS))
            apart = (until[0, -1] - until[1, -1]) / 2 if card.halved is not None else 0.0
            side = np.where(opens, 0, 1)
            at = np.arange(len(side))
            reached = until[side, at] - np.where(opens, apart, -apart)
            by = np.stack(
                [
                    moved(growth[one, index], (halves[0], halves[1]), bool(one == 0))
                    for index, one in enumerate(side)
                ]
            )
            speed = rate / np.exp((at_lift * both[side]).sum(axis=-1))
            doubts = np.maximum(np.hypot(lift_doubt / speed, angle_doubt), LEAST_ANGLE)
            rows = np.concatenate([rows, by / longest])
            rests = np.concatenate([rests, (sizes - reached) / longest])
            noise = np.concatenate([noise, (doubts / longest) ** 2])
        covariance = rows @ PRIOR @ rows.T + np.diag(noise)
        rests = rests + rows @ (terms - mean)
        step = mean + PRIOR @ rows.T @ np.linalg.solve(covariance, rests) - terms
        greatest = float(np.abs(step).max())
        if not np.isfinite(greatest):
            return Solved(terms, rests, rows, covariance, noise, doubts, False)
        if greatest < WHOLE or round_ >= ROUNDS:
            terms = terms + step
            return Solved(terms, rests, rows, covariance, noise, doubts, greatest < WHOLE)
        round_ += 1
        share = min(1.0, STEP / greatest) * (0.5 if round_ > HALF_FROM else 1.0)
        terms = terms + share * step


def ramp_factor(card: Card, angle_doubts: Array) -> float:
    """Return by how much variances are greater where a seat duration stands alone beside one other."""
    low = [one for one in card.durations if one.lift < RAMP_MM]
    higher = [one for one in card.durations if one.lift >= RAMP_MM]
    if card.hydraulic or len(low) != 1 or len(higher) != 1 or (angle_doubts <= TELLING).any():
        return 1.0
    gap = low[0].duration - higher[0].duration
    return 1 + SEAT_MORE * _smooth((gap - SEAT_GAP) / SEAT_FADES) * _smooth(
        (RAMP_MM - low[0].lift) / RAMP_FADES_MM
    )


def _smooth(share: float) -> float:
    x = min(max(share, 0.0), 1.0)
    return x * x * (3 - 2 * x)
