"""A lobe's lift against cam angle: one smooth periodic curve and what is read off it.

Angles are CAM angles in rad, one turn of the cam is one turn of the curve; only `Placed` speaks of the
crank, which turns twice as fast. Lift is the lifter's, in mm, and zero on the heel:

    lift                  peak
                        ╭──┴──╮
    check lift ┄┄┄┄┄┄┄┄╱┄┄┄│┄┄┄╲┄┄┄┄┄┄      middle: halfway between opens and closes at a check lift
                      ╱    │    ╲
    ─────────────────╯     │     ╰──────── heel
                    opens middle closes

Source: a centreline is halved at 0.050 in of lift, common practice.
"""

from __future__ import annotations

import math
from typing import NamedTuple, Protocol

import numpy as np

from ..core.frames import Array, array
from ..crank.heels import TURN, Opening

CENTRE_LIFT_MM = 1.27  # 0.050 in, where a centreline is halved: common practice
GRID = TURN * np.arange(1440) / 1440  # rad of cam, on which roots are bracketed
HALVINGS = 34  # a bracket of a quarter of a degree down to less than 1e-12 rad
PIECES, DEGREE = 2880, 6  # polynomials to a turn, and their degree
NOSE = 0.9  # share of the peak at which a flank counts as ended


def about(angle: Array) -> Array:
    """Return cam angles within half a turn of 0."""
    turns: Array = np.rint(angle / TURN)  # `np.mod` takes three times as long
    return angle - TURN * turns


class Curve(Protocol):
    """A periodic lift in closed form, its second derivative continuous."""

    def at(self, angle: Array, order: int) -> Array:
        """Return lift, or its first or second derivative, at cam angles (...) [mm per rad to the order]."""


class Series(NamedTuple):
    """A lift as a Fourier series of the cam angle."""

    mean: float  # mm
    cosines: Array  # (harmonics) mm, of the angle's multiples from 1
    sines: Array  # (harmonics) mm

    def at(self, angle: Array, order: int) -> Array:
        """Return lift or a derivative of any order, see `Curve`."""
        multiple = np.arange(1, len(self.cosines) + 1)
        turned = np.asarray(angle)[..., None] * multiple + order * np.pi / 2
        scale = multiple.astype(float) ** order
        waves: Array = np.cos(turned) @ (self.cosines * scale) + np.sin(turned) @ (self.sines * scale)
        return waves + (self.mean if order == 0 else 0.0)


