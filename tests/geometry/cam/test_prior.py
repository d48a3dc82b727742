"""How well a card's lobe and its bounds hold on lobes that its prior was not taken from, family by family.

Each made-up lobe has a card taken from it exactly; then the lift at 81 crank angles and the least clearance over a piston
(stroke 4, rod 7.2, a valve 0.42 in over it at top centre, 24 degrees of lean, ratio 1.6) are held against the bounds. `python -m
tests.geometry.cam.test_prior` tells the table; the plain run takes a few of each family.

Figures, measured on two cores with CPython 3.11:

- lifts and bounds of 2,000 cards swept by 0.1° and 0.01 mm and by half of those, `-m study`, 4 min: the lift
  bends a quarter as much at half the step within 0.01 thou; a bound but for its creases, 0.21 thou at most;
  limit: 0.01; 0.25 thou
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray
from tallstack.geometry.cam import prior as lobe_prior
from tallstack.geometry.cam.card import AtAngle, Card, CardError, Stated
from tallstack.geometry.cam.flank import flank as flank_shape
from tallstack.geometry.cam.shape import card_shape, look_again

from ...commands import PUBLISHED
from ...geometry.cam.test_shape import NUMBERS, card

Array = NDArray[np.float64]
INCH = 25.4
DEG = np.pi / 180
CARDS = ("D1", "D1 D2", "D1 .020", "D1 top centre")
GRID = np.linspace(0.0, 170.0, 34_001)  # cam degrees from the nose
CRANK = np.arange(-40.0, 81.0, 1.5)  # from top centre


class Made(NamedTuple):
    """One lobe, its flanks' lifts against cam degrees from the nose [in]."""

    opening: Array  # on GRID
    closing: Array
    centreline: float  # crank degrees after top centre, halved at 0.050 in


def angle_at(flank: Array, lift: float) -> float:
    """Return how far from the nose a flank stands at a lift [cam degrees]."""
    return float(np.interp(-lift, -flank, GRID))


def truth(lobe: Made, crank: Array) -> Array:
    """Return the lift at crank degrees from top centre [in]."""
    nose = (angle_at(lobe.opening, 0.05) - angle_at(lobe.closing, 0.05)) / 2
    after = (crank - lobe.centreline) / 2 - nose
    return np.where(after < 0, np.interp(-after, GRID, lobe.opening), np.interp(after, GRID, lobe.closing))


def card_of(lobe: Made, kind: str) -> Card:
    """Return the card of a lobe, exactly."""

    def lasts(lift: float) -> Stated:
        return Stated(lift * INCH, 2 * (angle_at(lobe.opening, lift) + angle_at(lobe.closing, lift)) * DEG)

    rows = [lasts(0.050)]
    rows += [lasts(0.006)] if kind == "D1 D2" else []
    rows += [lasts(0.020)] if kind == "D1 .020" else []
    lifts = ()
    if kind == "D1 top centre":
        lifts = (
            AtAngle(float(truth(lobe, np.zeros(1))[0]) * INCH, -lobe.centreline / 2 * DEG, 0.001 * INCH),
        )
    return Card(float(lobe.opening[0]) * INCH, tuple(rows), lifts)


def clearance(lift: Array, crank: Array) -> float:
    """Return the least room at the valve [in]."""
    throw, rod, turned = 2.0, 7.2, crank * DEG
    down = throw * (1 - np.cos(turned)) + rod - np.sqrt(rod**2 - (throw * np.sin(turned)) ** 2)
    return float((0.42 + down * np.cos(24 * DEG) - 1.6 * lift).min())


class Held(NamedTuple):
    lift: float  # share of angles within the bounds
    within: bool  # the least clearance
    optimistic: float  # thou by which it is below the interval; nothing or less where it is not
    half: float  # thou, of the interval
    error: float  # thou, told less true


def held(lobe: Made, kind: str) -> Held | None:
    """Return how well a card holds, or None where the lobe cannot have it or is told to be looked at again."""
    try:
        shape = card_shape(card_of(lobe, kind))
    except CardError:
        return None
    if look_again(shape) is not None:
        return None
    cam = (CRANK - lobe.centreline) / 2 * DEG
    least, most = (one / INCH for one in shape.bounds(cam))
    true = truth(lobe, CRANK)
    low, middle, high, real = (
        clearance(lift, CRANK) for lift in (most, shape.at(cam, 0) / INCH, least, true)
    )
    inside = np.mean((true >= least - 1e-6) & (true <= most + 1e-6))
    return Held(
        float(inside), low <= real <= high, (low - real) * 1000, (high - low) * 500, (middle - real) * 1000
    )


