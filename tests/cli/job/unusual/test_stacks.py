"""A part left out of a reading's stack is asked about where the job knows another one, and metal does not grow back."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain

from ....clearance_jobs import by_coordinates
from ....commands import tallstack
from ....job_texts import TWO, swapped, warned

BOTH = "cylinder = 118.5, head_gasket = 1.5"
FIRST, SECOND = (
    f'length = "{one} +/- 0.1"\nas = "overall"\nplunger = "top"\nlean = 3\n' for one in (276.1, 276.4)
)


def with_stacks(first: str, second: str, now: str = "", more: str = "") -> str:
    """Return a twin whose two rods were read on these stacks; now : of the engine's stack besides."""
    text = swapped(TWO, f"{FIRST}stack = {{ cylinder = 118.5 }}", f"{FIRST}stack = {{ {first} }}")
    text = swapped(text, f"{SECOND}stack = {{ cylinder = 118.5 }}", f"{SECOND}stack = {{ {second} }}")
    return swapped(text, "head_gasket = 1.2\n", f"head_gasket = 1.2\n{now}") + more


def again(folder: Path, text: str) -> list[str]:
    return [one for one in warned(folder, text) if isinstance(one, LookAgain)]


def verdicts(folder: Path, text: str) -> dict[str, str]:
    """Return what is said of each rod where every length has a +/- of its own."""
    job = folder / "job.toml"
    bare = r"(cylinder|gasket|_cut|sink|travel|lean) = (-?[\d.]+)"
    job.write_text(re.sub(bare, r'\1 = "\2 +/- 0.01"', text))
    found = tallstack("pushrods", job, "--json").json["pushrods"]
    return {one["train"]: one["verdict"] for one in found}


def test_what_only_differed_may_be_said_alone(tmp_path: Path) -> None:
    assert again(tmp_path, TWO) == []
    taken = {one.entry: one.why for one in load(tmp_path / "job.toml").assumed}
    for name in ("front", "rear"):
        for part in ("base_gasket", "head_gasket"):
            assert "now as then" in taken[f"{name}.intake.measured_pushrod.stack.{part}"]


def test_a_part_that_another_reading_says_is_not_left_out_in_silence(tmp_path: Path) -> None:
    told = again(tmp_path, with_stacks(BOTH, "cylinder = 118.5"))
    assert told == [
        "rear.intake's pushrod says the cylinder it was read on and not the head gasket, and front.intake's pushrod says "
        'one: the head gasket counts as now; write head_gasket in rear.intake.measured_pushrod.stack, or on = "now" beside it if all else was as now'
    ]
    assert verdicts(tmp_path, with_stacks(BOTH, "cylinder = 118.5")) == {
        "front.intake": "ok",
        "rear.intake": "unproved",
    }


@pytest.mark.parametrize("gasket", ["1.2", "1.5"])
def test_saying_it_is_enough_even_as_it_is_now(tmp_path: Path, gasket: str) -> None:
    text = with_stacks(BOTH, f"cylinder = 118.5, head_gasket = {gasket}")
    assert again(tmp_path, text) == []
    assert verdicts(tmp_path, text)["rear.intake"] == "ok"


def test_a_part_that_was_another_one_before_is_not_left_out_in_silence(tmp_path: Path) -> None:
    before = '[before]\nsame = ["lifter", "head", "case", "lobe"]\nstack = { cylinder = 118.5, head_gasket = %s }\n'
    alone = "cylinder = 118.5"
    told = again(tmp_path, with_stacks(alone, BOTH, more=before % 1.5))
    assert len(told) == 1
    assert (
        "front.intake's pushrod says the cylinder it was read on and not the head gasket, and [before] has"
        in told[0]
    )
    assert again(tmp_path, with_stacks(alone, alone, more=before % 1.2)) == []
    assert len(again(tmp_path, with_stacks(alone, alone, more=before % 1.5))) == 2


def test_a_reading_that_says_on_which_engine_needs_no_more(tmp_path: Path) -> None:
    assert again(tmp_path, with_stacks(BOTH, 'cylinder = 118.5 }\non = "now" #')) == []


def test_a_cut_that_another_reading_says_counts_as_not_made_yet(tmp_path: Path) -> None:
    cut = "cylinder = 118.5, head_cut = 0.5"
    told = again(tmp_path, with_stacks("cylinder = 118.5", cut, "head_cut = 0.5\n"))
    assert len(told) == 1
    assert (
        "not the cut off the head, and rear.intake's pushrod says one: the cut off the head counts as not made yet"
        in told[0]
    )


def test_a_cut_is_asked_for_even_of_a_reading_that_was_taken_now(tmp_path: Path) -> None:
    """A cut counts as made after it, and says so."""
    cut = "cylinder = 118.5, head_cut = 0.5"
    assert len(again(tmp_path, with_stacks('cylinder = 118.5 }\non = "now" #', cut, "head_cut = 0.5\n"))) == 1


