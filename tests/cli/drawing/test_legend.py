"""The legend: every entry that has a letter, and none that was only assumed."""

from __future__ import annotations

from tallstack.cli.drawing.legend import width_of
from tallstack.cli.drawing.lines import Text

from ...commands import BENCH
from ...drawn import page, subject


def test_the_legend_lists_every_entry_of_the_valve_gear_that_has_a_letter() -> None:
    one = subject("front.intake")
    listed = [
        mark.words
        for view in page("front.intake").views
        if view.name == "legend"
        for mark in view.on_page()
        if isinstance(mark, Text)
    ]
    for row, value in one.lettered(both=False):
        assert row.letter in listed
        assert row.entry in listed
        assert value in listed


def test_assumed_values_are_not_listed_as_entered() -> None:
    bare = subject("front.intake", path=BENCH)
    assert "stack.case_cut" not in [row.entry for row, _ in bare.lettered()]


def test_the_legend_is_as_wide_as_it_says() -> None:
    rows = subject("front.intake").lettered()
    assert 40 < width_of(rows) < 110
