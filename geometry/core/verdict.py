"""Whether an answer meets its limits, and whether its doubt lets one say so."""

from __future__ import annotations

from enum import Enum
from typing import TypeVar

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
    margins = [value - least] if least is not None else []
    margins += [most - value] if most is not None else []
    margin = min(margins, default=float("inf"))
    if not margin >= 0:
        return Verdict.SHORT
    if not proved:
        return Verdict.UNPROVED
    return Verdict.OK if margin > doubt else Verdict.TIGHT


def worst(*verdicts: Verdict) -> Verdict:
    """Return the verdict on something that holds only where all of several hold."""
    return next(
        one for one in (Verdict.SHORT, Verdict.UNPROVED, Verdict.TIGHT, Verdict.OK) if one in verdicts
    )
