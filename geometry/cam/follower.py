"""A lobe read through one follower, and what it lifts another one by.

A dial shows the lift of its own follower: a ball tip, a roller, a flat foot. Off the same metal another follower
has another lift, but at heel and nose. In the frame that turns with the follower that was read with, d along its
travel and e square to it, ahead in the order of the readings:

    centre of a round tip   C = (h, offset)   h = sqrt((base + r)^2 - offset^2) + lift
    foot of a flat one      C = (h, slope)    h = base + lift
    normal of the metal     N = (h, offset - slope) / w,  or (1, 0)
    the other one's centre  Q = C + (R - r) N

Q's distance from the axis is its lift, and the angle of Q, less what its own offset makes, is where it has it. That
is the lift over a new angle; where that runs back the other follower bridges a hollow and rests on two places, and
the greater lift counts. An offset is positive on the side from which the lobe comes.

Source: the offset curve of a cam profile; derived, and held against a search of the contact on exact profiles.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, hypot
from ..crank.heels import TURN
from .lobe import Lobe, Series, Spline
from .readings import Mask

FINE: Array = TURN * np.arange(7200) / 7200  # rad of cam, on which a curve is carried over
EVEN = 2880  # angles of a turn at which the new curve is told
BLUR = np.radians(3)  # of cam, before the metal's own radius is told
KINK = np.radians(1.5)  # of cam, to either side of a fold
WIDE = 2 / 360 * len(FINE)  # steps of 2 degrees, over which a hollow or a sharp place counts
TIGHTEST_MM = 20  # hollow that a grinding wheel gets into
BACK = 1e-9  # rad, by which an angle runs back beyond rounding


class Follower(NamedTuple):
    """What rides on a lobe."""

    radius: float | None  # mm, of a tip or a roller; None: a flat foot
    offset: float = 0.0  # mm, by which its line of travel passes the cam's axis


class Contact(NamedTuple):
    """Where a follower touches the metal, each (n), in the frame that turns with it."""

    centre: tuple[Array, Array]  # mm, of the round follower, or the touching point of a flat one
    normal: tuple[Array, Array]  # unit, out of the metal


class Ridden(NamedTuple):
    """A lift as another follower has it, in the order in which the first one met the metal; each (n)."""

    angle: Array  # cam rad
    lift: Array  # mm
    slope: Array  # mm per cam rad
    factor: Array  # by which it moves for the same error of the lift that was read


class Carried(NamedTuple):
    """A lobe carried over to another follower."""

    lobe: Lobe
    folds: tuple[float, ...]  # cam rad, where the follower bridges a hollow and rests on two places
    read_at: (
        Array  # (EVEN) cam rad, where the first follower met the metal that the new one meets at even angles
    )
    factor: Array  # (EVEN) see `Ridden`
    hollow: (
        float | None
    )  # mm, radius of a hollow 2 degrees wide that no grinding wheel gets into; None: there is none
    impossible: bool  # no follower of that radius can have made these readings

    def steady(self, angle: Array) -> Mask:
        """Say at which cam angles (n) the slope has no kink, so that the acceleration says something."""
        away = np.mod(angle[..., None] - np.array(self.folds) + TURN / 2, TURN) - TURN / 2
        clear: Mask = (np.abs(away) > KINK).all(axis=-1)
        return clear

    def doubt_at(self, angle: Array) -> tuple[Array, Array]:
        """Return where the first follower met the metal of cam angles (n), and the factor of its doubt there."""
        turned = np.mod(angle, TURN)
        at = TURN * np.arange(EVEN) / EVEN
        return (
            angle + np.interp(turned, at, self.read_at - at, period=TURN),
            np.interp(turned, at, self.factor, period=TURN),
        )


def beside(base: float, follower: Follower) -> bool:
    """Say whether a follower passes beside the cam."""
    return follower.radius is not None and abs(follower.offset) >= base + follower.radius


def contact(lift: Array, slope: Array, base: float, follower: Follower) -> Contact:
    """Return where a follower touches the metal at its lifts (n) [mm] and slopes (n) [mm per cam rad]."""
    if follower.radius is None:
        return Contact((base + lift, slope), (np.ones_like(lift), np.zeros_like(lift)))
    high = np.sqrt((base + follower.radius) ** 2 - follower.offset**2) + lift
    aside = slope - follower.offset
    away = hypot(high, aside)
    return Contact((high, np.full_like(lift, follower.offset)), (high / away, -aside / away))


def ridden(angle: Array, touched: Contact, base: float, read: Follower, run: Follower) -> Ridden:
    """Return the lift of the engine's follower off metal that another one touched at cam angles (n)."""
    (d, e), (along, across) = touched.centre, touched.normal
    start = 0.0 if read.radius is None else read.radius
    if run.radius is None:
        turned = np.arctan2(across, along)
        return Ridden(
            angle + turned, d * along + e * across - start - base, e * along - d * across, np.asarray(along)
        )
    d, e = d + (run.radius - start) * along, e + (run.radius - start) * across
    away = hypot(d, e)
    turned = np.arctan2(e, d) - np.arcsin(run.offset / away)
    high = np.sqrt(away**2 - run.offset**2)
    upright = along * np.cos(turned) + across * np.sin(turned)  # cosine of the new pressure angle
    sideways = across * np.cos(turned) - along * np.sin(turned)
    lift = high - np.sqrt((base + run.radius) ** 2 - run.offset**2)
    return Ridden(angle + turned, lift, run.offset - high * sideways / upright, along / upright)


