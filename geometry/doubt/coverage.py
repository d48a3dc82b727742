"""How many standard uncertainties to either side hold about 95 percent, when the doubt itself is known from few readings.

With endless degrees of freedom that is 2, of a normal distribution; with few it is Student's quantile for the same
share, 95.45 percent. Effective degrees of freedom count down to a whole number, never below one.

Source: JCGM 100:2008, G.4.1 and table G.2 (the factor), G.2b (the effective degrees of freedom after Welch and
Satterthwaite).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

ENDLESS = 2.0
SHARE = math.erf(math.sqrt(2.0))  # within two standard deviations of a normal distribution
MANY = 2000  # degrees of freedom, from which on the factor is that of a normal distribution to a thousandth


def effective(parts: Iterable[tuple[float, float]]) -> float:
    """Return the effective degrees of freedom of a combined uncertainty.

    parts : each contribution to it, and the degrees of freedom of that
    """
    known = [(part, free) for part, free in parts if part != 0.0]
    whole = math.fsum(part**2 for part, _ in known)
    below = math.fsum(part**4 / free for part, free in known)
    return math.inf if below == 0.0 else whole**2 / below


def coverage_factor(free: float) -> float:
    """Return the factor that turns a standard uncertainty into an expanded one, by its degrees of freedom."""
    return ENDLESS if free >= MANY else quantile(SHARE, max(1, math.floor(free)))


def quantile(share: float, free: int) -> float:
    """Return the value within which, to either side of nought, a share of Student's distribution lies."""
    from .distributions import student  # loaded where readings are few

    return student((1.0 + share) / 2.0, free)
