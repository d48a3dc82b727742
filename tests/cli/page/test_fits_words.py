"""Figures in words: the job's unit first."""

from __future__ import annotations

from tallstack.cli.job.loading import load
from tallstack.cli.page.quantity import shown_as

from ...commands import EXAMPLES


def test_a_job_in_inches_says_inches_first() -> None:
    job = load(EXAMPLES / "sheet_for_the_job_folder" / "job.toml")
    assert [shown_as(job._replace(units=one), 25.4, "mm", 0.1) for one in ("in", "mm")] == [
        "1.000 in (25.40 mm)",
        "25.40 mm (1.000 in)",
    ]