# Families, none of them among those that the prior was taken from. Each gives a flank of peak 1 against the share of its length.


def cosine(rng: np.random.Generator) -> Callable[[Array], Array]:
    power = rng.uniform(1.6, 3.2)
    return lambda x: np.cos(np.pi / 2 * x) ** power


def bell(rng: np.random.Generator) -> Callable[[Array], Array]:
    power, flat = rng.uniform(2.0, 4.0), rng.uniform(1.8, 2.3)
    return lambda x: (1 - x**flat) ** power


def four_powers(rng: np.random.Generator) -> Callable[[Array], Array]:
    first = rng.integers(6, 11)
    powers = np.array([2, first, first + rng.integers(6, 10), first + rng.integers(12, 18)], dtype=float)
    rows = np.stack([powers**0, powers, powers * (powers - 1), powers * (powers - 1) * (powers - 2)])
    terms = np.linalg.solve(rows, [-1.0, 0, 0, 0])
    return lambda x: 1 + (terms * x[..., None] ** powers).sum(axis=-1)


def splined(rng: np.random.Generator) -> Callable[[Array], Array]:
    """Acceleration in straight lines between five heights, once positive and once negative."""
    knots = np.concatenate([[0], np.sort(rng.uniform(0.15, 0.9, 3)), [1]])
    heights = np.array([-rng.uniform(0.7, 1.3), -rng.uniform(0.6, 1.2), 0.0, rng.uniform(1.0, 2.5), 0.0])
    x = np.linspace(0, 1, 4001)
    bend = np.interp(x, knots, heights)
    bend[bend > 0] *= -bend[bend < 0].sum() / bend[bend > 0].sum()
    slope = np.cumsum(bend)
    lift = np.cumsum(slope[::-1])[::-1]
    return lambda at: np.interp(at, x, lift / lift[0])


LAWS = {"cosine powers": cosine, "bells": bell, "four powers": four_powers, "straight-line pulses": splined}


def flank(law: Callable[[Array], Array], half: float, ramp: float, long: float, dwell: float) -> Array:
    """Return a flank of peak 1 that is half a peak high at an angle; ramp : its height, long : its degrees."""
    x = np.linspace(0, 1, 2001)
    stretch = half / np.interp(-0.5, -law(x), x)
    away = np.maximum(GRID - dwell, 0.0)
    body = np.where(away < stretch, law(np.minimum(away / stretch, 1.0)), 0.0)
    if ramp == 0:
        return np.maximum(body, 0.0)
    joins = angle_at(body, ramp)
    fades = 4.0  # degrees, over which the ramp runs out
    left = np.clip(joins + long - GRID, 0.0, None)
    under = ramp * np.where(left > fades, left - fades / 2, left**2 / (2 * fades)) / (long - fades / 2)
    return np.where(joins > GRID, np.maximum(body, 0.0), np.minimum(np.maximum(under, 0.0), ramp))


FAMILIES = (*LAWS, "asymmetric", "long ramps", "flat noses")


def made(family: str, seed: int) -> Made:
    """Return a lobe of a family."""
    rng = np.random.default_rng([FAMILIES.index(family), seed])
    while True:
        peak, half = rng.uniform(0.22, 0.43), rng.uniform(28, 40)
        law = LAWS[family] if family in LAWS else list(LAWS.values())[rng.integers(len(LAWS))]
        ramp, long, dwell = 0.0, 0.0, 0.0
        if family == "long ramps":
            ramp, long = rng.uniform(0.004, 0.014), rng.uniform(12, 45)
        if family == "flat noses":
            dwell = rng.uniform(3, 9)
        apart = 0.0
        opened = law(rng)
        closed = opened
        if family == "asymmetric":
            apart = rng.normal(0, 1.5)
            closed = list(LAWS.values())[rng.integers(len(LAWS))](rng)
        sides = [
            flank(one, half + by, ramp / peak, long, dwell) * peak
            for one, by in ((opened, apart), (closed, -apart))
        ]
        lobe = Made(sides[0], sides[1], rng.uniform(100, 114))
        lasts = 2 * sum(angle_at(one, 0.05) for one in sides)
        seat = 2 * sum(angle_at(one, 0.006) for one in sides)
        steep = max(float(-np.gradient(one, GRID).min()) for one in sides)
        if 165 <= lasts <= 275 and 15 <= seat - lasts <= 160 and steep <= 0.0095:
            return lobe


