"""Every coordinate, lean, angle and direction of the catalogue has a drawing that says where it counts from and which way."""

from __future__ import annotations

import pytest
from tallstack.cli.guide.pictures import (
    MOST_COLUMNS,
    MOST_LINES,
    Situation,
    is_drawn,
    picture,
    situation,
)
from tallstack.cli.job.entries.fields import Parts, Quantity
from tallstack.cli.job.entries.letters import letter_of
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.loading import load
from tallstack.cli.job.reading.values import Dimension

from ...commands import COORDINATES
from ..commands.test_trying import entries

EVERY = {path: kind for path, kind in entries(JOB)}
OWNERS = ("front.intake.", "front.")


def test_none_of_that_kind_is_without_one_and_none_has_room_for_more() -> None:
    told = Situation("the exhaust", "rear", boxes=True)
    for path, kind in EVERY.items():
        angle = isinstance(kind, Quantity) and kind.dimension is Dimension.ANGLE
        for seen in (None, told):
            lines = picture(path, seen)
            assert (lines is not None) is is_drawn(path, kind), path
            if isinstance(kind, Parts) or angle:
                assert lines, path
            if lines is not None:
                assert len(lines) <= MOST_LINES, path
                assert max(map(len, lines)) <= MOST_COLUMNS, path
    assert sum(picture(path) is not None for path in EVERY) > 60


def test_each_says_the_letter_of_each_of_its_numbers() -> None:
    for path, kind in EVERY.items():
        if not isinstance(kind, Parts):
            continue
        name = next((path.removeprefix(one) for one in OWNERS if path.startswith(one)), path)
        letters = [letter_of(f"{name}.{axis}") for axis in "xyz"[: max(kind.counts)]]
        drawn = "\n".join(picture(path) or ())
        assert all(one in drawn for one in letters), path


def test_each_says_which_way_is_positive_or_that_it_has_no_sign() -> None:
    for path in EVERY:
        drawn = " ".join(picture(path) or ("positive",))
        words = (
            "positive",
            "no sign",
            "+",
            "direction",
            "straight",
            "parallel",
            "around",
            "whichever",
            "so far",
        )
        assert any(one in drawn for one in words), path


def test_plain_characters_where_a_terminal_has_no_others() -> None:
    for path in EVERY:
        assert all(one.isascii() for one in picture(path) or ())
    assert "\u2500" in "\n".join(picture("valve.face", Situation(boxes=True)) or ())


@pytest.mark.parametrize(
    ("known", "x"),
    [
        ({"a.intake.valve.face.x": -20.0, "a.exhaust.valve.face.x": 20.0}, "the exhaust"),
        ({"a.intake.valve.face.x": 20.0, "a.exhaust.valve.face.x": -20.0}, "the intake"),
        ({"a.intake_face.centre.x": 60.0}, "the intake"),
        ({"a.intake.valve.lean.x": 0.2, "a.exhaust.valve.lean.x": -0.2}, "the intake"),
        ({"a.intake.valve.face.x": -20.0}, ""),
        ({}, ""),
    ],
)
def test_the_side_is_said_by_the_port_that_lies_there(known: dict[str, float], x: str) -> None:
    assert situation(known, "a.intake").x == x
    assert situation(known, "a").x == x
    lines = " ".join(picture("a.intake.valve.lean", situation(known, "a.intake")) or ())
    assert f"towards {x or '+x'}" in lines


def test_what_lies_along_the_crankshaft_is_the_next_cylinder() -> None:
    known = {"cylinders": ("a", "b", "c"), "a.offset": 0.0, "b.offset": 40.0, "c.offset": 80.0}
    assert [situation(known, one).y for one in "abc"] == ["b", "c", ""]
    assert situation(known, "a", "utf-8").boxes
    assert not situation(known, "a", "ascii").boxes
    assert not situation(known, "a", "no such encoding").boxes


def test_of_a_whole_job() -> None:
    job = load(COORDINATES)
    first = job.names["cylinders"][0]
    found = situation(job.mapping, f"{first}.intake")
    faces = [float(job.mapping[f"{first}.{port}.valve.face.x"]) for port in ("intake", "exhaust")]
    assert found.x == ("the intake" if faces[0] > faces[1] else "the exhaust")


def test_what_counts_from_nowhere_has_none() -> None:
    assert picture("stack.cylinder") is None
    assert picture("no.such") is None
