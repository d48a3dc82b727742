from __future__ import annotations

import math

from tallstack.cli.bench.poses.lobe import Curve, lobe
from tallstack.cli.bench.poses.spots import WIDE

from .looking import read, said, spots, spots_of, tap

CURVE = [(float(one), 8.0 * max(0.0, math.cos(math.pi * (one - 110) / 260))) for one in range(-40, 261)]


def test_there_is_a_curve_only_where_one_is_known() -> None:
    drawn, bare = lobe({}, {"curve": CURVE}), lobe({}, {"curve": [], "route": "card"})
    assert 'stroke-width="2.2"' in drawn.svg
    assert 'stroke-width="2.2"' not in bare.svg
    assert "until the card is whole" in bare.caption
    assert "until the table has been read" in lobe({}, {"route": "table"}).caption
    assert "no curve" not in drawn.caption


def test_a_duration_reaches_from_flank_to_flank() -> None:
    curve = Curve(CURVE)
    for check in ("seat", "duration"):
        start, end = curve.span(check)
        assert start[1] == end[1]
        for across, level in (start, end):
            assert abs(curve.height(across) - level) < 4
    assert curve.span("seat")[0][0] < curve.span("duration")[0][0]


def test_the_nose_stands_where_the_lift_is_greatest_and_top_centre_at_nought() -> None:
    curve = Curve(CURVE)
    assert math.isclose(
        (curve.nose - curve.overlap) / (curve.points[-1][0] - curve.points[0][0]), 110 / 300, abs_tol=0.01
    )


def test_of_an_exhaust_top_centre_stands_on_the_right() -> None:
    exhaust = [(-angle, lift) for angle, lift in CURVE]
    for curve, left in ((CURVE, True), (exhaust, False)):
        (group,) = spots_of(read(lobe(spots(["card.top_centre"]), {"curve": curve}).svg))
        assert (tap(group).left < WIDE / 2) is left


def test_a_curve_without_lift_or_of_one_point_is_none() -> None:
    for none in ([(0.0, 0.0), (9.0, 0.0)], [(1.0, 1.0)], [(1.0, 1.0), (1.0, 2.0)]):
        assert Curve(none).points == ()


def test_a_long_table_is_drawn_through_some_of_its_points() -> None:
    assert len(Curve([(one / 10, 1.0 + math.sin(one)) for one in range(7200)]).points) <= 240


def test_numbers_of_a_card_are_named_where_they_have_no_letter() -> None:
    assert "seat duration" in said(lobe(spots(["card.seat.degrees"], letter=""), {}).svg)
