from __future__ import annotations

import pytest
from tallstack.cli.bench.poses.marks import Frame, arrow, between, head, middle, number, path
from tallstack.cli.drawing.lines import Circle, Fill, Line, Stroke, Text

FRAME = Frame(2.0, 10.0, 100.0)


def test_a_sketch_stands_with_its_height_upward() -> None:
    assert FRAME.at((3.0, 5.0)) == (16.0, 90.0)
    assert FRAME.all([(0.0, 0.0), (0.0, 50.0)]) == ((10.0, 100.0), (10.0, 0.0))


def test_bodies_are_drawn_in_the_page_s_own_ink_and_words_left_out() -> None:
    square = Line(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)), closed=True, fill=Fill.GREY)
    found = FRAME.markup((square, Circle((0.0, 0.0), 3.0, Stroke.INDICATED), Text((0.0, 0.0), "words", 3.0)))
    assert 'd="M10 100L12 100L12 98Z"' in found
    assert "var(--body" in found
    assert 'r="6"' in found
    assert "stroke-dasharray" in found
    assert "words" not in found


@pytest.mark.parametrize(
    ("value", "said"), [(3.0, "3"), (-0.01, "0"), (0.25000000001, "0.2"), (-1.5, "-1.5")]
)
def test_numbers_are_short(value: float, said: str) -> None:
    assert number(value) == said


def test_a_path_is_closed_and_lowered() -> None:
    assert path(((0.0, 1.0), (2.0, 3.0)), True, 10.0) == "M0 11L2 13Z"


@pytest.mark.parametrize("long", [100.0, 4.0, 0.0])
def test_arrows_of_a_dimension_stand_at_both_its_ends(long: float) -> None:
    start, end = (5.0, 5.0), (5.0, 5.0 + long)
    tips = [one[1] for one in between(start, end) if len(one) == 3]
    assert sorted(tips) == sorted((start, end))


def test_an_arrow_points_at_its_place() -> None:
    shaft, point = arrow((0.0, 0.0), (10.0, 0.0))
    assert shaft == ((10.0, 0.0), (0.0, 0.0))
    assert point[1] == (0.0, 0.0)
    assert all(one[0] > 0 for one in (point[0], point[2]))
    assert head((1.0, 1.0), (1.0, 1.0)) == ((1.0, 1.0), (1.0, 1.0))


def test_the_middle_lies_between() -> None:
    assert middle((0.0, 2.0), (4.0, 6.0)) == (2.0, 4.0)
