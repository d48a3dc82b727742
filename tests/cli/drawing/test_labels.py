"""Words find a place on nothing: beside what they name, else further off with a leader to it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tallstack.cli.drawing.labels import Ground, Label, around, beside, crossing, half_of
from tallstack.cli.drawing.lines import Circle, Line, Text

HALF = half_of("A", 3.0, bold=True)


def wall(count: int) -> list[Line]:
    """Lines across, close to each other about nought."""
    return [Line(((-20.0, up), (20.0, up))) for up in np.linspace(-8.0, 8.0, count).tolist()]


@pytest.mark.parametrize(
    ("segment", "touches"),
    [
        ((-5.0, 0.0, 5.0, 0.0), True),  # through
        ((0.2, 0.1, 0.3, 0.2), True),  # within
        ((-3.0, 0.0, 0.0, 3.0), False),  # past a corner, its own box over the words' box
        ((1.1, -5.0, 1.1, 5.0), False),  # beside
    ],
)
def test_a_line_touches_a_box_where_it_goes_through_it(segment: tuple[float, ...], touches: bool) -> None:
    assert bool(crossing(np.array([segment]), (0.0, 0.0), (1.0, 1.0))[0]) is touches


def test_spots_along_a_line_clear_it() -> None:
    for start, end in (((0.0, 0.0), (20.0, 0.0)), ((0.0, 0.0), (0.0, 20.0)), ((0.0, 0.0), (12.0, 16.0))):
        line = np.array([[*start, *end]])
        for spot in beside(start, end, HALF):
            assert not crossing(line, spot, HALF)[0]
    assert beside((0.0, 0.0), (20.0, 0.0), HALF)[0] == pytest.approx((10.0, HALF[1] + 0.55))
    assert math.dist(beside((1.0, 1.0), (1.0, 1.0), HALF)[0], (1.0, 1.0)) < 5.0


def test_the_first_free_spot_is_taken_and_the_next_words_stand_clear_of_it() -> None:
    ground = Ground([Circle((0.0, 0.0), 1.0)])
    label = Label("A", 3.0, True, ((0.0, 0.0), *around((0.0, 0.0), HALF, 2.0)), (0.0, 0.0))
    (first,), (second,) = ground.stand(label), ground.stand(label)
    assert isinstance(first, Text)
    assert isinstance(second, Text)
    assert first.at != second.at
    assert math.dist(first.at, second.at) > 2 * min(HALF)


def test_words_with_no_room_beside_stand_off_with_a_leader() -> None:
    label = Label("A", 3.0, True, ((0.0, 0.0),), (0.0, 0.0))
    found = Ground(wall(9)).stand(label)
    leader, words = found
    assert isinstance(leader, Line)
    assert leader.points[1] == (0.0, 0.0)
    assert isinstance(words, Text)
    assert abs(words.at[1]) > 8.0
    assert math.dist(leader.points[0], words.at) < 4.0
    bare = Ground(wall(9)).stand(label._replace(target=None))
    assert [type(one) for one in bare] == [Text]  # what points nowhere has none
