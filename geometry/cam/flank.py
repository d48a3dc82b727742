"""One flank of a lobe: the simple curve (1 - x²)³ with its angle axis stretched by a positive pace.

    label  w   0 at the nose, 1 where the heel begins
    lift       peak (1 - w²)³
    angle      ∫ pace dw from 0 to w                     cam rad from the nose
    pace       exp(Σ c_k P_k(2w - 1)), k = 0..9          P_k: Legendre's polynomials

The pace is positive whatever the terms c are, so that the lift falls from nose to heel without exception, has no slope at
the nose and leaves the heel without lift, slope or bend. The label against the angle is tabulated once, a fifth
degree between two labels of the table, so that lift, slope and bend are those of one and the same curve.

Source: integrals by Gauss and Legendre's sums, Hermite's interpolation with the derivatives of the pace.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from ..core.frames import Array, array

TERMS = 10
CELLS = 64
TOGETHER = 1000  # flanks whose tables are worked out together
NODES, WEIGHTS = legendre.leggauss(6)
LABELS = np.arange(CELLS + 1) / CELLS


def powers(label: Array) -> Array:
    """Return the polynomials P_0 to P_9 at labels: (...) to (..., 10)."""
    return np.asarray(legendre.legvander(2 * array(label) - 1, TERMS - 1), dtype=np.float64)


INSIDE = powers((LABELS[:-1, None] + (NODES + 1) / (2 * CELLS)).ravel())  # (CELLS * 6, 10)
SUMMED = INSIDE.reshape(CELLS, len(NODES), TERMS)
SHARES = WEIGHTS / (2 * CELLS)
AT_EDGES = powers(LABELS)
SLOPES = np.stack(
    [legendre.legval(2 * LABELS - 1, 2 * legendre.legder(one)) for one in np.eye(TERMS)], axis=-1
)  # (CELLS + 1, 10), of each polynomial by the label
# Hermite's fifth degree, from value, slope and bend at 0 and the same at 1, to the powers of the share.
FIFTH = np.array(
    [
        [1, 0, 0, 0, 0, 0],
        [0, 1, 0, 0, 0, 0],
        [0, 0, 0.5, 0, 0, 0],
        [-10, -6, -1.5, 10, -4, 0.5],
        [15, 8, 1.5, -15, 7, -1],
        [-6, -3, -0.5, 6, -3, 0.5],
    ]
)


def label_at(lift: Array, peak: float) -> Array:
    """Return the label of a lift, nought to the peak."""
    share = np.clip(array(lift) / peak, 0.0, 1.0)
    found: Array = np.sqrt(1 - np.cbrt(share))
    return found


def lift_of(label: Array, peak: float) -> Array:
    """Return the lift of a label."""
    rest = 1 - label * label
    found: Array = peak * (rest * rest * rest)  # a power takes ten times as long as products
    return found


class Flank(NamedTuple):
    """One flank."""

    peak: float  # mm
    terms: Array  # (10)
    edges: Array  # (CELLS + 1) cam rad from the nose, of the table's labels
    inside: Array  # (CELLS, 6), of the label, to powers of the share of a cell
    grown: Array  # (CELLS + 1, 10) cam rad, what the angle of each label of the table grows by with each term

    @property
    def heel(self) -> float:
        """Cam rad from nose to heel."""
        return float(self.edges[-1])

    def pace(self, label: Array) -> Array:
        """Return the pace at labels (...) [cam rad]."""
        found: Array = np.exp((powers(label) * self.terms).sum(axis=-1))
        return found

    def label(self, angle: Array, order: int = 0) -> Array:
        """Return the label at cam angles (...) from the nose, or a derivative by the angle; 1 on the heel."""
        # `np.clip` takes twice as long.
        cell = np.minimum(np.maximum(np.searchsorted(self.edges, angle, side="right") - 1, 0), CELLS - 1)
        begin, end = self.edges[cell], self.edges[cell + 1]
        value = _derived(self.inside[cell], (angle - begin) / (end - begin), order) / (end - begin) ** order
        return np.where(angle < self.heel, value, 1.0 if order == 0 else 0.0)

    def lift(self, angle: Array, order: int = 0) -> Array:
        """Return the lift at cam angles (...) from the nose, or its first or second derivative by that angle [mm]."""
        return _lift(self, array(angle), order)

    def growth(self, label: Array) -> Array:
        """Return what the angle of labels (...) grows by with each term, (..., 10) [cam rad]; of one flank."""
        cell = np.minimum((label * CELLS).astype(int), CELLS - 1)
        share = (label * CELLS - cell)[..., None]
        slope = np.exp(AT_EDGES @ self.terms)[:, None] * AT_EDGES / CELLS
        before, after = self.grown[cell], self.grown[cell + 1]
        rise = after - before
        bend, twist = slope[cell] - rise, rise - slope[cell + 1]
        found: Array = before + share * rise + share * (1 - share) * (bend * (1 - share) + twist * share)
        return found

    def speed(self, label: Array) -> Array:
        """Return how fast the lift falls along the angle at labels (...) [mm per cam rad]."""
        found: Array = 6 * self.peak * label * (1 - label**2) ** 2 / self.pace(label)
        return found


class Flanks(NamedTuple):
    """Many flanks of one peak, of which few angles are asked: a cell's powers are worked out where it is met."""

    peak: float  # mm
    terms: Array  # (N, 10)
    edges: Array  # (N, CELLS + 1) as of one
    first: Array  # (N, CELLS + 1) of the label there, by the angle
    second: Array  # (N, CELLS + 1)

    def pick(self, index: NDArray[np.intp]) -> Flanks:
        """Return some of them."""
        return self._replace(
            terms=self.terms[index],
            edges=self.edges[index],
            first=self.first[index],
            second=self.second[index],
        )

    def label(self, angle: Array, order: int = 0) -> Array:
        """Return the labels at cam angles (..., N) or (..., 1), as of one; (..., N)."""
        shape = np.broadcast_shapes(np.shape(angle), self.edges.shape[:-1])
        angle = np.broadcast_to(angle, shape)
        cell = (angle[..., None] >= self.edges[:, 1:-1]).sum(axis=-1)
        flank = np.arange(len(self.edges))
        begin, end = self.edges[flank, cell], self.edges[flank, cell + 1]
        ends = ((self.first[flank, at], self.second[flank, at]) for at in (cell, cell + 1))
        terms = _powers((LABELS[cell], LABELS[cell + 1]), ends, end - begin)
        value = _derived(terms, (angle - begin) / (end - begin), order) / (end - begin) ** order
        return np.where(angle < self.edges[:, -1], value, 1.0 if order == 0 else 0.0)

    def lift(self, angle: Array, order: int = 0) -> Array:
        """Return the lifts at cam angles (..., N) or (..., 1), or a derivative, as of one; (..., N) [mm]."""
        return _lift(self, array(angle), order)


