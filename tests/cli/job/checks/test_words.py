"""What checks of every kind say alike: lengths in both units, whether one was typed in mm, what is missing."""

from __future__ import annotations

import pytest
from tallstack.cli.job.checks.words import in_both_units, in_mm, missing, stands_over_piston
from tallstack.cli.job.contents import Entry
from tallstack.cli.job.entries.fields import Quantity

LENGTH = Quantity("a length")


def entry(value: float, typed: str) -> Entry:
    return Entry(value, LENGTH, typed, ("stack", "cylinder"))


def test_a_length_in_both_units_either_way_round() -> None:
    assert in_both_units(25.4) == "25.400 mm (1.0000 in)"
    assert in_both_units(25.4, inches_first=True) == "1.0000 in (25.400 mm)"


@pytest.mark.parametrize(
    ("value", "typed", "mm"),
    [(4.9, "4.9", True), (4.9, "4.9 +/- 0.1 mm", True), (124.46, "4.9", False), (12.7, "1/2", False), (0.5, ".5", True)],
)  # fmt: skip
def test_whether_it_was_typed_in_mm(value: float, typed: str, mm: bool) -> None:
    assert in_mm(entry(value, typed)) is mm


def test_whether_a_job_says_anything_over_a_piston() -> None:
    assert stands_over_piston({"front.intake.valve.face.x": entry(1.0, "1")})
    assert stands_over_piston({"piston.pin_offset": entry(1.0, "1")})
    assert not stands_over_piston({"stack.cylinder": entry(1.0, "1")})


def test_what_a_table_lacks_is_told_at_the_table_or_at_the_whole_file() -> None:
    at_table = missing(
        "lobe.intake.law", "name", "missing; say it", lambda _: (("lobe", "intake", "law"), "lobe.intake.law")
    )
    assert (at_table.loc, at_table.entry) == (("lobe", "intake", "law", "name"), "lobe.intake.law.name")
    assert missing("crank", "turns", "missing", lambda _: ((), "crank")).loc == ()
