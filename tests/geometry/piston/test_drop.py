"""How far a valve can fall straight down its stem: exact cases, and a ray search of rim and face."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core.frames import array, point
from tallstack.geometry.piston import drop as valvehead
from tallstack.geometry.piston.crown import Crown, Pocket, pocket
from tallstack.geometry.piston.head import Head

UP = point(0.0, 0.0, 1.0)


def test_a_point_is_under_a_face_within_its_radius() -> None:
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
    _, sure = valvehead.to_one_floor(valvehead.Pose(crown, head))
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