def published() -> Iterator[tuple[str, Made]]:
    """Yield the published lobes, both flanks as the intake's opening one, their valve's lift by 1.6."""
    for name in ("intake", "exhaust"):
        crank, lift = np.loadtxt(
            PUBLISHED / f"osti_1501884_{name}.csv", delimiter=",", skiprows=2, unpack=True
        )
        lift = lift / INCH / 1.6
        top = crank[np.argmax(lift)]
        sides = []
        for way in (-1, 1):
            rows = (crank - top) * way >= 0
            order = np.argsort((crank[rows] - top) * way)
            away, high = ((crank[rows] - top) * way / 2)[order], lift[rows][order]
            sides.append(np.interp(GRID, away, np.minimum.accumulate(high), right=0.0))
        for label, pair in (("opening", sides), ("closing", sides[::-1])):
            yield f"{name} {label}", Made(pair[0], pair[1], 106.0)


def shares(family: str, kind: str, count: int) -> list[Held]:
    """Return what a number of lobes of a family hold."""
    return [one for seed in range(count) if (one := held(made(family, seed), kind)) is not None]


class Floor(NamedTuple):
    """What the worst of the families holds."""

    lift: float  # % of angles
    within: float  # % of lobes, their least clearance
    beyond: float  # thou, by which the worst lobe is closer than its interval says


WORST = {
    "D1": Floor(85, 88, 7),
    "D1 D2": Floor(80, 90, 5),
    "D1 .020": Floor(75, 75, 22),  # unlike flanks: a second duration says nothing of how they share it
    "D1 top centre": Floor(92, 94, 1),
}


@pytest.mark.study
@pytest.mark.parametrize("kind", CARDS)
def test_every_family_holds(kind: str) -> None:
    for family in FAMILIES:
        found = shares(family, kind, 150)
        assert len(found) > 120, family
        assert 100 * np.mean([one.within for one in found]) >= WORST[kind].within, family
        assert 100 * np.mean([one.lift for one in found]) >= WORST[kind].lift, family
        assert max(one.optimistic for one in found) < WORST[kind].beyond, family


def test_a_few_of_each_family_hold() -> None:
    found = [one for family in FAMILIES for kind in CARDS for one in shares(family, kind, 2)]
    assert len(found) > 45
    assert np.mean([one.within for one in found]) > 0.88
    assert max(one.optimistic for one in found) < 22


@pytest.mark.parametrize("kind", CARDS)
def test_the_published_lobes_hold(kind: str) -> None:
    """OSTI 1501884, Figure 3: valve lifts read with a dial on a pushrod research engine."""
    for name, lobe in published():
        one = held(lobe, kind)
        assert one is not None, name
        assert one.optimistic <= 0, name
        assert one.within or kind == "D1", name  # one is further off than a lone duration says


SWEPT = 2000
CREASE = 0.25  # thou, of a bound where it meets a number that the card states: its doubt is an amount, and nothing there


def told(peak: float, lasts: float, gap: float, low: float, steps: Array, which: int) -> Array:
    """Return lower bound, lift and upper bound at every crank angle, one of a card's numbers a little more at each step.

    steps : of 0.1 degree or 0.01 mm.  Returns thou, (steps, 3, angles)
    """
    cam, found = (CRANK - 106) / 2 * DEG, []
    for step in steps:
        off = np.eye(4)[which] * step * (0.1 if which < 2 else 0.01)
        rows = (Stated(1.27, (lasts + off[0]) * DEG), Stated(low + off[3], (lasts + gap + off[1]) * DEG))
        shape = card_shape(Card(peak + off[2], rows))
        least, most = shape.bounds(cam)
        found.append([least, shape.at(cam, 0), most])
    return np.array(found) / INCH * 1000


