"""Minima through the cycle against a brute-force scan at 0.01 degrees, and exact special cases."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.crank import Crank
from tallstack.geometry.crown import Cap, Crown, first_metal, pocket
from tallstack.geometry.cycle import (
    Below,
    Valve,
    between_at,
    drop_at,
    gap_at,
    least_between,
    least_drop,
    least_gap,
    least_wall,
    wall_at,
)
from tallstack.geometry.frames import Array, array, from_lean, point
from tallstack.geometry.search import square_to
from tallstack.geometry.valvehead import Head, drop, gap, rim

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
    [*((kind, seed) for kind in ("plane", "pockets") for seed in range(6)), ("dome", 0), ("dish", 1)],
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


def test_piston_travel_counts_by_the_lean_s_cosine_one_way_or_the_other() -> None:
    """K = 1/cos where the valve meets a plain crown, k = cos over a floor square to its stem."""
    stem = from_lean(np.radians(20.0), 0.0)
    head = Head(point(-10.0, 0.0, 6.0), stem, array(18.0), array(1.4))
    plain = Crown((), None)
    deep = Crown((pocket(array([-12.0, 0.0]), stem, array(44.0), array(9.0)),), None)
    raised = head._replace(centre=head.centre + np.array([0.0, 0.0, 0.5]))
    cosine = np.cos(np.radians(20.0))
    assert drop(plain, raised) - drop(plain, head) == pytest.approx(0.5 / cosine, abs=1e-9)
    low = head._replace(centre=head.centre - np.array([0.0, 0.0, 5.0]))
    lower = low._replace(centre=low.centre + np.array([0.0, 0.0, 0.5]))
    assert drop(deep, lower) - drop(deep, low) == pytest.approx(0.5 * cosine, abs=1e-9)


def random_pose(rng: np.random.Generator) -> tuple[Crown, Head]:
    def one() -> tuple[object, Head]:
        lean = np.radians(rng.uniform(-30, 30, 2))
        radius, centre = rng.uniform(16, 25), rng.uniform(-20, 20, 2)
        cutter = from_lean(*(lean + np.radians(rng.uniform(-4, 4, 2))))
        cut = pocket(array(centre), cutter, array(2 * radius + rng.uniform(1, 8)), array(rng.uniform(1, 6)))
        place = point(*(centre + rng.uniform(-3, 3, 2)), rng.uniform(-2, 8))
        return cut, Head(place, from_lean(*lean), array(radius), array(1.4))

    first, head = one()
    cuts = (first, one()[0]) if rng.random() < 0.4 else (first,)
    cap = (
        Cap(array(rng.choice([-1, 1]) * rng.uniform(1, 6)), array(rng.uniform(25, 40)))
        if rng.random() < 0.3
        else None
    )
    return Crown(cuts, cap), head  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(60))
def test_drop_against_a_ray_search_of_rim_and_face(seed: int) -> None:
    rng = np.random.default_rng([seed, 31])
    crown, head = random_pose(rng)
    found = float(drop(crown, head))
    turns = np.linspace(0.0, 2 * np.pi, 20001)
    by_rim = float(-first_metal(crown, rim(head, turns), head.stem[None]).max())
    first, second = square_to(head.stem)
    share, turn = np.sqrt(rng.random(60000)), rng.random(60000) * 2 * np.pi
    spots = share[:, None] * (np.cos(turn)[:, None] * first + np.sin(turn)[:, None] * second)
    start = head.centre + head.radius * spots
    by_face = float(-first_metal(crown, start, np.broadcast_to(head.stem, start.shape)).max())
    searched = min(by_rim, by_face)
    assert found <= searched + 1e-9  # never more optimistic than any line that was looked at
    assert searched - found < 0.01  # 20,000 rim points miss a jump at a pocket's edge by so much
    assert float(gap(crown, head)) <= max(found, 0.0) + 60.0


def test_crank_against_the_published_displacements() -> None:
    """OpenFOAM tutorial geometry kivaTest (VERIFIED): connecting rod 0.147, stroke 0.08423; computed digits, m."""
    crank = Crank(array(84.23 / 2), array(147.0), array(0.0), array(0.0))
    expected = {
        10: 0.821848440069356,
        30: 7.158383293616399,
        60: 25.654041189302562,
        90: 48.27705491771758,
        180: 84.23,
    }
    for degrees, descent in expected.items():
        assert crank.descent(array(np.radians(degrees))) == pytest.approx(descent, abs=1e-11)


@pytest.mark.parametrize(
    ("throw", "rod", "offset", "stroke"),
    [(50.0, 150.0, 10.0, 100.25109984371979), (45.5, 151.0, 1.6, 91.00561929625962)],
)
@pytest.mark.parametrize("forward", [True, False])
def test_offset_crank_has_its_dead_centres_where_the_crank_and_rod_are_in_line(
    throw: float, rod: float, offset: float, stroke: float, forward: bool
) -> None:
    """DERIVED: stroke √((l+r)² - e²) - √((l-r)² - e²); angle 0 is the highest point, whichever way it turns."""
    crank = Crank(array(throw), array(rod), array(0.0), array(offset))
    assert crank.travel == pytest.approx(stroke, abs=1e-11)
    angles = np.radians(np.arange(-180.0, 180.0, 0.01))
    heights = crank.height(angles, forward)
    assert heights.max() <= crank.top + 1e-12
    assert abs(angles[heights.argmax()]) < 1e-9
    assert heights.max() - heights.min() == pytest.approx(stroke, abs=1e-6)
