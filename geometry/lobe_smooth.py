"""The smoothest periodic curve through noisy readings, as a Fourier series.

Least squares of the readings plus a penalty on the curve's third derivative, which may weigh more at one
angle than at another, and on its slope where it is known to be flat:

    sum (y - f)^2  +  strength * mean over the turn of ( weight f'''^2  +  FLAT f'^2 on the heel )

The strength comes from the readings alone, by generalized cross-validation, in which a degree of freedom
counts as 1.4: counted once, a table of few readings now and then has its least score where the curve
passes through every reading of the lift and only the heel is left to tell the noise.

Sources: P. Craven, G. Wahba, Numer. Math. 31 (1979) 377 (generalized cross-validation); the inflation of
the degrees of freedom by 1.2 to 1.4 against overfitting: Y.-J. Kim, C. Gu, J. R. Statist. Soc. B 66 (2004)
337. Both from memory; held against known curves in the tests.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from tallstack.geometry.frames import Array
from tallstack.geometry.lobe_readings import Mask

TURN = 2 * np.pi
HARMONICS = 60  # half a wave is 3 degrees of cam: finer than any ramp
FINE = TURN * np.arange(720) / 720  # rad of cam, on which penalties are added up
STRENGTHS = 10.0 ** np.arange(-18, 4.1, 0.25)  # rad^6
INFLATION = 1.3
LEAST_FREE = 0.02  # of the readings, after that inflation: the curve uses up seven tenths of them at most
FLAT = 3e9  # 1/rad^4, how much more a slope on the heel costs than roughness does
BLUR = np.radians(10)  # of cam: a first fit tells where the lobe bends no closer
CALM = 0.2  # of the sharpest bend: what the calmest part is allowed
NOTHING = 1e-14  # of the largest eigenvalue, below which one is rounding


class Smooth(NamedTuple):
    """A penalised fit, and what each reading had to do with it."""

    coefficients: Array  # (1 + 2 harmonics): mean, cosines, sines
    fitted: Array  # (readings)
    leverage: Array  # (readings) share of a reading in its own fitted value
    base: Array  # (1 + 2 harmonics, directions): the curve's directions that the readings tell apart
    size: Array  # (directions) how much they say of each
    shrunk: Array  # (directions) 1 / (size + strength)

    @property
    def spread(self) -> Array:
        """(1 + 2 harmonics, directions): S of the coefficients' covariance S S^T for noise of 1 mm.

        It counts the penalty as knowledge, so that it allows for what the penalty holds back.
        """
        return self.base * np.sqrt(self.shrunk)

    @property
    def carried(self) -> Array:
        """The same, of the readings' noise alone."""
        return self.base * (np.sqrt(self.size) * self.shrunk)


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
    return np.block([[one.real - other.real, mixed], [mixed.T, one.real + other.real]])


def weights(jerk: Array) -> Array:
    """Return how much roughness weighs on FINE where a first fit had this third derivative.

    Where a curve bends sharply it may bend; where it was calm it must stay calm.
    """
    size = np.sqrt(np.maximum(blurred(jerk**2, BLUR), 0.0))
    weight = 1 / (CALM * float(size.max()) + size + 1e-30)
    return np.asarray(weight / weight.mean())


def smoothest(design: Array, lift: Array, real: Mask, rough: Array) -> Smooth:
    """Return the fit whose strength of penalty the readings themselves choose.

    design : (n, terms) of `columns`;  lift : (n) mm;  real : (n) false where a row is no reading
    rough : the penalty's matrix

    Source: in the penalty's own measure the fit shrinks each eigenvector by itself, whatever the strength.
    """
    count, harmonics = len(lift), len(rough) // 2
    cubes = np.tile(np.arange(1.0, harmonics + 1) ** 3, 2)
    middle, mean = design[:, 1:].mean(axis=0), float(lift.mean())
    half = np.linalg.inv(np.linalg.cholesky(rough)).T / cubes[:, None]
    turned = (design[:, 1:] - middle) @ half
    few = count < len(rough)
    size, axes = np.linalg.eigh(turned @ turned.T if few else turned.T @ turned)
    told = size > NOTHING * size[-1]
    size, axes = size[told], axes[:, told]
    if few:
        axes = turned.T @ axes / np.sqrt(size)
    own = turned @ axes
    along = own.T @ (lift - mean)
    shrunk = 1 / (size[:, None] + STRENGTHS)
    left = (lift - mean)[:, None] - own @ (along[:, None] * shrunk)
    used = 1 / count + (own[real] ** 2).mean(axis=0) @ shrunk
    free = np.maximum(1 - INFLATION * used, 0.0)
    usable = free > LEAST_FREE
    score = (left[real] ** 2).sum(axis=0)[usable] / free[usable] ** 2
    best = shrunk[:, usable][:, int(np.argmin(score))]
    curve = half @ axes
    terms = curve @ (along * best)
    base = np.zeros((1 + len(rough), 1 + len(size)))
    base[1:, 1:], base[0, 1:] = curve, -middle @ curve
    base[0, 0] = 1.0
    return Smooth(
        coefficients=np.concatenate([[mean - middle @ terms], terms]),
        fitted=own @ (along * best) + mean,
        leverage=own**2 @ best + 1 / count,
        base=base,
        size=np.concatenate([[count], size]),
        shrunk=np.concatenate([[1 / count], best]),
    )
