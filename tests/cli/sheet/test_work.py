"""Everything that a sheet is made from, each part None where it cannot be worked out."""

from __future__ import annotations

import hashlib

from tallstack.cli.job.loading import load
from tallstack.cli.sheet.work import work

from ...commands import BENCH, EXAMPLES


def test_a_job_of_pushrods_alone_has_no_clearances_and_nothing_that_turns() -> None:
    found = work(load(BENCH), None, 1000)
    assert found.pushrods is not None
    assert found.clear is None
    assert "clearance" not in found.told
    assert found.hash == hashlib.sha256(BENCH.read_bytes()).hexdigest()


def test_what_is_not_to_be_drawn_is_not_turned() -> None:
    job = load(EXAMPLES / "sheet_for_the_job_folder" / "job.toml")
    still, drawn = (work(job, None, 1000, is_drawn=one) for one in (False, True))
    assert (still.turning, still.engine) == (None, None)
    assert drawn.turning is not None
    assert drawn.engine is not None
    assert still.clear is not None
