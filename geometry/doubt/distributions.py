"""Quantiles of Student's distribution and chances of the chi-squared.

Sources: `scipy.special`, loaded where a quantile is asked for, and the finite sums that a chi-squared distribution of whole
degrees of freedom has (Abramowitz and Stegun, Handbook of Mathematical Functions, 26.4.4 and 26.4.5, from memory); published
tables in the tests.
"""

from __future__ import annotations

import math


def student(share: float, free: float) -> float:
    """Return the value below which a share of Student's distribution lies; free : its degrees of freedom."""
    from scipy.special import stdtrit  # type: ignore[import-untyped, unused-ignore]

    return float(stdtrit(free, share))


def beyond(square: float, freedom: int) -> float:
    """Return the chance of a sum of squares of so many standard normal numbers beyond a value."""
    if freedom <= 0 or square <= 0.0:
        return 1.0
    if square == math.inf:
        return 0.0
    half, odd = square / 2, freedom % 2
    tail = math.erfc(math.sqrt(half)) if odd else 0.0
    powers = (place + odd / 2 for place in range(freedom // 2))
    parts = (math.exp(one * math.log(half) - half - math.lgamma(one + 1)) for one in powers)
    return min(tail + math.fsum(parts), 1.0)
