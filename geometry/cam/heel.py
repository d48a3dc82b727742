"""Where a lobe's readings rest on the heel, and what the dial reads there.

On the heel the lift is nothing, so whatever the dial shows there is not the lobe's: where it stood when
it was set, and a base circle that runs out once a turn:

    rest(angle) = offset + a cos(angle) + b sin(angle)

A run-out is taken only where the heel shows it beyond doubt: carried over to the nose it would
otherwise add more noise than it removes. A lobe without a flat part, an eccentric, has no heel.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array
from ..crank.heels import TURN
from .readings import Mask, median
from .smooth import FINE, blurred

SHORTEST = np.radians(60)  # of cam: a flat part shorter than this is no heel
MARGIN = np.radians(5)  # taken off either end, where a quiet ramp begins within the noise
LOW = 0.06  # share of the peak below which the heel is looked for
CALM = 0.002  # share of the peak that counts as at rest, where the noise is less
QUIET = 1.5  # noises, the scatter of readings that rest, however the curve through them may wave
MOST_RUNOUT = 0.03  # of the peak; more of it is the lobe itself, an eccentric
CHANCE = 1e-3  # that a heel without run-out seems to have one; Fisher's F of two terms has it in closed form
ROUNDING = 1e-12  # of the sum of squares, added where terms cannot be told apart
STEP = float(FINE[1])


class Rest(NamedTuple):
    """What the dial reads while the lifter rests on the heel."""

    offset: float  # mm
    cosine: float  # mm
    sine: float  # mm

    def at(self, angle: Array) -> Array:
        """Return what the dial reads at cam angles in rad [mm]."""
        return self.offset + self.cosine * np.cos(angle) + self.sine * np.sin(angle)

    @property
    def runout(self) -> float:
        """Half of what the heel moves the dial in a turn [mm]."""
        return float(np.hypot(self.cosine, self.sine))


class Heel(NamedTuple):
    """An arc on which the lifter rests."""

    flat: Mask  # on FINE: surely at rest
    rest: Rest


def find_heel(
    curve: Array, angle: Array, lift: Array, noise: float, read: bool = True, besides: Mask | None = None
) -> Heel | None:
    """Return the heel of a fitted curve and of its readings, or None where there is none.

    curve : lift on FINE, mm;  angle, lift : the readings, rad and mm;  noise : mm, their standard deviation
    read : false where part of the heel was not, so that a run-out cannot be told
    besides : on FINE, a rest that is not the heel, see `rests`
    """
    calm = blurred(curve, np.radians(8))
    peak = float(curve.max() - calm.min())
    if besides is not None:
        calm = np.where(besides, curve.max(), calm)
    centre = _centre(calm < calm.min() + LOW * peak, int(np.argmin(calm)))
    if centre is None:
        return None
    low, high = centre
    fifth = (high - low) // 5
    begins, ends = low + fifth, high - fifth
    core = np.arange(begins, ends + 1) % len(FINE)
    rest, quiet = Rest(0.0, 0.0, 0.0), False
    for again in range(3):
        there = _within(angle, begins, ends)
        if int(there.sum()) < 4:
            return None
        rest = _rest(angle[there], lift[there], read)
        if rest.runout > MOST_RUNOUT * peak:
            return None
        if again == 0:
            scatter = 1.4826 * float(median(np.abs(lift[there] - rest.at(angle[there]))))
            quiet = scatter < QUIET * noise and (ends - begins) * STEP >= SHORTEST
        still = calm - rest.at(FINE) < max(noise, CALM * peak)
        still[core] |= quiet  # through few readings a first curve waves by more than one noise
        arc = _centre(still, (low + high) // 2)
        if arc is None:
            return None
        begins, ends = arc
    margin = round(MARGIN / STEP)
    begins, ends = begins + margin, ends - margin
    if (ends - begins) * STEP < SHORTEST:
        return None
    flat = np.zeros(len(FINE), dtype=bool)
    flat[np.arange(begins, ends + 1) % len(FINE)] = True
    return Heel(flat, rest)


def _rest(angle: Array, lift: Array, read: bool) -> Rest:
    """Return the dial at rest by least squares, the wrong readings left out, with a run-out where it is sure."""
    middle = float(median(lift))
    spread = 1.4826 * float(median(np.abs(lift - middle)))
    kept = np.abs(lift - middle) <= max(5 * spread, 1e-12)
    angle, lift = angle[kept], lift[kept]
    offset = float(lift.mean())
    alone = float(((lift - offset) ** 2).sum())
    if len(lift) < 12 or not read:
        return Rest(offset, 0.0, 0.0)
    design = np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)], axis=1)
    terms = least_squares(design, lift)
    left = float(((lift - design @ terms) ** 2).sum())
    if left > alone * CHANCE ** (2 / (len(lift) - 3)):
        return Rest(offset, 0.0, 0.0)
    return Rest(*(float(one) for one in terms))


def least_squares(design: Array, values: Array) -> Array:
    """Return the terms (k) of a design (n, k) that follow values (n), the least where they tell no more.

    Source: normal equations, good enough for two or three terms; np.linalg.lstsq wakes a second thread.
    """
    square = design.T @ design
    return np.linalg.solve(square + ROUNDING * np.trace(square) * np.eye(len(square)), design.T @ values)


def _centre(low: Mask, start: int) -> tuple[int, int] | None:
    """Return the unbroken arc of a mask on FINE around a point, as indices that may pass the turn."""
    turned = np.roll(low, -start)
    if not turned[0] or turned.all():
        return None
    return start - int(np.argmin(turned[::-1])), start + int(np.argmin(turned)) - 1


def _within(angle: Array, begins: int, ends: int) -> Mask:
    inside: Mask = np.mod(angle - begins * STEP, TURN) <= (ends - begins) * STEP
    return inside
