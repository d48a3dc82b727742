"""Edges of a crown's metal: each lies on both surfaces that meet in it, and none is where the metal is cut away."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array, from_lean, norm, point
from tallstack.geometry.piston.crown import Cap, Crown, first_metal, pocket
from tallstack.geometry.piston.edges import edges, floor_centre, without

UP = point(0.0, 0.0, 1.0)
TURN = np.linspace(0.0, 2 * np.pi, 72, endpoint=False)
UPRIGHT = pocket(array([10.0, 0.0]), UP, array(30.0), array(2.0))
LEANING = pocket(array([-20.0, 0.0]), from_lean(np.radians(-30.0), 0.0), array(30.0), array(4.0))
DOME = Cap(array(6.0), array(30.0))


def seen(crown: Crown) -> list[np.ndarray]:
    """Return the points of each edge that has any."""
    found = [one(crown.spread(), TURN) for one in edges(crown)]
    return [one[np.isfinite(one).all(axis=-1)] for one in found if np.isfinite(one).any()]


def test_an_upright_pockets_one_edge_is_its_circle_at_the_crown_plane() -> None:
    (wall,) = seen(Crown((UPRIGHT,), None))
    assert len(wall) == len(TURN)
    np.testing.assert_allclose(wall[:, 2], 0.0, atol=1e-9)
    np.testing.assert_allclose(norm(wall - point(10.0, 0.0, 0.0)), 15.0)


def test_a_leaning_floor_comes_out_of_the_plane_along_a_straight_line() -> None:
    line = seen(Crown((LEANING,), None))[-1]
    np.testing.assert_allclose(line[:, 2], 0.0, atol=1e-9)
    np.testing.assert_allclose(np.ptp(line[:, 0]), 0.0, atol=1e-9)  # the pocket leans along x alone
    np.testing.assert_allclose((line - floor_centre(LEANING)) @ LEANING.axis, 0.0, atol=1e-9)


def test_the_rim_of_a_dish_is_its_circle() -> None:
    (rim,) = seen(Crown((), Cap(array(-3.0), array(25.0))))
    np.testing.assert_allclose(norm(rim), 25.0)


@pytest.mark.parametrize("cap", [None, DOME])
def test_every_point_of_every_edge_is_metal_and_has_none_above_it(cap: Cap | None) -> None:
    """Looked at from straight above, a breadth of a hundredth to either side: some metal is as high as the edge."""
    crown = Crown((UPRIGHT, LEANING._replace(centre=point(-12.0, 3.0, 0.0))), cap)
    found = seen(crown)
    assert len(found) >= 3
    for points in found:
        assert not crown.spread().cut_away(points).any()
        around = points[:, None, :] + 0.01 * np.array([[x, y, 0.0] for x in (-1, 0, 1) for y in (-1, 0, 1)])
        high = points[:, 2] + first_metal(crown, around, UP).max(axis=-1) + 0.0
        top = around[..., 2] + first_metal(crown, around, UP)
        assert (top.max(axis=-1) >= points[:, 2] - 0.02).all()
        assert np.isfinite(high).all()


def test_a_filled_pocket_leaves_the_others() -> None:
    crown = Crown((UPRIGHT, LEANING), DOME)
    assert without(crown, 0) == Crown((LEANING,), DOME)
    assert edges(Crown((), None)) == []
