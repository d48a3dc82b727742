"""Small exact cases at the edges of single functions that tell of many builds at once: draws, nearby places, checks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.geometry.core import search
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.doubt import draws
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.coverage import effective
from tallstack.geometry.doubt.readings import Row, fused
from tallstack.geometry.piston import nearby
from tallstack.geometry.piston.nearby import Told
from tallstack.geometry.sure import risk_clearance
from tallstack.geometry.sure.risk import Needed

# Draws


@pytest.mark.parametrize(("share", "ends"), [(0.3, (2.0, 2.2)), (0.5, (0.0, 2.2)), (1.0, (0.0, 9.0))])
def test_the_shortest_interval_of_any_share(share: float, ends: tuple[float, float]) -> None:
    ordered = array([0.0, 1.0, 2.0, 2.1, 2.2, 4.0, 5.5, 7.0, 8.0, 9.0])
    held = math.floor(share * 10 + 0.5)
    found = draws.shortest(ordered, share)
    assert found == pytest.approx(ends)
    assert ((ordered >= found.low) & (ordered <= found.high)).sum() >= held


@pytest.mark.parametrize(("count", "steady"), [(99, False), (100, True)])
def test_ten_parts_of_a_hundred_draws_each_tell_whether_they_agree(count: int, steady: bool) -> None:
    """Rows that repeat every ten draws: their parts agree, but of 990 a tenth is less than a hundred."""
    assert draws.told(np.tile(np.linspace(-1.0, 1.0, 10), count)).steady == steady


@pytest.mark.parametrize("sigmas", [2.0, None])
def test_a_preload_that_was_set_is_off_by_its_own_draw(sigmas: float | None) -> None:
    block = draws.block_of({}, 5, seed=3)
    off = Needed({}, {"a": Doubt(0.2, sigmas)}).of("a", {}, block)
    drawn = block.rectangular if sigmas is None else block.normal
    assert off == pytest.approx(-drawn("a.lifter.preload") * (0.2 if sigmas is None else 0.1))


@pytest.mark.parametrize(
    ("parts", "free"),
    [
        ([(1.0, 4.0)], 4.0),
        ([(1.0, 4.0), (1.0, 4.0)], 8.0),
        ([(1.0, 4.0), (0.0, 2.0)], 4.0),
        ([(1.0, math.inf), (0.0, 2.0)], math.inf),
    ],
)
def test_the_freedom_of_one_part_is_its_own_and_that_of_two_equal_ones_twice_it(
    parts: list[tuple[float, float]], free: float
) -> None:
    assert effective(parts) == pytest.approx(free)


# Near a place


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


@pytest.mark.parametrize(("higher", "sure"), [(2.0, True), (np.inf, True), (0.1, False)])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_jump_is_closed_in_on_from_its_low_side(way: float, higher: float, sure: bool) -> None:
    """Of a value that is 1 + angle² where it is least; a rise by a tenth of a mm is no jump."""
    edge = 0.7 + 0.3 * nearby.REACH

    def value(pose: Angled, turns: Array) -> Array:
        beyond = way * (turns - 0.7) > way * (edge - 0.7)
        return 1.0 + (pose.angle[..., None] / nearby.ANGLE) ** 2 + np.where(beyond, higher, 0.0)

    pose_at: Any = Angled
    seed: Any = nearby.Seed(search.Curve(value), 0.7, way)
    found = nearby.followed(seed, pose_at, 2)
    assert found.sure.tolist() == [sure, sure]
    if sure:
        assert found.value == pytest.approx([1.0, 1.0])


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_least_at_a_jump_is_that_of_its_edge(way: float) -> None:
    """Of a value that falls by 2 mm a radian up to where it jumps."""
    edge = 0.7 + way * 0.3 * nearby.REACH

    def value(pose: Angled, turns: Array) -> Array:
        before = way * (edge - turns)
        return 1.0 + (pose.angle[..., None] / nearby.ANGLE) ** 2 + np.where(before < 0, 5.0, 2.0 * before)

    pose_at: Any = Angled
    seed: Any = nearby.Seed(search.Curve(value), 0.7, way)
    found = nearby.followed(seed, pose_at, 2)
    assert found.sure.tolist() == [True, True]
    assert found.value == pytest.approx([1.0, 1.0], abs=1e-4)


def test_a_gap_past_contact_is_told_by_the_whole_search_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    value = array([0.0, 0.0005, 0.5, 2.0])
    told = Told(value, np.ones(4, dtype=bool), value, value * 0, value)
    monkeypatch.setattr(risk_clearance, "_has_curves", lambda _: True)
    monkeypatch.setattr(risk_clearance, "_closed", lambda _: [])
    monkeypatch.setattr(risk_clearance, "followed", lambda *_: told)
    for what, sure in (("gap", [False, False, True, True]), ("drop", [True] * 4)):
        one = SimpleNamespace(seeds=(None,), asked=SimpleNamespace(what=what))
        here: Any = SimpleNamespace(one=one, pose=None, middle=value * 0)
        assert risk_clearance.near(here).sure.tolist() == sure


@pytest.mark.parametrize(("share", "slow"), [(0.1, True), (0.2, True), (0.3, False), (0.9, False)])
def test_drawing_is_slow_where_more_than_a_share_takes_the_whole_search(
    share: float, slow: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One build of four does."""
    nothing: Any = None
    monkeypatch.setattr(risk_clearance, "many", lambda *_: None)
    told = SimpleNamespace(sure=np.array([True, True, False, True]))
    monkeypatch.setattr(risk_clearance, "near", lambda _: told)
    assert risk_clearance.slow(nothing, {}, nothing, share) == slow


