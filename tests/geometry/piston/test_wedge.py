"""What a head meets first in closed form: never above any place that is looked at, and what the whole search finds.

By brute force a face is a cloud of places, each of which is let down its line, or asked how far it is from the metal under
it; the crown's metal is asked for nothing but its heights and what is cut away.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.frames import Array, array, from_lean, point
from tallstack.geometry.core.search import least, square_to
from tallstack.geometry.piston import drop as valvehead
from tallstack.geometry.piston import gap as valvegap
from tallstack.geometry.piston.crown import Cap, Crown, Pocket, first_metal, pocket
from tallstack.geometry.piston.drop import Pose
from tallstack.geometry.piston.edges import floor_centre
from tallstack.geometry.piston.gap import gap
from tallstack.geometry.piston.head import Head
from tallstack.geometry.piston.wedge import drop_by_wedge, gap_by_wedge

from ...seeded import few

POSES = 100  # of an engine; as many engines: 10,000
UP = point(0.0, 0.0, 1.0)


def engine(seed: int) -> tuple[Crown, Head]:
    """Return a crown of one to three pockets, some with a dome or dish, and a head at many places over one of them."""
    rng = np.random.default_rng([seed, 30])
    lean = np.radians([rng.uniform(-28, 28), rng.uniform(-8, 8)])
    off = np.radians(rng.uniform(-1, 1, 2) * rng.choice([0.0, 0.3, 3.0, 10.0]))
    radius = rng.uniform(15, 26)
    own = pocket(
        rng.uniform(-25, 25, 2), from_lean(*(lean + off)), array(2 * radius), array(rng.uniform(1, 9))
    )
    pockets = [own]
    for _ in range(rng.integers(0, 3)):
        cutter = from_lean(*np.radians(rng.uniform(-25, 25, 2)))
        place, across = own.centre[:2] + rng.uniform(-60, 60, 2), array(2 * rng.uniform(12, 24))
        pockets.append(pocket(place, cutter, across, array(rng.uniform(1, 7))))
    cap = Cap(array(rng.uniform(-4, 4)), array(rng.uniform(20, 45))) if rng.random() < 0.25 else None
    stem = from_lean(*lean)
    over = rng.uniform(0.2, 9, POSES)[:, None] * stem + np.pad(
        rng.uniform(-6, 6, (POSES, 2)), ((0, 0), (0, 1))
    )
    head = Head(floor_centre(own) + over, stem, array(radius + rng.uniform(-6, 3)), array(1.2))
    return Crown(tuple(pockets), cap), head


def faces(rng: np.random.Generator, head: Head, places: int) -> Array:
    """Return places of every face, many of them along its rim, (poses, places, 3)."""
    first, second = square_to(head.stem)
    turn = rng.uniform(0, 2 * np.pi, places)
    out = head.radius * np.where(rng.random(places) < 0.5, 1.0, np.sqrt(rng.random(places)))
    away = (out * np.cos(turn))[:, None] * first + (out * np.sin(turn))[:, None] * second
    return head.centre[:, None] + away


@pytest.mark.parametrize("seed", few(range(100), 30))
def test_a_drop_that_is_proved_is_that_of_the_whole_search_and_no_line_meets_metal_before(seed: int) -> None:
    crown, head = engine(seed)
    found, sure = drop_by_wedge(crown, head)
    if not sure.any():
        return
    whole = least(valvehead.curves(crown), Pose(crown, head), (POSES,), True)
    if crown.cap is not None:
        whole = np.minimum(whole, valvehead.way_to_dome(Pose(crown, head)))
    assert found[sure] == pytest.approx(whole[sure], abs=1e-7)  # as near as it closes in on a pocket's edge
    assert (found[sure] <= whole[sure] + 1e-9).all()
    seen = faces(np.random.default_rng(seed), head, 300)
    lines = -first_metal(crown, seen, head.stem).max(axis=-1)
    assert (lines[sure] >= found[sure] - 1e-9).all()
    assert (lines[sure] - found[sure] < 1.5).all()


@pytest.mark.parametrize("seed", few(range(100), 30))
def test_a_gap_that_is_proved_is_that_of_the_whole_search(seed: int) -> None:
    crown, head = engine(seed)
    found, sure = gap_by_wedge(crown, head)
    whole = least(valvegap.curves(crown), Pose(crown, head), (POSES,), True)
    if crown.cap is not None:
        whole = np.minimum(whole, valvegap.to_dome(Pose(crown, head)))
    sure &= drop_by_wedge(crown, head)[1] & (drop_by_wedge(crown, head)[0] > 0)
    assert found[sure] == pytest.approx(whole[sure], abs=1e-9)
    clear = gap(crown, head)
    assert clear[sure] == pytest.approx(whole[sure], abs=1e-9)


@pytest.mark.parametrize("seed", few(range(100), 12))
def test_no_place_of_the_crown_is_nearer_to_a_face_than_what_is_proved(seed: int) -> None:
    """A cloud of the crown's own surface, its distance to the face as of any disc."""
    crown, head = engine(seed)
    found, sure = gap_by_wedge(crown, head)
    rng = np.random.default_rng(seed)
    flat = np.concatenate(
        [rng.uniform(-90, 90, (20_000, 2)), crown.pockets[0].centre[:2] + rng.uniform(-30, 30, (40_000, 2))]
    )
    metal = point(flat[:, 0], flat[:, 1], first_metal(crown, point(flat[:, 0], flat[:, 1], 0.0), UP))
    for pose in np.nonzero(sure)[0][:8]:
        offset = metal - head.centre[pose]
        along = offset @ head.stem
        aside = np.linalg.norm(offset - along[:, None] * head.stem, axis=-1)
        away = np.hypot(along, np.maximum(aside - float(head.radius), 0.0))
        assert away.min() >= found[pose] - 1e-9
        assert away.min() < found[pose] + 1.0


