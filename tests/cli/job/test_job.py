"""A job worked out: each answer once, tables read once, and gone on with where a table cannot be used."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import load

from ...commands import BENCH, FROM_READINGS


def test_an_answer_is_worked_out_once() -> None:
    job = load(BENCH)
    assert job.orders is job.orders
    assert job.settled is job.settled
    assert [one.train.name for one in job.orders] == list(job.names["trains"])


def test_a_job_without_tables_and_readings_is_settled_as_it_stands() -> None:
    job = load(BENCH)
    assert job.tables == type(job.tables)()
    settled = job.settled
    assert settled.is_settled
    assert (settled.warnings, settled.entries) == (job.warnings, job.entries)
    assert settled.settled is settled


def test_tables_are_read_once_and_what_they_tell_stays_with_the_job() -> None:
    job = load(FROM_READINGS / "job.toml")
    assert set(job.tables.lobes) == {"intake", "exhaust"}
    assert job.tables is job.tables
    assert job.tabled.tabled is job.tabled


def test_with_a_table_that_cannot_be_used_a_job_goes_on_and_says_so(tmp_path: Path) -> None:
    for name in ("job.toml", "intake.csv", "exhaust.csv"):
        shutil.copy(FROM_READINGS / name, tmp_path / name)
    (tmp_path / "intake.csv").write_text("angle,lift\n1,2\n", encoding="utf-8")
    job = load(tmp_path / "job.toml")
    with pytest.raises(InputFaultsError):
        _ = job.settled
    on = job.at_hand
    assert any("intake.csv" in one for one in on.warnings)
    assert on.entries == job.entries
