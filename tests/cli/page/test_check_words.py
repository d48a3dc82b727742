"""Checks beside the entries: what each read, what was foretold, and which of them is named."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.page.check_words import check_blocks, checks_row, kind_of

from ...commands import BENCH, DEMO


def test_a_job_without_checks_has_no_table_of_them() -> None:
    laid = load(BENCH).laid
    assert check_blocks(laid.job, laid) == []
    row = checks_row(laid)
    assert row["readings"] == []
    assert row["chance"] is None


def test_an_entry_is_of_the_kind_that_its_tool_reads() -> None:
    job = load(DEMO)
    assert kind_of(job, "stack.cylinder") == "length"
    assert kind_of(job, "lobe.intake.centreline") == "timing"
    assert kind_of(job, "front.intake.rocker.ratio") == ""
