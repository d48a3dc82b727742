"""The straight gap against a general-purpose collision library's distances between triangle meshes.

Crown plane and floors are meshed twice, a little too large and a little too small, and so is the valve's face:
the true gap lies between the two distances, which are at most a few µm apart. Where two walls cross, the edge
is displaced one way or the other, by at most the sag of 0.3 µm over the sine of the angle at which they cross.
The walls do not count, as in the gap itself. A disc inside the metal has a distance to every surface too: only poses
count in which the face, drawn back along its stem, meets neither surface nor wall.

Figures, measured on two cores with CPython 3.11:

- straight gap against meshes of crown and face, 300 random poses, `-m study`: inside the bracket of a mesh a
  little too large and one too small, at most 0.5 µm wide; limit: the meshes' own error
"""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.frames import array, from_lean, point
from tallstack.geometry.piston import gap as valvegap
from tallstack.geometry.piston.crown import Cap, Crown, Pocket, pocket
from tallstack.geometry.piston.gap import gap
from tallstack.geometry.piston.head import Head

from ...oracles.crown_mesh import CORNERS, apart, face, flats, model, swept_clear, walls
from ...seeded import few

POSES = 15  # over each crown
ROUNDING_MM = 1e-7
SAG = 1 - np.cos(np.pi / CORNERS)  # of a radius
APART_MM = 0.012  # the most that the two distances may differ by


def random_crown(rng: np.random.Generator) -> tuple[tuple[Pocket, ...], list[Head]]:
    """Return one pocket or two, deep enough to cross or not, and the heads that go with them."""
    pockets, heads = [], []
    reach = rng.uniform(14.0, 25.0)
    for side in (-1.0, 1.0)[: int(rng.integers(1, 3))]:
        lean = np.radians([side * rng.uniform(-4, 28), rng.uniform(-8, 8)])
        radius = rng.uniform(15.0, 24.0)
        centre = np.array([side * reach, rng.uniform(-6, 6)])
        cutter = from_lean(*(lean + np.radians(rng.uniform(-3, 3, 2))))
        sizes = array(2 * radius + rng.uniform(1, 7)), array(rng.uniform(1.0, 12.0))
        pockets.append(pocket(array(centre), cutter, *sizes))
        heads.append(Head(point(*centre, 0.0), from_lean(*lean), array(radius), array(1.4)))
    return tuple(pockets), heads


def clear_poses(rng: np.random.Generator, heads: list[Head], solid: object) -> Iterator[Head]:
    """Yield poses of the heads, over their pockets or beside them, from nearly touching to some mm away."""
    while True:
        head = heads[int(rng.integers(len(heads)))]
        moved = point(*(rng.uniform(-3, 3, 2) * rng.choice([1.0, 4.0])), rng.uniform(-6, 9))
        lean = np.radians(rng.uniform(-2, 2, 2)) + np.arctan2(head.stem[:2], head.stem[2])
        posed = head._replace(centre=head.centre + moved, stem=from_lean(*lean))
        if swept_clear(solid, posed):
            yield posed


def compare(seed: int, poses: int) -> float:
    """Compare some poses over one crown and return the widest bracket."""
    rng = np.random.default_rng([seed, 83])
    pockets, heads = random_crown(rng)
    large, small = model(flats(pockets, True)), model(flats(pockets, False))
    sides, edge = walls(pockets, False)
    rough = walls(pockets, True)[1]
    edges = [model(one) for one in (edge, rough) if one]
    solid = model(flats(pockets, True) + sides)
    slack = 20 * SAG * max(float(one.radius) for one in pockets)  # walls that cross at 3° or more
    widest, crown = 0.0, Crown(pockets, None)
    for _, head in zip(range(poses), clear_poses(rng, heads, solid), strict=False):
        larger, smaller = face(head, True), face(head, False)
        least, most = apart(large, larger), apart(small, smaller)
        if edges:
            least = min([least, *(apart(one, larger) - slack for one in edges)])
            most = min(most, max(apart(one, smaller) for one in edges) + slack)
        found = float(gap(crown, head))
        assert least - ROUNDING_MM <= found <= most + ROUNDING_MM
        widest = max(widest, most - least)
    assert widest < APART_MM
    return widest


@pytest.mark.parametrize("seed", few(range(3), 1))
def test_gap_lies_between_the_distances_of_two_meshes(seed: int) -> None:
    compare(seed, POSES)


@pytest.mark.study
@pytest.mark.parametrize("seed", range(3, 20))
def test_gap_lies_between_the_distances_of_two_meshes_for_300_poses(seed: int) -> None:
    """With those above, 300."""
    compare(seed, POSES)


def test_a_point_is_of_the_surface_where_it_lies_on_it_and_is_not_cut_away() -> None:
    """Of `_is_surface` alone, over a crown that is cut away on one side."""
    crown: Any = SimpleNamespace(
        surface=lambda seen: seen[..., 0] * 0, cut_away=lambda seen: seen[..., 1] > 0
    )
    seen = array([[1.0, 0.0, 0.0], [1.0, 0.0, 1.0], [1.0, 0.0, -1.0], [1.0, 1.0, 0.0]])
    assert valvegap._is_surface(crown, seen).tolist() == [True, False, False, False]


def test_a_dome_is_no_nearer_where_its_nearest_place_is_cut_away() -> None:
    """The centre of a dome's sphere, and how far it is from the face: by hand. A pocket takes that place away."""
    head = Head(array([12.0, 0.0, 9.0]), array([0.0, 0.0, 1.0]), array(8.0), array(1.0))
    high, wide = 4.0, 35.0
    sphere = (wide**2 + high**2) / (2 * high)
    whole = Crown((), Cap(array(high), array(wide)), None)
    over = (
        np.hypot(12.0 - 8.0, 9.0 + sphere - high) - sphere
    )  # the face's nearest place is its rim, towards the axis
    assert float(gap(whole, head)) == pytest.approx(over, abs=1e-9)
    cut = pocket(array([8.0, 0.0, 0.0]), array([0.0, 0.0, 1.0]), array(30.0), array(2.0))
    assert float(gap(whole._replace(pockets=(cut,)), head)) > over + 2.0
