"""How far a valve can fall straight down its stem: exact cases, and a ray search of rim and face.

Figures, measured on two cores with CPython 3.11:

- drop of 60 random poses against 20,000 lines of the rim and 60,000 of the face: never more, at most 0.01 mm
  less; limit: never more
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.frames import array, from_lean, point
from tallstack.geometry.core.search import square_to
from tallstack.geometry.piston import drop as valvehead
from tallstack.geometry.piston.crown import Cap, Crown, Pocket, first_metal, pocket
from tallstack.geometry.piston.drop import drop, wall
from tallstack.geometry.piston.gap import gap
from tallstack.geometry.piston.head import Head, rim
from tallstack.geometry.piston.wedge import drop_by_wedge

from ...seeded import few

UP = point(0.0, 0.0, 1.0)


def test_a_point_is_under_a_face_within_its_radius() -> None:
    """Of `_way_to` alone, where no crown is met."""
    head = Head(point(0.0, 0.0, 12.0), UP, array(5.0), array(1.0))
    pose: Any = SimpleNamespace(head=head)
    seen = array([[4.9, 0.0, 2.0], [0.0, -4.9, 2.0], [5.1, 0.0, 2.0], [3.0, 3.0, 13.0]])
    assert valvehead._way_to(seen, pose).tolist() == [10.0, 10.0, np.inf, -1.0]


@pytest.mark.parametrize(
    ("radius", "aside", "deeper"), [(14.0, 0.0, 3.0), (14.0, 1.5, 0.0), (20.0, 0.0, 0.0)]
)
def test_a_valve_that_is_wider_than_the_room_in_its_pocket_rests_on_the_crown_plane(
    radius: float, aside: float, deeper: float
) -> None:
    """A pocket of 15 mm radius, 3 mm deep."""
    crown = Crown((pocket(point(0.0, 0.0, 0.0), UP, array(30.0), array(3.0)),), None)
    head = Head(point(aside, 0.0, 5.0), UP, array(radius), array(1.0))
    _, sure = drop_by_wedge(crown, head)
    assert bool(sure) == (deeper > 0)
    assert valvehead.drop(crown, head) == pytest.approx(5.0 + deeper)


def test_a_valve_square_to_its_pockets_wall_and_more_rests_on_the_crown_beside_the_floor() -> None:
    """Both lean by 50 degrees, away from each other; the floor meets the crown plane 13 mm beside the bore's axis.

    The rim's lowest point comes to the crown plane 15 mm beside it, where nothing is cut: 2 mm along the stem.
    """
    sine, cosine = float(np.sin(np.radians(50.0))), float(np.cos(np.radians(50.0)))
    own = Pocket(point(0.0, 0.0, 0.0), point(sine, 0.0, cosine), array(20.0), array(10.0))
    stem = point(-sine, 0.0, cosine)
    centre = point(-15.0, 0.0, 0.0) + 5.0 * point(cosine, 0.0, sine) + 2.0 * stem
    head = Head(centre, stem, array(5.0), array(1.0))
    assert valvehead.drop(Crown((own,), None), head) == pytest.approx(2.0)


@pytest.mark.parametrize("lean", [0.1, -0.1])
def test_the_room_of_a_leaning_valve_is_that_at_the_top_of_its_margin(lean: float) -> None:
    """On its pocket's axis, all of it below the crown: the face is as wide as its radius, the margin's top further over."""
    own = pocket(point(0.0, 0.0, 0.0), UP, array(50.0), array(15.0))
    stem = point(float(np.sin(lean)), 0.0, float(np.cos(lean)))
    head = Head(point(0.0, 0.0, -10.0), stem, array(20.0), array(3.0))
    out = 20.0 * np.cos(lean) + 3.0 * np.sin(abs(lean))
    assert out > 20.0
    assert valvehead.wall(own, head) == pytest.approx(25.0 - out)


def test_a_valley_behind_a_ridge_between_two_turns_is_found() -> None:
    """A rim half on a dome: its least stands 5 degrees from a second one, and no turn looked at first is near it."""
    crown = Crown((), Cap(array(4.37028819698706), array(35.99774166478922)))
    stem = array([0.30690932, -0.12954811, 0.94288067])
    head = Head(
        point(19.05370836, -11.11853009, 14.33693748),
        stem / np.linalg.norm(stem),
        array(18.0459),
        array(1.48),
    )
    seen = rim(head, np.linspace(0.0, 2 * np.pi, 200_001))
    assert drop(crown, head) == pytest.approx(-first_metal(crown, seen, head.stem).max(), abs=1e-6)


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


@pytest.mark.parametrize("seed", few(range(60), 24))
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


@pytest.mark.parametrize("seed", range(8))
def test_a_head_that_stays_over_its_floor_meets_it_as_by_the_search(seed: int) -> None:
    """The closed form against 20,000 lines of the rim, where the face stays within the pocket."""
    rng = np.random.default_rng([seed, 12])
    lean = np.radians(rng.uniform(-12, 12, 2))
    cutter = from_lean(*(lean + np.radians(rng.uniform(-1, 1, 2))))
    cut = pocket(array([3.0, -2.0]), cutter, array(46.0), array(11.0))
    far = pocket(array([46.0, 0.0]), from_lean(0.1, 0.0), array(40.0), array(3.0))
    head = Head(point(3.0, -2.0, 1.0), from_lean(*lean), array(20.0), array(1.4))
    crown = Crown((cut, far), None)
    way, sure = drop_by_wedge(crown, head)
    assert sure
    turns = np.linspace(0.0, 2 * np.pi, 20001)
    searched = float(-first_metal(crown, rim(head, turns), head.stem).max())
    assert float(way) == pytest.approx(searched, abs=1e-6)
    assert float(drop(crown, head)) == float(way)


def test_a_rim_under_the_lip_of_a_leaning_pocket_is_clear() -> None:
    """It is below the crown plane under uncut crown; the gap is what it is to lip or floor, and not negative."""
    axis = from_lean(np.radians(15.0), 0.0)
    crown = Crown((pocket(array([0.0, 0.0]), axis, array(44.0), array(18.0)),), None)
    moved = np.linspace(-2.5, 2.5, 41)
    head = Head(
        -11.0 * axis + moved[:, None] * np.cross([0.0, 1.0, 0.0], axis), axis, array(19.0), array(1.4)
    )
    clear = drop(crown, head) > 0
    under = rim(head.spread(), np.linspace(0.0, 2 * np.pi, 721))
    foot = under * np.array([1.0, 1.0, 0.0])
    lip = ((under[..., 2] < 0) & ~crown.cut_away(foot)).any(axis=-1)
    assert (clear & lip).any()
    assert (gap(crown, head)[clear] > 0).all()


@pytest.mark.parametrize(("lean", "up"), [(-3.0, 0.3), (3.0, 0.7), (8.0, 0.5)])
def test_the_wall_counts_a_margin_that_crosses_the_crown_plane(lean: float, up: float) -> None:
    """Against 200 points up the side of each place of the rim: those below the plane, beside wall that is there."""
    axis, stem = (from_lean(np.radians(one), 0.0) for one in (20.0, 20.0 + lean))
    one = pocket(array([20.0, 0.0]), axis, array(42.0), array(12.0))
    head = Head(point(20.0, 0.0, 0.0), stem, array(20.0), array(2.0))
    turns = np.linspace(0.0, 2 * np.pi, 3601)
    low = rim(head, turns)[:, 2].min() + up * head.margin * stem[2]
    head = head._replace(
        centre=head.centre - low / axis[2] * axis
    )  # so much of its lowest margin is in the pocket
    share = np.linspace(0.0, 1.0, 201)[:, None]
    side = rim(head, turns) + (share * head.margin)[..., None] * head.stem
    offset = side - one.centre
    along = offset @ one.axis
    aside = offset - along[..., None] * one.axis
    out = np.linalg.norm(aside, axis=-1)
    foot = along * one.axis[2] + one.radius * aside[..., 2] / out
    counts = (side[..., 2] < 0) & (foot <= 0)
    room = np.where(counts, one.radius - out, np.inf)
    found = float(wall(one, head))
    assert found <= room.min() + 1e-9
    assert found == pytest.approx(room.min(), abs=0.002)
    if lean > 0:  # the margin leans outwards more than the wall: the rim at the face alone has more room
        assert found < room[0].min() - 0.005
