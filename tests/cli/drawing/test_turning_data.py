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
from tallstack.cli.drawing.turning_data import FINE, moving_marks, turned_caption, turning_data
from tallstack.cli.job.loading import load
from tallstack.cli.page.model import Picture, Turn
from tallstack.geometry.clearance.turning import Turning

from ...commands import EXAMPLES

CRANK = np.radians(np.arange(-360.0, 361.0, 30.0))
PLACE = 12  # its overlap top centre


@pytest.fixture(scope="module")
def turn() -> Turn:
    job = load(EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml")
    found = pages.turned(job, CRANK)
    engine = pages.engine_of(job, found)
    drawing = engine_page.page(job.title, job.units, engine, found, PLACE)
    return Turn(Picture("engine", drawing), engine, found, PLACE)


def posed(data: dict[str, Any], end: dict[str, Any], place: int) -> tuple[float, float]:
    """Return where an end of a part stands at one angle, as the page's script works it out."""
    across, up = end["at"]
    for name, right, down in end["ways"]:
        value = data["numbers"][name][place] / data["fineness"][name]
        across, up = across + right * value, up + down * value
    return across, up


@pytest.mark.parametrize("place", [0, 5, PLACE, 20])
def test_ends_of_parts_stand_where_they_are_drawn(turn: Turn, place: int) -> None:
    data = turning_data(turn, [])
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
    turn: Turn,
) -> None:
    found: Turning = turn.turning
    data = turning_data(turn, list(found.own))
    for told, (name, valve) in zip(data["valves"], found.valves.items(), strict=True):
        assert told["name"] == name
        assert told["lift"] == pytest.approx(np.asarray(valve.lift) * FINE, abs=0.51)
        for key, row in (("drop", valve.drop), ("gap", valve.gap)):
            for whole, value in zip(told[key] or [], np.asarray(row if row is not None else []), strict=True):
                assert (whole is None) == (not math.isfinite(value))
    assert [one["trace"] for one in data["cylinders"]] == list(range(len(found.own)))
    assert data["first"] == -360
    json.loads(json.dumps(data, allow_nan=False))


def test_every_part_has_its_marks_and_a_caption_stands_around_the_angle(turn: Turn) -> None:
    marks = moving_marks(turn.engine, turn.place, turn.picture.drawing.views[0])
    assert [name for name, _ in marks] == [f"part-{index}" for index in range(len(turn.engine.parts))]
    assert all(each for _, each in marks)
    assert not turn.engine.to_scale
    assert turned_caption(turn.engine, 2.0)[1] == "; not to scale"
    assert turned_caption(replace(turn.engine, to_scale=True), 2.0)[1].endswith("to scale 1:2")
