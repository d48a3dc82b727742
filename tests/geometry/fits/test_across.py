"""Pistons, spigots and connecting rods across the cylinders against a collision library and brute force.

Figures, measured on two cores with CPython 3.11:

- pistons and connecting rods to spigots, 200 random layouts of 12 poses, against a collision library, `-m study`,
  35 s: within 1e-3 mm; limit: 1e-3 mm
- ends of the windows for lowering a cylinder against that library 0.1° to either side: right on both sides;
  limit: 0.1°
- derivatives of distances across the cylinders at their angle against differences of the least ones, 14 entries:
  within 1 %; limit: 1 %
"""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.crank.crank import Crank
from tallstack.geometry.fits.across import (
    Mover,
    conrod_to_spigot,
    leads,
    mover,
    piston_to_piston,
    piston_to_spigot,
    relief_for,
    spigot_of,
)
from tallstack.geometry.fits.cut_tube import CutTube, Relief, apart
from tallstack.geometry.fits.drop_on import clearance, drop_on, swept
from tallstack.geometry.fits.spigot import nearest

from ...oracles import spigot_mesh
from ...seeded import few

LAYOUTS = 25  # of them every run; the rest by hand
CLOSE_MM = 1e-3


def layout(seed: int) -> tuple[Mover, CutTube]:
    """Return an invented piston with its crank, and the other cylinder's spigot, from far apart to touching."""
    rng = np.random.default_rng([seed, 91])
    throw = rng.uniform(45, 60)
    rod = throw * rng.uniform(3.0, 3.8)
    half_v = np.radians(
        rng.choice([0.0, 22.5, 27.0, 45.0, 60.0, 90.0]) if seed % 7 == 0 else rng.uniform(18, 50)
    )
    radius = rng.uniform(38, 52)
    crank = Crank(array(throw), array(rod), array(rng.uniform(28, 40)), array(rng.uniform(-1.5, 1.5)))
    height = float(crank.compression_height) + rng.uniform(18, 34)
    moving = Mover(
        "a", crank, bool(rng.integers(2)), half_v, rng.uniform(-20, 20), radius, height, rng.uniform(16, 30)
    )
    bore = radius + 0.05
    deck = float(rod) - throw + rng.uniform(-5, 25)
    reliefs = [
        Relief(float(rng.uniform(0, 2 * np.pi)), float(rng.uniform(0.2, 0.9)), float(rng.uniform(4, 20)))
        for _ in range(int(rng.integers(0, 3)))
    ]
    stands = CutTube(
        bore,
        bore + rng.uniform(3.5, 7),
        deck - rng.uniform(25, 55),
        deck,
        tuple(reliefs),
        -half_v,
        rng.uniform(-20, 20),
    )
    return moving, stands


def mesh_of(stands: CutTube, top: float | None = None) -> object:
    reliefs = [(one.at, one.half, one.height) for one in stands.reliefs]
    return spigot_mesh.spigot(
        stands.inner,
        stands.outer,
        stands.low,
        stands.top if top is None else top,
        reliefs,
        stands.lean,
        stands.offset,
    )


def compare(seed: int) -> int:
    """Hold some poses of one layout against the library; return how many were clear."""
    moving, stands = layout(seed)
    mesh = mesh_of(stands)
    angles = np.radians(np.linspace(-180, 180, 13))[:-1]
    body, bar = moving.head(angles), moving.rod(angles)
    found = moving.room(angles, stands, np.full(angles.shape, np.inf))
    rods = bar._replace(first=bar.first[:, None, None], second=bar.second[:, None, None])
    beside = nearest(stands, rods, angles.size)
    clear = 0
    for index in range(angles.size):
        expected = spigot_mesh.to_round(
            mesh, body.centre[index], body.stem[index], moving.radius, moving.height
        )
        if found[index] > 0:
            assert found[index] == pytest.approx(expected, abs=CLOSE_MM)
            clear += 1
        else:
            assert expected < CLOSE_MM
        expected = spigot_mesh.to_bar(mesh, bar.first[index], bar.second[index], float(bar.radius))
        if beside.gap[index] > 0:
            assert beside.gap[index] == pytest.approx(expected, abs=CLOSE_MM)
        else:
            assert expected < CLOSE_MM
    return clear


