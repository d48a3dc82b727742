"""What was read of a lobe, and the stretch at rest that was not.

lift            read
              ╭─────╮
             ╱       ╲
────────────╯         ╰────────────
   bridged    ←read→     bridged         a gap in the readings is bridged where both its ends rest
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..core.errors import GeometryError
from ..core.frames import Array
from ..crank.heels import TURN

Mask = NDArray[np.bool_]

GRADUATIONS = (
    0.1,
    0.05,
    0.0254,
    0.02,
    0.0127,
    0.01,
    0.00508,
    0.005,
    0.00254,
    0.002,
    0.001,
)  # mm and in, coarsest first
FEWEST = 8  # readings, before a lobe has a shape
WIDEST = np.radians(40)  # of cam: a gap as wide is bridged only at rest
FILLED = np.radians(5)  # of cam, between the rows that bridge it
SPAN = np.radians(3)  # of cam, to either side of such a row: what it bridges
AT_REST, AT_REST_OPEN = (
    0.02,
    0.03,
)  # share of the lift that counts as rest, at the ends of a gap, of a wide one
FOOT = 0.003  # share of the lift, by which the lower end of a wide gap may have risen already
QUIET, RISE = (
    0.3,
    0.01,
)  # share of the steepest rise, and of the lift from one reading to the next, that do not
OPEN = np.radians(
    90
)  # of cam: across so wide a gap a lobe is at rest, however steeply it rises from its ends
BESIDE = np.radians(10)  # of cam, behind the higher end of a gap, in which the lift comes down


class Readings(NamedTuple):
    """A lobe as read."""

    angle: Array  # (n) cam rad, any order
    lift: Array  # (n) mm as the dial showed it
    way: Array | None = None  # (n) +1 the engine's way, -1 turned back; None where all were read one way
    leaves_by_lash: bool = False  # read at a valve with lash: it leaves its seat at a corner, as no lobe does


class Gap(NamedTuple):
    """A stretch of the cam without readings."""

    row: int  # of the reading before it
    after: int  # of the reading behind it
    width: float  # cam rad
    at_rest: bool  # at both ends the lifter rests, so it may be bridged


def median(values: Array) -> Array:
    """Return the median over the first axis of values (n, ...), without what NumPy imports to find it."""
    ranked = np.sort(values, axis=0)
    middle: Array = (ranked[(len(ranked) - 1) // 2] + ranked[len(ranked) // 2]) / 2
    return middle


def gaps(angle: Array, lift: Array) -> tuple[Gap, ...]:
    """Return the stretches of at least WIDEST between readings, angles in cam rad.

    The lifter rests at an end that reads low and from which the lift does not rise steeply, or which begins a gap
    so wide that the whole lift stands between its ends: a table that begins where the lift does. One reading that
    stands up alone, the next back down, is no rise.
    """
    turned = np.mod(angle, TURN)
    order = np.argsort(turned, kind="stable")
    steps = np.diff(np.append(turned[order], turned[order[0]] + TURN))
    slopes = np.abs(np.diff(np.append(lift[order], lift[order[0]]))) / np.maximum(steps, np.radians(0.5))
    low, peak, steepest = float(lift.min()), float(np.ptp(lift)), float(slopes.max())
    found = []
    for one in np.nonzero(steps >= WIDEST - 1e-9)[0].tolist():
        after = (one + 1) % len(order)
        ends = max(float(lift[order[one]]), float(lift[order[after]]))
        feet = (order[_next(one, -1, order)], order[_next(after, 1, order)])
        rises = [float(lift[rows[1:]].min() - lift[rows[0]]) for rows in feet]
        quiet = max(rises) <= RISE * peak and max(slopes[one - 1], slopes[after]) <= QUIET * steepest
        open_ = float(steps[one]) >= OPEN
        if not quiet and open_:
            risen = [_foot(turned[rows], lift[rows]) for rows in feet]
            quiet = min(risen) <= FOOT * peak and max(risen) < np.inf
        rests = ends - low <= (AT_REST_OPEN if open_ else AT_REST) * peak and quiet
        found.append(Gap(int(order[one]), int(order[after]), float(steps[one]), rests))
    return tuple(found)


def _next(first: int, way: int, order: NDArray[np.intp]) -> list[int]:
    """Return where three rows from one on stand in the order of their angles."""
    return [(first + way * one) % len(order) for one in range(3)]


def _foot(angle: Array, lift: Array) -> float:
    """Return how far the first of three readings (3) has risen already, the lift beginning as a parabola does [mm].

    Infinite where it does not begin there: it rises from there ever more slowly.
    """
    steps = np.abs(np.mod(np.diff(angle) + TURN / 2, TURN) - TURN / 2)
    first, second = np.diff(lift) / steps
    bend = (second - first) / steps.mean()
    slope = first - bend * steps[0] / 2
    if bend <= 0:
        return float(np.inf)
    return float(slope**2 / (2 * bend)) if slope > 0 else 0.0


def bridge(angle: Array, lift: Array, lowest: bool = False) -> tuple[Array, Array]:
    """Return rows that fill the gaps at rest: cam rad and mm.

    lowest : the lower end of a gap is its rest, not what lies between the two

    Raises:
        GeometryError: where the lifter is off the heel at an end of a gap.
    """
    more_angle, more_lift = [np.zeros(0)], [np.zeros(0)]
    for gap in gaps(angle, lift):
        if not gap.at_rest:
            message = (
                f"no reading over {np.degrees(gap.width):.0f} degrees of the cam, from "
                f"{np.degrees(angle[gap.row]):g} degrees on; a gap is less than {np.degrees(WIDEST):.0f}, or lies "
                "wholly where the lifter rests"
            )
            raise GeometryError(message)
        count = max(int(gap.width / FILLED) - 1, 1)
        share = np.arange(1, count + 1) / (count + 1)
        level = lift[gap.row] + share * (lift[gap.after] - lift[gap.row])
        if lowest:
            high_first = lift[gap.row] > lift[gap.after]
            from_high = (share if high_first else 1 - share) * gap.width
            share = share[from_high >= min(BESIDE, gap.width / 3)]
            level = np.full(len(share), min(lift[gap.row], lift[gap.after]))
        more_angle.append(angle[gap.row] + share * gap.width)
        more_lift.append(level)
    return np.concatenate(more_angle), np.concatenate(more_lift)


def ends_apart(angle: Array, lift: Array) -> float:
    """Return by how much the two ends of a gap at rest differ at most [mm]; 0 where the heel was read."""
    apart = [abs(float(lift[gap.row] - lift[gap.after])) for gap in gaps(angle, lift)]
    return max(apart, default=0.0)


def notation(lift: Array) -> float:
    """Return what readings (n) in mm were rounded to [mm], of the usual graduations; 0 where to none of them."""
    for step in GRADUATIONS:
        if float(np.abs(lift - np.round(lift / step) * step).max()) < 1e-6:
            return step
    return 0.0