def test_the_places_of_an_engine_are_proved_often_enough() -> None:
    both = [engine(seed) for seed in range(30)]
    drops, gaps = (
        np.concatenate([closed(*one)[1] for one in both]) for closed in (drop_by_wedge, gap_by_wedge)
    )
    assert drops.mean() > 0.35
    assert gaps.mean() > 0.08


def square(radius: float, aside: float = 0.0, up: float = 5.0, depth: float = 3.0) -> tuple[Crown, Head]:
    """Return a pocket of 15 mm radius and a head over it, both upright."""
    crown = Crown((pocket(array([0.0, 0.0]), UP, array(30.0), array(depth)),), None)
    return crown, Head(point(aside, 0.0, up), UP, array(radius), array(1.0))


@pytest.mark.parametrize(
    ("radius", "aside", "way"), [(14.0, 0.0, 8.0), (14.0, 0.9, 8.0), (14.0, 1.1, None), (15.5, 0.0, None)]
)
def test_an_upright_head_over_an_upright_pocket(radius: float, aside: float, way: float | None) -> None:
    found, sure = drop_by_wedge(*square(radius, aside))
    assert bool(sure) == (way is not None)
    if way is not None:
        assert float(found) == way


def test_a_gap_is_proved_up_to_where_the_wall_is_as_near() -> None:
    """A head of 10 mm in a pocket of 15: 5 mm from its wall all round, and down in it."""
    near, far = (gap_by_wedge(*square(10.0, up=up)) for up in (1.9, 2.1))
    assert [bool(one) for _, one in (near, far)] == [True, False]
    assert float(near[0]) == pytest.approx(4.9)


def test_a_floor_that_is_cut_away_proves_nothing() -> None:
    crown, head = square(10.0)
    deeper = pocket(array([0.0, 0.0]), UP, array(22.0), array(6.0))
    cut = Crown((*crown.pockets, deeper), None)
    value, sure = drop_by_wedge(cut, head)
    assert float(valvehead.drop(cut, head)) == pytest.approx(11.0)
    assert not sure or float(value) == pytest.approx(11.0)


def test_a_crown_of_many_engines_is_each_alone() -> None:
    made = [engine(seed) for seed in range(200)]
    like = [(crown, head) for crown, head in made if len(crown.pockets) == 2 and crown.cap is None][:5]
    pockets = [
        Pocket(
            *(
                np.stack([getattr(crown.pockets[at], part) for crown, _ in like])[:, None]
                for part in Pocket._fields
            )
        )
        for at in range(2)
    ]
    heads: Any = [
        np.stack(
            [
                np.broadcast_to(
                    part, (POSES, *np.shape(part)[-1:]) if name in ("centre", "stem") else (POSES,)
                )
                for part in (getattr(head, name) for _, head in like)
            ]
        )
        for name in Head._fields
    ]
    crown, head = Crown(tuple(pockets), None), Head(*heads)
    for closed in (drop_by_wedge, gap_by_wedge):
        value, sure = closed(crown, head)
        for at, one in enumerate(like):
            alone = closed(*one)
            assert (sure[at] == alone[1]).all()
            assert value[at][sure[at]] == pytest.approx(alone[0][alone[1]], abs=1e-12)