@pytest.mark.parametrize("seed", few(range(LAYOUTS), 12))
def test_distances_across_the_cylinders_against_a_collision_library(seed: int) -> None:
    compare(seed)


@pytest.mark.study
def test_distances_of_200_layouts() -> None:
    assert sum(compare(seed) for seed in range(200)) > 1000


@pytest.mark.wide
@pytest.mark.parametrize("seed", range(4))
def test_the_least_through_the_turn_against_a_scan(seed: int) -> None:
    moving, stands = layout(seed + 40)
    found = piston_to_spigot(moving, stands)
    mesh = mesh_of(stands)
    if found.gap <= 0:
        pytest.skip("they meet; the library tells no depth")
    body = moving.head(np.radians(np.arange(-180.0, 180.0, 0.5)))
    scan = [
        spigot_mesh.to_round(mesh, base, body.stem[0], moving.radius, moving.height) for base in body.centre
    ]
    assert found.gap <= min(scan) + CLOSE_MM
    assert found.gap >= min(scan) - 0.02
    at = moving.head(array(found.at))
    exact = spigot_mesh.to_round(mesh, at.centre, at.stem, moving.radius, moving.height)
    assert found.gap == pytest.approx(exact, abs=CLOSE_MM)


@pytest.mark.parametrize("seed", few(range(6), 1))
def test_a_windows_ends_against_a_scan_at_a_twentieth_of_a_degree(seed: int) -> None:
    moving, stands = layout(seed + 100)
    found = drop_on(moving, stands, "b")
    mesh = mesh_of(stands, swept(stands).top)

    def clear(degrees: float) -> bool:
        angle = np.radians(degrees)
        body, bar = moving.head(array(angle)), moving.rod(array(angle))
        piston = spigot_mesh.to_round(mesh, body.centre, body.stem, moving.radius, moving.height)
        rod = spigot_mesh.to_bar(mesh, bar.first, bar.second, float(bar.radius))
        return min(piston, rod) > 1e-4

    for window in found.windows if not found.always else ():
        for end, way in ((window.begins, -1.0), (window.ends, 1.0)):
            degrees = float(np.degrees(end))
            assert clear(degrees - way * 0.1), "inside the window"
            assert not clear(degrees + way * 0.1), "beyond it"
    if not found.windows:
        assert not any(clear(degrees) for degrees in np.arange(-180.0, 180.0, 3.0))


def test_the_margin_is_the_distance_at_the_safest_angle() -> None:
    moving, stands = layout(103)
    found = drop_on(moving, stands, "b")
    if found.safest is not None:
        assert float(clearance(moving, stands, np.array([found.safest]))[0]) == pytest.approx(
            found.margin, abs=1e-6
        )


@pytest.mark.wide
def test_a_relief_that_is_offered_suffices() -> None:
    offered = 0
    for seed in range(30):
        moving, stands = layout(seed + 300)
        if piston_to_spigot(moving, stands).gap >= 1.5:
            continue
        cut = relief_for(moving, stands, 1.5)
        if cut is None:
            continue
        offered += 1
        there = piston_to_spigot(moving, stands._replace(reliefs=(*stands.reliefs, cut)))
        assert there.gap >= 1.5
        assert cut.height < stands.top - stands.low
        if offered == 1:
            return
    assert offered


V: Flat = {
    "cylinders": ("front", "rear"),
    "trains": (),
    "crank.stroke": 100.0,
    "crank.conrod_length": 180.0,
    "piston.compression_height": 34.0,
    "piston.diameter": 90.0,
    "piston.skirt_below_pin": 24.0,
    "stack.bore": 90.1,
    "stack.case_deck": 150.0,
    "front.lean": np.pi / 2,
    "rear.lean": -np.pi / 2,
    "rear.spigot.length": 30.0,
    "rear.spigot.outer_diameter": 100.0,
}


