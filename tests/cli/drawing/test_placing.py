"""Dimensions in their places: inside their box, beside the view, letters clear of each other."""

from __future__ import annotations

from itertools import combinations

import pytest
from tallstack.cli.drawing.lines import Circle, Dimension, Line, Text, Way
from tallstack.cli.drawing.placing import place

from ...drawn import crosses

BODY = Line(((-20.0, -30.0), (20.0, -30.0), (20.0, 30.0), (-20.0, 30.0)), closed=True)
SOME = (
    Dimension("A", "stack.first", "60 mm (2.362 in)", Way.UP, (-20.0, -30.0), (-20.0, 30.0), side=-1.0),
    Dimension("B", "stack.second", "20 mm (0.787 in)", Way.UP, (-20.0, 0.0), (-20.0, 20.0), side=-1.0),
    Dimension("C", "stack.third", "30 mm (1.181 in)", Way.UP, (20.0, 0.0), (20.0, 30.0)),
    Dimension("D", "stack.wide", "40 mm (1.575 in)", Way.ACROSS, (-20.0, -30.0), (20.0, -30.0), side=-1.0),
    Dimension("E", "rocker.arm", "25 mm (0.984 in)", Way.ALONG, (-10.0, 5.0), (10.0, 20.0), offset=2.0),
    Dimension("F", "rocker.angle", "30 deg", Way.ANGLE, (10.0, 0.0), (8.66, 5.0), apex=(0.0, 0.0)),
    Dimension("G", "rocker.other", "25 mm (0.984 in)", Way.ALONG, (-10.0, 4.0), (10.0, 19.0), offset=-2.0),
)  # fmt: skip


@pytest.mark.parametrize("scale", [1.0, 0.5])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_everything_stands_in_the_box_and_no_letters_lie_on_others(scale: float, side: float) -> None:
    placed = place([BODY, *SOME], scale, side)
    dimensions = [one for one in placed.items if isinstance(one, Dimension)]
    assert {one.letter for one in dimensions} == set("ABCDEFG")
    texts = []
    for one in dimensions:
        assert one.marks
        for mark in one.marks:
            if isinstance(mark, Text):
                texts.append(
                    Text(
                        (mark.at[0] * scale, mark.at[1] * scale),
                        mark.words,
                        mark.size,
                        mark.anchor,
                        mark.turn,
                        mark.bold,
                    )
                )
    for text in texts:
        for across, up in text.corners():
            assert placed.box.left - 0.5 <= across <= placed.box.right + 0.5
            assert placed.box.low - 0.5 <= up <= placed.box.high + 0.5
    assert not [(a.words, b.words) for a, b in combinations(texts, 2) if crosses(a, b)]


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_label_at_the_edge_stands_at_its_side_with_a_leader_to_what_it_measures(side: float) -> None:
    (one,) = [each for each in place([BODY, SOME[4]], 1.0, side).items if isinstance(each, Dimension)]
    (dot,) = [mark for mark in one.marks if isinstance(mark, Circle)]
    words = [mark for mark in one.marks if isinstance(mark, Text)]
    assert all(side * mark.at[0] > 20.0 for mark in words)
    # in the middle between the two points, 2 mm to the left of start to end: 4, 3, 5
    assert dot.centre == pytest.approx((0.0 - 2.0 * 0.6, 12.5 + 2.0 * 0.8))


def test_a_line_within_the_view_stays_there() -> None:
    within = Dimension("H", "crank.stroke", "50 mm", Way.UP, (0.0, -25.0), (0.0, 25.0), inside=-7.0)
    (one,) = [each for each in place([BODY, within], 1.0, 1.0).items if isinstance(each, Dimension)]
    upright = [
        mark for mark in one.marks if isinstance(mark, Line) and mark.points[0][0] == mark.points[1][0]
    ]
    assert any(mark.points[0] == (-7.0, -25.0) and mark.points[1] == (-7.0, 25.0) for mark in upright)
