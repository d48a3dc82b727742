"""What is possible but unlikely is told, once and at the right entry, and never refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tallstack.cli.job.contents import Entry
from tallstack.cli.job.entries.catalogue import kind_at
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.job.reading.values import Value
from tallstack.cli.job.unusual.unusual import unlike, unusual_value
from tallstack.geometry.core.mapping import frozen

from ....commands import Ended, tallstack
from ....job_texts import TWO, swapped, warned

INCHES = TWO.replace('"mm"', '"in"').replace("121.7", "4.791").replace("118.5", "4.665")
INCHES = INCHES.replace("276.1 +/- 0.1", "10.870").replace("276.4 +/- 0.1", "10.882")
INCHES = INCHES.replace("= 0.4", "= 0.016").replace("= 1.2", "= 0.047").replace("= 3.5", "= 0.138")
INCHES = INCHES.replace("= 1.0", "= 0.040")


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
    told = "front.intake.lifter.preload = 0.002 reads as 0.0508 mm (0.002 in); most engines lie between 0.2 and 4 mm (0.0079 and 0.16 in)"
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
    found = of_stacks(warned(tmp_path, TWO.replace("118.5", str(then), 1)))
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


def of_stacks(found: tuple[str, ...]) -> tuple[str, ...]:
    """Return what is said of stacks, without that two rods are unlike on the one there is now."""
    return tuple(one for one in found if "comes, at zero lash on the stack as it is" not in one)


def test_metal_removed_is_no_sign_of_a_swap(tmp_path: Path) -> None:
    cut = swapped(TWO, "base_gasket = 0.4", "base_gasket = 0.4\ncase_cut = 2.0\nhead_cut = 2.5")
    assert warned(tmp_path, cut) == ()


def test_reading_without_a_stack_beside_one_that_has_it(tmp_path: Path) -> None:
    without = TWO.removesuffix("stack = { cylinder = 118.5 }\n")
    assert of_stacks(warned(tmp_path, without)) == (
        "rear.intake's reading gives no stack (rear.intake.measured_pushrod.stack), but that of front.intake does: "
        "is it forgotten?",
    )
    assert warned(tmp_path, without.replace("stack = { cylinder = 118.5 }\n", "")) == ()


# What stands over a piston, and the lobes.


# Where a crown, a pocket and a rocker stand, and what a reading does not tell.


@pytest.mark.parametrize(
    ("path", "diameter", "radius"),
    [
        (("lobe", "intake", "read_with", "tip"), "1/8 in", "1/16 in"),
        (("lobe", "intake", "read_with", "roller"), "0.75 in", "0.375 in"),
        (("lobe", "intake", "base_radius"), "1.1 in", "0.55 in"),
        (("train", 0, "lifter", "follower", "roller"), "0.85 in", "0.425 in"),
    ],
)
def test_a_diameter_where_a_radius_belongs_is_asked_about(
    path: tuple[str | int, ...], diameter: str, radius: str
) -> None:
    kind = kind_at(path)
    assert kind is not None
    said = []
    for typed in (diameter, radius):
        value = kind.parse(typed, "in")
        assert isinstance(value, Value)
        entry = Entry(value.number, kind, typed, path)
        said.append(list(unusual_value("it", entry, value.number)))
    assert len(said[0]) == 1
    assert "is it a diameter?" in said[0][0]
    assert not isinstance(said[0][0], LookAgain)  # unusual, and perhaps a rare engine: no verdict moves
    assert said[1] == []


@pytest.mark.parametrize("cut", ["case_cut", "head_cut"])
def test_a_cylinder_that_is_shorter_by_a_cut_than_in_the_job_before_is_asked_about(cut: str) -> None:
    before = {"stack.cylinder": 121.5, "stack.case_cut": 0.0, "stack.head_cut": 0.0}
    after = before | {"stack.cylinder": 120.9, f"stack.{cut}": 0.6}
    assert any("the same cut twice?" in one for one in unlike(frozen(after), frozen(before)))


USUAL = """\
format = 1
units = "mm"
[crank]
stroke = 94.6
[stack]
bore = 88.4
cylinder = 121.7
base_gasket = 0.4
head_gasket = 1.2
[[cylinder]]
name = "front"
[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "solid"
lash = 0.1
lash_at = "pushrod"
[train.valve]
head_diameter = 45.0
[train.pushrod]
ball_diameter_low = 7.9
ball_diameter_high = 7.9
[train.measured_pushrod]
length = "276.1 +/- 0.1"
as = "theoretical"
lean = 3
[[train]]
cylinder = "front"
port = "exhaust"
like = "front.intake"
[train.valve]
head_diameter = 39.0
"""


def again(tmp_path: Path, *swaps: tuple[str, str]) -> Ended:
    """Run a usual job with a few of its lines changed."""
    text = USUAL
    for before, after in swaps:
        assert before in text
        text = text.replace(before, after, 1)
    path = tmp_path / "job.toml"
    path.write_text(text)
    return tallstack("pushrods", path)


def looked_at(ended: Ended) -> str:
    """Return what looks wrong or is unusual, on one line."""
    above = " ".join(ended.out.split("\n\n")[0].split())
    return " ".join(re.split("LOOK AGAIN: |UNUSUAL, a slip or a rare engine: ", above)[1:])


def test_usual_job_is_not_looked_at_again(tmp_path: Path) -> None:
    usual = again(tmp_path)
    assert usual.status in (0, 1)
    assert looked_at(usual) == ""


@pytest.mark.parametrize(
    ("swap", "told"),
    [
        (
            ("head_gasket = 1.2", "head_gasket = 0.047"),
            "stack.head_gasket = 0.047 reads as 0.047 mm (0.00185 in); 1.194 mm would be usual: was it "
            "typed in inches?",
        ),
        (
            ("base_gasket = 0.4", 'base_gasket = "0.4 in"'),
            "stack.base_gasket = 0.4 in reads as 10.16 mm (0.4 in); 0.4 mm would be usual: was it typed in "
            "millimetres?",
        ),
        (
            ("ball_diameter_low = 7.9", "ball_diameter_low = 0.311"),
            "front.intake.pushrod.ball_diameter_low = 0.311 reads as 0.311 mm (0.01224 in); 7.899 mm would "
            "be usual",
        ),
        (
            ("lean = 3", "lean = 3\n[train.rocker]\nratio = 5"),
            "front.intake.rocker.ratio = 5 reads as 5; most engines lie between 0.8 and 2.5",
        ),
        (
            ("stroke = 94.6", "stroke = 46.0"),
            "stack.bore 88.400 mm (3.4803 in) and crank.stroke 46.000 mm (1.8110 in) make an unusual pair",
        ),
        (
            ("head_diameter = 39.0", "head_diameter = 46.5"),
            "front.exhaust.valve.head_diameter 46.500 mm (1.8307 in) is larger than the intake's 45.000 mm "
            "(1.7717 in): are the two ports swapped?",
        ),
    ],
)
def test_unusual_value_is_told_with_both_numbers(tmp_path: Path, swap: tuple[str, str], told: str) -> None:
    ended = again(tmp_path, swap)
    assert ended.status == again(tmp_path).status
    assert not ended.err
    assert told in looked_at(ended)


def test_unit_slip_is_a_fault_where_another_entry_contradicts_it(tmp_path: Path) -> None:
    rocker = "lean = 3\n[train.rocker]\nvalve_arm = 1.36\n"
    assert "was it typed in inches?" in looked_at(again(tmp_path, ("lean = 3", rocker)))
    ended = again(tmp_path, ("lean = 3", f"{rocker}pushrod_arm = 22.0\nratio = 1.57"))
    assert ended.status == 2
    assert "rocker.ratio (BC): the rocker ratio is 1.5700 by this and 0.0618 by rocker.valve_arm" in ended.err


def test_unit_slip_in_the_stack_is_a_fault_beside_the_stack_of_the_reading(tmp_path: Path) -> None:
    slip = ("cylinder = 121.7", "cylinder = 4.791")
    assert "was it typed in inches?" in looked_at(again(tmp_path, slip))
    ended = again(tmp_path, slip, ("lean = 3", "lean = 3\nstack = { cylinder = 119.5 }"))
    assert ended.status == 2
    assert "119.500 mm (4.7047 in) then against 4.791 mm (0.1886 in) in stack.cylinder now" in ended.err


def test_another_base_gasket_under_a_spigot_that_counts_from_the_case_deck_is_asked_about() -> None:
    from tallstack.cli.job.loading import load

    from ....commands import EXAMPLES

    job = EXAMPLES / "which_cylinder_first" / "job.toml"

    def told(*tried: str) -> str:
        return " ".join(load(job, tried).warnings)

    assert "another base gasket lifts the cylinder" in told("stack.base_gasket=2 +/- 0.05 mm")
    assert "another base gasket lifts" not in told()
    assert "does not go into a case mouth of 80.000 mm" in told("stack.mouth_width=80 +/- 0.1 mm")