def test_opposed_cylinders_are_exact() -> None:
    """180 degrees apart on one line: the piston's crown never comes nearer than both stand from the crank."""
    moving, stands = mover(V, "front"), spigot_of(V, "rear")
    assert not isinstance(moving, Missing)
    assert not isinstance(stands, Missing)
    found = piston_to_spigot(moving, stands)
    lowest = 180.0 - 50.0 - 24.0  # the skirt's edge over the crank centre, at bottom centre
    assert found.gap == pytest.approx(lowest + (150.0 - 30.0), abs=2e-5)
    assert abs(found.at) == pytest.approx(np.pi, abs=1e-9)
    first, second = moving, mover(V, "rear")
    assert not isinstance(second, Missing)
    # one pin: when one is at top centre the other is at bottom centre, and the two are never nearer than both skirts
    pair = piston_to_piston(V, first, second)
    assert pair.gap > 0
    boxer: Flat = {**V, "rear.pin": np.pi}
    both = piston_to_piston(boxer, first, second)
    assert both.gap == pytest.approx(2 * lowest, abs=1e-6)


def test_parallel_cylinders_stand_their_offset_apart() -> None:
    side: Flat = {**V, "front.lean": 0.0, "rear.lean": 0.0, "rear.offset": 104.0}
    moving, stands = mover(side, "front"), spigot_of(side, "rear")
    assert not isinstance(moving, Missing)
    assert not isinstance(stands, Missing)
    found = piston_to_spigot(moving, stands)
    assert found.gap == pytest.approx(104.0 - 45.0 - 50.0, abs=1e-6)
    second = mover(side, "rear")
    assert not isinstance(second, Missing)
    assert piston_to_piston(side, moving, second).gap == pytest.approx(14.0, abs=1e-6)


@pytest.mark.parametrize("forward", [True, False])
def test_two_pistons_stand_where_one_crank_pin_puts_them(forward: bool) -> None:
    """A twin on one pin, one piston turned round: where each stands while the other is at an angle, by points."""
    throw, rod, leans, offsets = 48.0, 165.0, (27.0, -27.0), (1.6, -1.6)
    mapping: dict[str, object] = {
        "cylinders": ("front", "rear"),
        "trains": (),
        "crank.turns": "forward" if forward else "backward",
        "crank.stroke": 2 * throw,
        "crank.conrod_length": rod,
    }
    for name, lean, offset in zip(("front", "rear"), leans, offsets, strict=True):
        mapping |= {f"{name}.lean": np.radians(lean), f"{name}.piston.pin_offset": offset}
    cranks = [Crank(array(throw), array(rod), array(0.0), array(one)) for one in offsets]
    turned = np.radians(np.arange(-180.0, 180.0, 7.3))
    angle = (1.0 if forward else -1.0) * turned

    def height(lean: float, offset: float) -> np.ndarray:
        axis = np.array([np.sin(np.radians(lean)), np.cos(np.radians(lean))])
        across = np.array([axis[1], -axis[0]])
        pin = throw * np.stack([np.sin(angle), np.cos(angle)], axis=-1)
        return pin @ axis + np.sqrt(rod**2 - (offset - pin @ across) ** 2)

    way = 1.0 if forward else -1.0
    own = turned - way * np.radians(leans[0]) - cranks[0].from_upright(forward)  # of the front piston
    ahead = leads(mapping, "front", "rear")  # type: ignore[arg-type]
    for crank, at, lean, offset in zip(cranks, (own, own + ahead), leans, offsets, strict=True):
        assert crank.height(at, forward) == pytest.approx(height(lean, offset), abs=1e-9)


