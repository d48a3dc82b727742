"""The sketch of how a pushrod is measured, and what it needs."""

from __future__ import annotations

from dataclasses import replace

from tallstack.cli.drawing.lines import Dimension, Text
from tallstack.cli.drawing.subject import NOTHING
from tallstack.cli.job.entries.letters import letter_of

from ...commands import BENCH
from ...drawn import labels, page, subject, unplaced


def test_a_bench_only_valve_gear_gets_a_sketch_that_says_so() -> None:
    words = labels(page("front.intake", (), BENCH))
    assert "SKETCH: reading a pushrod" in words
    assert "A sketch shows where a reading is taken, no size." in words
    assert "The valve gear's coordinates are not entered; the sketch shows how it is measured." in words
    assert "plunger up at its top stop" in words
    for entry in ("stack.cylinder", "stack.base_gasket", "stack.head_gasket", "measured_pushrod.lean"):
        assert letter_of(entry) in words
    assert "11.000" in words


def test_a_solid_lifter_is_sketched_without_a_plunger() -> None:
    one = subject("front.intake", path=BENCH)
    solid = replace(one, mapping={**one.mapping, "front.intake.lifter.kind": "solid"})
    words = [item.words for view in unplaced(solid) for item in view.items if isinstance(item, Text)]
    assert "solid lifter" in words
    assert not [one for one in words if "plunger up" in one or "load on the plunger" in one]


def test_what_the_sketch_needs_and_does_not_have_is_named() -> None:
    one = subject("front.intake", path=BENCH)
    bare = replace(
        one, mapping={"cylinders": ("front",), "trains": ("front.intake",)}, required_value=NOTHING
    )
    drawn = [item for view in unplaced(bare) for item in view.items if isinstance(item, Dimension)]
    assert {item.entry: item.value for item in drawn}["measured_pushrod.length"] == ""
