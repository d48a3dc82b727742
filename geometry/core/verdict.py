"""Whether an answer meets its limits, and whether its doubt lets one say so."""

from __future__ import annotations

from enum import Enum
from typing import TypeVar

NOTHING = 1e-9  # of any unit: rounding
V = TypeVar("V", "Verdict", "Verdict | None")


class Verdict(Enum):
    """The four words."""

    OK = "ok"  # met by more than the answer's own doubt
    TIGHT = "tight"  # met, by less than that doubt
    SHORT = "short"  # missed
    UNPROVED = "unproved"  # met on paper, but an entry that moves the answer has no doubt stated


def at_best_unproved(verdict: V) -> V | Verdict:
    """Return the verdict where something stands against it: met on paper at best."""
    return Verdict.UNPROVED if verdict in (Verdict.OK, Verdict.TIGHT) else verdict


def judge(value: float, least: float | None, most: float | None, doubt: float, proved: bool) -> Verdict:
    """Return the verdict on a value between two limits, either of which may be absent.

    value, least, most : in one unit;  doubt : expanded uncertainty in it
    proved : every entry that moves the value carries a stated doubt
    """
    margin = _margin(value, least, most)
    if not margin >= -NOTHING:
        return Verdict.SHORT
    if not proved:
        return Verdict.UNPROVED
    return Verdict.OK if margin > doubt + NOTHING else Verdict.TIGHT


def misses(value: float, least: float | None, most: float | None) -> bool:
    """Say whether a value misses one of two limits, either of which may be absent."""
    return _margin(value, least, most) < -NOTHING


def _margin(value: float, least: float | None, most: float | None) -> float:
    """Return by how much a value keeps its limits; endless where there are none."""
    margins = [value - least] if least is not None else []
    margins += [most - value] if most is not None else []
    return min(margins, default=float("inf"))


def worst(*verdicts: Verdict) -> Verdict:
    """Return the verdict on something that holds only where all of several hold."""
    return next(
        one for one in (Verdict.SHORT, Verdict.UNPROVED, Verdict.TIGHT, Verdict.OK) if one in verdicts
    )
