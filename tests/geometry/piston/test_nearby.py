"""The least value near a seed, told only where it is sure: valleys, ends of a row, and jumps."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core import search
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.piston import nearby
from tallstack.geometry.piston.nearby import Told


class _Still:
    """One pose of nothing that moves."""

    shape = (1,)

    def spread(self) -> _Still:
        return self

    def pick(self, *_: object) -> _Still:
        return self


@pytest.mark.parametrize(("apart", "count"), [(0.52, 2), (0.13, 1)])
def test_two_valleys_are_two_seeds_unless_they_are_close(apart: float, count: int) -> None:
    places = search.TURNS[20], search.TURNS[20] + apart

    def value(_: object, turns: Array) -> Array:
        return np.minimum.reduce([np.abs(turns - one) for one in places])

    pose: Any = _Still()
    found = nearby.seeds([search.Curve(value)], pose, 0.01)
    assert found is not None
    assert len(found) == count


def test_a_least_at_the_end_of_a_row_is_not_told() -> None:
    rows = array([4.0, 1.0, 0.0])
    assert not nearby.lowest(rows[:, None]).sure[0]
    assert not nearby.lowest(rows[::-1, None]).sure[0]
    assert nearby.lowest(array([1.0, 0.0, 1.0])[:, None]).sure[0]


@pytest.mark.parametrize(("bound", "sure"), [(0.5, False), (2.0, True)])
def test_the_least_of_two_is_told_unless_the_other_may_be_below(bound: float, sure: bool) -> None:
    def told(value: float, is_sure: bool, bound: float) -> Told:
        one = array([value])
        return Told(one, np.array([is_sure]), array([bound]), one * 0, one)

    found = nearby.together([told(1.0, True, 1.0), told(3.0, False, bound)])
    assert found.sure.tolist() == [sure]
    assert found.value.tolist() == [1.0]


@pytest.mark.parametrize(
    ("rows", "across", "value"),
    [
        ((1.0, 0.0, -1.0), 1.0, -1.0),
        ((-1.0, 0.0, 1.0), -1.0, -1.0),
        (((-1.0 - 0.3) ** 2 + 1.0, 0.3**2 + 1.0, (1.0 - 0.3) ** 2 + 1.0), 0.3, 1.0),
    ],
)
def test_the_least_of_three_places(rows: tuple[float, ...], across: float, value: float) -> None:
    found = nearby.lowest(array(rows)[:, None])
    assert found.across[0] == pytest.approx(across)
    assert found.value[0] == pytest.approx(value)


@pytest.mark.parametrize("rows", [(6.0, 5.5, 5.0), (5.0, 5.5, 6.0)])
def test_past_the_end_of_a_row_a_value_may_fall_twice_as_fast(rows: tuple[float, ...]) -> None:
    found = nearby.lowest(array(rows)[:, None])
    assert found.value[0] == 5.0
    assert found.bound[0] == pytest.approx(5.0 - 2 * 0.5 - nearby.OFF_MM)


class Angled:
    """Poses that are told by their crank angles."""

    def __init__(self, angle: Array) -> None:
        self.angle = angle

    def spread(self) -> Angled:
        return self


def alone(value: Any, way: float = 0.0, away: float = 0.0) -> Told:
    pose_at: Any = Angled
    seed: Any = nearby.Seed(search.Curve(value), 0.7, way)
    first = nearby.first_look([seed], pose_at, array(away))
    (found,) = nearby.followed([seed], pose_at, first, 2, array(away))
    return found


@pytest.mark.parametrize("away", [0.0, 0.05])
def test_a_bowl_is_told_where_it_lies(away: float) -> None:
    """Of a value that is least 0.3 steps of the crank and half a step of the turn away from where it is looked for."""

    def value(pose: Angled, turns: Array) -> Array:
        steps = pose.angle / nearby.ANGLE - away / nearby.ANGLE - 0.3
        return 2.0 + steps**2 + ((turns - 0.7) / nearby.TURN - 0.5) ** 2 + 0.0 * array([1.0, 2.0])

    found = alone(value, away=away)
    assert found.sure.tolist() == [True, True]
    assert found.value == pytest.approx([2.0, 2.0], abs=1e-12)
    assert found.across == pytest.approx([away / nearby.ANGLE + 0.3] * 2, abs=1e-9)


def test_a_curve_that_is_never_the_least_is_not_looked_at_again() -> None:
    looked = []

    def low(pose: Angled, turns: Array) -> Array:
        return 1.0 + (pose.angle / nearby.ANGLE) ** 2 + (turns - 0.7) ** 2

    def high(pose: Angled, turns: Array) -> Array:
        looked.append(pose)
        return 5.0 + low(pose, turns)

    pose_at: Any = Angled
    both: Any = [nearby.Seed(search.Curve(one), 0.7) for one in (low, high)]
    first = nearby.first_look(both, pose_at, array(0.0))
    found = nearby.together(nearby.followed(both, pose_at, first, 2, array(0.0)))
    assert len(looked) == 1
    assert found.sure.all()
    assert found.value == pytest.approx([1.0, 1.0], abs=1e-9)


@pytest.mark.parametrize(("higher", "sure"), [(2.0, True), (np.inf, True), (0.1, False)])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_jump_is_closed_in_on_from_its_low_side(way: float, higher: float, sure: bool) -> None:
    """Of a value that is 1 + angle² where it is least; a rise by a tenth of a mm is no jump."""
    edge = 0.7 + 0.3 * nearby.REACH

    def value(pose: Angled, turns: Array) -> Array:
        beyond = way * (turns - 0.7) > way * (edge - 0.7)
        return 1.0 + (pose.angle / nearby.ANGLE) ** 2 + np.where(beyond, higher, 0.0)

    found = alone(value, way)
    assert found.sure.tolist() == [sure, sure]
    if sure:
        assert found.value == pytest.approx([1.0, 1.0])


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_least_at_a_jump_is_that_of_its_edge(way: float) -> None:
    """Of a value that falls by 2 mm a radian up to where it jumps."""
    edge = 0.7 + way * 0.3 * nearby.REACH

    def value(pose: Angled, turns: Array) -> Array:
        before = way * (edge - turns)
        return 1.0 + (pose.angle / nearby.ANGLE) ** 2 + np.where(before < 0, 5.0, 2.0 * before)

    found = alone(value, way)
    assert found.sure.tolist() == [True, True]
    assert found.value == pytest.approx([1.0, 1.0], abs=1e-4)
