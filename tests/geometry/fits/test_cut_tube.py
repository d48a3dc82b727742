"""Cut tubes: the distance of a point and of two of them, in closed form, by brute force and against solids.

Figures, measured on two cores with CPython 3.11:

- two tubes against solids of flat faces by a general-purpose library, 720 corners around, `-m study`, 20 s: of 24 random
  pairs of spigots, unequal and with reliefs turned, 10 pistons cut away at the pin's sides against spigots and 8 pairs
  of pistons with arches, those that are clear within 0.0008 mm, of which flat faces take 0.0005 off a radius of 54 mm;
  every pair that meets shares a volume, and no other does; limit: 0.001 mm
- pairs that are their own mirror image against the closed form: within 1e-9 mm; limit: 1e-7 mm
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.fits.across import middle_reliefs
from tallstack.geometry.fits.cut_tube import CutTube, Relief, apart, at_heights, held

from ...oracles import tube_solid
from ...seeded import few

FACETS_MM = 1e-3
OWN_MM = 1e-7


def mirrored(
    lean: float, low: float, inner: float, outer: float, relief: tuple[float, float] | None = None
) -> tuple[CutTube, CutTube]:
    """Return two spigots that are each other's mirror image; relief : half width [rad] and height, facing the other."""

    def one(way: float) -> CutTube:
        facing = np.pi if way > 0 else 0.0
        cuts = () if relief is None else (Relief(facing, *relief),)
        return CutTube(inner, outer, low, low + 40.0, cuts, way * np.radians(lean), 0.0)

    return one(1.0), one(-1.0)


def in_closed_form(tube: CutTube) -> float:
    """Return the distance of a tube from its mirror image: twice that of its nearest place from the middle plane."""
    away = np.linspace(-np.pi / 2, np.pi / 2, 200001)  # from the side that faces the other
    away = np.append(away, [one.half for one in tube.reliefs])  # the face at its end counts as uncut
    sectors = [np.where(np.abs(away) < one.half, one.height, 0.0) for one in tube.reliefs]
    low = tube.low + np.maximum.reduce([np.zeros(away.shape), *sectors])
    lean = abs(tube.lean)
    return float(2 * (low * np.sin(lean) - tube.outer * np.cos(away) * np.cos(lean)).min())


@pytest.mark.parametrize(
    ("lean", "low", "outer", "expected"), [(27.0, 109.65, 54.5, 2.4404), (22.5, 131.0, 52.0, 4.1796)]
)
def test_two_plain_spigots(lean: float, low: float, outer: float, expected: float) -> None:
    one, other = mirrored(lean, low, outer - 5.0, outer)
    found = apart(one, other)
    assert found.gap == pytest.approx(expected, abs=5e-5)
    assert found.gap == pytest.approx(in_closed_form(one), abs=OWN_MM)
    assert one.around(found.first) == pytest.approx(np.pi, abs=1e-5)
    assert np.cos(other.around(found.second)) == pytest.approx(1.0)
    assert apart(one, other, below=found.gap - 0.01).gap == np.inf


def test_reliefs_for_a_wanted_gap_in_closed_form() -> None:
    one, other = mirrored(22.5, 118.0, 49.5, 54.5)
    assert apart(one, other).gap <= 0
    cuts = middle_reliefs(one, other, 1.5)
    assert cuts is not None
    for cut, facing in zip(cuts, (np.pi, 0.0), strict=True):
        assert cut.at == facing
        assert np.degrees(cut.half) == pytest.approx(28.1234, abs=5e-5)
        assert cut.height == pytest.approx(15.534, abs=5e-4)
        assert 2 * 49.5 * np.sin(cut.half) == pytest.approx(46.666, abs=5e-4)

    def cut_by(share: float) -> float:
        there = [
            tube._replace(reliefs=(cut._replace(half=share * cut.half),))
            for tube, cut in zip((one, other), cuts, strict=True)
        ]
        return apart(*there).gap

    assert cut_by(1.0) == pytest.approx(1.5, abs=1e-6)
    assert cut_by(0.9) <= 0


def test_reliefs_that_are_not_needed_or_reach_the_case_deck() -> None:
    one, other = mirrored(27.0, 109.65, 49.5, 54.5)
    assert [cut.half for cut in middle_reliefs(one, other, 2.0) or ()] == [0.0, 0.0]
    one, other = mirrored(22.5, 118.0, 49.5, 54.5)
    assert middle_reliefs(one._replace(top=133.0), other, 1.5) is None  # 15.5 of a spigot 15 long
    assert middle_reliefs(one._replace(lean=0.3), other._replace(lean=0.3), 1.5) is None  # side by side