class Pieces(NamedTuple):
    """A Fourier series as a polynomial about each of many even angles of a turn, the first 0.

    A series costs all its waves at every angle; a piece of it one short polynomial. Source: Taylor's; of 60 waves
    what it leaves out is less than 1e-12 of the shortest wave's size.
    """

    terms: tuple[Array, ...]  # (n) each, mm, of the steps from the nearest angle to the power 0, 1, ...

    @staticmethod
    def of(series: Series) -> Pieces:
        """Return a series in pieces."""
        harmonics = np.arange(1, len(series.cosines) + 1)
        waves = np.zeros(PIECES // 2 + 1, dtype=complex)
        found = []
        for order in range(DEGREE + 1):
            waves[1 : len(harmonics) + 1] = (
                (series.cosines - 1j * series.sines) / 2 * (1j * harmonics * TURN / PIECES) ** order
            )
            waves[0] = series.mean if order == 0 else 0.0
            found.append(np.fft.irfft(waves * PIECES, PIECES) / math.factorial(order))
        return Pieces(tuple(found))

    def at(self, angle: Array, order: int) -> Array:
        """Return lift or a derivative, see `Curve`."""
        step = TURN / PIECES
        steps = np.asarray(angle) / step
        near = np.rint(steps)
        away = steps - near
        piece = near.astype(np.intp) % PIECES
        lift: Array = np.zeros_like(away)
        for power in range(DEGREE, order - 1, -1):
            lift = lift * away + math.perm(power, order) * self.terms[power][piece]
        return lift / step**order


class Spline(NamedTuple):
    """A lift as the periodic cubic spline through its values at even angles of a turn, the first at 0.

    Source: the spline's second derivatives solve a circulant system, which the transform of the values divides out.
    """

    values: Array  # (n) mm
    bends: Array  # (n) mm per rad squared

    @staticmethod
    def through(values: Array) -> Spline:
        """Return the spline through values (n) [mm]."""
        step = TURN / len(values)
        waves = np.cos(TURN * np.arange(len(values) // 2 + 1) / len(values))
        bends = np.fft.irfft(np.fft.rfft(values) * (6 * (waves - 1) / (2 + waves)) / step**2, len(values))
        return Spline(values, bends)

    def at(self, angle: Array, order: int) -> Array:
        """Return lift or a derivative, see `Curve`."""
        count = len(self.values)
        step = TURN / count
        where = np.mod(np.asarray(angle), TURN) / step
        low = np.minimum(where.astype(int), count - 1)
        x = where - low
        y = 1 - x
        high = (low + 1) % count
        one, other = self.values[low], self.values[high]
        bend, next_bend = self.bends[low] * step**2 / 6, self.bends[high] * step**2 / 6
        if order == 0:
            lift: Array = one * y + other * x + bend * (y * y * y - y) + next_bend * (x * x * x - x)
            return lift
        if order == 1:
            slope: Array = (other - one - bend * (3 * y**2 - 1) + next_bend * (3 * x**2 - 1)) / step
            return slope
        return np.asarray(6 * (bend * y + next_bend * x) / step**2)


class Crossings(NamedTuple):
    """Where a lobe lifts past check lifts, cam rad; closes is later than opens, and less than a turn."""

    opens: Array
    closes: Array  # both nan where the lobe never lifts so far, or never comes down so far

    @property
    def duration(self) -> Array:
        """Cam rad above the check lift."""
        return self.closes - self.opens

    @property
    def middle(self) -> Array:
        """Cam rad, halfway between equal lifts."""
        return (self.opens + self.closes) / 2


class Lobe(NamedTuple):
    """One lobe of the cam."""

    curve: Curve

    def lift(self, angle: Array) -> Array:
        """Return the lifter's lift at cam angles (...) [mm]."""
        return self.curve.at(array(angle), 0)

    def velocity(self, angle: Array) -> Array:
        """Return the slope of the lift at cam angles (...) [mm per cam rad]."""
        return self.curve.at(array(angle), 1)

    def acceleration(self, angle: Array) -> Array:
        """Return the curvature of the lift at cam angles (...) [mm per cam rad squared]."""
        return self.curve.at(array(angle), 2)

    def peak(self) -> tuple[float, float]:
        """Return where the lift is greatest, cam rad, and how great, mm.

        Source: halving where the slope changes sign, beside the highest point of a quarter-degree grid.
        """
        top = GRID[int(np.argmax(self.lift(GRID)))]
        low, high = array(top - GRID[1]), array(top + GRID[1])
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            rises = self.velocity(middle) > 0
            low, high = np.where(rises, middle, low), np.where(rises, high, middle)
        angle = float((low + high) / 2)
        return angle, float(self.lift(array(angle)))

    def crossings(self, check: Array) -> Crossings:
        """Return where the lobe lifts past check lifts (...) [mm], outward from its peak.

        Valid: 0 < check < peak; elsewhere, and where the lobe stays above a check all round, nan.
        Source: first grid points below the check on either side of the peak, then halving to 1e-12 rad.
        """
        checks = array(check)
        top, _ = self.peak()
        lift = self.lift(top + GRID)
        low = lift < checks[..., None]
        after, before = np.argmax(low, axis=-1), np.argmax(low[..., ::-1], axis=-1)
        known = (lift[0] > checks) & low.any(axis=-1)
        closes = self._passes(checks, top + GRID[after], top + GRID[after - 1])
        begins = np.maximum(before + 1, 1)
        opens = self._passes(checks, top - begins * GRID[1], top - (begins - 1) * GRID[1])
        return Crossings(np.where(known, opens, np.nan), np.where(known, closes, np.nan))

    def _passes(self, check: Array, below: Array, above: Array) -> Array:
        """Return the angle between two at which the lift is the check's."""
        for _ in range(HALVINGS):
            middle = (below + above) / 2
            under = self.lift(middle) < check
            below, above = np.where(under, middle, below), np.where(under, above, middle)
        return (below + above) / 2

    def middle(self, check: float = CENTRE_LIFT_MM) -> float:
        """Return the point halfway between equal lifts, cam rad; nan where the lobe does not lift so far."""
        return float(self.crossings(array(check)).middle)

    def area(self) -> float:
        """Return the area under the lift, mm times cam rad.

        Source: the mean of a periodic curve over an even grid, exact for a series shorter than the grid.
        """
        return float(np.mean(self.lift(GRID))) * TURN

    def asymmetry(self, check: float = CENTRE_LIFT_MM) -> float:
        """Return how much longer the closing flank is than the opening one, cam rad.

        A flank counts from the check lift to nine tenths of the peak.
        """
        found = self.crossings(array([check, NOSE * self.peak()[1]]))
        opening, closing = found.opens[1] - found.opens[0], found.closes[0] - found.closes[1]
        return float(closing - opening)


class Placed(NamedTuple):
    """A lobe in its place on the crank; crank angles count from overlap top centre, in rad.

    The cam turns half as fast, so a crank angle is `at + 2 (cam angle - middle)`. An intake lobe's
    centreline stands after top centre, an exhaust lobe's before it; advance makes both earlier.
    """

    lobe: Lobe
    port: str  # "intake" or "exhaust"
    centreline: float  # crank rad
    advance: float  # crank rad
    middle: float  # cam rad, where the lobe's own centreline stands

    @property
    def at(self) -> float:
        """Crank rad from overlap top centre at which the lobe's middle stands."""
        return (self.centreline if self.port == "intake" else -self.centreline) - self.advance

    def cam(self, crank: Array) -> Array:
        """Return the cam angles of crank angles (...)."""
        found: Array = self.middle + (array(crank) - self.at) / 2
        return found

    def lift(self, crank: Array) -> Array:
        """Return the lifter's lift at crank angles (...) [mm]."""
        return self.lobe.lift(self.cam(crank))

    def velocity(self, crank: Array) -> Array:
        """Return the slope of the lift at crank angles (...) [mm per crank rad]."""
        return self.lobe.velocity(self.cam(crank)) / 2

    def opening(self, check: float) -> Opening | None:
        """Return where the lobe lifts past a check lift in mm, or None where it never does."""
        found = self.lobe.crossings(array(check))
        if np.isnan(found.opens):
            return None
        opens, closes = (self.at + 2 * (float(one) - self.middle) for one in found)
        return Opening(opens, closes)


def placed(
    lobe: Lobe, port: str, centreline: float, advance: float = 0.0, check: float = CENTRE_LIFT_MM
) -> Placed:
    """Return a lobe with its middle, halved at a check lift in mm, at a centreline in crank rad."""
    return Placed(lobe, port, centreline, advance, lobe.middle(check))
