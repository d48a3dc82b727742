"""Readings of a bore that cannot all be so are to be looked at again, and nothing that rests on them is met."""

from __future__ import annotations

import pytest

from ....commands import EXAMPLES, tallstack

JOB = EXAMPLES / "worn_pair_bored_anew" / "job.toml"


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ("stack.bore=91 +/- 0.02 mm", "the gauge found 89.009 mm"),
        ("front.bore_readings.top_largest=89.02 +/- 0.003 mm", "the largest of a sweep is no less"),
        ("front.bore_readings.new_size=89.25 mm", "no bore wears tighter"),
        ("piston.skirt_clearance=0.05 +/- 0.005 mm", "is it of another bore?"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_is_met_with_it(entry: str, told: str) -> None:
    found = " ".join(tallstack("fits", JOB, "--with", entry).out.split())
    assert "LOOK AGAIN" in found
    assert told in found
    row = tallstack("fits", JOB, "--with", entry, "--json").json["cylinders"][0]
    touched = "squish_at_least" if "skirt" in entry else "bore_out_of_round"
    assert row[f"{touched}_verdict"] in ("unproved", "short") or row[f"{touched}_look_again"]


def test_nothing_is_said_of_readings_that_agree() -> None:
    found = tallstack("fits", JOB).out
    assert "LOOK AGAIN" not in found
