"""Readings of a bore that cannot all be so are to be looked at again, and nothing that rests on them is met."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.loading import load

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
    assert any(told in one and getattr(one, "about", ()) for one in load(JOB, [entry]).warnings)
    row = tallstack("fits", JOB, "--with", entry, "--json").json["cylinders"][0]
    touched = "squish_at_least" if "skirt" in entry else "bore_out_of_round"
    assert row[f"{touched}_verdict"] in ("unproved", "short") or row[f"{touched}_look_again"]


def test_nothing_is_said_of_readings_that_agree() -> None:
    assert load(JOB).warnings == ()


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ("stack.bore=89.3 +/- 0.02 mm", "and stack.bore is 89.300 mm"),
        ("chamber.gasket_bore=45 +/- 0.05 mm", "is it a radius?"),
        ("oversize.piston.0.diameter=44.6 +/- 0.003 mm", "is no oversize of a bore"),
    ],
)
def test_a_radius_or_another_bore_is_asked_about(entry: str, told: str) -> None:
    assert told in " ".join(load(JOB, [entry]).warnings)


def test_both_as_warm_as_one_another_cannot_differ() -> None:
    warm = [f"front.bore_readings.{one}_temperature={at} C" for one, at in (("bore", 35), ("piston", 10))]
    assert "both lay together, and the bore is 35 C, the piston 10 C" in " ".join(load(JOB, warm).warnings)


def test_a_ring_gap_that_contradicts_the_gauge_leaves_nothing_of_it_met() -> None:
    row = tallstack("fits", JOB, "--with", "front.bore_readings.gap_top=0.60 +/- 0.01 mm", "--json").json[
        "cylinders"
    ][0]
    assert row["gauge_less_gap_look_again"]
    for figure in ("bore_out_of_round", "cleans_up_by", "wall_after"):
        assert row[f"{figure}_verdict"] != "ok", figure
    bare = tallstack("fits", JOB, "--with", "front.bore_readings.gap_top=0.60 mm", "--json").json[
        "cylinders"
    ][0]
    assert bare["gauge_less_gap_look_again"]


def test_a_reading_left_out_never_proves_the_squish(tmp_path: Path) -> None:
    """Of a bore whose loosest place was not read, how far its piston rocks is not known."""
    text = JOB.read_text(encoding="utf-8")
    kept = "\n".join(
        one
        for one in text.splitlines()
        if not one.startswith(("top_", "middle_", "bottom_across", "bottom_along"))
    )
    path = tmp_path / "job.toml"
    path.write_text(kept, encoding="utf-8")
    row = tallstack("fits", path, "--json").json["cylinders"][0]
    assert row["squish_at_least_verdict"] == "unproved"


def test_a_new_size_above_a_reading_makes_nothing_clean_up_sooner() -> None:
    plain, above = (
        tallstack("fits", JOB, "--with", f"front.bore_readings.new_size={size} mm", "--json").json[
            "cylinders"
        ][0]
        for size in ("89.00", "89.06")
    )
    assert above["cleans_up_from_mm"] <= plain["cleans_up_from_mm"]
    assert above["bore_wear_mm"] >= 0.05  # counted from the tightest reading
