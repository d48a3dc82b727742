"""The smoothest lobe that has exactly the durations and the peak a timing card states.

Of all lifts that pass the stated points, rest on the heel and rise all the way to the nose and fall from
it, the one whose acceleration bends least, the integral of (d^4 lift / d angle^4)^2 being smallest:
a spline of seventh degree with a knot at each stated point. The same on both sides of its centreline, so that
only its rise is sought, with no slope and no odd derivative at the nose.

    lift                  peak
            .........●...........       ●: stated, kept exactly
        lift 2    ●     ●
        lift 1  ●         ●
    ──────────╯             ╰────────   tail: as long as the curve still rises all the way

The card says nothing below its lowest lift. The tail down to the heel is the longest on which the
smoothest curve does not turn back, 25 degrees of cam at most: the shape there is a guess, at the stated lifts it is not.

Source: minimum of a quadratic under linear equalities, by the null space of the equalities.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import comb, factorial
from typing import NamedTuple

import numpy as np
from tallstack.geometry.errors import GeometryError
from tallstack.geometry.frames import Array, array
from tallstack.geometry.lobe import TURN, Lobe

TERMS = 8  # of a piece: seventh degree
BENT = 4  # the derivative that is kept small
JOINED = 4  # derivatives from 0 that pass a knot unbroken by demand; the others follow
LONGEST = np.radians(360)  # of crank, above any check lift
TAILS = np.radians(np.geomspace(25, 1, 60))  # cam rad tried below the lowest stated lift, longest first
INNER, OUTER = np.sqrt(3 / 7 - 2 / 7 * np.sqrt(6 / 5)), np.sqrt(3 / 7 + 2 / 7 * np.sqrt(6 / 5))
NODES = np.array([-OUTER, -INNER, INNER, OUTER])  # Gauss and Legendre's four points, exact to seventh degree
SHARES = (18 + np.sqrt(30) * np.array([-1, 1, 1, -1])) / 36


_SCALES = np.array(
    [
        [factorial(n) / factorial(n - order) if n >= order else 0.0 for n in range(TERMS)]
        for order in range(TERMS)
    ]
)  # (order, power), what a power is multiplied by when it is derived so often


class Stated(NamedTuple):
    """How long a card says the lobe lifts past a check lift, about its centreline."""

    lift: float  # mm
    duration: float  # CRANK rad


class Pieces(NamedTuple):
    """A lift of polynomials between knots, zero outside, the centreline at cam angle 0."""

    knots: Array  # (n + 1) cam rad, ascending
    terms: Array  # (n, 8) mm, of the powers of the share of a piece

    def at(self, angle: Array, order: int) -> Array:
        """Return lift, or its first or second derivative, see `lobe.Curve`."""
        turned = np.mod(array(angle) + TURN / 2, TURN) - TURN / 2
        piece = np.clip(np.searchsorted(self.knots, turned, side="right") - 1, 0, len(self.terms) - 1)
        length = np.diff(self.knots)[piece]
        share = (turned - self.knots[piece]) / length
        terms = self.terms[:, order:] * _SCALES[order][order:]
        value: Array = terms[piece, -1]
        for power in range(TERMS - order - 2, -1, -1):
            value = value * share + terms[piece, power]
        value = value / length**order
        inside = (turned > self.knots[0]) & (turned < self.knots[-1])
        return np.where(inside, value, 0.0)


def card_lobe(peak: float, stated: Sequence[Stated]) -> Lobe:
    """Return the smoothest lobe of a card, its centreline and its nose at cam angle 0.

    peak : mm
    A GeometryError says in words where two of the numbers contradict each other.
    """
    return _card_lobe(float(peak), tuple(stated))


@lru_cache(maxsize=64)
def _card_lobe(peak: float, stated: tuple[Stated, ...]) -> Lobe:
    """Return the lobe of a card, which checks, valves and doubts all ask for.

    Raises:
        GeometryError: where two of the numbers contradict each other, in words.
    """
    said = impossible(peak, stated)
    if said is not None:
        raise GeometryError(said)
    rows = sorted(stated)
    if not rows:
        message = "a card needs at least one duration beside its peak lift"
        raise GeometryError(message)
    for tail in TAILS:
        found = _smoothest(peak, rows, float(tail))
        if _rises(found):
            return Lobe(found)
    low, high = min(zip(rows, rows[1:], strict=False), key=_steepness, default=(rows[0], rows[0]))
    message = (
        f"no smooth lobe lasts {_degrees(low)} at {low.lift:g} mm, {_degrees(high)} at {high.lift:g} mm and still "
        "rises all the way to its peak; look at these two again"
    )
    raise GeometryError(message)


def impossible(peak: float, stated: Sequence[Stated]) -> str | None:
    """Return which two numbers of a card contradict each other, in words, or None."""
    rows = sorted(stated)
    for row in rows:
        if not 0 < row.lift < peak:
            limit = "not above zero" if row.lift <= 0 else f"not below the peak lift of {peak:g} mm"
            return f"check lift {row.lift:g} mm is {limit}; one of the two is wrong"
        if row.duration <= 0:
            return f"at {row.lift:g} mm the lobe closes {-_degrees_of(row):g} degrees before it opens; exchange or correct the two events"
        if row.duration >= LONGEST * 2:
            return (
                f"duration {_degrees(row)} at {row.lift:g} mm is longer than the 720 degrees of a whole cycle"
            )
        if row.duration > LONGEST:
            return (
                f"duration {_degrees(row)} at {row.lift:g} mm leaves no heel, at most 360 degrees of crank do; "
                "are these degrees counted twice?"
            )
    for low, high in zip(rows, rows[1:], strict=False):
        if high.lift == low.lift and high.duration != low.duration:
            return f"durations {_degrees(low)} and {_degrees(high)} are both stated at {low.lift:g} mm"
        if high.lift > low.lift and high.duration >= low.duration:
            return (
                f"duration {_degrees(high)} at {high.lift:g} mm is not shorter than {_degrees(low)} at "
                f"{low.lift:g} mm; a lobe is narrower the higher it is looked at"
            )
    return None


def _degrees_of(row: Stated) -> float:
    return round(float(np.degrees(row.duration)), 6)


def _degrees(row: Stated) -> str:
    return f"{_degrees_of(row):g} degrees"


def _steepness(pair: tuple[Stated, Stated]) -> float:
    low, high = pair
    return (low.duration - high.duration) / (high.lift - low.lift) if high.lift > low.lift else np.inf


def _powers(share: Array, order: int) -> Array:
    """Return the powers of a share of a piece, or their derivatives: (...) to (..., 8)."""
    power = np.maximum(np.arange(TERMS) - order, 0)
    powers: Array = share[..., None] ** power * _SCALES[order]
    return powers


BEGINS = np.array(
    [_powers(array(0.0), order) for order in range(JOINED)]
)  # (order, power), at a piece's begin
ENDS = np.array([_powers(array(1.0), order) for order in range(JOINED)])
BEND = _powers((NODES + 1) / 2, BENT) * np.sqrt(SHARES)[:, None]  # (node, power)
BACKWARDS = np.array(
    [[comb(n, k) * (-1.0) ** k for k in range(TERMS)] for n in range(TERMS)]
)  # (1 - share)^n


def _smoothest(peak: float, rows: Sequence[Stated], tail: float) -> Pieces:
    """Return the spline through the stated points, with a tail of so many cam rad at either end."""
    flank = [(-row.duration / 4, row.lift) for row in sorted(set(rows))]
    points = [(flank[0][0] - tail, 0.0), *flank, (0.0, peak)]
    knots = np.array([angle for angle, _ in points])
    terms = _rise(np.diff(knots) / -knots[0], np.array([lift for _, lift in points]))
    fall = terms[::-1] @ BACKWARDS
    return Pieces(np.concatenate([knots, -knots[-2::-1]]), np.concatenate([terms, fall]))


def _rise(length: Array, lift: Array) -> Array:
    """Return the polynomials of the rise, (n, 8), the lift at its n + 1 knots given.

    length : (n)  of the pieces, as shares of the whole rise
    """
    count = len(length)
    per = length[:, None] ** -np.arange(
        BENT + 1.0
    )  # (piece, order): a derivative by the angle for one by the share
    demands = np.zeros((3 + (count - 1) * (1 + JOINED) + 3, count, TERMS))
    wanted = np.zeros(len(demands))
    demands[:3, 0] = BEGINS[:3] * per[0, :3, None]
    row = 3
    for knot in range(1, count):
        demands[row, knot], wanted[row] = BEGINS[0], lift[knot]
        joined = slice(row + 1, row + 1 + JOINED)
        demands[joined, knot] = BEGINS * per[knot, :JOINED, None]
        demands[joined, knot - 1] = -ENDS * per[knot - 1, :JOINED, None]
        row += 1 + JOINED
    demands[row, -1], wanted[row] = ENDS[0], lift[-1]
    demands[row + 1, -1], demands[row + 2, -1] = ENDS[1] * per[-1, 1], ENDS[3] * per[-1, 3]
    left = demands.reshape(len(demands), -1)
    scale = np.abs(left).max(axis=1)
    across, sizes, along = np.linalg.svd(left / scale[:, None])
    rank = int((sizes > sizes[0] * 1e-13).sum())
    exact = along[:rank].T @ ((across.T @ (wanted / scale))[:rank] / sizes[:rank])
    free = along[rank:].T
    bent = np.zeros((count, len(NODES), count, TERMS))
    for piece in range(count):
        bent[piece, :, piece] = BEND * (np.sqrt(length[piece]) * per[piece, BENT])
    bending = bent.reshape(-1, count * TERMS)
    terms: Array = exact - free @ np.linalg.lstsq(bending @ free, bending @ exact, rcond=None)[0]
    return terms.reshape(count, TERMS)


def _rises(found: Pieces) -> bool:
    """Say whether a lift rises all the way to the nose; it is the same on the other side."""
    slope = found.at(np.linspace(found.knots[0], 0.0, 801)[1:-1], 1)
    return bool((slope >= -1e-9 * slope.max()).all())