@pytest.mark.parametrize("seed", few(range(12), 2))
def test_reliefs_of_unequal_spigots_are_enough(seed: int) -> None:
    rng = np.random.default_rng([seed, 61])
    one, other = (spigot(rng, way) for way in (1.0, -1.0))
    cuts = middle_reliefs(one, other, 2.0)
    assert cuts is not None
    kept = [
        tube._replace(top=200.0, reliefs=(*tube.reliefs, cut))
        for tube, cut in zip((one, other), cuts, strict=True)
    ]
    assert apart(*kept).gap >= 2.0 - OWN_MM


@pytest.mark.parametrize("seed", few(range(20), 4))
def test_mirrored_pairs_with_reliefs_against_the_closed_form(seed: int) -> None:
    rng = np.random.default_rng([seed, 62])
    lean, outer = float(rng.uniform(18, 45)), float(rng.uniform(46, 60))
    low = (outer * np.cos(np.radians(lean)) + rng.uniform(-3, 3)) / np.sin(np.radians(lean))
    one, other = mirrored(
        lean, float(low), outer - 4.0, outer, (float(rng.uniform(0.1, 0.7)), float(rng.uniform(2, 20)))
    )
    expected, found = in_closed_form(one), apart(one, other).gap
    if expected > 0:
        assert found == pytest.approx(expected, abs=1e-6)
    else:
        assert found <= 0


PISTON = CutTube(0.0, 49.4, 108.0, 160.0, (), np.radians(27.0), 0.0)
STANDS = CutTube(49.5, 54.5, 109.65, 143.65, (), -np.radians(27.0), 0.0)


@pytest.mark.parametrize("inner", [0.0, 43.0])
def test_a_piston_and_one_with_an_arch_in_its_thrust_face(inner: float) -> None:
    """Whether there is anything behind the arch or not."""
    piston = PISTON._replace(inner=inner)
    assert apart(piston, STANDS).gap == pytest.approx(7.2744, abs=5e-5)
    arched = piston._replace(reliefs=(Relief(np.pi, np.radians(22.0), 9.0),))
    assert apart(arched, STANDS).gap == pytest.approx(11.1559, abs=5e-5)
    away = piston._replace(reliefs=(Relief(0.0, np.radians(22.0), 9.0),))
    assert apart(away, STANDS).gap == pytest.approx(7.2744, abs=5e-5)


@pytest.mark.parametrize("seed", few(range(8), 2))
def test_what_is_cut_away_at_the_pins_sides_changes_nothing(seed: int) -> None:
    """Only the thrust faces look at the other cylinder: a piston may be taken as a full round."""
    rng = np.random.default_rng([seed, 63])
    moving, stands = PISTON._replace(low=118.0 + rng.uniform(0, 25)), spigot(rng, -1.0)
    half = float(rng.uniform(0.4, 0.9))
    slipper = moving._replace(reliefs=tuple(Relief(at, half, 25.0) for at in (np.pi / 2, -np.pi / 2)))
    found = apart(moving, stands).gap
    assert found > 0
    assert apart(slipper, stands).gap == pytest.approx(found, abs=1e-4)


@pytest.mark.parametrize("seed", few(range(6), 1))
def test_the_distance_of_a_point_against_all_of_the_metal(seed: int) -> None:
    rng = np.random.default_rng([seed, 64])
    tube = spigot(rng, 1.0)
    sectors = tube.sectors()
    metal = []
    for begins, width, edge in zip(*sectors, strict=True):
        turns, outs, highs = (
            np.linspace(begins, begins + width, max(2, int(width * 70))),
            np.linspace(tube.inner, tube.outer, 5),
            np.linspace(edge, tube.top, 40),
        )
        turn, out, high = np.meshgrid(turns, outs, highs, indexing="ij")
        metal.append(tube.placed(turn.ravel(), out.ravel(), high.ravel()))
    every = np.concatenate(metal)
    points = tube.placed(rng.uniform(0, 2 * np.pi, 25), rng.uniform(0, 90, 25), rng.uniform(70, 170, 25))
    for point, found in zip(points, tube.distance(points), strict=True):
        nearest = float(np.sqrt(((every - point) ** 2).sum(axis=-1)).min())
        if found > 1.0:
            assert found - 1e-9 <= nearest <= found + 0.8  # the places are that far apart
            at = tube.at(tube.nearest(point))
            assert np.linalg.norm(at - point) == pytest.approx(found, abs=1e-9)
        else:
            assert nearest < 1.5


