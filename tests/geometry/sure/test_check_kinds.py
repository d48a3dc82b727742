"""The checks that can be laid beside a job: each has its tool, and those of a valve gear are among them."""

from __future__ import annotations

from tallstack.geometry.sure.check_kinds import KINDS, OF_TRAIN
from tallstack.geometry.sure.what_next import WITH


def test_every_kind_of_check_has_a_tool() -> None:
    assert set(WITH) == set(KINDS)
    assert set(OF_TRAIN) < set(KINDS)
    assert len(set(KINDS)) == len(KINDS)
