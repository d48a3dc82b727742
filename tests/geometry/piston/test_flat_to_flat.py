"""The least way between a face and a floor nearly square to it, against places looked at one by one."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.frames import Array, array, from_lean, point
from tallstack.geometry.core.search import square_to
from tallstack.geometry.piston import flat_to_flat
from tallstack.geometry.piston.crown import Crown, pocket
from tallstack.geometry.piston.drop import Pose
from tallstack.geometry.piston.edges import floor_centre
from tallstack.geometry.piston.flat_to_flat import face_to_floor, floor_to_face
from tallstack.geometry.piston.head import Head

from ...seeded import few

POINTS = 60_000


def spread(rng: np.random.Generator, middle: Array, normal: Array, radius: Array) -> Array:
    """Return places of a disc, many of them along its rim."""
    first, second = square_to(normal)
    turn = rng.uniform(0, 2 * np.pi, POINTS)
    out = radius * np.where(rng.random(POINTS) < 0.5, 1.0, np.sqrt(rng.random(POINTS)))
    return middle + (out * np.cos(turn))[:, None] * first + (out * np.sin(turn))[:, None] * second


def aside(seen: Array, middle: Array, normal: Array) -> Array:
    """Return how far places are from an axis."""
    offset = seen - middle
    away: Array = np.linalg.norm(offset - (offset @ normal)[:, None] * normal, axis=-1)
    return away


@pytest.mark.parametrize("seed", few(range(60), 24))
def test_no_place_is_nearer_and_one_is_as_near(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lean = np.radians([rng.uniform(-25, 25), rng.uniform(-5, 5)])
    off = np.radians(rng.uniform(-1, 1, 2) * rng.choice([0.0, 0.3, 3.0]))
    stem, cutter = from_lean(*lean), from_lean(*(lean + off))
    radius = rng.uniform(16, 24)
    cut = pocket(
        rng.uniform(-4, 4, 2), cutter, array(2 * (radius + rng.uniform(-3, 4))), array(rng.uniform(2, 7))
    )
    head = Head(
        floor_centre(cut) + rng.uniform(1, 6) * stem + point(*rng.uniform(-5, 5, 2), 0.0),
        stem,
        array(radius),
        array(1.4),
    )
    pose = Pose(Crown((cut,), None), head)
    floor = floor_centre(cut)
    for closed, (middle, normal, size), (other, axis, around) in (
        (face_to_floor, (floor, cutter, cut.radius), (head.centre, stem, head.radius)),
        (floor_to_face, (head.centre, stem, head.radius), (floor, cutter, cut.radius)),
    ):
        found = float(closed(0, pose))
        seen = spread(rng, middle, normal, size)
        over = aside(seen, other, axis) <= around
        foot = seen if closed is face_to_floor else seen - ((seen - floor) @ cutter)[:, None] * cutter
        over &= foot[:, 2] <= 0
        ways = ((seen - other) @ axis) * (-1.0 if closed is face_to_floor else 1.0)
        if not over.any():
            assert np.isinf(found) or abs(found) < 50
            continue
        least = ways[over].min()
        assert found <= least + 1e-6
        assert found >= least - 0.06 * max(np.abs(off).max(), np.radians(0.5)) * radius


def test_flats_square_to_each_other_are_their_distance_apart() -> None:
    stem = from_lean(np.radians(-22.0), 0.0)
    cut = pocket(point(-20.0, 0.0, 0.0)[:2], stem, array(54.0), array(4.0))
    head = Head(floor_centre(cut) + 2.5 * stem, stem, array(24.0), array(1.4))
    for closed in (face_to_floor, floor_to_face):
        assert float(closed(0, Pose(Crown((cut,), None), head))) == pytest.approx(2.5, abs=1e-9)


def test_taking_the_lean_out_again() -> None:
    """Of `_unleaned` alone, against the lean put in by hand."""
    lean = flat_to_flat.Place(array(0.3), array(0.4))
    here: Any = SimpleNamespace(lean=lean)
    at = flat_to_flat._unleaned(here, flat_to_flat.Place(array(1.0), array(2.0)))
    along = lean.x * at.x + lean.y * at.y
    assert float(at.x - along * lean.x) == pytest.approx(1.0)
    assert float(at.y - along * lean.y) == pytest.approx(2.0)


def test_places_where_disc_and_leaning_cylinder_meet_are_on_both() -> None:
    """Of `_both_rounds` with its `_oval`, of a `_Region` alone: each is one of many places that are compared."""
    lean = flat_to_flat.Place(array(0.35), array(-0.2))
    aside = flat_to_flat.Place(array(-4.0), array(2.5))
    flat = flat_to_flat.Place(array(0.0), array(0.0))
    line = (array(-1.0), array(0.0), array(0.0))
    region = flat_to_flat._Region(array(9.0), line, lean, aside, array(-60.0), flat, array(0.0))
    for at in flat_to_flat._both_rounds(region, *flat_to_flat._oval(region)):
        assert float(np.hypot(at.x, at.y)) == pytest.approx(9.0)
        assert float(region.square(at)) == pytest.approx(0.0, abs=1e-9)
