"""A crown as a solid: plane, dome, dish and pockets, where each is exact, and lines that meet them."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array, from_lean, norm, point, unit
from tallstack.geometry.piston.crown import Cap, Crown, Pocket, first_metal, pocket

UP = point(0.0, 0.0, 1.0)
PLAIN = Crown((), None)
DOME = Cap(array(5.0), array(15.0))  # of a sphere of radius 25
DISH = Cap(array(-5.0), array(15.0))


def straight_down(crown: Crown, x: float, y: float) -> float:
    return float(first_metal(crown, point(x, y, 0.0), UP))


@pytest.mark.parametrize(("cap", "centre"), [(DOME, -20.0), (DISH, 20.0)])
def test_a_caps_sphere_goes_through_its_middle_and_its_edge(cap: Cap, centre: float) -> None:
    assert cap.sphere == 25.0
    assert cap.centre == centre
    for x, high in ((0.0, float(cap.height)), (15.0, 0.0), (7.0, np.sign(cap.height) * 4.0), (20.0, 0.0)):
        assert straight_down(Crown((), cap), x, 0.0) == pytest.approx(high)
        assert Crown((), cap).surface(point(x, 0.0, 3.0)) == pytest.approx(high)


def test_the_highest_point_is_never_below_the_crown_plane() -> None:
    assert [float(Crown((), one).top) for one in (None, DOME, DISH)] == [0.0, 5.0, 0.0]


def test_a_leaning_pocket_is_as_deep_as_it_says_at_its_deepest_point_and_nowhere_deeper() -> None:
    one = pocket(array([-10.0, 0.0]), from_lean(np.radians(-20.0), 0.0), array(30.0), array(4.0))
    crown = Crown((one,), None)
    x, y = np.meshgrid(np.linspace(-40, 20, 301), np.linspace(-20, 20, 201))
    under = first_metal(crown, point(x, y, 0.0), UP)
    assert under.min() == pytest.approx(-4.0, abs=0.05)
    assert under.min() >= -4.0
    assert under.max() == 0.0
    floor = one.centre - one.sunk * one.axis
    deepest = floor + one.radius * unit(np.cross(one.axis, np.cross(one.axis, UP)))
    assert deepest[2] == pytest.approx(-4.0)


def test_a_line_out_of_one_cut_may_be_in_another() -> None:
    """An upright pocket 2 deep within a wider one 1 deep: what is seen is the deeper floor, in either order."""
    wide, deep = (
        pocket(array([0.0, 0.0]), UP, array(wide), array(down)) for wide, down in ((30.0, 1.0), (10.0, 2.0))
    )
    for order in ((wide, deep), (deep, wide)):
        crown = Crown(order, None)
        assert [straight_down(crown, x, 0.0) for x in (0.0, 10.0, 20.0)] == [-2.0, -1.0, 0.0]


def test_a_slanting_line_meets_the_plane_where_it_crosses_it() -> None:
    """3, 4, 5: from 4 up, 5 along the line."""
    assert first_metal(PLAIN, point(0.0, 0.0, 4.0), point(0.6, 0.0, 0.8)) == pytest.approx(-5.0)


def test_what_is_cut_away_or_above_the_crown_is_no_metal() -> None:
    crown = Crown((pocket(array([0.0, 0.0]), UP, array(10.0), array(2.0)),), None)
    seen = np.array([[0, 0, -1.0], [0, 0, -2.1], [6, 0, -1.0], [6, 0, 0.1], [6, 0, 0.0]])
    assert crown.cut_away(seen).tolist() == [True, False, False, True, False]


def test_some_of_a_batch_are_those_crowns() -> None:
    depth = array([1.0, 2.0, 3.0])
    crowns = Crown(
        (pocket(array([0.0, 0.0]), UP, array(10.0), depth),), Cap(array([4.0, 5.0, 6.0]), array(15.0))
    )
    assert crowns.shape == (3,)
    assert crowns.spread().shape == (3, 1)
    assert first_metal(crowns, point(2.0, 0.0, 0.0), UP) == pytest.approx(-depth)
    last = crowns.pick((3,), np.array([False, False, True]))
    assert isinstance(last.pockets[0], Pocket)
    assert first_metal(last, point(12.0, 0.0, 0.0), UP) == pytest.approx(
        straight_down(Crown((), Cap(array(6.0), array(15.0))), 12.0, 0.0)
    )
    assert norm(last.pockets[0].axis) == pytest.approx(1.0)