def carried(curve: Series, base: float, read: Follower, run: Follower) -> Carried:
    """Return the lobe that the engine's follower sees where readings through another one were fitted by a curve.

    base : mm, radius of the heel
    Valid: neither follower passes beside the cam, see `beside`.
    """
    lift, slope = on_fine(curve, 0), on_fine(curve, 1)
    found = ridden(FINE, contact(lift, slope, base, read), base, read, run)
    lobe, folds, read_at, factor = _over_even(found)
    hollow, impossible = _metal(curve, lift, slope, base, read)
    return Carried(lobe, folds, read_at, factor, hollow, impossible)


def on_fine(curve: Series, order: int) -> Array:
    """Return a series or a derivative of it on FINE."""
    harmonics = np.arange(1, len(curve.cosines) + 1)
    waves = np.zeros(len(FINE) // 2 + 1, dtype=complex)
    waves[0] = curve.mean if order == 0 else 0.0
    waves[1 : len(harmonics) + 1] = (curve.cosines - 1j * curve.sines) / 2 * (1j * harmonics) ** order
    return np.asarray(np.fft.irfft(waves * len(FINE), len(FINE)))


def _over_even(found: Ridden) -> tuple[Lobe, tuple[float, ...], Array, Array]:
    """Return a lift over even angles, the greatest where there are several, its folds, where it was read, its factor."""
    count = len(found.angle)
    again = np.arange(-count // 4, count + count // 4)  # a turn, and what may reach into it from either side
    turns, row = np.divmod(again, count)
    angle = found.angle[row] + TURN * turns
    steps = np.diff(angle)
    forward = steps > -BACK
    even = TURN * np.arange(EVEN) / EVEN
    best, where = np.full(EVEN, -np.inf), np.zeros(EVEN, dtype=int)
    begins = np.concatenate([[0], np.nonzero(np.diff(forward))[0] + 1, [len(steps)]])
    for first, last in zip(begins[:-1].tolist(), begins[1:].tolist(), strict=True):
        part = np.arange(first, last + 1)
        part = part if forward[first] else part[::-1]
        at = np.clip(np.searchsorted(angle[part], even, side="right") - 1, 0, len(part) - 2)
        inside = (even >= angle[part[0]]) & (even <= angle[part[-1]])
        low, high = part[at], part[at + 1]
        told = _hermite(even, angle[low], angle[high], found, row[low], row[high])
        better = inside & (told > best)
        best = np.where(better, told, best)
        where = np.where(better, low, where)
    parts = np.searchsorted(begins, where, side="right")
    folds = np.nonzero(parts != np.roll(parts, 1))[0] if not forward.all() else np.zeros(0, dtype=int)
    ends = tuple(float(even[one]) - TURN / EVEN / 2 for one in folds if one > 0)
    return Lobe(Spline.through(best)), ends, FINE[row[where]] + TURN * turns[where], found.factor[row[where]]


def _hermite(at: Array, low: Array, high: Array, found: Ridden, first: Array, second: Array) -> Array:
    """Return the cubic between two angles with its lift and slope at both, at angles between."""
    wide = high - low
    with np.errstate(divide="ignore", invalid="ignore"):
        x = np.where(wide != 0, (at - low) / wide, 0.0)
    one, other = found.lift[first], found.lift[second]
    rise = (found.slope[first] * wide, found.slope[second] * wide)
    told: Array = (
        one * (1 + 2 * x) * (1 - x) ** 2
        + other * x**2 * (3 - 2 * x)
        + rise[0] * x * (1 - x) ** 2
        - rise[1] * x**2 * (1 - x)
    )
    return told


def metal_radius(curve: Series, lift: Array, slope: Array, base: float, read: Follower) -> Array:
    """Return the radius of what the follower's centre, or a flat foot, ran along on FINE [mm]: its own taken off below.

    Negative where that is hollow. Good to a third after noise.
    """
    harmonics = np.arange(1, len(curve.cosines) + 1)
    bell = np.exp(-0.5 * (harmonics * BLUR) ** 2)
    bend = on_fine(Series(curve.mean, curve.cosines * bell, curve.sines * bell), 2)
    if read.radius is None:
        return base + lift + bend
    high = np.sqrt((base + read.radius) ** 2 - read.offset**2) + lift
    aside = slope - read.offset
    with np.errstate(divide="ignore"):
        return np.asarray(
            hypot(high, aside) ** 3 / (high**2 + aside * (2 * slope - read.offset) - high * bend)
        )


def _metal(
    curve: Series, lift: Array, slope: Array, base: float, read: Follower
) -> tuple[float | None, bool]:
    """Return the radius of the tightest hollow that is WIDE, and whether some place is sharper than its follower."""
    along = metal_radius(curve, lift, slope, base, read)
    if read.radius is None:
        return None, _widest(along <= 0) >= WIDE
    impossible = _widest((along > 0) & (along < read.radius)) >= WIDE
    hollow = np.where(along < 0, read.radius - along, np.inf)
    limits = range(1, TIGHTEST_MM + 1)
    tightest = next((float(limit) for limit in limits if _widest(hollow <= limit) >= WIDE), None)
    return tightest, impossible


def _widest(there: Mask) -> int:
    """Return how many steps the widest unbroken stretch of a turn has."""
    if there.all():
        return len(there)
    turned = np.roll(there, -int(np.argmin(there)))
    ends = np.nonzero(~turned)[0]
    return int(np.diff(np.append(ends, len(turned))).max()) - 1
