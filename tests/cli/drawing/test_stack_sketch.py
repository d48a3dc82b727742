"""The sketch of what stands between crank and head: every height of it has its place, blank until it is entered."""

from __future__ import annotations

from tallstack.cli.drawing.stack_sketch import THROW, dimensions, outline

from ...commands import BENCH
from ...drawn import subject


def test_every_height_is_told_twice_and_stands_on_the_one_below() -> None:
    found = {one.entry: one for one in dimensions(subject("front.intake", path=BENCH))}
    for reading, side in (("", -1.0), ("measured_pushrod.", 1.0)):
        gasket, cylinder, head = (
            found[f"{reading}stack.{one}"] for one in ("base_gasket", "cylinder", "head_gasket")
        )
        assert gasket.end == cylinder.start
        assert cylinder.end == head.start
        assert {one.side for one in (gasket, cylinder, head)} == {side}
    stroke = found["crank.stroke"]
    assert stroke.end[1] - stroke.start[1] == 2 * THROW


def test_what_is_not_entered_is_blank() -> None:
    found = {one.entry: one.value for one in dimensions(subject("front.intake", path=BENCH))}
    entered = subject("front.intake", path=BENCH)
    for entry, value in found.items():
        assert (value == "") == (entered.number(entry) is None), entry
    assert outline() == outline()
