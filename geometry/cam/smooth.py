"""The smoothest periodic curve through noisy readings, as a Fourier series.

Least squares of the readings plus a penalty on the curve's third derivative, which may weigh more at one
angle than at another, and on its slope where it is known to be flat:

    mean of (y - f)^2  +  strength * mean over the turn of ( weight f'''^2  +  FLAT f'^2 on the heel )

The strength comes from the readings alone, by generalized cross-validation, in which a degree of freedom
counts as 1.3: counted once, or judged by each reading's own share, a table of few readings has its least
score time and again where the curve passes through every reading of the lift and only the heel is left
to tell the noise.

Sources: P. Craven, G. Wahba, Numer. Math. 31 (1979) 377 (generalized cross-validation); the inflation of
the degrees of freedom by 1.2 to 1.4 against overfitting: Y.-J. Kim, C. Gu, J. R. Statist. Soc. B 66 (2004)
337. Both from memory; held against known curves in the tests.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..crank.heels import TURN
from .readings import Mask

HARMONICS = 60  # half a wave is 3 degrees of cam: finer than any ramp
FINE = TURN * np.arange(720) / 720  # rad of cam, on which penalties are added up
STRENGTHS = 10.0 ** np.arange(-12, 3.05, 0.1)  # rad^6
INFLATION = 1.3
LEAST_FREE = 0.02  # of the readings, after that inflation: the curve uses up three quarters of them at most
LEAST_LEFT = 1e-12  # of the sum of squares; less is rounding
TINY = 1e-30  # mm^2: where every lift that was kept is the same
SMALL = 32  # rows of a matrix that is inverted at once
FLAT = 3e9  # 1/rad^4, how much more a slope on the heel costs than roughness does
BLUR = np.radians(10)  # of cam: a first fit tells where the lobe bends no closer
CALM = 0.2  # of the sharpest bend: what the calmest part is allowed


class Smooth(NamedTuple):
    """A penalised fit, and what each reading had to do with it."""

    coefficients: Array  # (1 + 2 harmonics): mean, cosines, sines
    fitted: Array  # (readings)
    leverage: Array  # (readings) share of a reading in its own fitted value
    spread: Array  # (1 + 2 harmonics, same): for noise of 1 mm, S S^T is the coefficients' covariance
    carried: Array  # (1 + 2 harmonics, readings): the same, of the noise alone, without what the penalty holds back


def columns(angle: Array, harmonics: int = HARMONICS) -> Array:
    """Return the series' terms at angles (n) [rad]: (n, 1 + 2 harmonics)."""
    turned = angle[:, None] * np.arange(1, harmonics + 1)
    return np.hstack([np.ones((len(angle), 1)), np.cos(turned), np.sin(turned)])


def mean_columns(flat: Mask) -> Array:
    """Return the mean of `columns` over a mask on FINE: (1 + 2 harmonics)."""
    waves = np.fft.rfft(flat)[: HARMONICS + 1] / flat.sum()
    return np.concatenate([waves.real, -waves.imag[1:]])


def derivative(coefficients: Array, order: int) -> Array:
    """Return the coefficients of a series' derivative."""
    harmonics = len(coefficients) // 2
    waves = coefficients[1 : harmonics + 1] - 1j * coefficients[harmonics + 1 :]
    waves = waves * (1j * np.arange(1, harmonics + 1)) ** order
    return np.concatenate([[0.0], waves.real, -waves.imag])


