"""What changed since a reading, in parts that add up as they are printed."""

from __future__ import annotations

import re

from tallstack.cli.page.since_words import sentence
from tallstack.geometry.engine.since_read import SinceRead

STACK = {"cylinder": 5.0849, "head_gasket": 0.2849}


def since(**more: object) -> SinceRead:
    plain = {name: {} if name in ("stack", "piston") else 0.0 for name in SinceRead._fields}
    return SinceRead(**{**plain, **more})  # type: ignore[arg-type]


def test_the_parts_that_are_printed_add_up_to_the_whole_that_is() -> None:
    for units in ("mm", "in"):
        told = sentence(since(stack=STACK), units)
        whole, *parts = map(float, re.findall(r"[+-]?\d+\.\d+", told))
        assert whole == round(sum(parts), 3)
        assert "taller than when read" in told


def test_a_sunk_valve_and_a_lifter_let_down_are_told() -> None:
    told = sentence(since(sunk=0.4, lowered=1.2), "mm")
    assert "valve sunk by +0.40 mm" in told
    assert "lifter -1.20 mm" in told
    assert told.startswith("the stack is as tall as when read")
