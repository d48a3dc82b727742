"""Bodies seen from one side: discs edge on, bars end on, arms that take in both circles, what is known and what not."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tallstack.cli.drawing.lines import Circle, Fill, Line, Stroke
from tallstack.cli.drawing.solids import FRONT, SIDE, arc, arm, ball, body, disc, is_point, line, strip, tube
from tallstack.geometry.core.frames import point

UP = point(0.0, 0.0, 1.0)
CENTRE = point(3.0, 4.0, 5.0)


def test_each_look_keeps_its_own_two_coordinates() -> None:
    assert (FRONT.at(CENTRE), SIDE.at(CENTRE)) == ((3.0, 5.0), (4.0, 5.0))
    assert line(SIDE, CENTRE, UP).points == ((4.0, 5.0), (0.0, 1.0))
    along = point(0.1, 1.0, 0.0)  # nearly along the crankshaft
    assert FRONT.is_along(along)
    assert not SIDE.is_along(along)


def test_a_disc_is_a_circle_along_its_axis_and_a_line_edge_on() -> None:
    round_ = np.array(disc(FRONT, CENTRE, point(0.0, 1.0, 0.0), 7.0, known=True).points)
    np.testing.assert_allclose(np.hypot(round_[:, 0] - 3.0, round_[:, 1] - 5.0), 7.0)
    edge_on = np.array(disc(FRONT, CENTRE, UP, 7.0, known=True).points)
    np.testing.assert_allclose(edge_on[:, 1], 5.0)
    assert np.ptp(edge_on[:, 0]) == pytest.approx(14.0, abs=0.05)


def test_an_arc_goes_half_its_angle_to_both_sides() -> None:
    points = arc(FRONT, CENTRE, UP, point(1.0, 0.0, 0.0), 10.0, math.radians(30)).points
    assert points[12] == pytest.approx((3.0, 15.0))
    assert points[0][0] - 3.0 == pytest.approx(-5.0)
    assert points[-1][0] - 3.0 == pytest.approx(5.0)


def test_a_tube_is_as_wide_as_its_bar_and_a_circle_end_on() -> None:
    """Along 3, 4, 5."""
    found = tube(FRONT, point(0.0, 0.0, 0.0), point(6.0, 9.0, 8.0), 2.5, known=True)
    assert isinstance(found, Line)
    one, two, three, four = found.points
    assert [math.dist(one, two), math.dist(two, three), math.dist(one, four)] == pytest.approx(
        [10.0, 5.0, 5.0]
    )
    end_on = tube(FRONT, CENTRE, CENTRE + point(0.0, 9.0, 0.0), 2.5, known=True)
    assert end_on == Circle((3.0, 5.0), 2.5, Stroke.OUTLINE, Fill.GREY)


def test_an_arm_takes_in_both_circles_and_no_more() -> None:
    """Its outline touches each, and lies on or outside neither further than the belt between them."""
    start, end = (1.0, 2.0), (10.0, 14.0)
    found = arm(start, 6.0, end, 2.0, known=True)
    assert isinstance(found, Line)
    away = [(math.dist(one, start) - 6.0, math.dist(one, end) - 2.0) for one in found.points]
    assert all(min(pair) == pytest.approx(0.0, abs=1e-9) for pair in away)
    assert all(max(pair) >= -1e-9 for pair in away)
    along = (np.array(end) - start) / math.dist(start, end)
    reach = [float((np.array(one) - start) @ along) for one in found.points]
    assert max(reach) == pytest.approx(15.0 + 2.0)
    assert min(reach) == pytest.approx(-6.0)
    held = arm(start, 6.0, (2.0, 2.0), 2.0, known=True)
    assert held == ball(start, 6.0, known=True)  # one holds the other


def test_what_is_known_is_grey_and_what_is_not_bare_and_dashed_and_both_cover() -> None:
    corners = ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    known, unknown = body(corners, known=True), body(corners, known=False)
    assert (known.fill, known.stroke, known.closed) == (Fill.GREY, Stroke.OUTLINE, True)
    assert (unknown.fill, unknown.stroke) == (Fill.WHITE, Stroke.INDICATED)
    assert unknown.stroke.dashes
    assert not known.stroke.dashes
    assert unknown.points == known.points


def test_nearer_is_nearer_to_whoever_looks() -> None:
    near, far = point(0.0, -5.0, 0.0), point(0.0, 5.0, 0.0)
    assert FRONT.depth(near) > FRONT.depth(far)
    assert SIDE.depth(point(5.0, 0.0, 0.0)) > SIDE.depth(point(-5.0, 0.0, 0.0))


def test_a_strip_is_twice_its_half_wide() -> None:
    corners = strip(SIDE, point(0, 0, 0), point(0, 0, 30.0), point(0, 1, 0), 4.0, known=False).points
    assert corners == ((-4.0, 0.0), (-4.0, 30.0), (4.0, 30.0), (4.0, 0.0))


def test_a_point_is_one_where_all_of_it_is_known() -> None:
    assert is_point(CENTRE)
    assert not is_point(None)
    assert not is_point(point(1.0, np.nan, 2.0))
