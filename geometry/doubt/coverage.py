"""How many standard uncertainties to either side hold about 95 percent, when the doubt itself is known from few readings.

With endless degrees of freedom that is 2, of a normal distribution; with few it is Student's quantile for the same
share, 95.45 percent. Effective degrees of freedom count down to a whole number, never below one.

Source: JCGM 100:2008, G.4.1 and table G.2 (the factor), G.2b (the effective degrees of freedom after Welch and
Satterthwaite); Student's distribution for whole degrees of freedom in closed form after M. Abramowitz, I. A. Stegun,
Handbook of Mathematical Functions (1964), 26.7.3 and 26.7.4, from memory, held against a library in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

ENDLESS = 2.0
SHARE = math.erf(math.sqrt(2.0))  # within two standard deviations of a normal distribution
MANY = 2000  # degrees of freedom, from which on the factor is that of a normal distribution to a thousandth
HALVINGS = 60


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
    low, high = 0.0, math.pi / 2
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _within(middle, free) < share else (low, middle)
    return math.sqrt(free) * math.tan((low + high) / 2)


def _within(angle: float, free: int) -> float:
    """Return the share within the value whose tangent, over the root of the degrees of freedom, is that of an angle."""
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = free % 2
    term = cosine if odd else 1.0
    total = term if free > 1 else 0.0
    for step in range(3 if odd else 2, free - 1, 2):
        term *= cosine**2 * (step - 1) / step
        total += term
    return 2 / math.pi * (angle + sine * total) if odd else sine * total