def test_reliefs_that_overlap_leave_the_higher_one() -> None:
    tube = STANDS._replace(reliefs=(Relief(0.0, 0.5, 6.0), Relief(0.3, 0.5, 9.0), Relief(0.1, 0.1, 3.0)))
    turns = np.linspace(-np.pi, np.pi, 1000)
    begins, width, edge = tube.sectors()
    for turn, expected in zip(turns, tube.edge(turns), strict=True):
        inside = (turn - begins) % (2 * np.pi) < width
        assert edge[inside] == [expected]
    assert width.sum() == pytest.approx(2 * np.pi)
    gone = STANDS._replace(reliefs=(Relief(0.0, np.pi, 50.0),))
    assert gone.sectors().begins.size == 0
    assert apart(gone, PISTON).gap == np.inf
    ring = STANDS._replace(reliefs=(Relief(0.0, np.pi, 10.0),))
    assert apart(ring, PISTON).gap == pytest.approx(
        apart(STANDS._replace(low=119.65), PISTON).gap, abs=OWN_MM
    )


def test_a_tube_that_moves_is_nearest_somewhere_on_its_way() -> None:
    """With an arch it is not at the bottom: against a row of heights, each looked at alone."""
    arched = PISTON._replace(reliefs=(Relief(np.pi, np.radians(22.0), 9.0),))
    stands = STANDS._replace(low=94.0, reliefs=(Relief(0.0, 0.3, 12.0),))
    heights = np.linspace(-12.0, 8.0, 41)
    alone = at_heights(arched, stands, heights, np.full(heights.shape, np.inf))
    first = arched._replace(low=arched.low + 8.0, top=arched.top + 8.0)
    found = apart(first, stands, down=20.0)
    assert found.gap <= alone.min() + OWN_MM
    assert found.gap == pytest.approx(alone.min(), abs=0.05)
    here = arched._replace(low=first.low + found.raised, top=first.top + found.raised)
    assert apart(here, stands).gap == pytest.approx(found.gap, abs=OWN_MM)
    some = at_heights(arched, stands, heights, np.full(heights.shape, float(np.median(alone))))
    nearer = alone < np.median(alone) - 1e-6
    assert some[nearer] == pytest.approx(alone[nearer], abs=OWN_MM)
    assert np.isinf(some[alone > np.median(alone) + 1e-6]).all()


def test_what_moves_two_mirrored_spigots_in_closed_form() -> None:
    """2 sin λ per mm of both lower edges, 2 cos λ per mm of both radii, z cos λ + b sin λ per rad of either lean."""
    lean, low, outer = np.radians(27.0), 109.65, 54.5
    one, other = mirrored(27.0, low, 49.5, outer)
    found = apart(one, other)

    def slope(change: str, by: Sequence[float]) -> float:
        step = 1e-4
        ends = [
            held(
                *(
                    tube._replace(**{change: getattr(tube, change) + way * step * each})
                    for tube, each in zip((one, other), by, strict=True)
                ),
                found,
            )
            for way in (1.0, -1.0)
        ]
        return (ends[0] - ends[1]) / (2 * step)

    turned = low * np.cos(lean) + outer * np.sin(lean)
    assert slope("low", (1, 1)) == pytest.approx(2 * np.sin(lean), abs=1e-5)
    assert slope("outer", (1, 1)) == pytest.approx(-2 * np.cos(lean), abs=1e-5)
    assert slope("lean", (1, -1)) == pytest.approx(2 * turned, abs=1e-3)
    assert slope("lean", (1, 0)) == pytest.approx(turned, abs=1e-3)
    assert slope("lean", (1, 1)) == pytest.approx(0.0, abs=1e-3)
    assert held(one, other, found) == pytest.approx(found.gap, abs=OWN_MM)
    more = one._replace(reliefs=(Relief(np.pi, 0.2, 4.0),))  # other sectors: its place is looked for anew
    assert held(more, other, found) == pytest.approx(apart(more, other).gap, abs=OWN_MM)


def spigot(rng: np.random.Generator, way: float) -> CutTube:
    """Return a random spigot with up to three reliefs anywhere, from well clear of its like to meeting it."""
    inner, low = float(rng.uniform(42, 54)), float(rng.uniform(92, 122))
    cuts = tuple(
        Relief(*map(float, (rng.uniform(0, 2 * np.pi), rng.uniform(0.15, 0.9), rng.uniform(3, 22))))
        for _ in range(int(rng.integers(0, 4)))
    )
    lean, high = way * np.radians(rng.uniform(20, 34)), low + rng.uniform(25, 45)
    return CutTube(
        inner,
        inner + float(rng.uniform(3, 8)),
        low,
        float(high),
        cuts,
        float(lean),
        float(rng.uniform(-12.5, 12.5)),
    )


