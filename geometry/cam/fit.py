"""A lobe from readings of dial and degree wheel: the smoothest lift they support, and how noisy they are.

The readings may be uneven, doubled, taken turning both ways, off zero, and a few of them wrong:

    reading = rest(angle) + lift(angle) + way * (offset + play / 2 * lift'(angle)) + noise

with the rest of `heel`, and way +1 or -1 as the crank was turned. The curve is fitted three times,
each time letting it bend only where it bent before (`smooth`), the heel found anew and held flat.
What no curve can follow is a wrong reading: named, left out, and taken back if it fits after all.

Where readings stand far apart each has the curve to itself, and no residual shows that it is wrong: every ten
degrees a reading off by 0.25 mm mostly goes unnamed. So the doubt of a fitted lift is what the curve would be
without each reading in turn (the jackknife), where that is more than the noise.

Neighbours off the same way are shape, one alone is a misreading: three or more are kept, told, and counted in the
±. A valve leaves its seat by its lash at a corner, which the smooth curve rounds off, and the readings beside it
stand off by up to half of what the curve rises there: shape too, kept and counted in the doubt of the lift.

Sources: studentised deleted residuals, R. D. Cook, S. Weisberg, Residuals and Influence in Regression
(1982), from memory; Student's quantile by the expansion 26.7.5 of M. Abramowitz, I. A. Stegun, Handbook
of Mathematical Functions (1964), from memory, held against a table in the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, kept
from ..crank.heels import TURN
from ..doubt.distributions import student
from .heel import Heel, Rest, find_heel, least_squares
from .lobe import Lobe, Series
from .readings import FEWEST, SPAN, Mask, Readings, bridge, ends_apart, median, notation
from .rests import LEAST_MM, Rests, two_rests
from .smooth import (
    FINE,
    HARMONICS,
    Smooth,
    columns,
    derivative,
    mean_columns,
    on_fine,
    penalty,
    product,
    smoothed,
    strength,
    weights,
)

PASSES = 2  # fits after the first, each weighed by the one before
ROUGH = 30  # harmonics of all fits but the last: what the weights are taken from is blurred anyhow
LESS = 0.5  # of the strength that misses the lift by least: the foot of the lift is misplaced by less
CHANCE = 0.01  # that one reading of a good table is called suspicious
FINEST = 0.002  # mm, less noise than any dial has; what a curve misses by less is nobody's mistake
LEAVES_MM = 0.02  # above the rest, where a smooth curve beside a corner has left it
NEAR = 3  # readings to either side of a corner that a smooth curve is drawn off by it
RUN = 3  # neighbours off the same way: no slips of reading, but shape that the curve does not follow
APART, MOST_APART_MM = (
    3.0,
    0.05,
)  # noises, mm: by which the ends of a gap differ, so that the lower is the rest
TOLD = 4.0  # noises by which they differ, so that it is said
BIAS = 1.25  # what a smooth curve misses by, beside what noise it carries: held against known lobes
LEAST_APART = 1e-5  # of a reading that others tell; less of it is rounding
MOST_WRONG = 0.15  # share of the readings that may be named


class Suspect(NamedTuple):
    """A reading that does not belong to the curve through the others."""

    row: int  # of the readings, from 0
    off: float  # mm, above the curve
    sigmas: float  # studentised, the reading itself left out


class Run(NamedTuple):
    """Neighbouring readings that all stand off the curve the same way: shape that it does not follow, and kept."""

    rows: tuple[int, ...]  # of the readings, in the order of their angles
    off: float  # mm, the middle one of them above the curve


class Fit(NamedTuple):
    """A lobe from readings."""

    lobe: Lobe
    noise: float  # mm, standard deviation of one reading
    effective: float  # degrees of freedom the curve took
    off: Array  # (n) mm, by which each reading stands above the curve, rest and play allowed for
    suspects: tuple[Suspect, ...]
    rest: Rest
    heel: tuple[float, float] | None  # cam rad, where the lifter surely rests; None where nothing is flat
    play: float | None  # cam rad between the two ways of turning; None where read one way
    bridged: bool  # a stretch at rest was not read
    carried: Array  # see `smooth.Smooth`, with what the zero of the lift carries
    without: Array  # (terms, readings) by which the curve would move without one reading, its zero too
    rounded: float  # mm, standard uncertainty of what was rounded alike: a heel noted as zero all along
    runs: tuple[Run, ...] = ()  # what is finer than the curve
    higher: float = 0.0  # mm by which a second rest stands above the one that counts as zero
    missed: tuple[Array, Array] | None = (
        None  # cam rad (n) ascending and mm by which the runs and the corner stand off there
    )
    corner: tuple[
        int, ...
    ] = ()  # rows beside which a valve leaves its seat by its lash, and the curve bends slower

    def lift_doubt(self, angle: Array) -> Array:
        """Return the standard uncertainty of the fitted lift at cam angles (n) [mm].

        It counts the noise, there and where the lift is zero, half as much variance again for what the
        penalty holds back, and what the readings were rounded to; not the dial's own scale. Where the readings
        stand so far apart that each has the curve to itself, what the curve would be without one of them says
        more than the noise does, and counts instead.

        Source: the jackknife's variance, the sum of the squares of what each reading alone moves the curve by,
        B. Efron, The Jackknife, the Bootstrap and Other Resampling Plans (1982), from memory; held against known
        lobes in the tests.
        """
        terms = columns(array(angle))
        noise, alone = (
            np.sqrt(((terms @ one) ** 2).sum(axis=1))
            for one in (BIAS * self.noise * self.carried, self.without)
        )
        found: Array = np.hypot(np.maximum(noise, alone), self.rounded)
        if self.missed is None:
            return found
        return np.hypot(found, np.interp(np.mod(angle, TURN), *self.missed, period=TURN))

    def angle_doubt(self, angle: Array) -> Array:
        """Return the standard uncertainty of where the lift passes its value there [cam rad], (n)."""
        slope = np.abs(self.lobe.velocity(angle))
        return self.lift_doubt(angle) / np.maximum(slope, 1e-9)


def fit_once(readings: Readings, mapping: Flat | None, ratio: float = 1.0) -> Fit:
    """Return the lobe behind readings, lifts divided by a ratio, kept by the engine that it is of.

    What `fit` refuses it refuses.
    """
    key = ("fit", *(array(one).tobytes() if isinstance(one, np.ndarray) else one for one in readings), ratio)
    return kept(mapping, key, lambda: fit(readings, None if ratio == 1.0 else lambda lift: lift / ratio))


def fit(readings: Readings, to_lifter: Callable[[Array], Array] | None = None) -> Fit:
    """Return the lobe behind readings.

    to_lifter : from the valve's lift to the lifter's [mm], where the dial stood on the valve

    Raises:
        GeometryError: where there are too few readings, a gap in the lift, or no lift.
    """
    angle, lift = array(readings.angle), array(readings.lift)
    count, noted = len(angle), notation(lift)
    if count < FEWEST:
        message = f"{count} readings; a lobe needs at least {FEWEST}"
        raise GeometryError(message)
    if to_lifter is not None:
        lift = to_lifter(lift - float(median(np.sort(lift)[: max(count // 4, 1)])))
    if not float(np.ptp(lift)) > 0:
        message = "the lift is the same all round; a lobe lifts"
        raise GeometryError(message)
    rests = two_rests(angle, lift)
    rows = _Rows(angle, lift, readings.way, bridge(angle, lift), noted, rests, readings.leaves_by_lash)
    found = _judged(rows)
    apart = ends_apart(angle, lift)
    if apart > min(APART * max(found.noise, FINEST), MOST_APART_MM):
        found = _judged(rows._replace(bridge=bridge(angle, lift, lowest=True)))
        if apart > max(TOLD * found.noise, LEAST_MM):
            found = found._replace(higher=apart)
    return found if rests is None else found._replace(higher=rests.high - rests.low)


class _Rows(NamedTuple):
    angle: Array
    lift: Array
    way: Array | None
    bridge: tuple[Array, Array]  # cam rad and mm, where a stretch at rest was not read
    noted: float  # mm, what the readings were rounded to
    rests: Rests | None = None  # where there are two
    leaves_by_lash: bool = False

    def bridged(self) -> Mask:
        """Return where on FINE a stretch at rest was bridged."""
        apart = np.mod(FINE[:, None] - self.bridge[0] + np.pi, TURN) - np.pi
        bridged: Mask = (np.abs(apart) <= SPAN).any(axis=1)
        return bridged


class _Shape(NamedTuple):
    smooth: Smooth
    rest: Rest
    heel: Heel | None
    flat: Mask  # on FINE: the heel, or what was bridged
    turned: Array  # (2) mm of dial, cam rad: half of what turning back changes
    noise: float
    effective: float


def _judged(rows: _Rows) -> Fit:
    """Return the fit with the readings left out that do not belong to it."""
    design = columns(rows.angle)
    count = len(rows.angle)
    limit = _limit(count)
    kept = np.ones(count, dtype=bool)
    shape = _shape(rows, design, kept)
    for again in range(8):
        off, sigmas = _judge(rows, design, kept, shape, robust=again == 0)
        away = np.abs(sigmas)
        # More of them are no wrong readings but a curve that cannot follow.
        wrong = (away > limit) & (away >= np.sort(away)[-int(MOST_WRONG * count)])
        for run in _runs(rows.angle, off, wrong):
            wrong[list(run)] = False
        wrong &= ~_at_corner(rows, design, shape, off)
        if (wrong == ~kept).all():
            break
        kept = ~wrong
        shape = _shape(rows, design, kept)
    off, sigmas = _judge(rows, design, kept, shape, robust=False)
    lobe, carried, without = _zeroed(shape, off[kept])
    away = kept & (np.abs(sigmas) > limit)
    corner = [(int(one),) for one in np.nonzero(away & _at_corner(rows, design, shape, off))[0]]
    runs = [run for run in _runs(rows.angle, off, away) if not {(one,) for one in run} <= set(corner)]
    named = [Suspect(int(one), float(off[one]), float(sigmas[one])) for one in np.nonzero(~kept)[0]]
    return Fit(
        lobe=lobe,
        noise=shape.noise,
        effective=shape.effective,
        off=off,
        suspects=tuple(one for one in named if abs(one.sigmas) > limit),
        rest=shape.rest,
        heel=None if shape.heel is None else _ends(shape.heel.flat),
        play=None if rows.way is None else 2 * float(shape.turned[1]),
        bridged=len(rows.bridge[0]) > 0,
        carried=carried,
        without=without,
        rounded=rows.noted / np.sqrt(12.0),
        runs=tuple(Run(run, float(median(off[list(run)]))) for run in runs),
        missed=_missed(rows.angle, off, [*runs, *corner]),
        corner=tuple(row for (row,) in corner),
    )


def _runs(angle: Array, off: Array, away: Mask) -> list[tuple[int, ...]]:
    """Return the rows of at least RUN neighbours that are away, all to the same side."""
    order = np.argsort(np.mod(angle, TURN), kind="stable")
    side = np.where(away, np.sign(off), 0.0)[order]
    if (side == side[0]).all():
        return [tuple(order.tolist())] if side[0] else []
    first = int(np.argmax(side != np.roll(side, 1)))  # a run may pass the turn
    order, side = np.roll(order, -first), np.roll(side, -first)
    ends = np.append(np.nonzero(np.diff(side))[0] + 1, len(side))
    parts = zip(np.append(0, ends[:-1]).tolist(), ends.tolist(), strict=True)
    return [tuple(order[one:end].tolist()) for one, end in parts if side[one] and end - one >= RUN]


def _at_corner(rows: _Rows, design: Array, shape: _Shape, off: Array) -> Mask:
    """Return which readings stand no further off than a smooth curve does beside a corner.

    That is where a valve read with lash leaves its seat, the curve first coming down to LEAVES from the nose, by no more
    than half of what it rises within NEAR readings there.
    """
    found = np.zeros(len(off), dtype=bool)
    if not rows.leaves_by_lash:
        return found
    turned = np.mod(rows.angle, TURN)
    places = np.unique(turned)
    terms = shape.smooth.coefficients
    curve, lift = columns(places) @ terms, on_fine(terms)
    down = np.roll(lift, -int(np.argmax(lift))) < float(median(np.sort(lift)[: len(lift) // 4])) + LEAVES_MM
    nose = FINE[int(np.argmax(lift))]
    for steps in (int(np.argmax(down)), -int(np.argmax(down[::-1]))):
        after = int(np.searchsorted(places, np.mod(nose + steps * FINE[1], TURN)))
        beside = np.arange(after - NEAR, after + NEAR) % len(places)
        rises = float(np.ptp(curve[beside]))
        found |= np.isin(turned, places[beside]) & (np.abs(off) <= rises / 2)
    return found


def _missed(angle: Array, off: Array, runs: Sequence[tuple[int, ...]]) -> tuple[Array, Array] | None:
    """Return by how much readings of runs stand off, over all angles in order; None where there is no run."""
    if not runs:
        return None
    size = np.zeros(len(angle))
    for run in runs:
        size[list(run)] = np.abs(off[list(run)])
    turned, index = np.unique(np.mod(angle, TURN), return_inverse=True)
    most = np.zeros(len(turned))
    np.maximum.at(most, index, size)
    return turned, most


def _shape(rows: _Rows, design: Array, kept: Mask) -> _Shape:
    """Return the curve through the readings that are kept."""
    own, angle, read = design[kept], rows.angle[kept], rows.lift[kept]
    turning = np.zeros(len(read)) if rows.way is None else rows.way[kept]
    few = own[:, np.r_[0 : ROUGH + 1, HARMONICS + 1 : HARMONICS + ROUGH + 1]]
    all_round = np.append(angle, rows.bridge[0])
    bridged = rows.bridged()
    rest, heel, turned, lift = Rest(0.0, 0.0, 0.0), None, np.zeros(2), read
    rough = penalty(np.ones(len(FINE)), bridged, ROUGH)
    smooth = smoothed(few, read, rough, strength(few, read, rough))
    for again in range(PASSES):
        slope = few @ derivative(smooth.coefficients, 1)
        if rows.way is not None:
            backlash = np.stack([turning, turning * slope], axis=1)
            turned = turned + least_squares(backlash, lift - smooth.fitted)
        noise, _ = _noise(lift, smooth, rows.way)
        resting = np.append(lift, rows.bridge[1] - rest.at(rows.bridge[0]))
        besides = None if rows.rests is None else rows.rests.above
        heel = find_heel(on_fine(smooth.coefficients), all_round, resting, noise, not bridged.any(), besides)
        if heel is not None:
            rest = Rest(*(one + more for one, more in zip(rest, heel.rest, strict=True)))
        flat = bridged if heel is None else bridged | heel.flat
        weight = weights(on_fine(derivative(smooth.coefficients, 3)))
        rough = penalty(weight, flat, ROUGH)
        lift = read - rest.at(angle) - turning * (turned[0] + turned[1] * slope)
        strong = strength(few, lift, rough)
        if again < PASSES - 1:
            smooth = smoothed(few, lift, rough, strong)
    smooth = smoothed(own, lift, penalty(weight, flat), LESS * strong)
    return _Shape(smooth, rest, heel, flat, turned, *_noise(lift, smooth, rows.way))


def _noise(lift: Array, smooth: Smooth, way: Array | None) -> tuple[float, float]:
    """Return the noise of one reading [mm], and the degrees of freedom that were taken from it."""
    left = lift - smooth.fitted
    effective = float(smooth.leverage.sum()) + (0.0 if way is None else 2.0)
    return float(np.sqrt((left**2).sum() / max(len(left) - effective, 1.0))), effective


def _judge(rows: _Rows, design: Array, kept: Mask, shape: _Shape, robust: bool) -> tuple[Array, Array]:
    """Return how far every reading stands off the curve [mm], and in studentised deleted residuals.

    robust : count in the middle of the residuals, which wrong readings cannot stretch
    """
    expected = design @ shape.smooth.coefficients + shape.rest.at(rows.angle)
    if rows.way is not None:
        slope = design @ derivative(shape.smooth.coefficients, 1)
        expected = expected + rows.way * (shape.turned[0] + shape.turned[1] * slope)
    off = rows.lift - expected
    share = (product(design, shape.smooth.spread) ** 2).sum(axis=1)
    room = np.where(kept, np.maximum(1 - share, 1e-3), 1 + share)
    usual = off / np.sqrt(room)
    if robust:
        middle = 1.4826 * float(median(np.abs(usual)))
        return off, usual / max(middle, FINEST)
    sigmas = usual / max(shape.noise, FINEST)
    free = max(float(kept.sum()) - shape.effective, 2.0)
    deleted = sigmas * np.sqrt((free - 1) / np.maximum(free - sigmas**2, 0.05 * free))
    return off, np.where(kept, deleted, sigmas)


def _limit(count: int) -> float:
    """Return the studentised residual that chance passes in one table of a hundred."""
    return student(1 - CHANCE / (2 * count), 0.7 * count)


def _zeroed(shape: _Shape, off: Array) -> tuple[Lobe, Array, Array]:
    """Return the curve with the heel, or the lowest point where there is none, at zero, what it carries and `without`.

    off : by which the readings that were kept stand above the curve
    """
    terms = shape.smooth.coefficients
    if shape.flat.any():
        zero = mean_columns(shape.flat)
    else:
        low = columns(FINE[int(np.argmin(on_fine(terms)))] + np.linspace(-FINE[1], FINE[1], 101))
        zero = low[int(np.argmin(low @ terms))]
    lobe = Lobe(Series(float(terms[0] - zero @ terms), terms[1 : HARMONICS + 1], terms[HARMONICS + 1 :]))
    # Where the zero lies is told by other readings than those near the lift that is asked for.
    carried = shape.smooth.carried
    apart = np.zeros((len(terms), 1))
    apart[0] = np.linalg.norm(zero @ carried)
    without = carried * (off / np.maximum(1 - shape.smooth.leverage, LEAST_APART))
    without[0] -= zero @ without
    return lobe, np.hstack([carried, apart]), without


def _ends(flat: Mask) -> tuple[float, float]:
    begins = int(np.argmax(flat & ~np.roll(flat, 1)))
    return float(FINE[begins]), float(FINE[begins]) + (int(flat.sum()) - 1) * float(FINE[1])