@pytest.mark.parametrize("cards", [5, pytest.param(SWEPT, marks=pytest.mark.study)])
def test_lifts_never_step(cards: int) -> None:
    """Swept by tenths of a degree and hundredths of a millimetre, and by halves of those.

    What bends smoothly bends a quarter as much at half the step, a crease half as much, a step as much. The lift has neither;
    a bound has creases, and ends at nothing and at the peak. A least clearance is the least of such curves: it steps by no
    more than they do, and has another slope where one crank angle is closer than another.
    """
    rng, swept = np.random.default_rng(16), 0
    halves = np.arange(0.0, 6.1, 0.5)
    while swept < cards:
        numbers = rng.uniform([5.5, 180, 25, 0.12], [11, 265, 70, 0.5])
        which = int(rng.integers(4))
        try:
            curves = told(*numbers, halves, which)
        except CardError:
            continue
        swept += 1
        inside = ((curves > 1e-9) & (curves < numbers[0] / INCH * 1000 - 1e-6)).all(axis=0)
        whole, half = (np.abs(np.diff(one, 2, axis=0)).max(axis=0) for one in (curves[::2], curves))
        more = np.where(inside, half - 0.25 * whole, 0.0)
        assert more[1].max() < 0.01, (numbers, which)
        assert more.max() < CREASE, (numbers, which)


def table() -> None:
    """Print what every family holds."""
    print(
        "| card | family | n | lift % | clearance % | optimistic % | worst beyond | median error | half width |"
    )
    for kind in CARDS:
        for family in (*FAMILIES, "published"):
            if family == "published":
                found = [one for _, lobe in published() if (one := held(lobe, kind)) is not None]
            else:
                found = shares(family, kind, 150)
            numbers = np.array(
                [(one.lift, one.within, one.optimistic > 0, one.half) for one in found], dtype=float
            )
            lift, within, optimistic, half = numbers.mean(axis=0)
            worst = max(0.0, *(one.optimistic for one in found))
            error = float(np.median([one.error for one in found]))
            print(
                f"| {kind} | {family} | {len(found)} | {100 * lift:.1f} | {100 * within:.1f} | {100 * optimistic:.1f} | "
                f"{worst:.1f} | {error:+.1f} | {half:.1f} |"
            )


if __name__ == "__main__":
    table()


Rows = list[tuple[float, float]]


class Told(NamedTuple):
    card: Card
    misfit: float
    scale: float
    heel: float | None
    at: dict[float, tuple[float, ...]]  # lift, u, lower, upper


A = card(0.388, [(250, 0.053), (290, 0.006)], 0.053)


B_ROWS = [(265.1754, 0.050), (318.9606, 0.006)]


@pytest.mark.parametrize(
    ("rows", "halved", "misfit", "lift"),
    [
        ([(250, 0.053), (252.5, 0.006)], 0.053, 80.6, 0.19666),
        ([(250, 0.053), (255, 0.006)], 0.053, 49.6, 0.18039),
        ([(250, 0.053), (260, 0.006)], 0.053, 26.4, 0.16258),
        ([(319.0, 0.006), (265.2, 0.050), (254.4, 0.100), (187.3, 0.200)], 0.050, 91.6, None),
        ([(319.0, 0.006), (265.2, 0.050), (214.4, 0.100), (187.3, 0.200)], 0.050, 72.6, None),
        ([(319.0, 0.006), (265.2, 0.050), (265.0, 0.053)], 0.050, 72.7, None),
        ([(275, 0.006), (265.2, 0.050)], 0.050, 26.4, None),
    ],
)
def test_the_misfit_of_queer_cards(rows: Rows, halved: float, misfit: float, lift: float | None) -> None:
    """As they are solved, before any is refused or a number left out."""
    asked = card(0.388, rows, halved)
    ordered = asked._replace(durations=tuple(sorted(asked.durations, reverse=True)))
    found = lobe_prior.most_probable(ordered)
    assert found.converged
    assert found.misfit == pytest.approx(misfit, abs=0.06)
    if lift is not None:
        side = flank_shape(asked.peak, found.terms[:10])
        assert float(side.lift(np.array(53 * DEG))) / INCH == pytest.approx(lift, abs=6e-6)


def test_a_seat_alone_is_doubted_more() -> None:
    assert lobe_prior.ramp_factor(NUMBERS["B"].card, np.zeros(0)) == pytest.approx(1.0621, abs=6e-5)
    third = NUMBERS["C"].card
    assert lobe_prior.ramp_factor(third, np.zeros(0)) == 1.0
