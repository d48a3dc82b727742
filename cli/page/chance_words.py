"""The chance of missing a limit, in words."""

from __future__ import annotations

from tallstack.geometry.doubt.result import Result, by_budget

from .wording import steady

CERTAIN = 3e-4  # a chance that no budget and no draws of the usual number tell from nought


def misses_of(one: Result) -> str:
    """Return the chance of missing a target as it is shown; empty where there is none."""
    if one.builds.missed is not None:
        share, error = one.builds.missed
        if share in (0.0, 1.0):
            return f"< {percent(error)}" if share == 0.0 else f"> {100.0 * (1.0 - error):.4g} %"
        return percent(share)
    by_the_budget = by_budget(one)
    if by_the_budget is None:
        return ""
    if CERTAIN <= by_the_budget <= 1.0 - CERTAIN:
        return percent(by_the_budget)
    return f"< {100 * CERTAIN:g} %" if by_the_budget < CERTAIN else f"> {100 * (1 - CERTAIN):g} %"


def least_sure(one: Result) -> float:
    """Return what sorts answers, the least sure first."""
    return -round(at_most(one), 9)


def at_most(one: Result) -> float:
    """Return the chance of missing a limit that an answer's draws leave open."""
    if one.builds.missed is None:
        return by_budget(one) or 0.0
    share, error = one.builds.missed
    return share or error


def percent(share: float) -> str:
    """Return a share with the digits that tell something."""
    percent = steady(100.0 * share)
    if percent < 0.005:
        return "0 %" if percent == 0.0 else f"{percent:.0e} %".replace("e-0", "e-")
    places = 0 if 10 <= percent < 99.5 else 1 if 1 <= percent < 10 else 2
    return f"{percent:.{places}f} %"
