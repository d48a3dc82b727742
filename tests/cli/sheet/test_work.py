"""Everything that a sheet is made from, each part None where it cannot be worked out."""

from __future__ import annotations

import hashlib

import pytest
from tallstack.cli.drawing import pages
from tallstack.cli.job.loading import load
from tallstack.cli.sheet.work import work

from ...commands import BENCH


def test_a_job_of_pushrods_alone_has_no_clearances_and_nothing_that_turns() -> None:
    found = work(load(BENCH), None, 100)
    assert found.pushrods is not None
    assert found.clear is None
    assert "clearance" not in found.told
    assert found.hash == hashlib.sha256(BENCH.read_bytes()).hexdigest()


def test_what_is_not_to_be_drawn_is_not_turned(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        pytest.fail("nothing is to be turned")

    monkeypatch.setattr(pages, "turned", refused)
    found = work(load(BENCH), None, 100, is_drawn=False)
    assert (found.turning, found.engine) == (None, None)