def _lift(side: Flank | Flanks, angle: Array, order: int) -> Array:
    w = side.label(angle)
    if order == 0:
        return lift_of(w, side.peak)
    first, rest = side.label(angle, 1), 1 - w**2
    if order == 1:
        return -6 * side.peak * w * rest**2 * first
    bent: Array = 6 * side.peak * rest * ((5 * w**2 - 1) * first**2 - w * rest * side.label(angle, 2))
    return bent


def _derived(terms: Array, share: Array, order: int) -> Array:
    """Return the value of polynomials, (..., 6), at shares of their cells, or a derivative by the share."""
    for _ in range(order):
        terms = terms[..., 1:] * np.arange(1.0, terms.shape[-1])
    value = terms[..., -1]
    for power in range(terms.shape[-1] - 2, -1, -1):
        value = value * share + terms[..., power]
    return value


def _powers(labels: tuple[Array, Array], ends: Iterable[tuple[Array, Array]], length: Array) -> Array:
    """Return the powers of cells' shares, (..., 6), from label, slope and bend at either end and their lengths (...)."""
    known = [
        one
        for label, (first, second) in zip(labels, ends, strict=True)
        for one in (np.broadcast_to(label, length.shape), first * length, second * length**2)
    ]
    found: Array = np.stack(known, axis=-1) @ FIFTH.T
    return found


def flank(peak: float, terms: Array) -> Flank:
    """Return the flank of a peak [mm] and its terms (10), its table worked out."""
    pace, edges, first, second = _table(terms)
    ends = ((first[:-1], second[:-1]), (first[1:], second[1:]))
    inside = _powers((LABELS[:-1], LABELS[1:]), ends, np.diff(edges))
    grown = np.zeros((CELLS + 1, TERMS))
    grown[1:] = np.cumsum((pace[..., None] * SUMMED).sum(axis=-2), axis=-2)
    return Flank(peak, terms, edges, inside, grown)


def flanks(peak: float, terms: Array) -> Flanks:
    """Return the flanks of a peak [mm] and their terms (N, 10)."""
    some = np.array_split(terms, -(-len(terms) // TOGETHER) or 1)
    tables = [_table(one)[1:] for one in some]
    edges, first, second = (np.concatenate(one) for one in zip(*tables, strict=True))
    return Flanks(peak, terms, edges, first, second)


def _table(terms: Array) -> tuple[Array, Array, Array, Array]:
    """Return the pace within the cells of flanks (..., 10), (..., CELLS, 6), where the cells end, and the label's derivatives there."""
    pace = np.exp(terms @ INSIDE.T).reshape(*terms.shape[:-1], CELLS, len(NODES)) * SHARES
    edges = np.concatenate([np.zeros((*terms.shape[:-1], 1)), np.cumsum(pace.sum(axis=-1), axis=-1)], axis=-1)
    at = np.exp(terms @ AT_EDGES.T)
    return pace, edges, 1 / at, -(terms @ SLOPES.T) / at**2
