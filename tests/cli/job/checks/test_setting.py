"""Adjusters and firing angles held against the rest of the job."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.faults import InputFaultsError

from ....job_texts import TWO, swapped, warned

FIRES = {  # leans, pins and turns, and the firing angles that are then a top centre
    "": (308, 668, 52, 412),
    '[crank]\nturns = "forward"\n': (308, 668, 668.4),
    '[crank]\nturns = "backward"\n': (52, 412),
}


@pytest.mark.parametrize("crank", FIRES)
def test_firing_angle_is_held_against_leans_and_turning(tmp_path: Path, crank: str) -> None:
    text = swapped(TWO, "[stack]", f"{crank}[stack]")
    for angle in (52, 308, 311, 360, 412, 668, 668.4):
        fires = swapped(text, "lean = -26", f"lean = -26\nfires_at = {angle}")
        if angle in (*FIRES[crank], *((668.4,) if not crank else ())):
            assert warned(tmp_path, fires) == ()
            continue
        with pytest.raises(InputFaultsError, match="fires_at") as refused:
            warned(tmp_path, fires)
        assert len(refused.value.faults) == 1
        assert f"cylinder rear: fires_at: {angle} deg is no top centre of rear" in refused.value.report()


def test_firing_angle_is_left_alone_without_both_leans(tmp_path: Path) -> None:
    assert warned(tmp_path, swapped(TWO, "lean = -26", "fires_at = 311")) == ()
    assert (
        warned(tmp_path, swapped(TWO.replace("lean = 26\n", ""), "lean = -26", "lean = -26\nfires_at = 311"))
        == ()
    )


def test_firing_angle_counts_the_pin(tmp_path: Path) -> None:
    pin = swapped(TWO, "lean = -26", "lean = -26\npin = 180\nfires_at = 128")
    assert warned(tmp_path, pin) == ()


@pytest.mark.parametrize("angle", ["0", "720", '"0 deg"'])
def test_first_cylinder_fires_at_nothing(tmp_path: Path, angle: str) -> None:
    assert warned(tmp_path, swapped(TWO, "lean = 26", f"lean = 26\nfires_at = {angle}")) == ()


ADJUSTER = 'plunger_travel = 3.5\n[train.rocker.adjuster]\nkind = "{}"\n{}'


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("eccentric shaft", ""),
        ("eccentric shaft", "eccentricity = 1.5\neccentric_at = 90\n"),
        ("pushrod screw", "pitch = 1.0\nflats = 6\n"),
        ("pivot nut", "flats = 12\n"),
        ("none", ""),
    ],
)
def test_adjusters_that_are_well(tmp_path: Path, kind: str, more: str) -> None:
    assert warned(tmp_path, swapped(TWO, "plunger_travel = 3.5\n", ADJUSTER.format(kind, more))) == ()


def test_adjuster_of_another_kind_over_a_copy_or_tried_is_not_blamed(tmp_path: Path) -> None:
    shaft = ADJUSTER.format("eccentric shaft", "eccentricity = 1.5\n")
    text = swapped(TWO, "plunger_travel = 3.5\n", shaft)
    over = swapped(
        text, 'like = "front.intake"\n', 'like = "front.intake"\nrocker.adjuster = { kind = "pivot nut" }\n'
    )
    assert warned(tmp_path, over) == ()
    assert warned(tmp_path, text, 'front.intake.rocker.adjuster.kind="pivot nut"') == ()
