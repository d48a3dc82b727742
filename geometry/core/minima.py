"""The local minima of a curve over the crank angle, found on the continuous curve.

First the curve is looked at on a row of angles, roughly; then around every low place of the row, by closer and
closer rows. A curve may jump, be infinite in places or be level over a stretch. Of every place its lowest few
are followed, and left as soon as their neighbours say that they cannot come below the best of them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from .frames import Array, array
from .search import Flags, rise_beside

STEP = float(np.radians(2.0))  # between the angles looked at first
SAME_MM = 1e-7  # what is less apart is equal but for rounding
NEAR_MM = 1.0  # local minima this near the least one are followed too
ROW: Array = array(np.linspace(-1.0, 1.0, 33))  # the angles of a closer look
CLOSER = 2.0 / (len(ROW) - 1)  # width of a look to that of the one before
LOOKS = 15  # at most; one whose least lies at its end is followed by one as wide
FOLLOWED = 3  # local minima of a first closer look
ENOUGH = 4e-9  # mm, by which neighbours differ at the end: a smooth curve is a quarter of it lower at most
FINEST = float(np.radians(1e-5))  # width of a look after which there is no other

Curve = Callable[[Array, bool], Array]  # crank angles (K,) [rad], refined or not, to a clearance [mm]
Rows = Callable[[Array], Array]  # crank angles (P, K) [rad] to the refined clearance [mm]


class Minimum(NamedTuple):
    """The least value of a clearance and where it is."""

    value: float  # mm
    angle: float  # rad, from overlap top centre


def minima(
    curve: Curve,
    angles: Array,
    floor: Array | None = None,
    near: float = NEAR_MM,
    rows: Rows | None = None,
) -> tuple[Minimum, ...]:
    """Return the local minima of a curve near its least, the least first.

    angles : (K,) [rad]  evenly spaced by STEP, looked at first
    floor  : (K,) [mm]  what the curve is at least there; spares looking where it cannot be near the least
    near   : [mm]  how far above the least a local minimum may be; 0 where the least alone is wanted
    rows   : the refined curve at rows of angles, where it need only be right at the least of each row
    Source: local minima of the row, all closed in on together by rows a sixteenth as wide.
    """
    whole = None if rows is None or near > 0 else rows
    place = _places(curve, angles, floor, near, whole)
    best, where = np.full(place.shape, np.inf), place.copy()
    origin, middle, width = np.arange(len(place)), place, np.full(place.shape, STEP)
    for look in range(LOOKS):
        closer = np.clip(middle[:, None] + width[:, None] * ROW, angles[0] - STEP, angles[-1] + STEP)
        if whole is not None:
            seen = whole(closer.reshape(1, -1)).reshape(closer.shape)
        elif rows is not None and look > 0:
            seen = rows(closer)
        else:
            seen = curve(closer.ravel(), True).reshape(closer.shape)
        rise = _rise(seen, width[:, None] * CLOSER)
        row, at = np.nonzero(_lowest(seen, rise, FOLLOWED if look == 0 else 1))
        low, bound, middle, origin = seen[row, at], (seen - rise)[row, at], closer[row, at], origin[row]
        for one, value, angle in zip(origin, low, middle, strict=True):
            if value <= best[one]:
                best[one], where[one] = value, angle
        last = (at == 0) | (at == len(ROW) - 1)
        highest = np.where(last, seen.max(axis=-1)[row], low + rise[row, at])
        level = (highest <= low + ENOUGH) | np.isinf(low)
        width = np.where(last, width[row], width[row] * CLOSER)
        keep = ~level & (width > FINEST) & (bound <= np.minimum(best[origin], best.min() + near))
        middle, width, origin = middle[keep], width[keep], origin[keep]
        if not middle.size:
            break
    low = best <= best.min() + near + ENOUGH
    found = [Minimum(float(one), float(angle)) for one, angle in zip(best[low], where[low], strict=True)]
    return _distinct(_least_first(found))


def _places(curve: Curve, angles: Array, floor: Array | None, near: float, whole: Rows | None) -> Array:
    """Return the low places of the row of angles.

    whole : where the least alone is wanted, the curve on a single row; a place counts that may hide it
    """
    if floor is None:
        seen = curve(angles, False)
    else:
        reached = curve(angles[[int(np.argmin(floor))]], False)[0]
        worth = floor <= reached + near
        seen = np.full(angles.shape, np.inf)
        seen[worth] = curve(angles[worth], False) if whole is None else whole(angles[None, worth])[0]
    before, after = _beside(seen)
    above = near if whole is None else _rise(seen, STEP)
    low = (seen <= before) & (seen <= after) & (seen <= seen.min() + above)
    return np.array(_apart(angles[low] if low.any() else angles[:1]))


def _beside(seen: Array) -> tuple[Array, Array]:
    """Return what stands before and after each element of rows, infinity beyond their ends."""
    beyond = np.full((*seen.shape[:-1], 1), np.inf)
    before = np.concatenate([beyond, seen[..., :-1]], axis=-1)
    return before, np.concatenate([seen[..., 1:], beyond], axis=-1)


def _rise(seen: Array, spacing: float | Array) -> Array:
    before, after = _beside(seen)
    return rise_beside(before, seen, after, spacing)


def _lowest(seen: Array, rise: Array, most: int) -> Flags:
    """Say which are the least of each row and, up to so many, the local minima that may hide less."""
    before, after = _beside(seen)
    least = seen.min(axis=-1, keepdims=True)
    worth = (seen <= before) & (seen <= after) & (seen - rise < least)
    order = np.argsort(np.where(worth, seen, np.inf), axis=-1, kind="stable")[:, :most]
    some = np.zeros(seen.shape, dtype=bool)
    np.put_along_axis(some, order, True, axis=-1)
    some &= worth
    some[np.arange(len(seen)), seen.argmin(axis=-1)] |= ~some.any(axis=-1)
    return some


def _least_first(found: list[Minimum]) -> list[Minimum]:
    """Return minima by value; of what is equal but for rounding the nearest to top centre, then the one before it."""
    rows: list[list[Minimum]] = []
    for one in sorted(found, key=lambda one: one.value):
        if not rows or one.value > rows[-1][0].value + SAME_MM:
            rows.append([])
        rows[-1].append(one)
    return [one for row in rows for one in sorted(row, key=lambda one: (round(abs(one.angle), 6), one.angle))]


def _distinct(found: list[Minimum]) -> tuple[Minimum, ...]:
    """Return the minima, the least first, without those that have closed in on one already there."""
    kept: list[Minimum] = []
    for one in found:
        if all(abs(one.angle - other.angle) > STEP / 2 for other in kept):
            kept.append(one)
    return tuple(kept)


def _apart(places: Array) -> list[float]:
    """Return places of which no two are neighbours; of a row of equals the one nearest top centre."""
    rows: list[list[float]] = []
    for place in places:
        if rows and place - rows[-1][-1] < 1.5 * STEP:
            rows[-1].append(float(place))
        else:
            rows.append([float(place)])
    return [min(row, key=abs) for row in rows]
