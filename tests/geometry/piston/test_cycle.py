"""Minima through the cycle against a brute-force scan at 0.01 degrees, and exact special cases.

Figures, measured on two cores with CPython 3.11:

- least drop of 500 random engines (plain, pockets, dome, dish) against a scan at 0.01°, and no lower value of
  drop, wall or valve to valve in a scan of the whole cycle at 0.25°, `-m study`, 4¼ min: within 0.001 mm and
  0.05°; limit: 0.001 mm, 0.05°
- least straight gap of 120 random valves against a scan of the whole cycle at 0.25°; room to the wall against
  points up the margin: never more; limit: never more
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from tallstack.geometry.core.frames import Array, array, from_lean, point
from tallstack.geometry.core.minima import minima
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.piston import cycle
from tallstack.geometry.piston.crown import Cap, Crown, Pocket, pocket
from tallstack.geometry.piston.cycle import (
    Below,
    Valve,
    between_at,
    cycle_angles,
    drop_at,
    gap_at,
    least_between,
    least_drop,
    least_gap,
    least_wall,
    wall_at,
)
from tallstack.geometry.piston.head import Head

FINE_DEG = 0.01
CLOSE_MM = 0.001


def bump(peak: float, middle: float, half: float) -> object:
    """Return a smooth lift: a 3-4-5 rise and fall about a middle, crank rad."""

    def lift(angle: Array) -> Array:
        away = np.abs((np.asarray(angle) - middle + 2 * np.pi) % (4 * np.pi) - 2 * np.pi)
        share = np.clip(1 - away / half, 0.0, 1.0)
        return peak * share**3 * (10 - 15 * share + 6 * share**2)

    return lift


def engine(rng: np.random.Generator, kind: str) -> tuple[Below, list[Valve]]:
    throw, rod = rng.uniform(40, 60), rng.uniform(140, 210)
    crank = Crank(array(throw), array(rod), array(35.0), array(rng.uniform(-1.5, 1.5)))
    heads, pockets, valves = [], [], []
    for side in (-1.0, 1.0):
        lean = np.radians([side * rng.uniform(8, 26), rng.uniform(-4, 4)])
        stem, radius = from_lean(*lean), rng.uniform(16, 24)
        centre = point(side * rng.uniform(21, 26), rng.uniform(-3, 3), rng.uniform(3.0, 9.0))
        heads.append(Head(centre, stem, array(radius), array(1.4)))
        cutter = from_lean(*(lean + np.radians(rng.uniform(-2, 2, 2))))
        pockets.append(
            pocket(
                centre[:2] + rng.uniform(-1, 1, 2),
                cutter,
                array(2 * radius + rng.uniform(2, 6)),
                array(rng.uniform(1, 5)),
            )
        )
    cap = None
    if kind in ("dome", "dish"):
        cap = Cap(array(rng.uniform(1, 5) * (1 if kind == "dome" else -1)), array(rng.uniform(28, 40)))
    crown = Crown(() if kind == "plane" else tuple(pockets), cap)
    for index, head in enumerate(heads):
        way = 1 if index == 0 else -1
        lift = bump(
            rng.uniform(8, 13), np.radians(way * rng.uniform(100, 112)), np.radians(rng.uniform(130, 160))
        )
        valves.append(Valve(head, lift, None if kind == "plane" else index))  # type: ignore[arg-type]
    return Below(crown, crank, bool(rng.integers(2))), valves


@pytest.mark.parametrize(
    ("kind", "seed"),
    [
        *(("plane", 0), ("pockets", 0), ("pockets", 1), ("dome", 0), ("dish", 1)),
        *(
            pytest.param(kind, seed, marks=pytest.mark.wide)
            for kind, first in (("plane", 1), ("pockets", 2))
            for seed in range(first, 6)
        ),
    ],
)
def test_least_drop_against_a_scan(kind: str, seed: int) -> None:
    below, valves = engine(np.random.default_rng([seed, len(kind)]), kind)
    for valve in valves:
        best = least_drop(below, valve)[0]
        around = np.arange(best.angle - np.radians(3), best.angle + np.radians(3), np.radians(FINE_DEG))
        near = drop_at(below, valve, around)
        coarse = np.radians(np.arange(-360.0, 360.0, 0.5))
        anywhere = drop_at(below, valve, coarse, refine=False).min()
        assert best.value <= near.min() + 1e-9
        assert near.min() - best.value < CLOSE_MM
        assert best.value <= anywhere + 1e-9
        assert abs(around[near.argmin()] - best.angle) < np.radians(0.05)


@pytest.mark.study
@pytest.mark.parametrize("seed", range(500))
def test_least_drop_and_distance_of_500_engines(seed: int) -> None:
    kind = ("plane", "pockets", "dome", "dish")[seed % 4]
    below, valves = engine(np.random.default_rng([seed, 99]), kind)
    valve = valves[seed % 2]
    best = least_drop(below, valve)[0]
    around = np.arange(best.angle - np.radians(2), best.angle + np.radians(2), np.radians(FINE_DEG))
    near = drop_at(below, valve, around)
    assert best.value <= near.min() + 1e-9
    assert near.min() - best.value < CLOSE_MM
    assert abs(around[near.argmin()] - best.angle) < np.radians(0.05)
    whole = np.radians(np.arange(-360.0, 360.0, 0.25))
    assert best.value <= drop_at(below, valve, whole, refine=False).min() + 1e-9
    close = least_gap(below, valve, best.angle)
    assert close.value <= gap_at(below, valve, whole, refine=False).min() + 1e-9
    pair = least_between(*valves)
    assert pair.value <= between_at(*valves, whole, refine=False).min() + 1e-9
    room = least_wall(below, valve)
    seen = wall_at(below, valve, whole, refine=False)
    assert (room is None) == (not np.isfinite(seen).any())
    if room is not None:
        assert room.value <= seen.min() + 1e-9


@pytest.mark.parametrize("kind", ["plane", "pockets", "dish"])
def test_least_gap_wall_and_valve_to_valve_against_a_scan(kind: str) -> None:
    below, valves = engine(np.random.default_rng([7, len(kind)]), kind)
    least = least_drop(below, valves[0])[0]
    close = least_gap(below, valves[0], least.angle)
    around = np.arange(close.angle - np.radians(2), close.angle + np.radians(2), np.radians(0.05))
    assert close.value <= gap_at(below, valves[0], around).min() + 1e-9
    assert close.value >= gap_at(below, valves[0], around).min() - CLOSE_MM
    pair = least_between(*valves)
    around = np.arange(pair.angle - np.radians(2), pair.angle + np.radians(2), np.radians(0.05))
    assert pair.value <= between_at(valves[0], valves[1], around).min() + 1e-9
    room = least_wall(below, valves[0])
    if room is not None:
        everywhere = wall_at(below, valves[0], np.radians(np.arange(-60.0, 60.0, 0.25)), refine=False)
        assert room.value <= everywhere.min() + 1e-9


def test_on_a_plain_crown_the_gap_is_the_drop_times_the_cosine_of_the_lean() -> None:
    below, valves = engine(np.random.default_rng(3), "plane")
    angles = np.radians(np.array([-40.0, -10.0, 0.0, 5.0, 30.0]))
    for valve in valves:
        cosine = float(valve.head.stem[2])
        further = drop_at(below, valve, angles)
        np.testing.assert_allclose(gap_at(below, valve, angles), further * cosine, atol=1e-9)


def stacked(
    engines: list[tuple[Below, list[Valve]]], shape: tuple[int, ...], side: int
) -> tuple[Below, Valve]:
    """Return engines of one kind as one batch; the second pocket is that of the first engine, in no batch."""

    def together(parts: list[Array]) -> Array:
        return np.stack(parts).reshape(*shape, *np.shape(parts[0]))

    belows, valves = [one for one, _ in engines], [pair[side] for _, pair in engines]
    pockets = [list(one.crown.pockets) for one in belows]
    cuts = [
        Pocket(*(together(list(part)) for part in zip(*cut, strict=True)))
        for cut in zip(*pockets, strict=True)
    ]
    if len(cuts) > 1:
        cuts[1] = pockets[0][1]
    caps = [one.crown.cap for one in belows]
    cap = None if caps[0] is None else Cap(*(together(list(part)) for part in zip(*caps, strict=True)))  # type: ignore[arg-type]
    crank = Crank(*(together(list(part)) for part in zip(*(one.crank for one in belows), strict=True)))
    head = Head(*(together(list(part)) for part in zip(*(one.head for one in valves), strict=True)))
    lifts = [one.lift for one in valves]

    def lift(angle: Array) -> Array:
        spread = np.broadcast_to(angle, np.broadcast_shapes(np.shape(angle), shape))
        places = np.broadcast_to(np.arange(len(lifts)).reshape(shape), spread.shape)
        rows = np.array([float(lifts[at](one)) for at, one in zip(places.flat, spread.flat, strict=True)])
        return rows.reshape(spread.shape)

    return Below(Crown(tuple(cuts), cap), crank, True), Valve(head, lift, valves[0].own_pocket)


def same_second_pocket(count: int, kind: str) -> list[tuple[Below, list[Valve]]]:
    found = [engine(np.random.default_rng([seed, 71]), kind) for seed in range(count)]
    cuts = found[0][0].crown.pockets
    for index, (below, valves) in enumerate(found):
        pockets = below.crown.pockets[:1] + cuts[1:]
        found[index] = below._replace(crown=below.crown._replace(pockets=pockets), forward=True), valves
    return found


@pytest.mark.parametrize("kind", ["plane", "pockets", "dome", "dish"])
@pytest.mark.parametrize(
    "shape",
    [
        (2,),
        *(pytest.param(one, marks=pytest.mark.wide) for one in ((1,), (3,), (4,))),
        (2, 3),
        pytest.param((3, 1), marks=pytest.mark.wide),
    ],
)
def test_a_batch_of_engines_gives_what_each_gives_alone(kind: str, shape: tuple[int, ...]) -> None:
    """Lengths 1 to 4 and two axes; one pocket of the two in no batch."""
    engines = same_second_pocket(int(np.prod(shape)), kind)
    below, valve = stacked(engines, shape, 0)
    _, other = stacked(engines, shape, 1)

    @cache
    def alone(place: int, angle: float, refine: bool) -> list[Array]:
        one, pair = engines[place]
        return [
            drop_at(one, pair[0], array(angle), refine),
            gap_at(one, pair[0], array(angle), refine),
            wall_at(one, pair[0], array(angle), refine),
            between_at(pair[0], pair[1], array(angle), refine),
        ]

    for angle in (array(0.1), np.broadcast_to(array(0.1), shape), np.array([-0.2, 0.3, 0.1])[: shape[-1]]):
        if angle.ndim and angle.shape[-1] not in (shape[-1], 1) and shape[-1] != 1:
            continue
        full = np.broadcast_shapes(angle.shape, shape)
        angles = np.broadcast_to(angle, full)
        places = np.broadcast_to(np.arange(len(engines)).reshape(shape), full)
        for refine in (True, False):
            found = [
                drop_at(below, valve, angle, refine),
                gap_at(below, valve, angle, refine),
                wall_at(below, valve, angle, refine),
                between_at(valve, other, angle, refine),
            ]
            assert [one.shape for one in found] == [full] * 4
            for at in np.ndindex(*full):
                wanted = np.array(alone(int(places[at]), float(angles[at]), refine))
                np.testing.assert_allclose([float(value[at]) for value in found], wanted, atol=1e-9)


@pytest.mark.parametrize("kind", ["plane", "pockets", "dome"])
def test_permuting_a_batch_permutes_the_answers(kind: str) -> None:
    engines = same_second_pocket(6, kind)
    order = [0, 4, 2, 5, 1, 3]
    for curve in (drop_at, gap_at, wall_at):
        plain = curve(*stacked(engines, (6,), 0), array(0.1))
        shuffled = curve(*stacked([engines[at] for at in order], (6,), 0), array(0.1))
        np.testing.assert_allclose(shuffled, plain[order], rtol=0, atol=1e-12)


def test_engines_by_angles() -> None:
    """Engines (N, 1) and angles (K,) give (N, K)."""
    engines = same_second_pocket(3, "pockets")
    angles = np.array([-0.2, 0.0, 0.1, 0.25])
    below, valve = stacked(engines, (3, 1), 0)
    found = drop_at(below, valve, angles), gap_at(below, valve, angles), wall_at(below, valve, angles)
    for row, (one, valves) in enumerate(engines):
        alone = (
            drop_at(one, valves[0], angles),
            gap_at(one, valves[0], angles),
            wall_at(one, valves[0], angles),
        )
        for together, single in zip(found, alone, strict=True):
            assert together.shape == (3, 4)
            np.testing.assert_allclose(together[row], single, rtol=0, atol=1e-9)


def test_equal_distances_give_the_angle_nearest_overlap_top_centre() -> None:
    """Two heads that lift square to what lies between them stay as far apart while both are open."""
    upright = point(0.0, 0.0, 1.0)
    heads = [Head(point(side * 22.0, 0.0, 5.0), upright, array(20.0), array(1.4)) for side in (-1.0, 1.0)]
    lifts = [bump(1.0, np.radians(150.0), np.radians(120.0)), bump(1.0, np.radians(150.0), np.radians(120.0))]
    level = [Valve(head, lift, None) for head, lift in zip(heads, lifts, strict=True)]  # type: ignore[arg-type]
    found = least_between(*level)
    assert found.value == pytest.approx(4.0, abs=1e-9)
    assert found.angle == pytest.approx(0.0, abs=1e-9)

    def steady(angle: Array) -> Array:
        return np.zeros(np.shape(angle))

    leant = heads[1]._replace(stem=from_lean(np.radians(10.0), 0.0), centre=point(22.0, 0.0, 3.0))
    # its rim's nearest point slides along the other's margin until it has left it
    pair = Valve(heads[0], steady, None), Valve(leant, lifts[1], None)  # type: ignore[arg-type]
    found = least_between(*pair)
    angles = np.radians(np.arange(-360.0, 360.0, 0.1))
    seen = between_at(*pair, angles)
    equal = np.abs(angles[seen <= found.value + 1e-9]).min()
    assert abs(found.angle) <= equal + np.radians(1e-3)
    assert found.value <= seen.min() + 1e-9


def test_minima_of_a_curve_that_jumps_is_level_or_is_nothing() -> None:
    """A sloping stretch that ends in a jump, a level one, and infinity everywhere."""
    angles = cycle_angles()
    edge = np.radians(31.23456)

    def saw(angle: Array, refine: bool) -> Array:
        return np.where(angle < edge, 5.0 - angle, 8.0 + angle * angle)

    found = minima(saw, angles)
    assert found[0].value == pytest.approx(5.0 - edge, abs=1e-6)
    assert found[0].angle == pytest.approx(edge, abs=1e-6)
    assert found[0].angle < edge
    level = minima(lambda angle, refine: np.maximum(np.abs(angle), 0.3), angles)
    assert level[0].value == 0.3
    nothing = minima(lambda angle, refine: np.full(angle.shape, np.inf), angles)
    assert [one.value for one in nothing] == [np.inf]


def test_two_minima_within_a_step_are_told_apart() -> None:
    """A row at 2° sees one place only; the lower dip is 0.3° wide and beside the middle of the other."""

    def dips(angle: Array, refine: bool) -> Array:
        away = np.degrees(angle)
        return 1.0 + 0.01 * (away - 10.0) ** 2 - 0.2 * np.exp(-(((away - 10.9) / 0.3) ** 2))

    found = minima(dips, cycle_angles())
    dense = dips(np.radians(np.arange(9.0, 12.0, 1e-4)), True)
    assert found[0].value == pytest.approx(dense.min(), abs=1e-8)


def test_a_closed_valve_can_be_nearest_its_pocket_s_outer_edge_at_compression_top_centre() -> None:
    """Its drop is least near overlap, where it stands open and further in; the gap is looked for everywhere."""
    stem = from_lean(np.radians(24.0), 0.0)
    head = Head(point(21.0, 0.0, 4.3), stem, array(20.0), array(1.4))
    cut = pocket(array([18.4, 0.0]), stem, array(46.0), array(11.0))
    below = Below(
        Crown((cut,), None), Crank(array(48.0), array(176.0), array(34.0), array(0.0)), forward=True
    )
    lift = bump(11.0, np.radians(104.0), np.radians(150.0))
    valve = Valve(head, lift, 0)  # type: ignore[arg-type]
    least = least_drop(below, valve)[0]
    whole = np.radians(np.arange(-360.0, 360.0, 2.0))
    seen = gap_at(below, valve, whole, refine=False)
    beside = np.abs(whole - least.angle) < np.radians(26.0)
    found = least_gap(below, valve, least.angle)
    assert found.value <= seen.min() + 1e-9
    assert found.value < seen[beside].min() - 0.05
    assert abs(found.angle) > np.radians(330.0)


def test_a_rim_is_seen_at_most_half_a_spacing_away() -> None:
    """Of `_rim_missed` alone: a bound that the search trusts, in no answer."""
    half = 2 * np.pi / 96 / 2
    at, far = cycle._rim_missed(array([0.0, 50.0]), 20.0)
    assert at == pytest.approx(half * 20.0)
    assert far == pytest.approx((half * 20.0) ** 2 / 2 * (1 / (50.0 - half * 20.0) + 1 / 20.0))