@pytest.mark.wide
def test_a_whole_twin_with_x_reversed_is_as_close_across_its_cylinders() -> None:
    """Leans, wrist pins, reliefs around a bore and the way it turns: all that counts about an axis is reversed."""
    engine: dict[str, object] = {
        "cylinders": ("front", "rear"),
        "trains": (),
        "crank.turns": "forward",
        "crank.stroke": 106.0,
        "crank.conrod_length": 188.0,
        "crank.conrod_beam_width": 24.0,
        "piston.compression_height": 36.0,
        "piston.diameter": 90.0,
        "piston.skirt_below_pin": 22.0,
        "stack.bore": 90.1,
        "stack.case_deck": 138.0,
        "stack.case_cut": 0.0,
        "front.lean": np.radians(29.0),
        "rear.lean": np.radians(-27.0),
        "front.piston.pin_offset": 1.5,
        "rear.piston.pin_offset": -0.6,
        "rear.pin": np.radians(4.0),
    }
    for name, at in (("front", 40.0), ("rear", 155.0)):
        engine |= {
            f"{name}.spigot.length": 36.0,
            f"{name}.spigot.outer_diameter": 100.0,
            f"{name}.spigot.reliefs.0.at": np.radians(at),
            f"{name}.spigot.reliefs.0.width": 40.0,
            f"{name}.spigot.reliefs.0.height": 12.0,
        }
    other = dict(engine) | {"crank.turns": "backward"}
    for path, value in engine.items():
        if path.endswith(("lean", "pin_offset")):
            other[path] = -value  # type: ignore[operator]
        elif path.endswith(".at"):
            other[path] = np.pi - value  # type: ignore[operator]
    answers = []
    for mapping in (engine, other):
        movers = [mover(mapping, name, with_rod=True) for name in ("front", "rear")]  # type: ignore[arg-type]
        stands = [spigot_of(mapping, name) for name in ("rear", "front")]  # type: ignore[arg-type]
        found = [leads(mapping, "front", "rear")]  # type: ignore[arg-type]
        for moving, spigot in zip(movers, stands, strict=True):
            assert isinstance(moving, Mover)
            assert isinstance(spigot, CutTube)
            close, rod = piston_to_spigot(moving, spigot), conrod_to_spigot(moving, spigot)
            found += [close.gap, close.at, rod.gap, rod.at, drop_on(moving, spigot, "other").margin]
        assert isinstance(movers[0], Mover)
        assert isinstance(movers[1], Mover)
        found += piston_to_piston(mapping, movers[0], movers[1])[1:]  # type: ignore[arg-type]
        answers.append(found)
    assert answers[1] == pytest.approx(answers[0], abs=1e-5)


def test_an_arch_counts_where_it_is_entered_whole() -> None:
    """Of the skirt's thrust faces, against the same piston as tubes; half entered it is taken as solid."""
    leaning: Flat = {**V, "front.lean": np.radians(27.0), "rear.lean": np.radians(-27.0)}
    stands = spigot_of(leaning, "rear")
    assert not isinstance(stands, Missing)
    arch: Flat = {**leaning, "piston.arch_width": 60.0, "piston.arch_height": 12.0}
    solid, half, arched = (
        mover(one, "front") for one in (leaning, {**leaning, "piston.arch_width": 60.0}, arch)
    )
    assert isinstance(solid, Mover)
    assert isinstance(half, Mover)
    assert isinstance(arched, Mover)
    assert solid.arches == half.arches == ()
    assert [one.at for one in arched.arches] == [0.0, np.pi]
    assert 2 * arched.radius * np.sin(arched.arches[0].half) == pytest.approx(60.0)
    gaps = [piston_to_spigot(one, stands).gap for one in (solid, half, arched)]
    assert gaps[0] == gaps[1]
    assert gaps[2] > gaps[0] + 0.5
    near = [arched.tube(angle) for angle in np.radians([150.0, 180.0, 210.0])]
    assert gaps[2] <= min(apart(one, stands).gap for one in near) + 1e-7