def on_fine(coefficients: Array) -> Array:
    """Return a series on FINE."""
    harmonics = len(coefficients) // 2
    waves = np.zeros(len(FINE) // 2 + 1, dtype=complex)
    waves[0] = coefficients[0]
    waves[1 : harmonics + 1] = (coefficients[1 : harmonics + 1] - 1j * coefficients[harmonics + 1 :]) / 2
    return np.asarray(np.fft.irfft(waves * len(FINE), len(FINE)))


def blurred(curve: Array, width: float) -> Array:
    """Return a curve on FINE with a bell of this half-width drawn over it, rad."""
    multiple = np.arange(len(FINE) // 2 + 1)
    return np.asarray(np.fft.irfft(np.fft.rfft(curve) * np.exp(-0.5 * (multiple * width) ** 2), len(FINE)))


def penalty(weight: Array, flat: Mask, harmonics: int = HARMONICS) -> Array:
    """Return the penalty matrix for a weight of roughness, and a mask of where the curve is flat, on FINE.

    It is that of the coefficients without the mean, each times its multiple cubed: those of the third
    derivative, all of one size.
    """
    rough = _products(weight, harmonics)
    if not flat.any():
        return rough
    slower = np.tile(np.arange(1.0, harmonics + 1) ** -2, 2)
    return rough + FLAT * _products(flat.astype(float), harmonics) * slower[:, None] * slower


def _products(weight: Array, harmonics: int) -> Array:
    """Return the mean over FINE of a weight times a term's slope times another's, their multiples left out.

    Source: the product of two waves is half a wave of the difference of their multiples less or plus one of
    the sum, so that the transform of the weight holds them all.
    """
    waves = np.fft.rfft(weight) / (2 * len(weight))
    multiple = np.arange(1, harmonics + 1)
    less, more = multiple[:, None] - multiple, multiple[:, None] + multiple
    one, other = waves[np.abs(less)], waves[more]
    mixed = other.imag + np.sign(less) * one.imag
    products = np.empty((2 * harmonics, 2 * harmonics))
    products[:harmonics, :harmonics] = one.real - other.real
    products[harmonics:, harmonics:] = one.real + other.real
    products[:harmonics, harmonics:], products[harmonics:, :harmonics] = mixed, mixed.T
    return products


def weights(jerk: Array) -> Array:
    """Return how much roughness weighs on FINE where a first fit had this third derivative.

    Where a curve bends sharply it may bend; where it was calm it must stay calm.
    """
    size = np.sqrt(np.maximum(blurred(jerk**2, BLUR), 0.0))
    weight = 1 / (CALM * float(size.max()) + size + 1e-30)
    return np.asarray(weight / weight.mean())


def strength(design: Array, lift: Array, rough: Array) -> float:
    """Return how strong a penalty the readings themselves ask for [rad^6].

    design : (n, terms) of `columns`;  lift : (n) mm;  rough : the penalty's matrix

    Source: with K = X R^-1 X^T / n of the terms X and the penalty R, a strength s leaves s (K + s)^-1 y of
    the lifts y. By Cramer's rule y^T (K + s)^-1 y is a ratio of the determinants of K + s across y and of K + s,
    which the eigenvalues of both tell for every s at once; its slope is the sum of squares that is left.
    """
    off = lift - lift.mean()
    apart = _apart(design)[1] @ _triangle_inverse(array(np.linalg.cholesky(rough))).T
    across = apart - off[:, None] * (off @ apart / max(float(off @ off), TINY))
    if len(lift) < len(rough):
        apart, across = apart.T, across.T
    size, size_across = (
        np.maximum(np.linalg.eigvalsh(one.T @ one) / len(lift), 0.0) for one in (apart, across)
    )
    shares, shares_across = (STRENGTHS / (one[:, None] + STRENGTHS) for one in (size, size_across))
    left = np.exp(np.log(shares / shares_across).sum(axis=0)) * (1 + (shares - shares_across).sum(axis=0))
    used = (1 + (1 - shares).sum(axis=0)) / len(lift)
    free = np.maximum(1 - INFLATION * used, 0.0)
    usable = free > LEAST_FREE
    return float(STRENGTHS[usable][int(np.argmin(np.maximum(left, LEAST_LEFT)[usable] / free[usable] ** 2))])


def smoothed(design: Array, lift: Array, rough: Array, strong: float) -> Smooth:
    """Return the fit with a strength of penalty [rad^6], see `strength`."""
    middle, apart, cubes = _apart(design)
    mean, count = float(lift.mean()), len(lift)
    half = _triangle_inverse(array(np.linalg.cholesky(product(apart.T, apart) + count * strong * rough)))
    own = product(apart, half.T)
    carried = product(half.T, own.T) / cubes[:, None]
    terms = carried @ (lift - mean)
    spread = np.zeros((1 + len(rough), 1 + len(rough)))
    spread[0, 0] = 1 / np.sqrt(count)
    spread[1:, 1:] = half.T / cubes[:, None]
    spread[0, 1:] = -middle @ spread[1:, 1:]
    return Smooth(
        coefficients=np.concatenate([[mean - middle @ terms], terms]),
        fitted=own @ (own.T @ (lift - mean)) + mean,
        leverage=(own**2).sum(axis=1) + 1 / count,
        spread=spread,
        carried=np.concatenate([1 / count - (middle @ carried)[None, :], carried]),
    )


def product(one: Array, other: Array) -> Array:
    """Return a matrix product, by strips so small that no second thread is woken for them."""
    strip = max(SMALL**3 * 8 // other.size, 1)
    return np.concatenate([one[begins : begins + strip] @ other for begins in range(0, len(one), strip)])


def _apart(design: Array) -> tuple[Array, Array, Array]:
    """Return the middle of the terms without the mean, the terms about it in the penalty's own size, and that."""
    cubes = np.tile(np.arange(1.0, design.shape[1] // 2 + 1) ** 3, 2)
    middle: Array = design[:, 1:].mean(axis=0)
    return middle, (design[:, 1:] - middle) / cubes, cubes


def _triangle_inverse(low: Array) -> Array:
    """Return the inverse of a lower triangle, by halves so small that no second thread is woken for them."""
    if len(low) <= SMALL:
        return array(np.linalg.inv(low))
    half = len(low) // 2
    one, other = _triangle_inverse(low[:half, :half]), _triangle_inverse(low[half:, half:])
    inverse = np.zeros_like(low)
    inverse[:half, :half], inverse[half:, half:] = one, other
    inverse[half:, :half] = -other @ (low[half:, :half] @ one)
    return inverse
