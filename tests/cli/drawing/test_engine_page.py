"""The page of the whole engine: what is said beside it is what was worked out, and all of it stands on the page."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.drawing.engine_page import at_crank, guessed, page, values
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.cli.page.wording import in_one

from ...commands import EXAMPLES
from ...drawn import labels

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"
CRANK = np.radians([-20.0, 0.0, 13.0])


@pytest.fixture(scope="module")
def job() -> Job:
    return load(POCKETS)


@pytest.mark.parametrize(
    ("degrees", "words"),
    [
        (0.0, "at one's"),
        (12.5, "12.5 degrees after one's"),
        (-7.0, "7 degrees before one's"),
        (0.04, "at one's"),
    ],
)
def test_a_crank_angle_in_words(degrees: float, words: str) -> None:
    assert at_crank(degrees, "one") == f"{words} overlap top centre"


@pytest.mark.parametrize("place", [0, 1, 2])
def test_what_is_said_is_what_was_worked_out(job: Job, place: int) -> None:
    found = pages.turned(job, CRANK)
    said = [say("in") for say, _ in values(found, place)]
    assert "intake lift" in " ".join(
        say("mm") for say, _ in values(found, place) if say("mm").endswith(" mm")
    )
    for cylinder, moving in found.cylinders.items():
        assert cylinder in said
        assert f"piston below its top {in_one(float(moving.below[place]), 'in')}" in said
    for name, valve in found.valves.items():
        port = name.rpartition(".")[2]
        assert f"{port} lift {in_one(float(valve.lift[place]), 'in')}" in said
        for word, row in (("drop", valve.drop), ("gap", valve.gap)):
            told = [one for one in said if one.startswith(f"{port} {word} ")]
            known = row is not None and math.isfinite(row[place])
            assert (f"{port} {word} {in_one(float(row[place]), 'in')}" in told) if known else not told


def test_the_engine_stands_on_the_page_at_the_scale_that_is_said(job: Job) -> None:
    found = pages.turned(job, CRANK)
    drawn = page(job.title, job.units, pages.engine_of(job, found), found, 1)
    assert guessed(found).startswith("fires_at of ")
    view = drawn.views[0]
    for item in view.items:
        for point in getattr(item, "points", ()):
            across, up = view.place(point)
            assert 0 < across < drawn.width
            assert 0 < up < drawn.height
    assert "not to scale" in drawn.description  # its valve gear is not entered by coordinates
    assert "NOT TO SCALE" in labels(drawn)


def test_a_known_engine_is_drawn_at_the_scale_that_is_said() -> None:
    twin = load(EXAMPLES / "sheet_for_the_job_folder" / "job.toml")
    found = pages.turned(twin, CRANK)
    drawn = page(twin.title, twin.units, pages.engine_of(twin, found), found, 1)
    assert f"to scale 1:{1 / drawn.views[0].scale:g} on A4" in drawn.description
    assert "NOT TO SCALE" not in labels(drawn)
