"""Ports that moved apart, against the geometry of the V and a search."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import Array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.fits import ports

from .test_volume import CONTRACT


def test_ports_of_the_contracts_job() -> None:
    before: Flat = {**CONTRACT, "stack.cylinder": 137.8}
    found, _ = ports.moved(before, CONTRACT)
    front, steady, rear = found
    assert front.by == pytest.approx([2.1792, 0.0, 4.2768], abs=5e-5)
    assert front.opened == pytest.approx(1.6327, abs=5e-5)
    assert front.slip == pytest.approx(4.5138, abs=5e-5)
    assert steady.by == pytest.approx(front.by)
    assert steady.opened is None
    assert rear.by == pytest.approx([-2.1792, 0.0, 4.2768], abs=5e-5)
    pair = ports.facing(found, CONTRACT)[0]
    assert pair.opened == pytest.approx(4.3583, abs=5e-5)
    assert pair.rise == pytest.approx(4.2768, abs=5e-5)
    assert pair.manifold == pytest.approx([0.0, 0.0, 4.5488], abs=5e-5)
    assert pair.spacers == pytest.approx([2.1961, 2.1961], abs=5e-5)
    assert pair.slip_left == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("angle", "sine", "cosine"),
    [  # 2 sin(V/2) and cos(V/2) of a V of cylinders, derived
        (45, 0.7653668647301796, 0.9238795325112867),
        (52, 0.8767422935781548, 0.898794046299167),
        (60, 1.0, 0.8660254037844387),
        (72, 1.1755705045849463, 0.8090169943749475),
        (90, 1.4142135623730951, 0.7071067811865476),
        (120, 1.7320508075688772, 0.5),
        (0, 0.0, 1.0),
        (180, 2.0, 0.0),
    ],
)
def test_ports_open_and_rise_by_the_factors_of_the_v(angle: float, sine: float, cosine: float) -> None:
    lean = np.radians(angle / 2)
    after: Flat = {**CONTRACT, "front.lean": lean, "rear.lean": -lean, "stack.head_gasket": 4.1}
    before: Flat = {**after, "stack.head_gasket": 1.1}
    found, _ = ports.moved(before, after)
    front, rear = (one for one in found if one.normal is not None)
    assert float((front.by - rear.by)[0]) == pytest.approx(3 * sine, abs=1e-12)
    assert float(front.by[2]) == pytest.approx(3 * cosine, abs=1e-12)
    for pair in ports.facing(found, after):
        assert pair.opened == pytest.approx(3 * sine, abs=1e-9)
        assert pair.rise == pytest.approx(3 * cosine, abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_a_manifold_between_random_faces_slips_least_where_it_is_put(seed: int) -> None:
    rng = np.random.default_rng([seed, 77])
    normals = []
    for side in (1.0, -1.0):
        normal = np.array([side * rng.uniform(0.6, 1.0), rng.uniform(-0.4, 0.4), rng.uniform(-0.5, 0.5)])
        normals.append(normal / np.linalg.norm(normal))
    shifts = rng.uniform(-5, 5, (2, 3))
    found = [
        ports.Moved(name, "intake", shift, normal, 0.0)
        for name, shift, normal in zip(("front", "rear"), shifts, normals, strict=True)
    ]
    pair = ports.facing(found, CONTRACT)[0]

    def slip(moves: Array) -> float:
        total = 0.0
        for shift, normal in zip(shifts, normals, strict=True):
            rest = shift - moves
            total += float(np.sum((rest - (rest @ normal) * normal) ** 2))
        return total

    least = slip(pair.manifold)
    for _ in range(200):
        assert slip(pair.manifold + rng.normal(0, 0.3, 3)) >= least - 1e-12
    for spacer, shift, normal in zip(pair.spacers, shifts, normals, strict=True):
        assert spacer == pytest.approx(-float((shift - pair.manifold) @ normal))


def test_equal_stacks_move_nothing() -> None:
    found, _ = ports.moved(CONTRACT, CONTRACT)
    assert all(np.all(one.by == 0) for one in found)
    assert ports.facing(found, CONTRACT)[0].spacers == (0.0, 0.0)


def test_faces_that_point_exactly_at_each_other_leave_the_shortest_move() -> None:
    found = [
        ports.Moved("front", "intake", np.array([1.0, 0.0, 4.0]), np.array([1.0, 0.0, 0.0]), 0.0),
        ports.Moved("rear", "intake", np.array([-1.0, 0.0, 4.0]), np.array([-1.0, 0.0, 0.0]), 0.0),
    ]
    pair = ports.facing(found, CONTRACT)[0]
    assert pair.manifold == pytest.approx([0.0, 0.0, 4.0])
    assert pair.spacers == pytest.approx((-1.0, -1.0))


def test_a_deck_known_of_one_build_alone_is_not_nought_in_the_other() -> None:
    """The ports were told "5.1 in apart" for 0.19: the deck of one build was taken as its whole height."""
    before: Flat = {**CONTRACT, "stack.cylinder": 137.8}
    bare = {path: value for path, value in CONTRACT.items() if path != "stack.case_deck"}
    exact = ports.moved(before, CONTRACT)[0]
    for builds in (
        (before, bare),
        ({**bare, "stack.cylinder": 137.8}, CONTRACT),
        ({**bare, "stack.cylinder": 137.8}, bare),
    ):
        found, lacks = ports.moved(*builds)
        assert [one.entries[0].split(".")[1] for one in lacks] == ["exhaust_face"] * 2
        for one, other in zip(found, exact, strict=True):
            assert one.by == pytest.approx(other.by, abs=1e-9)
        there, whole = ports.facing(found, builds[1])[0], ports.facing(exact, CONTRACT)[0]
        assert there.opened == pytest.approx(whole.opened, abs=1e-9)
    _, lacks = ports.moved(before, {**bare, "front.lean": np.radians(28)})  # the deck turns with the cylinder
    assert "stack.case_deck" in {entry for one in lacks for entry in one.entries}
    assert isinstance(ports.place(bare, "front", "intake_face.centre"), Missing)
