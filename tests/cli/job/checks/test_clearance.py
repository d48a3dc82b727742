"""Contradictions over a piston: crowns of two shapes, pistons that do not fill their bore, what a crown is across."""

from __future__ import annotations

import pytest
from tallstack.cli.job.checks.clearance import crown_across, number, row
from tallstack.geometry.core.mapping import Reader

from ....job_texts import FULL, changed, faults_of


def test_a_row_is_known_where_all_of_it_is() -> None:
    reader = Reader({"a.x": 1.0, "a.y": 2.0, "a.z": 3.0, "b.x": 1.0}, ("",))
    assert row(reader, "a", "xyz") == (1.0, 2.0, 3.0)
    assert row(reader, "b", "xy") is None
    assert number(reader, "b.x") == 1.0
    assert number(reader, "b.y") is None


def test_a_crown_is_as_wide_as_its_piston_or_else_as_its_bore() -> None:
    bore = {"stack.bore": 86.4}
    assert crown_across(Reader(bore, ("",))) == (86.4, "stack.bore")
    assert crown_across(Reader(bore | {"piston.diameter": 86.3}, ("",))) == (86.3, "piston.diameter")
    own = bore | {"front.piston.diameter": 86.2}
    assert crown_across(Reader(own, ("front.", ""))) == (86.2, "front.piston.diameter")
    assert crown_across(Reader({}, ("",))) is None


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            "dome = { height = 2, diameter = 60 }\ndish = { depth = 2, diameter = 60 }",
            "dome and dish are both given",
        ),
        ("diameter = 40", "does not fill a bore of 86.400 mm"),
        ("dome = { height = 2, diameter = 90 }", "mm"),
        ("dish = { depth = 40, diameter = 60 }", "mm"),
    ],
)
def test_what_a_crown_cannot_be(more: str, said: str) -> None:
    found = faults_of(changed(FULL, ("[stack]", f"{more}\n[stack]")))
    assert found
    assert any(said in one for one in found.values()), found


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (
            "diameter = 48.0",
            "diameter = 20.0",
            "a head of 44.000 mm (1.7323 in) does not go into a pocket of 20.000 mm",
        ),
        ("head_diameter = 44.0", "head_diameter = 86.4", "does not go into a bore of 86.400 mm"),
        ("diameter = 48.0", "diameter = 86.4", "is as wide as a crown of 86.400 mm"),
        ("centre = [-17, 0.5]", "centre = [-70, 0.5]", "misses a crown of 86.400 mm"),
        ("depth = 3.0", "depth = 31.0", "reaches down to the pin, 30.500 mm"),
        ("face = [-20.5, 1, 11]", "face = [-44, 1, 11]", "outside a bore of 86.400 mm"),
        ("pin_offset = 0.8", "pin_offset = 45.9", "further out than the throw of 45.900 mm"),
    ],
)
def test_a_pair_of_sizes_that_cannot_be_is_told_with_both(before: str, after: str, said: str) -> None:
    found = faults_of(changed(FULL, (before, after)))
    assert any(said in one for one in found.values()), found
