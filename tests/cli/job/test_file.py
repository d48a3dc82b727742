"""One job as its file says it: doubts, what moves with one reading, the files that it is, entries moved by readings."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.loading import understood
from tallstack.geometry.doubt.budget import Budget

from ...job_texts import FULL, TWO, changed
from ...results import result


def read(text: str, *variations: str):  # noqa: ANN201
    return understood(Path("folder/job.toml"), text, variations)


def test_every_doubt_that_was_stated_is_there_and_a_length_of_nought_has_none() -> None:
    job = read(changed(TWO, ("base_gasket = 0.4", "base_gasket = 0")))
    assert job.doubts["front.intake.measured_pushrod.length"].half_width == pytest.approx(0.1)
    assert job.doubts["stack.base_gasket"].half_width == 0.0
    assert "stack.cylinder" not in job.doubts


def test_a_copy_is_no_second_reading_and_moves_with_its_original() -> None:
    job = read(FULL)
    seat = job.quantities["front.intake.lifter.seat.x"]
    assert seat == {"front.intake.lifter.seat.x": 1.0, "rear.intake.lifter.seat.x": -1.0}  # mirrored
    assert "rear.intake.lifter.seat.x" not in job.quantities
    assert "rear.intake.lifter.seat.y" not in job.doubts


def test_a_wish_is_no_quantity() -> None:
    assert not [name for name in read(TWO).quantities if name.endswith("lifter.preload")]


def test_lengths_read_by_one_instrument_share_its_zero() -> None:
    more = '[[instrument]]\nname = "mic A"\nzero = 0.01\n[stack]'
    by = changed(
        TWO,
        ("[stack]", more),
        ("cylinder = 121.7", 'cylinder = { read = 121.7, by = "mic A" }'),
        ("base_gasket = 0.4", 'base_gasket = { read = 0.4, by = "mic A" }'),
    )
    job = read(by)
    assert job.instruments == {"mic A": 0.01}
    assert job.doubts["instrument.mic A.zero"].half_width == 0.01
    moving = job.quantities["instrument.mic A.zero"]
    assert {path for path in moving if path.startswith("stack.")} == {"stack.cylinder", "stack.base_gasket"}
    # the rods were read on the same base gasket: what its reading is off by cancels, and the cylinder's does not
    assert {path for path in moving if path.endswith("measured_pushrod.stack.base_gasket")}
    assert not {path for path in moving if path.endswith("measured_pushrod.stack.cylinder")}


def test_what_readings_move_is_moved_in_the_mapping_alone() -> None:
    job = read(TWO)
    moved = job.moved({"stack.cylinder": 0.25, "lobe.intake.shape.3": 0.5})
    assert moved.mapping["stack.cylinder"] == pytest.approx(121.95)
    assert moved.mapping["lobe.intake.shape.3"] == 0.5
    assert job.mapping["stack.cylinder"] == 121.7
    assert moved.entries is job.entries


def test_what_moves_an_answer_and_is_not_entered_is_lacking() -> None:
    job = read(TWO)
    one = result(1.0)._replace(budget=Budget(0.0, {}, ("stack.cylinder", "lobe.intake.lash_read")))
    assert job.lacks_of([result(2.0), one]) == ("lobe.intake.lash_read",)


def test_the_files_of_a_job_are_its_own_and_those_it_names() -> None:
    assert read(TWO).files == (Path("folder/job.toml"),)
