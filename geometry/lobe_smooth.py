"""The smoothest periodic curve through noisy readings, as a Fourier series.

Least squares of the readings plus a penalty on the curve's third derivative, which may weigh more at one
angle than at another, and on its slope where it is known to be flat:

    sum (y - f)^2  +  strength * ( ∫ weight f'''^2  +  FLAT ∫ over the heel f'^2 )

The strength comes from the readings alone, by generalized cross-validation.

Sources: P. Craven, G. Wahba, Numer. Math. 31 (1979) 377 (generalized cross-validation); the inflation of
the degrees of freedom by 1.2 to 1.4 against overfitting: Y.-J. Kim, C. Gu, J. R. Statist. Soc. B 66 (2004)
337. Both from memory; held against known curves in the tests.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from tallstack.geometry.frames import Array
from tallstack.geometry.lobe_readings import Mask

TURN = 2 * np.pi
HARMONICS = 60  # half a wave is 3 degrees of cam: finer than any ramp
FINE = TURN * np.arange(720) / 720  # rad of cam, on which penalties are added up
STRENGTHS = 10.0 ** np.arange(-14, 8.1, 0.25)
INFLATION = 1.2
MOST_SHARE = 0.7  # of the readings that may be used up by the curve
CLIP = 4.0  # typical residuals beyond which one counts no more
FLAT = 1e6  # how much more a slope on the heel costs than roughness does
SMALLEST = 1e-12  # share of the penalty put on the mean, to make it definite


class Smooth(NamedTuple):
    """A penalised fit, and what each reading had to do with it."""

    coefficients: Array  # (1 + 2 harmonics): mean, cosines, sines
    fitted: Array  # (readings)
    leverage: Array  # (readings) share of a reading in its own fitted value
    spread: Array  # (1 + 2 harmonics, same): for noise of 1 mm, S S^T is the coefficients' covariance
    carried: Array  # the same, of the readings' noise alone, without what the penalty holds back


def columns(angle: Array, order: int = 0) -> Array:
    """Return the series' terms at angles (n) [rad], or their derivatives: (n, 1 + 2 harmonics)."""
    multiple = np.arange(1, HARMONICS + 1)
    turned = angle[:, None] * multiple + order * np.pi / 2
    scale = multiple.astype(float) ** order
    mean = np.full((len(angle), 1), 1.0 if order == 0 else 0.0)
    return np.hstack([mean, np.cos(turned) * scale, np.sin(turned) * scale])


@cache
def on_fine(order: int) -> Array:
    """Return `columns` on FINE."""
    return columns(FINE, order)


def penalty(weight: Array, flat: Mask) -> Array:
    """Return the penalty matrix for a weight of roughness, and a mask of where the curve is flat, on FINE."""
    jerks, slopes = on_fine(3), on_fine(1)
    rough: Array = jerks.T @ (weight[:, None] * jerks)
    scale = float(np.median(np.diag(rough)))
    if flat.any():
        held = slopes[flat].T @ slopes[flat]
        rough = rough + FLAT * 1e-3 * scale / float(np.median(np.diag(held))) * held
    rough = rough / scale
    rough[0, 0] += SMALLEST
    return rough


def weights(jerk: Array) -> Array:
    """Return how much roughness weighs on FINE where a first fit had this third derivative.

    Where a curve bends sharply it may bend; where it was calm it must stay calm.
    """
    multiple = np.arange(len(FINE) // 2 + 1)
    blurred = np.fft.irfft(np.fft.rfft(jerk**2) * np.exp(-0.5 * (multiple * np.radians(6)) ** 2), len(FINE))
    size = np.sqrt(np.maximum(blurred, 0.0))
    weight = 1 / (0.1 * float(size.max()) + size + 1e-30)
    return np.asarray(weight / weight.mean())


def smoothest(design: Array, lift: Array, real: Mask, rough: Array) -> Smooth:
    """Return the fit whose strength of penalty the readings themselves choose.

    design : (n, terms) of `columns`;  lift : (n) mm;  real : (n) false where a row is no reading
    rough : the penalty's matrix
    """
    inverse = np.linalg.inv(np.linalg.cholesky(rough))
    turned = design @ inverse.T
    size, vectors = np.linalg.eigh(turned.T @ turned)
    size = np.maximum(size, 0.0)
    own = turned @ vectors
    along = own.T @ lift
    shrunk = 1 / (size[:, None] + STRENGTHS)
    leverage = own[real] ** 2 @ shrunk
    left = (lift[:, None] - own @ (along[:, None] * shrunk))[real]
    share = leverage.mean(axis=0)
    usable = share <= MOST_SHARE
    usable[-1] |= not usable.any()
    calmer = (1 - share) / (1 - INFLATION * np.minimum(share, MOST_SHARE))
    without = (left / np.maximum(1 - leverage, 1e-3) * calmer)[:, usable]
    typical = 1.4826 * np.median(np.abs(without), axis=0)
    score = np.minimum(without**2, (CLIP * float(typical.min())) ** 2).mean(axis=0)
    # The covariance is the one that counts the penalty as knowledge, so that it allows for bias.
    best = shrunk[:, usable][:, int(np.argmin(score))]
    return Smooth(
        coefficients=inverse.T @ (vectors @ (along * best)),
        fitted=own @ (along * best),
        leverage=(own**2) @ best,
        spread=inverse.T @ vectors * np.sqrt(best),
        carried=inverse.T @ vectors * (best * np.sqrt(size)),
    )
