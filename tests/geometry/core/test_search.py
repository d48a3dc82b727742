"""Where a closer look is taken, and what it closes in on."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core import search
from tallstack.geometry.core.frames import Array, array

from ..piston.test_nearby import _Still


def test_a_closer_look_goes_from_one_neighbour_to_the_other_in_even_steps() -> None:
    assert (search.STEPS[0], search.STEPS[-1]) == (-1.0, 1.0)
    assert np.diff(search.STEPS) == pytest.approx(search.CLOSER)


def test_a_least_between_two_equal_turns_of_a_closer_look_is_closed_in_on() -> None:
    """Its neighbour on one side is no higher; on the other side it rises."""
    place = float(search.TURNS[40]) + 2.5 * search.SPACING * search.CLOSER

    def value(_: object, turns: Array) -> Array:
        return np.abs(np.round(turns - place, 12))

    pose: Any = _Still()
    assert search.least([search.Curve(value)], pose, (1,), refine=True) == pytest.approx([0.0], abs=1e-6)


def test_among_rivals_a_value_must_come_below_what_makes_the_least_sum() -> None:
    """Of `_limit` alone: where the search stops looking is in no answer."""
    limit = search._limit(array([1.0, 1.0, 3.0]), (3,), array([0.0, 5.0, -1.0]))
    assert limit.tolist() == [1.0, -4.0, 2.0]


def test_of_many_low_places_the_lowest_three_are_looked_at_more_closely() -> None:
    """Of `_worth` alone: where the search looks again is in no answer."""
    row = np.full((2, search.COARSE), 10.0)
    row[0, [5, 25, 45, 65, 85]] = 3.0, 1.0, 5.0, 2.0, 4.0
    row[1, [10, 60]] = 2.0, 1.0
    found = search._worth(row, array([1.0, 1.0]))
    assert np.nonzero(found[0])[0].tolist() == [5, 25, 65]
    assert np.nonzero(found[1])[0].tolist() == [10, 60]


@pytest.mark.parametrize("power", [1.0, 2.0])
def test_of_a_plain_valley_the_lowest_place_alone_is_looked_at_more_closely(power: float) -> None:
    """One that falls and rises evenly or ever faster, beside one of another pose that lies far below.

    Of `_worth` alone: where the search looks again is in no answer, only how long it takes.
    """
    away = np.abs(np.arange(search.COARSE) - array([[30.0], [60.0]]))
    row = array([[0.0], [-100.0]]) + np.minimum(away, search.COARSE - away) ** power
    found = search._worth(row, row.min(axis=-1))
    assert [np.nonzero(one)[0].tolist() for one in found] == [[30], [60]]
