"""The checks that are made by hand whatever was computed, with room for what was found: those whose parts are there."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .work import Work

BLED, LOCKED, CLOSEST = (
    "lifters bled down: pushrods spin between the fingers",
    "lock nuts tight, settings felt again",
    "clay or dial at the closest angles named here",
)
HAND_CHECKS = (
    "rocker to retainer, and to its box",
    "piston dome to chamber, and to the plug",
    "pushrod to tube, at rest and at full lift",
    "lifter low in its bore, on a small base circle",
    "guide's protrusion, and its seal",
    BLED,
    LOCKED,
    "two slow turns by hand, nothing touches",
    "compression release closed",
    CLOSEST,
)


def hand_checks(work: Work) -> tuple[str, ...]:
    """Return the checks that apply; a part that nobody spoke of may be there."""
    orders = () if work.pushrods is None else work.pushrods.orders
    kinds = {one.train.lifter.kind for one in orders}
    without = set()
    if kinds == {"solid"}:
        without.add(BLED)
    if work.pushrods is not None and not work.pushrods.adjusters and kinds == {"hydraulic"}:
        without.add(LOCKED)
    if work.clear is None:
        without.add(CLOSEST)
    return tuple(one for one in HAND_CHECKS if one not in without)
