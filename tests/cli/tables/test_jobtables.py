"""The tables that a job names, read together: lobes in mm and radians, crowns where there are any, and what they tell."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.tables.jobtables import with_tables

from ...commands import BENCH, FROM_READINGS


def test_lobes_are_read_in_mm_and_cam_radians_whatever_the_file_counts_in() -> None:
    job, tables = with_tables(load(FROM_READINGS / "job.toml"))
    for port in ("intake", "exhaust"):
        rows = np.loadtxt(
            FROM_READINGS / f"{port}.csv", delimiter=",", comments="#", skiprows=1, usecols=(0, 1)
        )
        read = tables.lobes[port]
        assert len(read.angle) == len(rows)
        assert np.ptp(np.asarray(read.lift)) == pytest.approx(np.ptp(rows[:, 1]) * 25.4)
    assert not tables.crowns
    assert job.entries == load(FROM_READINGS / "job.toml").entries


def test_a_job_that_names_none_has_none() -> None:
    job = load(BENCH)
    same, tables = with_tables(job)
    assert tables == type(tables)()
    assert same.warnings == job.warnings