def piston(rng: np.random.Generator, way: float) -> tuple[CutTube, CutTube]:
    """Return a piston as its crown, solid, and its skirt, cut away at the pin's sides or arched in the thrust faces."""
    radius, low = float(rng.uniform(42, 50)), float(rng.uniform(96, 126))
    at, half, high = (
        (np.pi / 2, float(rng.uniform(0.5, 0.9)), 25.0)
        if rng.integers(2)
        else (0.0, float(rng.uniform(0.2, 0.5)), float(rng.uniform(4, 12)))
    )
    cuts = tuple(Relief(one, half, high) for one in (at, at + np.pi))
    lean, offset = float(way * np.radians(rng.uniform(20, 34))), float(rng.uniform(-12.5, 12.5))
    belt = low + 30.0
    return (
        CutTube(0.0, radius, belt, belt + 22.0, (), lean, offset),
        CutTube(radius - 5.0, radius, low, belt, cuts, lean, offset),
    )


def against_solids(
    ones: Sequence[CutTube], others: Sequence[CutTube], monkeypatch: pytest.MonkeyPatch
) -> float:
    """Hold two bodies of tubes against solids; return what they differ by [mm], nothing where they meet."""
    monkeypatch.setattr(tube_solid, "CORNERS", 720)
    found = min(apart(one, other).gap for one in ones for other in others)
    built = [
        [
            tube_solid.tube(*tube[:4], [tuple(map(float, cut)) for cut in tube.reliefs], *tube[5:])
            for tube in body
        ]
        for body in (ones, others)
    ]
    volume = sum(tube_solid.shared(one, other) for one in built[0] for other in built[1])
    if found <= 0:
        assert volume > 0
        return 0.0
    assert volume == pytest.approx(0.0, abs=1e-6)
    least = min(tube_solid.gap(one, other, found + 1.0) for one in built[0] for other in built[1])
    assert least == pytest.approx(found, abs=FACETS_MM)
    return abs(least - found)


@pytest.mark.parametrize("seed", few(range(24), 3))
def test_two_spigots_against_solids(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng([seed, 65])
    against_solids([spigot(rng, 1.0)], [spigot(rng, -1.0)], monkeypatch)


@pytest.mark.parametrize("seed", few(range(10), 1))
def test_pistons_against_spigots_and_solids(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng([seed, 66])
    against_solids(piston(rng, 1.0), [spigot(rng, -1.0)], monkeypatch)


@pytest.mark.parametrize("seed", few(range(8), 1))
def test_two_pistons_against_solids(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng([seed, 67])
    against_solids(piston(rng, 1.0), piston(rng, -1.0), monkeypatch)


@pytest.mark.study
def test_solids_in_one_study(monkeypatch: pytest.MonkeyPatch) -> None:
    worst, clear = 0.0, 0
    for count, key, bodies in ((24, 65, (0, 0)), (10, 66, (1, 0)), (8, 67, (1, 1))):
        for seed in range(count):
            rng = np.random.default_rng([seed, key])
            ones, others = (
                piston(rng, way) if is_piston else [spigot(rng, way)]
                for way, is_piston in zip((1.0, -1.0), bodies, strict=True)
            )
            off = against_solids(ones, others, monkeypatch)
            worst, clear = max(worst, off), clear + (off > 0)
    assert worst < FACETS_MM
    assert 20 < clear < 42


def test_two_rings_above_one_another_are_their_lengths_apart() -> None:
    """On one axis, of equal sizes and of others: an exact special case."""
    low = CutTube(40.0, 46.0, 50.0, 90.0, (), 0.0, 0.0)
    assert apart(low, low._replace(low=93.0, top=120.0)).gap == pytest.approx(3.0, abs=OWN_MM)
    inside = CutTube(0.0, 38.5, 60.0, 80.0, (), 0.0, 0.0)
    assert apart(low, inside).gap == pytest.approx(1.5, abs=OWN_MM)
    beside = low._replace(offset=100.0)
    assert apart(low, beside).gap == pytest.approx(8.0, abs=OWN_MM)
    assert apart(low, low._replace(inner=30.0, outer=35.0)).gap == pytest.approx(5.0, abs=OWN_MM)
    assert float(array(low.distance(array([0.0, 43.0, 70.0])))) == pytest.approx(-3.0)
