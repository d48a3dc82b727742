"""Refusals carry what they are about, beside a sentence that says it."""

from __future__ import annotations

import pytest
from tallstack.geometry.core.errors import (
    DisagreementError,
    GeometryError,
    MissingEntryError,
    UnreachableError,
)


def test_what_is_missing_is_named_for_each_way() -> None:
    error = MissingEntryError(
        "the pushrod", {"by coordinates": ("lifter.seat", "valve.face"), "by a rod": ("length",)}
    )
    assert error.routes["by a rod"] == ("length",)
    assert str(error) == "the pushrod needs by coordinates: lifter.seat, valve.face; or by a rod: length"


def test_a_disagreement_names_both_entries_with_their_numbers() -> None:
    error = DisagreementError("the ratio", ("rocker.ratio", "rocker.valve_arm"), ("1.6", "1.5"))
    assert (error.entries, error.numbers) == (("rocker.ratio", "rocker.valve_arm"), ("1.6", "1.5"))
    assert "rocker.ratio says 1.6, rocker.valve_arm says 1.5" in str(error)


def test_every_refusal_can_be_caught_as_one_kind() -> None:
    with pytest.raises(GeometryError, match="misses") as caught:
        raise UnreachableError("the ball misses its cup by 0.2 mm", -0.2)
    assert isinstance(caught.value, UnreachableError)
    assert caught.value.margin_mm == -0.2
    for one in (MissingEntryError, DisagreementError, UnreachableError):
        assert issubclass(one, GeometryError)
        assert issubclass(one, ValueError)
