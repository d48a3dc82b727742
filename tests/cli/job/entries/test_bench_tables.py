"""The table of a bench check: every kind of check that the geometry foretells can be entered."""

from __future__ import annotations

import pytest
from tallstack.cli.job.checks.reading import ALSO, NEEDS
from tallstack.cli.job.entries.bench_tables import READING
from tallstack.cli.job.entries.fields import Choice
from tallstack.geometry.sure.check_kinds import KINDS, OF_TRAIN


def test_every_kind_of_check_can_be_said() -> None:
    of = READING.parts["of"]
    assert isinstance(of, Choice)
    assert of.options == KINDS
    assert set(OF_TRAIN) <= set(KINDS)


@pytest.mark.parametrize("kind", sorted({*NEEDS, *ALSO}))
def test_what_a_kind_needs_or_may_have_is_an_entry_of_the_table(kind: str) -> None:
    assert kind in KINDS
    assert {*NEEDS.get(kind, ()), *ALSO.get(kind, ())} <= set(READING.parts)
