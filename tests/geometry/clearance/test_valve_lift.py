"""The lift of a valve: against the raw loop, by a ratio, as it was read at the valve."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance import situation
from tallstack.geometry.clearance.valve_lift import shape

from ...clearance_jobs import by_coordinates

NAME = "one.intake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


def test_a_sweep_is_as_wide_as_its_ends_are_apart(job: JobFile) -> None:
    found = shape(situation.situation(job.mapping, "one", Cam(job.mapping, Tables())).lifts[NAME])
    assert found.contact is not None
    least, greatest = found.contact
    assert found.sweep == pytest.approx(greatest - least)
    assert found.sweep is not None
    assert found.sweep > 0
