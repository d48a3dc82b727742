"""Heights that make another pushrod than the one that was measured are to be looked at again."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.pushrod.pushrods import required

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


def test_the_length_that_is_told_says_that_it_includes_the_preload(tmp_path: Path) -> None:
    """Nobody read it: it is the one read, as long as this stack and the preload want it."""
    text = JOB.read_text(encoding="utf-8").replace(
        'kind = "solid"\nlash = 0.22', 'kind = "hydraulic"\npreload = 1.0'
    )
    text = text.replace('as = "overall"', 'as = "overall"\nplunger = "top"')
    lines = [line for line in text.splitlines() if not line.startswith(("lash_at", "hot_lash"))]
    path = tmp_path / "job.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    job = load(path, ["one.exhaust.rocker.cup_above_gasket=40 +/- 0.5"])
    asked = float(required(train_of(job.mapping, "one.exhaust")).lengths["centres"])
    told = next(one for one in job.warnings if "one.exhaust.rocker.cup_above_gasket" in one)
    assert f"the pushrod that was read asks for {asked:.3f} mm" in told
    assert "there on this stack, 1.000 mm (0.0394 in) of preload included" in told
    solid = next(
        one
        for one in load(JOB, ["one.exhaust.rocker.cup_above_gasket=40 +/- 0.5"]).warnings
        if "asks for" in one
    )
    assert "on this stack: look at both again" in solid
