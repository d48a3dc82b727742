"""A job from its file: all its faults at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.faults import InputFaultsError

from ...job_texts import FULL, changed, job


def test_every_fault_is_in_the_exception(tmp_path: Path) -> None:
    with pytest.raises(InputFaultsError) as caught:
        job(tmp_path, changed(FULL, ("stroke = 91.8", "stroke = 0"), ("hole_low = 1.8", "hole_low = 18")))
    assert {fault.entry for fault in caught.value.faults} >= {"crank.stroke (U)"}
    assert len(caught.value.faults) == 2  # the hole is copied, and told once
