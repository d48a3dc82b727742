"""The pushrod's length from a pushrod that was measured, carried to the stack of today.

A rod that just touched, without lash or preload, is a vector of measured length c whose whole
lean λ to the cylinder axis is known. A stack taller by Δ adds Δ along the axis:

      c'  = √(c² + 2·c·Δ·cos λ + Δ²)          the direction of the lean does not matter
      L   = √(c'² + 2·c'·p·cos θ + p²)        a plunger p further down, θ between rod and lifter

θ is exact when both directions are known, lies between |λ - μ| and λ + μ when only the two whole
leans are, and is taken as 0 otherwise, which is shown as an assumption.

Source: the law of cosines, twice.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, norm, point, unit, whole_lean
from ..core.lengths import Ends


class Measured(NamedTuple):
    """A valve gear known by one measured pushrod; lengths in mm, angles in radians."""

    length: Array  # as read
    convention: str  # how it was read
    ends: Ends  # of the rod that was measured
    plunger_down: Array  # where the plunger was, below its top stop
    lean: Array  # whole angle of the rod to the cylinder axis, then
    growth: Array  # how much taller the stack is now than then
    lowered: Array  # how much further the lifter's seat has been lowered since
    sunk: Array  # how much further the valve has been sunk since
    ratio: Array | None  # valve arm over pushrod arm
    rod_direction: Array | None  # (..., 3) unit, when seen in two views
    lifter_direction: Array | None  # (..., 3) unit


class Carried(NamedTuple):
    """A measured pushrod on the stack of today, plunger at the top stop, touching."""

    zero_lash: Array  # mm; between ball centres, or as read where the ends were not measured
    between_centres: bool  # which of the two it is
    lean: Array  # rad, whole, now
    straight: Array  # mm, zero_lash before a valve sunk since is counted, which does not lean
    upright: Array  # mm, how much of it stands along the cylinder's axis
    lifter_upright: Array  # cosine between the lifter's axis and the cylinder's
    along: Array  # cos θ between pushrod and lifter, as they stand now
    along_doubt: Array  # half-width of cos θ; 0 where both directions are known or θ was assumed


def carry(measured: Measured) -> Carried:
    """Return the measured pushrod carried to the stack of today.

    Valid: any lean below 90°. A lean wrong by 1° costs Δ·sin λ·1°: 0.004 mm for 5 mm at 2.5°.
    Where the ends were not measured the length as read stands for the one between centres in the
    second-order term alone, which costs less than Δ²·sin²λ·8 mm / (2·c²).
    Source: the module.
    """
    beyond = measured.ends.beyond(measured.convention)
    rod = measured.length if beyond is None else measured.length - beyond
    direction = measured.rod_direction
    if direction is None:
        direction = point(np.sin(measured.lean), 0.0, np.cos(measured.lean))
    span = rod[..., None] * direction + point(0.0, 0.0, measured.growth)
    along, doubt = _along_lifter(measured, unit(span))
    down = measured.lowered - measured.plunger_down
    straight = further(norm(span), down, along)
    lifter = measured.lifter_direction
    lifter_upright = unit(span)[..., 2] if lifter is None else lifter[..., 2]
    zero_lash = straight
    if measured.ratio is not None:
        zero_lash = straight - measured.sunk / measured.ratio
    return Carried(
        zero_lash=zero_lash,
        between_centres=beyond is not None,
        lean=whole_lean(span),
        straight=straight,
        upright=span[..., 2] + down * lifter_upright,
        lifter_upright=lifter_upright,
        along=(norm(span) * along + down) / straight,
        along_doubt=doubt,
    )


def further(length: Array, down: Array, along: Array) -> Array:
    """Return the length of a pushrod whose lower ball goes down along the lifter's axis.

    length, down : (...) [mm];  along : (...)  cosine between pushrod and lifter
    """
    return np.sqrt(length * length + 2 * length * down * along + down * down)


def growth_per_stack(carried: Carried, down: Array) -> Array:
    """Return how much longer the pushrod gets for a taller stack, mm per mm.

    down : (...) [mm]  plunger below its top stop
    Source: the share of the pushrod that stands along the cylinder's axis.
    """
    return (carried.upright + down * carried.lifter_upright) / further(carried.straight, down, carried.along)


def plunger_for(carried: Carried, length: Array) -> Array:
    """Return how far a pushrod pushes the plunger down, mm; negative is slack.

    Source: the root near zero of `further`, written without cancellation.
    """
    rod = carried.zero_lash
    projected = rod * carried.along
    short = (length - rod) * (length + rod)
    return short / (projected + np.sqrt(projected * projected + short))


def _along_lifter(measured: Measured, rod: Array) -> tuple[Array, Array]:
    lifter = measured.lifter_direction
    if lifter is None:
        return array(1.0), array(0.0)
    if measured.rod_direction is not None:
        return np.vecdot(rod, lifter), array(0.0)
    least = np.cos(whole_lean(rod) + whole_lean(lifter))
    greatest = np.cos(whole_lean(rod) - whole_lean(lifter))
    return (least + greatest) / 2, (greatest - least) / 2
