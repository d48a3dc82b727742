"""Dimensions in their places: inside their box, beside the view, letters clear of each other and of every line."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from tallstack.cli.drawing.labels import Ground, crossing
from tallstack.cli.drawing.lines import Dimension, Line, Mark, Text, View, Way
from tallstack.cli.drawing.placing import Placed, place

from ...drawn import box, crosses

BODY = Line(((-20.0, -30.0), (20.0, -30.0), (20.0, 30.0), (-20.0, 30.0)), closed=True)
SOME = (
    Dimension("A", "stack.first", "60", "", Way.UP, (-20.0, -30.0), (-20.0, 30.0), side=-1.0),
    Dimension("B", "stack.second", "20", "", Way.UP, (-20.0, 0.0), (-20.0, 20.0), side=-1.0),
    Dimension("C", "stack.third", "30", "", Way.UP, (20.0, 0.0), (20.0, 30.0)),
    Dimension("D", "stack.wide", "40", "", Way.ACROSS, (-20.0, -30.0), (20.0, -30.0), side=-1.0),
    Dimension("E", "rocker.arm", "25", "", Way.ALONG, (-10.0, 5.0), (10.0, 20.0), offset=2.0),
    Dimension("F", "rocker.angle", "30 deg", "", Way.ANGLE, (10.0, 0.0), (8.66, 5.0), apex=(0.0, 0.0)),
    Dimension("G", "rocker.other", "25", "", Way.ALONG, (-10.0, 4.0), (10.0, 19.0), offset=-2.0),
)  # fmt: skip


def placed_marks(scale: float) -> tuple[Placed, list[Mark]]:
    """What is placed, and every mark of it in mm of paper."""
    placed = place([BODY, *SOME], scale)
    view = View("", "", placed.items, (0.0, 0.0), scale)
    return placed, list(view.on_page())


@pytest.mark.parametrize("scale", [1.0, 0.5])
def test_every_letter_stands_in_the_box_on_nothing(scale: float) -> None:
    """Alone: neither entry nor value stands in the drawing."""
    placed, marks = placed_marks(scale)
    texts = [mark for mark in marks if isinstance(mark, Text)]
    assert sorted(text.words for text in texts) == list("ABCDEFG")
    for text in texts:
        for across, up in text.corners():
            assert placed.box.left - 0.01 <= across <= placed.box.right + 0.01
            assert placed.box.low - 0.01 <= up <= placed.box.high + 0.01
    assert not [(a.words, b.words) for a, b in combinations(texts, 2) if crosses(a, b)]
    lines = Ground(mark for mark in marks if not isinstance(mark, Text)).segments
    for text in texts:
        u, v, a, b = box(text)
        assert not crossing(lines, (u, v), (a, b)).any(), text.words


@pytest.mark.parametrize("scale", [1.0, 0.5])
def test_a_letter_stands_with_its_arrows(scale: float) -> None:
    """No further from its own line than from it to a letter's height, where nothing is in the way."""
    (one,) = [each for each in place([BODY, SOME[4]], scale).items if isinstance(each, Dimension)]
    (letter,) = [mark for mark in one.marks if isinstance(mark, Text)]
    line = max(
        (mark for mark in one.marks if isinstance(mark, Line)), key=lambda each: math.dist(*each.points[:2])
    )
    middle = [(a + b) / 2 * scale for a, b in zip(*line.points, strict=True)]
    assert math.dist(middle, [each * scale for each in letter.at]) < 5.0


def test_a_line_beside_its_points_is_moved_off_them() -> None:
    """In the middle between the two points, 2 mm to the left of start to end: 4, 3, 5."""
    (one,) = [each for each in place([BODY, SOME[4]], 1.0).items if isinstance(each, Dimension)]
    middles = [
        tuple((a + b) / 2 for a, b in zip(*mark.points, strict=True))
        for mark in one.marks
        if isinstance(mark, Line) and len(mark.points) == 2
    ]
    assert pytest.approx((0.0 - 2.0 * 0.6, 12.5 + 2.0 * 0.8)) in middles


def test_a_line_within_the_view_stays_there() -> None:
    within = Dimension("H", "crank.stroke", "50", "", Way.UP, (0.0, -25.0), (0.0, 25.0), inside=-7.0)
    (one,) = [each for each in place([BODY, within], 1.0).items if isinstance(each, Dimension)]
    upright = [
        mark for mark in one.marks if isinstance(mark, Line) and mark.points[0][0] == mark.points[1][0]
    ]
    assert any(mark.points[0] == (-7.0, -25.0) and mark.points[1] == (-7.0, 25.0) for mark in upright)


def test_words_that_were_wished_on_a_line_stand_beside_it() -> None:
    note = Text((18.0, 10.0), "case", 2.4)
    (words,) = [each for each in place([BODY, note], 1.0).items if isinstance(each, Text)]
    u, v, a, b = box(words)
    assert not crossing(Ground([BODY]).segments, (u, v), (a, b)).any()
    assert math.dist(words.at, note.at) < 10.0
