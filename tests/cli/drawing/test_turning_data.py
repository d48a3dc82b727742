"""What a page needs to turn the engine: its numbers put together again are the drawing at that angle."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.drawing import engine_page, pages
from tallstack.cli.drawing.engine import numbers as numbers_at
from tallstack.cli.drawing.turning_data import (
    FINE,
    Beside,
    beside,
    moving_marks,
    place_of,
    turned_caption,
    turning_data,
)
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Picture, Turn
from tallstack.cli.tables.lobefile import lobe_readings
from tallstack.geometry.clearance.turning import Turning
from tallstack.geometry.pushrod.stations import stations

from ...commands import EXAMPLES

CRANK = np.radians(np.arange(-360.0, 361.0, 30.0))
PLACE = 12  # its overlap top centre


@pytest.fixture(scope="module")
def turn() -> Turn:
    job = load(EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml")
    found = pages.turned(job, CRANK)
    engine = pages.engine_of(job, found)
    drawing = engine_page.page(job.title, job.units, engine, found, PLACE)
    there = stations(job.mapping, lobe_readings(job))
    return Turn(Picture("engine", drawing), engine, found, PLACE, job.mapping, job.clearances, there)


@pytest.fixture(scope="module")
def data(turn: Turn) -> dict[str, Any]:
    return turning_data(turn, beside(turn, "mm"), "mm")


def posed(data: dict[str, Any], end: dict[str, Any], place: int) -> tuple[float, float]:
    """Return where an end of a part stands at one angle, as the page's script works it out."""
    across, up = end["at"]
    for name, right, down in end["ways"]:
        value = data["numbers"][name][place] / data["fineness"][name]
        across, up = across + right * value, up + down * value
    return across, up


@pytest.mark.parametrize("place", [0, 5, PLACE, 20])
def test_ends_of_parts_stand_where_they_are_drawn(turn: Turn, data: dict[str, Any], place: int) -> None:
    view, high = turn.picture.drawing.views[0], turn.picture.drawing.height
    numbers = numbers_at(turn.engine.turning, place)
    assert len(data["parts"]) == len(turn.engine.parts)
    for part, told in zip(turn.engine.parts, data["parts"], strict=True):
        for end, own in ((part.start, told["from"]), (part.end, told["to"])):
            at = view.place(end.where(numbers))
            assert posed(data, own, place) == pytest.approx((at[0], high - at[1]), abs=0.02)
        if place == turn.place:
            assert posed(data, told["from"], place) == pytest.approx(tuple(told["drawn"][0]), abs=0.02)


def test_lifts_and_clearances_are_whole_parts_of_a_mm_and_nothing_where_they_are_not_known(
    turn: Turn, data: dict[str, Any]
) -> None:
    found: Turning = turn.turning
    for told, (name, valve) in zip(data["valves"], found.valves.items(), strict=True):
        assert told["name"] == name
        assert told["lift"] == pytest.approx(np.asarray(valve.lift) * FINE, abs=0.51)
        for key, row in (("drop", valve.drop), ("gap", valve.gap)):
            for whole, value in zip(told[key] or [], np.asarray(row if row is not None else []), strict=True):
                assert (whole is None) == (not math.isfinite(value))
    assert [one["trace"] for one in data["cylinders"]] == list(range(len(found.own)))
    assert data["first"] == -360
    json.loads(json.dumps(data, allow_nan=False))


def test_a_least_clearance_is_the_answers_own_and_its_place_the_whole_degree_next_to_it(
    turn: Turn, data: dict[str, Any]
) -> None:
    assert turn.clear is not None
    for told, valve in zip(data["valves"], turn.clear.valves, strict=True):
        assert valve.piston is not None
        assert told["on"] == valve.piston.name
        assert float(told["least"]["mm"].split()[0]) == pytest.approx(valve.piston.value, abs=0.0051)
        assert float(told["least"]["in"].split()[0]) == pytest.approx(valve.piston.value / 25.4, abs=0.00051)
        assert told["least"]["at"].startswith(f"{abs(math.degrees(valve.piston.angle)):.1f}")
        own = np.degrees(turn.turning.own["barrel"])[told["closest"]]
        assert abs(own - math.degrees(valve.piston.angle)) <= 15.0  # of steps of 30
        assert told["near"]["to_scale"]
    (cylinder,) = data["cylinders"]
    assert cylinder["valves"] == {"intake": 0, "exhaust": 1}
    assert (cylinder["least"] is None) == (turn.clear.pairs[0].judged is None)


def test_of_what_is_not_known_nothing_is_told(turn: Turn) -> None:
    bare = turn._replace(clear=None, stations=())
    assert beside(bare, "in") == Beside({}, {})
    found = turning_data(bare, Beside({}, {}), "in")
    (cylinder,) = found["cylinders"]
    assert (cylinder["rests"], cylinder["set"], cylinder["trace"], cylinder["least"]) == (None,) * 4
    assert [(one["least"], one["closest"], one["near"]) for one in found["valves"]] == [(None,) * 3] * 2
    assert found["units"] == "in"


def test_adjusters_are_set_in_the_middle_of_the_range_in_which_both_lifters_rest(
    turn: Turn, data: dict[str, Any]
) -> None:
    (cylinder,), (station,) = data["cylinders"], turn.stations
    assert station.heel is not None
    middle = math.degrees(station.heel.begins + station.heel.ends) / 2
    own = np.degrees(turn.turning.own["barrel"])[cylinder["set"]]
    assert abs((own - 360.0 - middle + 360.0) % 720.0 - 360.0) <= 15.0
    assert cylinder["rests"] == pytest.approx([math.degrees(one) for one in station.heel], abs=1e-3)


def test_a_cycle_is_a_circle() -> None:
    own = np.radians([-360.0, -359.0, 0.0, 359.0, 360.0])
    for wanted, place in ((360.4, 0), (-360.0, 0), (720.2, 2), (359.3, 3), (-0.4, 2)):
        assert place_of(own, math.radians(wanted)) == place


def test_every_part_has_its_marks_and_a_caption_stands_around_the_angle(turn: Turn) -> None:
    marks = moving_marks(turn.engine, turn.place, turn.picture.drawing.views[0])
    assert [name for name, _ in marks] == [f"part-{index}" for index in range(len(turn.engine.parts))]
    assert all(each for _, each in marks)
    assert not turn.engine.to_scale
    assert turned_caption(turn.engine, 2.0)[1] == "; not to scale"
    assert turned_caption(replace(turn.engine, to_scale=True), 2.0)[1].endswith("to scale 1:2")