def test_a_check_on_the_bench_says_its_stack_whole_too(tmp_path: Path) -> None:
    check = '[[reading]]\nof = "pushrod"\ntrain = "front.intake"\nvalue = 276.1\nas = "overall"\nplunger = "top"\n'
    stack = "stack = { cylinder = 118.5 }\n"
    told = again(tmp_path, with_stacks(BOTH, BOTH, more=f"{check}{stack}"))
    assert [one.about for one in told if isinstance(one, LookAgain)] == [("reading.0", "front.intake")]
    assert again(tmp_path, with_stacks(BOTH, BOTH, more=f"{check}stack = {{ {BOTH} }}\n")) == []


def test_a_part_left_blank_is_told_once(tmp_path: Path) -> None:
    told = again(tmp_path, with_stacks(BOTH, 'cylinder = 118.5, head_gasket = ""'))
    assert len(told) == 1
    assert "left blank" in told[0]


def test_a_part_that_one_cylinder_alone_has_now_is_not_left_out_in_silence(tmp_path: Path) -> None:
    text = swapped(TWO, "base_gasket = 0.4\n", "")
    text = swapped(text, "lean = 26\n", "lean = 26\nstack.base_gasket = 0.4\n")
    told = again(tmp_path, text)
    assert len(told) == 1
    assert (
        "rear.intake's pushrod says the cylinder it was read on and not the base gasket, and front has one"
        in told[0]
    )


@pytest.mark.parametrize("cut", ["case_cut", "head_cut"])
@pytest.mark.parametrize(
    ("now", "is_told"), [("", True), ("0.3", True), ("0.79", False), ("0.8", False), ("0.9", False)]
)
def test_metal_does_not_grow_back(tmp_path: Path, cut: str, now: str, is_told: bool) -> None:
    then = f"cylinder = 118.5, {cut} = 0.8"
    text = with_stacks(then, then, f"{cut} = {now}\n" if now else "")
    told = again(tmp_path, text)
    assert len(told) == is_told
    if is_told:
        is_now = "is 0.300 mm (0.0118 in)" if now else "is not entered"
        assert told[0].startswith(
            f"stack.{cut} {is_now} now, and front.intake's pushrod and 1 more were read with 0.800 mm"
        )
        assert "metal does not grow back" in told[0]
    assert set(verdicts(tmp_path, text).values()) == {"unproved" if is_told else "ok"}


def test_a_wider_doubt_does_not_make_metal_grow_back(tmp_path: Path) -> None:
    then = 'cylinder = 118.5, head_cut = "0.8 +/- 0.4"'
    assert len(again(tmp_path, with_stacks(then, then, 'head_cut = "0.3 +/- 0.4"\n'))) == 1


def test_a_reading_that_says_none_was_gone_asks_what_is_now(tmp_path: Path) -> None:
    then = "cylinder = 118.5, head_cut = 0"
    told = again(tmp_path, with_stacks(then, then))
    assert len(told) == 1
    assert "head_cut is not entered now, and front.intake's pushrod and 1 more were read with none" in told[0]
    assert again(tmp_path, with_stacks(then, then, "head_cut = 0\n")) == []


def test_a_valve_does_not_rise_from_its_seat(tmp_path: Path) -> None:
    text = with_stacks("cylinder = 118.5", "cylinder = 118.5 }\nvalve = { sink = 0.4")
    told = again(tmp_path, text)
    assert len(told) == 1
    assert told[0].startswith(
        "rear.intake.valve.sink is not entered now, and rear.intake's pushrod was read with 0.400"
    )
    assert verdicts(tmp_path, text) == {"front.intake": "ok", "rear.intake": "unproved"}


def test_a_clearance_by_coordinates_rests_on_the_cut_too(tmp_path: Path) -> None:
    """Of a gear that is drawn the cut moves the valve over its piston, whatever its rod was read on."""
    read = (
        '[train.measured_pushrod]\nlength = "270 +/- 0.1"\nas = "overall"\nplunger = "top"\nlean = 3\n'
        'stack = { head_cut = "0.5 +/- 0.01" }\n'
    )
    text = swapped(
        by_coordinates(tmp_path).read_text(),
        '[train.rocker]\nshaft = ["-32.4',
        f'{read}[train.rocker]\nshaft = ["-32.4',
    )
    for now, is_told in (("", True), ("head_cut = 0.5\n", False)):
        job = tmp_path / "job.toml"
        job.write_text(swapped(text, "head_gasket =", f"{now}head_gasket ="))
        judged = [
            one for one in tallstack("clearance", job, "--json").json["valves"] if one["verdict"] is not None
        ]
        assert judged
        assert all(any("grow back" in why for why in one["look_again"]) == is_told for one in judged)
