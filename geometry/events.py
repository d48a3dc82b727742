"""At which crank angles a lobe lifts its follower past a check lift, from a law, a card or readings.

Angles are crank angles from overlap top centre. An intake lobe's centreline stands after it, an
exhaust lobe's before it, halfway between equal lifts at 0.050 in; `advance` makes both earlier.

    lift                 ╭───╮
                        ╱     ╲         opens and closes: where the lift passes the check lift
    check ┄┄┄┄┄┄┄┄┄┄┄┄┄╱┄┄┄┄┄┄┄╲┄┄┄┄┄
    ──────────────────╯         ╰─────  heel

Sources: the laws' closed forms (see `rise`); a card is taken at its word at the lifts it states and
straight between them; readings are joined by straight lines and counted from their own heel.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from tallstack.geometry.frames import Array
from tallstack.geometry.heels import Opening

CENTRE_LIFT_MM = 1.27  # 0.050 in, where a centreline is halved: common practice
HALVINGS = 60


class Flanks(NamedTuple):
    """How far before and after its middle a lobe lifts past a check lift, crank rad."""

    before: float
    after: float


class Readings(NamedTuple):
    """A lobe as read: crank rad ascending, and lift in mm at lifter or valve, as read."""

    angle: Array
    lift: Array


def rise(law: str, share: Array) -> Array:
    """Return the share of the lift after a share of the rise, both 0 to 1.

    law : "cycloidal", "3-4-5", "4-5-6-7" or "modified-sine"
    Source: the textbook laws of a rise between two dwells; the modified sine of three pieces.

    Raises:
        ValueError: where no law is called so.
    """
    x = share
    if law == "cycloidal":
        return x - np.sin(2 * np.pi * x) / (2 * np.pi)
    if law == "3-4-5":
        return x**3 * (10 - 15 * x + 6 * x**2)
    if law == "4-5-6-7":
        return x**4 * (35 - 84 * x + 70 * x**2 - 20 * x**3)
    if law == "modified-sine":
        outer = np.pi * x - np.sin(4 * np.pi * x) / 4
        inner = 2 + np.pi * x - 9 * np.sin((4 * np.pi * x + np.pi) / 3) / 4
        pieces = np.where(x < 0.125, outer, np.where(x < 0.875, inner, 4 + outer))
        return pieces / (4 + np.pi)
    message = f"no motion law is called {law}"
    raise ValueError(message)


def law_flanks(law: str, peak: float, duration: float, check: float) -> Flanks | None:
    """Return a law's flanks at a check lift, or None where it never lifts so far.

    peak, check : mm;  duration : crank rad, seat to seat, half of it the rise
    Source: halving of the law's closed form, which grows all the way.
    """
    if check >= peak:
        return None
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        above = float(rise(law, np.asarray(middle))) * peak > check
        low, high = (low, middle) if above else (middle, high)
    half = duration / 2 * (1 - high)
    return Flanks(half, half)


def card_flanks(known: Sequence[tuple[float, Flanks]], check: float) -> Flanks | None:
    """Return a card's flanks at a check lift: as stated, or straight between two stated lifts.

    known : (lift in mm, flanks), any order
    Returns: None above the highest lift stated, and below the lowest, of which the card says nothing.
    """
    rows = sorted(known)
    for (low, outer), (high, inner) in zip(rows, rows[1:], strict=False):
        if low <= check <= high:
            share = (check - low) / (high - low) if high > low else 0.0
            return Flanks(
                outer.before + share * (inner.before - outer.before),
                outer.after + share * (inner.after - outer.after),
            )
    return next((flanks for lift, flanks in rows if lift == check), None)


def crossings(readings: Readings, check: float) -> tuple[float, float] | None:
    """Return where readings pass a check lift around their peak, crank rad on their own scale.

    Returns: None where they never lift so far, or end before they come down again.
    Source: straight lines between readings, counted from the heel, the middle of the lowest quarter.
    """
    heel = float(np.sort(readings.lift)[len(readings.lift) // 8])
    lift = readings.lift - heel - check
    top = int(np.argmax(lift))
    left, right = np.nonzero(lift[:top] < 0)[0], np.nonzero(lift[top:] < 0)[0]
    if lift[top] <= 0 or not left.size or not right.size:
        return None

    def between(low: int, high: int) -> float:
        share = -lift[low] / (lift[high] - lift[low])
        return float(readings.angle[low] + share * (readings.angle[high] - readings.angle[low]))

    after = top + int(right[0])
    return between(int(left[-1]), int(left[-1]) + 1), between(after, after - 1)


def placed(flanks: Flanks, port: str, centreline: float, advance: float) -> Opening:
    """Return a lobe's opening about its centreline, from overlap top centre, crank rad."""
    middle = _middle(port, centreline, advance)
    return Opening(middle - flanks.before, middle + flanks.after)


def read_opening(
    readings: Readings,
    check: float,
    place: Callable[[float], float] | None,
    advance: float,
    centre_lift: float = CENTRE_LIFT_MM,
) -> Opening | None:
    """Return the opening of a lobe known by readings, from overlap top centre, crank rad.

    check, centre_lift : mm, as the readings are (at lifter or valve)
    place : from advance to where the middle stands; None where the readings count from top centre
    """
    found = crossings(readings, check)
    if found is None:
        return None
    if place is None:
        return Opening(found[0] - advance, found[1] - advance)
    centre = crossings(readings, centre_lift)
    if centre is None:
        return None
    shift = place(advance) - (centre[0] + centre[1]) / 2
    return Opening(found[0] + shift, found[1] + shift)


def middle_of(port: str, centreline: float) -> Callable[[float], float]:
    """Return where a lobe's middle stands for an advance, from overlap top centre, crank rad."""
    return lambda advance: _middle(port, centreline, advance)


def event_opening(port: str, opens: float, closes: float, advance: float) -> Opening:
    """Return the opening of a timing card's events, from overlap top centre, crank rad.

    opens, closes : rad; intake: before top and after bottom centre; exhaust: before bottom and after top
    """
    half_turn = np.pi
    if port == "intake":
        return Opening(-opens - advance, half_turn + closes - advance)
    return Opening(-half_turn - opens - advance, closes - advance)


def _middle(port: str, centreline: float, advance: float) -> float:
    return (centreline if port == "intake" else -centreline) - advance
