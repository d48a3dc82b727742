"""A planar rocker over an upright stem and an upright solid pushrod, solved anew for each part that moved.

Nothing but circles and halving; no part of the program. The pivot is the origin while nothing has settled; x runs from it
to the stem, z up out of the engine.
"""

from __future__ import annotations

import math
from typing import NamedTuple

RADIUS = 6.0  # mm, of the rocker's pad


class Gear(NamedTuple):
    """One valve gear, mm and rad."""

    valve_arm: float
    pushrod_arm: float
    droop: float  # of the valve arm below the level, with the valve closed
    arm_angle: float  # between the arms, on the underside
    pivot: float  # its height
    tip: float  # height of the stem tip, valve closed
    ball: float  # height of the lifter's ball
    at: float  # x of lifter and pushrod
    rod: float  # length of the pushrod
    radius: float = RADIUS


def built(
    valve_arm: float, pushrod_arm: float, droop: float, arm_angle: float, rod: float, slack: float
) -> Gear:
    """Return a gear whose pushrod stands upright; slack : mm between rod and cup with the valve closed."""
    tip = -valve_arm * math.sin(droop) - RADIUS
    gear = Gear(valve_arm, pushrod_arm, droop, arm_angle, 0.0, tip, 0.0, 0.0, rod)
    x, z = _cup(gear, droop)
    return gear._replace(at=x, ball=z - rod - slack)


def sunk(gear: Gear, by: float) -> Gear:
    """Return it with the seat sunk: the stem tip stands higher."""
    return gear._replace(tip=gear.tip + by)


def settled(gear: Gear, by: float) -> Gear:
    """Return it with head and cylinder lower."""
    return gear._replace(tip=gear.tip - by, pivot=gear.pivot - by)


def tip_worn(gear: Gear, by: float) -> Gear:
    """Return it with the stem tip worn."""
    return gear._replace(tip=gear.tip - by)


def pad_worn(gear: Gear, by: float) -> Gear:
    """Return it with the rocker's pad worn where it touches."""
    return gear._replace(radius=gear.radius - by)


def rod_worn(gear: Gear, by: float) -> Gear:
    """Return it with the pushrod shorter."""
    return gear._replace(rod=gear.rod - by)


def lash_at_valve(gear: Gear) -> float:
    """Return the gap at the stem tip with the rocker on its pushrod."""
    low, high = gear.droop - 0.3, gear.droop + 0.3
    for _ in range(80):
        middle = (low + high) / 2
        x, z = _cup(gear, middle)
        short = (
            math.hypot(x - gear.at, z - gear.ball) < gear.rod
        )  # the more the valve arm droops, the higher the cup
        low, high = (middle, high) if short else (low, middle)
    contact = gear.pivot - gear.valve_arm * math.sin(low)
    return contact - gear.radius - gear.tip


def lash_at_pushrod(gear: Gear) -> float:
    """Return the gap at the pushrod with the rocker on its stem tip."""
    x, z = _cup(gear, _resting(gear))
    return math.hypot(x - gear.at, z - gear.ball) - gear.rod


def preload(gear: Gear) -> float:
    """Return how far the pushrod presses a plunger below where the ball stands."""
    x, z = _cup(gear, _resting(gear))
    return gear.ball - (z - math.sqrt(gear.rod**2 - (x - gear.at) ** 2))


def _resting(gear: Gear) -> float:
    """Return the droop of the valve arm with the rocker on its stem tip."""
    return math.asin((gear.pivot - gear.radius - gear.tip) / gear.valve_arm)


def _cup(gear: Gear, droop: float) -> tuple[float, float]:
    """Return where the cup's ball centre stands."""
    along = -droop - gear.arm_angle  # from the level, by way of the underside
    return gear.pushrod_arm * math.cos(along), gear.pivot + gear.pushrod_arm * math.sin(along)
