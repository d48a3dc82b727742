"""Tables of the model: the engine as it was when a reading was taken holds the same entries, without their letters."""

from __future__ import annotations

import pytest
from tallstack.cli.job.entries.fields import Asked, Parts, Quantity, Sign
from tallstack.cli.job.entries.tables import (
    Rows,
    Table,
    degrees,
    direction,
    lean_pair,
    millimetres,
    place,
    point,
    radius,
    target,
    then,
)
from tallstack.cli.job.reading.values import Dimension
from tallstack.geometry.core.mapping import ANGLES


def test_what_stood_then_has_the_same_entries_and_letters_of_its_own_alone() -> None:
    now = Table(
        "a stack",
        first=millimetres("first", 1, 2, letters="A", asked=Asked.IN_ANY_CASE, on_cylinder=True),
        second=Table("inner", deep=millimetres("deep", letters="B")),
    )
    before = then(now, first="Q")
    first, deep = before.parts["first"], before.parts["second"]
    assert isinstance(first, Quantity)
    assert (first.words, first.usual, first.letters, first.asked, first.on_cylinder) == (
        "first",
        (1, 2),
        ("Q",),
        None,
        False,
    )
    assert isinstance(deep, Table)
    assert deep.parts["deep"].letters == ()  # type: ignore[union-attr]
    assert now.parts["first"].letters == ("A",)  # type: ignore[union-attr]
    with pytest.raises(TypeError):
        then(Table("rows", some=Rows(now)))


def test_each_helper_declares_what_it_says() -> None:
    assert millimetres("x").sign is Sign.POSITIVE
    assert radius("x", most=6.0).radius == 6.0
    assert degrees("x", 1, 2).dimension is Dimension.ANGLE
    assert target("x").wish
    assert target("x").sign is Sign.ZERO_UP
    assert [one.counts for one in (point("x"), place("x"), lean_pair("x"))] == [(3,), (2,), (2,)]
    way = direction("x")
    assert isinstance(way.other, Parts)
    assert way.other.counts == (2, 3)
    assert tuple(way.table.parts) == ANGLES
