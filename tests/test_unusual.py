"""What is possible but unlikely is told, once and at the right entry, and never refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.jobfile.faults import InputFaultsError
from tallstack.cli.jobfile.job import load

TWO = """\
format = 1
units = "mm"
[stack]
cylinder = 121.7
base_gasket = 0.4
head_gasket = 1.2
[[cylinder]]
name = "front"
lean = 26
[[cylinder]]
name = "rear"
lean = -26
[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
preload = 1.0
plunger_travel = 3.5
[train.measured_pushrod]
length = "276.1 +/- 0.1"
as = "overall"
plunger = "top"
lean = 3
stack = { cylinder = 118.5 }
[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
[train.measured_pushrod]
length = "276.4 +/- 0.1"
as = "overall"
plunger = "top"
lean = 3
stack = { cylinder = 118.5 }
"""
INCHES = TWO.replace('"mm"', '"in"').replace("121.7", "4.791").replace("118.5", "4.665")
INCHES = INCHES.replace("276.1 +/- 0.1", "10.870").replace("276.4 +/- 0.1", "10.882")
INCHES = INCHES.replace("= 0.4", "= 0.016").replace("= 1.2", "= 0.047").replace("= 3.5", "= 0.138")
INCHES = INCHES.replace("= 1.0", "= 0.040")


def warned(tmp_path: Path, text: str, *variations: str) -> tuple[str, ...]:
    path = tmp_path / "job.toml"
    path.write_text(text)
    return load(path, variations).warnings


def swapped(text: str, before: str, after: str) -> str:
    assert before in text
    return text.replace(before, after)


def test_usual_jobs_are_quiet(tmp_path: Path) -> None:
    assert warned(tmp_path, TWO) == ()
    assert warned(tmp_path, INCHES) == ()


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (
            "preload = 1.0",
            "preload = 0.04",
            "front.intake.lifter.preload = 0.04 reads as 0.04 mm (0.001575 in); 1.016 mm would be usual: was it "
            "typed in inches?",
        ),
        (
            "preload = 1.0",
            "preload = 0.1",
            "front.intake.lifter.preload = 0.1 reads as 0.1 mm (0.003937 in); 2.54 mm would be usual: was it "
            "typed in inches?",
        ),
        (
            'kind = "hydraulic"\npreload = 1.0\nplunger_travel = 3.5',
            'kind = "solid"\nlash = 0.004',
            "front.intake.lifter.lash = 0.004 reads as 0.004 mm (0.0001575 in); 0.1016 mm would be usual: was it "
            "typed in inches?",
        ),
    ],
)
def test_setting_typed_in_the_other_unit(tmp_path: Path, before: str, after: str, told: str) -> None:
    text = swapped(TWO, before, after)
    text = text.replace('plunger = "top"\n', "") if "solid" in after else text
    assert warned(tmp_path, text) == (told,)  # and the copy made by like stays quiet


def test_what_counts_in_inches_already_is_not_asked_about_inches(tmp_path: Path) -> None:
    told = "front.intake.lifter.preload = 0.002 reads as 0.0508 mm (0.002 in); most engines lie between 0.2 and 4 mm"
    assert warned(tmp_path, swapped(INCHES, "preload = 0.040", "preload = 0.002")) == (told,)


def test_value_that_is_tried_is_looked_at_too(tmp_path: Path) -> None:
    told = (
        "front.intake.lifter.preload = 0.04 reads as 0.04 mm (0.001575 in); 1.016 mm would be usual: was it "
        "typed in inches?"
    )
    assert warned(tmp_path, TWO, "front.intake.lifter.preload=0.04") == (told,)
    assert warned(tmp_path, TWO, 'front.intake.lifter.preload="0.04 in"') == ()


def test_lean_of_a_pushrod(tmp_path: Path) -> None:
    text = TWO.replace("lean = 3\n", "lean = 13\n", 1)
    told = "reads as 13 deg; most engines lie between 0 and 12 deg"
    assert warned(tmp_path, text) == (f"front.intake.measured_pushrod.lean = 13 {told}",)
    assert warned(tmp_path, TWO.replace("lean = 3\n", "lean = [-12, 12]\n", 1)) == ()
    views = warned(tmp_path, TWO.replace("lean = 3\n", "lean = [13, 2]\n", 1))
    assert views == (f"front.intake.measured_pushrod.lean.x = 13 {told}",)
    assert warned(tmp_path, TWO.replace("lean = 3\n", "lean = 44.9\n", 1))
    with pytest.raises(InputFaultsError):
        warned(tmp_path, TWO.replace("lean = 3\n", "lean = 45\n", 1))


@pytest.mark.parametrize(("then", "quiet"), [(122.6, True), (122.8, False), (106.8, True), (106.6, False)])
def test_stack_then_against_now(tmp_path: Path, then: float, quiet: bool) -> None:
    found = warned(tmp_path, TWO.replace("118.5", str(then), 1))
    assert (found == ()) is quiet
    if not quiet and then > 121.7:
        assert found == (
            "the stack of front.intake is now 1.100 mm (0.0433 in) lower than when its pushrod was measured: "
            "are then and now swapped?",
        )
    if not quiet and then < 121.7:
        assert found == (
            "the stack of front.intake is now 15.100 mm (0.5945 in) taller than when its pushrod was measured: "
            "look at both",
        )


def test_metal_removed_is_no_sign_of_a_swap(tmp_path: Path) -> None:
    cut = swapped(TWO, "base_gasket = 0.4", "base_gasket = 0.4\ncase_cut = 2.0\nhead_cut = 2.5")
    assert warned(tmp_path, cut) == ()


def test_reading_without_a_stack_beside_one_that_has_it(tmp_path: Path) -> None:
    without = TWO.removesuffix("stack = { cylinder = 118.5 }\n")
    assert warned(tmp_path, without) == (
        "rear.intake's reading gives no stack, but that of front.intake does: is it forgotten?",
    )
    assert warned(tmp_path, without.replace("stack = { cylinder = 118.5 }\n", "")) == ()


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
        with pytest.raises(InputFaultsError, match="1 faults") as refused:
            warned(tmp_path, fires)
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
