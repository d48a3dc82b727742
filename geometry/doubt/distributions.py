"""Quantiles and chances of Student's and of the chi-squared distribution, from a library that is loaded where one is asked for.

Source: `scipy.special`; published tables in the tests.
"""

from __future__ import annotations


def student(share: float, free: float) -> float:
    """Return the value below which a share of Student's distribution lies; free : its degrees of freedom."""
    from scipy.special import stdtrit  # type: ignore[import-untyped, unused-ignore]

    return float(stdtrit(free, share))


def beyond(square: float, freedom: int) -> float:
    """Return the chance of a sum of squares of so many standard normal numbers beyond a value."""
    if freedom <= 0:
        return 1.0
    from scipy.special import chdtrc  # type: ignore[import-untyped, unused-ignore]

    return float(chdtrc(freedom, square))