def test_of_many_low_places_the_lowest_three_are_looked_at_more_closely() -> None:
    row = np.full((2, search.COARSE), 10.0)
    row[0, [5, 25, 45, 65, 85]] = 3.0, 1.0, 5.0, 2.0, 4.0
    row[1, [10, 60]] = 2.0, 1.0
    found = search._worth(row, array([1.0, 1.0]))
    assert np.nonzero(found[0])[0].tolist() == [5, 25, 65]
    assert np.nonzero(found[1])[0].tolist() == [10, 60]


@pytest.mark.parametrize("power", [1.0, 2.0])
def test_of_a_plain_valley_the_lowest_place_alone_is_looked_at_more_closely(power: float) -> None:
    """One that falls and rises evenly or ever faster, beside one of another pose that lies far below."""
    away = np.abs(np.arange(search.COARSE) - array([[30.0], [60.0]]))
    row = array([[0.0], [-100.0]]) + np.minimum(away, search.COARSE - away) ** power
    found = search._worth(row, row.min(axis=-1))
    assert [np.nonzero(one)[0].tolist() for one in found] == [[30], [60]]


# Checks


def test_a_check_without_a_doubt_is_compared_and_tells_nothing() -> None:
    found = fused(lambda _: [Row("again", 0.4, {"entry": 1.0}, "again")], {"entry": Doubt(0.2)})
    (one,) = found.checks
    assert (one.excess, one.redundancy, one.fixed) == (0.4, 0.0, True)


def test_what_is_left_without_the_worst_has_one_freedom_less() -> None:
    """Three readings, each of a length of its own: of two squares that are left the chance is exp(-s/2)."""
    read = {"a": 0.1, "b": -0.2, "c": 6.0}

    def at(shift: Mapping[str, float]) -> list[Row]:
        return [
            Row(
                name,
                off + shift.get(f"{name}.entry", 0.0) - shift.get(name, 0.0),
                {f"{name}.entry": 1.0, name: -1.0},
                name,
            )
            for name, off in read.items()
        ]

    doubts = {name: Doubt(math.sqrt(0.5), 1.0) for one in read for name in (one, f"{one}.entry")}
    found = fused(at, doubts)
    assert found.worst is not None
    assert found.worst.name == "c"
    assert found.disagreement == pytest.approx(0.01 + 0.04 + 36.0)
    assert found.without == pytest.approx(math.exp(-(0.01 + 0.04) / 2))


@pytest.mark.parametrize("entry", ["a.entry", "z.entry"])
def test_an_entry_that_explains_a_disagreement_is_named_beside_its_reading(entry: str) -> None:
    """What is foretold is 8 mm too much, and the entry and the reading are in doubt alike: each is off by it all."""

    def at(shift: Mapping[str, float]) -> list[Row]:
        off = 8.0 + shift.get(entry, 0.0) - shift.get("m.read", 0.0)
        return [Row("m", off, {entry: 1.0, "m.read": -1.0}, "m.read")]

    found = fused(at, {entry: Doubt(1.0, 1.0), "m.read": Doubt(1.0, 1.0)})
    assert [one.name for one in found.entries] == [entry]
    assert found.entries[0].error == pytest.approx(-8.0)


@pytest.mark.parametrize(
    ("off", "named"), [(99.5, ["a.entry"]), (-99.5, ["a.entry"]), (100.5, []), (-100.5, [])]
)
def test_an_entry_is_not_thought_to_be_off_by_more_than_a_hundred_of_its_own(
    off: float, named: list[str]
) -> None:
    def at(shift: Mapping[str, float]) -> list[Row]:
        excess = off + shift.get("a.entry", 0.0) - shift.get("m.read", 0.0)
        return [Row("m", excess, {"a.entry": 1.0, "m.read": -1.0}, "m.read")]

    found = fused(at, {"a.entry": Doubt(1.0, 1.0), "m.read": Doubt(0.5, 1.0)})
    assert [one.name for one in found.entries if one.name == "a.entry"] == named
