"""Heights that make another pushrod than the one that was measured are to be looked at again."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.loading import load

from ....commands import EXAMPLES, tallstack

JOB = EXAMPLES / "in_line_with_lash_for_hot" / "job.toml"


def test_heights_that_agree_with_the_pushrod_are_nothing_to_look_at() -> None:
    assert not any("cup_above_gasket" in one for one in load(JOB, []).warnings)


@pytest.mark.parametrize("entry", ["rocker.cup_above_gasket=40 +/- 0.5", "lifter.below_deck=3.1 +/- 0.5"])
def test_a_height_that_cannot_be_is_told_and_no_hot_answer_is_met_with_it(entry: str, tmp_path: Path) -> None:
    ended = tallstack("fits", JOB, "--with", f"one.exhaust.{entry}", "--json")
    first = ended.json["trains"][0]
    assert first["hot_lash_verdict"] in ("unproved", "short")
    told = " ".join(tallstack("fits", JOB, "--with", f"one.exhaust.{entry}").out.split())
    assert (
        "LOOK AGAIN: one.exhaust.rocker.cup_above_gasket: with lifter.below_deck and the stack it makes"
        in told
    )
    orders = tallstack("pushrods", JOB, "--with", f"one.exhaust.{entry}", "--json").json["pushrods"]
    assert orders[0]["look_again"]  # the rod that was read is one of the two that cannot both be so
    path = tmp_path / "job.toml"
    path.write_text(
        JOB.read_text(encoding="utf-8").replace('cup_above_gasket = "58.3 +/- 0.5"\n', ""), encoding="utf-8"
    )
    assert not any("cup_above_gasket" in one for one in load(path, []).warnings)


@pytest.mark.parametrize(
    ("length", "told"),
    [
        (68.4, ""),
        (79.9, ""),
        (80.1, "12.800 mm (0.5039 in) below"),
        (4.5, "62.800 mm (2.4724 in) above"),
        (4.7, ""),
    ],
)
def test_a_valve_ends_in_its_head(length: float, told: str) -> None:
    """By hand: its tip stands 58.3 + 6 + 3 = 67.3 above the gasket, all of it to 0.5 + 1 + 1 + 0.2, with 10 or 60 beyond."""
    found = [
        one
        for one in load(JOB, [f"one.exhaust.valve.length={length} +/- 0.2"]).warnings
        if "with its tip" in one
    ]
    assert len(found) == bool(told)
    for one in found:
        assert one.startswith("one.exhaust, two.exhaust, three.exhaust: with its tip 67.300 mm")
        assert told in one
