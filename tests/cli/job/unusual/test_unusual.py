"""What is possible but unlikely is told, once and at the right entry, and never refused."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.contents import Entry
from tallstack.cli.job.entries.catalogue import kind_at
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import load
from tallstack.cli.job.look_again import LookAgain
from tallstack.cli.job.reading.values import Value
from tallstack.cli.job.unusual.unusual import unlike, unusual_value
from tallstack.geometry.core.mapping import frozen
from tallstack.geometry.engine.engine import build
from tallstack.geometry.pushrod.pushrods import required

from ....clearance_jobs import by_coordinates

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


# What stands over a piston, and the lobes.

OVER_PISTON = """\
format = 1
units = "mm"
[crank]
stroke = 94.6
[piston]
compression_height = 31.2
diameter = 88.3
crown_thickness = 6.5
[stack]
bore = 88.4
cylinder = 121.7
head_gasket = 1.2
[lobe.intake]
card = { peak = 7.6, events = { at = 1.27, opens = 22, closes = 62 }, seat = { at = 0.15, degrees = 304 } }
[lobe.exhaust]
law = { name = "cycloidal", peak = 7.3, degrees = 292 }
centreline = 110
[[cylinder]]
name = "front"
[[cylinder]]
name = "rear"
[[train]]
cylinder = "front"
port = "intake"
[train.valve]
face = [-21.5, 0, 12]
lean = [-21, 0]
head_diameter = 45.0
margin = 1.3
[train.pocket]
centre = [-17.5, 0]
lean = [-21, 0]
diameter = 49.0
depth = 3.1
[train.measured_drop]
drop = "7.2 +/- 0.05"
lean = 21
meets = "pocket"
stack = { head_gasket = 0.8 }
[[train]]
cylinder = "front"
port = "exhaust"
[train.valve]
face = [21.0, 0, 11.5]
lean = [20, 0]
head_diameter = 38.0
[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
mirror = true
[[train]]
cylinder = "rear"
port = "exhaust"
like = "front.exhaust"
mirror = true
"""


def test_usual_valves_pockets_and_lobes_are_quiet(tmp_path: Path) -> None:
    assert warned(tmp_path, OVER_PISTON) == ()


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (
            "face = [-21.5, 0, 12]",
            "face = [-21.5, 0, -4]",
            "front.intake.valve.face lies 4.000 mm (0.1575 in) below the head's gasket face with the valve closed: "
            "is the sign right?",
        ),
        (
            "face = [-21.5, 0, 12]",
            "face = [-26.5, 0, 24]",
            "front.intake's head reaches 3.306 mm (0.1301 in) beyond the bore's wall with the valve closed: look at "
            "valve.face, valve.head_diameter and stack.bore",
        ),
        (
            "diameter = 49.0",
            "diameter = 44.0",
            "front.intake.pocket.diameter 44.000 mm (1.7323 in) is less than the valve's head of 45.000 mm "
            "(1.7717 in), which does not go into it: look at both",
        ),
        (
            "centre = [-17.5, 0]\nlean = [-21, 0]",
            "centre = [-17.5, 0]\nlean = [21, 0]",
            "front.intake's pocket leans 42.0 deg away from its valve's stem: is the sign right?",
        ),
        (
            "centre = [-17.5, 0]\nlean = [-21, 0]",
            "centre = [-17.5, 0]\nlean = [-26, 0]",
            "front.intake's pocket leans 5.0 deg away from its valve's stem: look at both",
        ),
        (
            "centre = [-17.5, 0]",
            "centre = [17.5, 0]",
            "front.intake's pocket lies 34.394 mm (1.3541 in) from where its valve comes down, at (-16.9, 0.0) mm "
            "from the axis: look at the signs of pocket.centre",
        ),
        (
            "diameter = 88.3",
            "diameter = 83.8",
            "piston.diameter 83.800 mm (3.2992 in) leaves a play of 4.600 mm (0.1811 in) in the bore of 88.400 mm "
            "(3.4803 in): look at both",
        ),
        (
            "crown_thickness = 6.5",
            "crown_thickness = 6.5\ndish = { depth = 7.0, diameter = 80 }",
            "piston.dish.depth 7.000 mm (0.2756 in) is deeper than the crown is thick, 6.500 mm (0.2559 in): does its "
            "underside follow the dish?",
        ),
        (
            '"7.2 +/- 0.05"',
            "0.284",
            "front.intake.measured_drop.drop = 0.284 reads as 0.284 mm (0.01118 in); 7.214 mm would be usual: was it "
            "typed in inches?",
        ),
        (
            "lean = 21\n",
            "lean = 12\n",
            "front.intake.measured_drop.lean 12.0 deg is not the 21.0 deg of its valve.lean, the two views taken "
            "together: look at both",
        ),
        (
            'meets = "pocket"',
            'meets = "crown"',
            "front.intake.measured_drop meets the crown, but there is a pocket under its valve: which of them was it?",
        ),
        (
            "head_gasket = 0.8",
            "head_gasket = 2.8",
            "the stack of front.intake is now 1.600 mm (0.0630 in) lower than when its drop was read: are then and "
            "now swapped?",
        ),
        (
            "degrees = 292",
            "degrees = 146",
            "lobe.exhaust.law.degrees = 146 reads as 146 deg; 292 deg of the crank would be usual: are these degrees "
            "of the cam?",
        ),
        (
            "degrees = 292",
            "degrees = 152",
            "lobe.exhaust.law.degrees = 152 deg of the crank is short; 304 would be usual: are these degrees of the "
            "cam?",
        ),
        (
            "degrees = 292",
            "degrees = 388",
            "lobe.exhaust.law.degrees = 388 deg of the crank is long for a lobe: were the degrees counted twice?",
        ),
        (
            "events = { at = 1.27, opens = 22, closes = 62 }, seat = { at = 0.15, degrees = 304 }",
            "duration = { at = 1.27, degrees = 132 }",
            "lobe.intake.card.duration.degrees = 132 deg of the crank is short; 264 would be usual: are these degrees "
            "of the cam?",
        ),
        (
            "centreline = 110",
            "centreline = 55",
            "lobe.exhaust.centreline = 55 reads as 55 deg; 110 deg of the crank would be usual: are these degrees of "
            "the cam?",
        ),
        (
            "opens = 22, closes = 62",
            "opens = 62, closes = 22",
            "lobe.intake's events are centred 70 deg from overlap top centre; most lie between 80 and 130: are opens "
            "and closes exchanged?",
        ),
        (
            "[lobe.exhaust]",
            "centreline = 105\n[lobe.exhaust]",
            "lobe.intake.centreline 105 deg and its events, centred at 110 deg, are not the same: the events are taken",
        ),
        (
            "[lobe.exhaust]",
            '[lobe.inlet]\nlaw = { name = "cycloidal", peak = 7.3, degrees = 292 }\n[lobe.exhaust]',
            "lobe.inlet moves no valve; did you mean intake?",
        ),
        (
            "[lobe.exhaust]",
            '[lobe.spare]\nlaw = { name = "cycloidal", peak = 7.3, degrees = 292 }\n[lobe.exhaust]',
            'lobe.spare moves no valve; it is named after its port, or by lobe = "spare" in a [[train]]',
        ),
        (
            "stroke = 94.6",
            "stroke = 47.3",
            "stack.bore 88.400 mm (3.4803 in) and crank.stroke 47.300 mm (1.8622 in) make an unusual pair: look at "
            "the units of both, and whether that is the throw",
        ),
    ],
)
def test_unlikely_pair_is_told_once_and_not_at_its_copy(
    tmp_path: Path, before: str, after: str, told: str
) -> None:
    assert warned(tmp_path, swapped(OVER_PISTON, before, after)) == (told,)


def test_heads_wider_than_the_bore_are_told_only_where_nobody_said_where_they_stand(tmp_path: Path) -> None:
    wide = swapped(OVER_PISTON, "head_diameter = 45.0", "head_diameter = 48.5")
    wide = swapped(wide, "head_diameter = 38.0", "head_diameter = 40.5")
    wide = swapped(wide, "[-21.5, 0, 12]", "[-26.5, 0, 12]")
    wide = swapped(wide, "bore = 88.4", "bore = 98.4").replace("diameter = 88.3", "diameter = 98.3")
    assert warned(tmp_path, swapped(wide, "centre = [-17.5", "centre = [-21.9")) == ()
    narrow = swapped(wide, "face = [-26.5, 0, 12]\n", "").replace("face = [21.0, 0, 11.5]\n", "")
    narrow = narrow.replace("bore = 98.4", "bore = 88.4").replace("diameter = 98.3", "diameter = 88.3")
    heads = "valve heads, 48.500 mm (1.9094 in) and 40.500 mm (1.5945 in), are together wider"
    bore = "than its bore of 88.400 mm (3.4803 in): look at the units of all three"
    assert warned(tmp_path, narrow) == (f"front's {heads} {bore}",)


def test_copy_in_the_place_of_its_original(tmp_path: Path) -> None:
    exhaust = """[train.valve]
face = [21.0, 0, 11.5]
lean = [20, 0]
head_diameter = 38.0
"""
    told = "front.exhaust is a copy and has its valve in the very place of front.intake's: give it a valve.face of its own"
    copy = swapped(OVER_PISTON, exhaust, 'like = "front.intake"\n')
    assert [one for one in warned(tmp_path, copy) if "copy" in one] == [
        f"{told}, or mirror = true",
        "rear.exhaust is a copy and has its valve in the very place of rear.intake's: give it a valve.face of its own, "
        "or mirror = true",
    ]
    own = 'like = "front.intake"\nmirror = true\n[train.valve]\nhead_diameter = 38.0\n'
    assert warned(tmp_path, swapped(copy, 'like = "front.intake"\n[[train]]', f"{own}[[train]]")) == ()


def test_exhaust_may_run_on_the_lobe_of_the_intake(tmp_path: Path) -> None:
    one = swapped(OVER_PISTON, 'port = "exhaust"\n', 'port = "exhaust"\nlobe = "intake"\n')
    assert warned(tmp_path, one) == ()


BENCH_DROP = """\
format = 1
units = "in"
[crank]
stroke = "112.4 mm"
conrod_length = "196.0 mm"
[stack]
cylinder = "5.614 +/- 0.001 in"
base_gasket = "0.020 in"
head_gasket = "0.043 in"
[[cylinder]]
name = "front"
lean = 27
[lobe.intake]
card = { peak = "0.318 in", duration = { at = "0.050 in", degrees = 236 } }
centreline = 104
[[train]]
cylinder = "front"
port = "intake"
[train.measured_drop]
drop = "0.312 +/- 0.002 in"
lean = "23 +/- 1"
meets = "pocket"
room = "0.070 in"
stack = { head_gasket = "0.030 in" }
"""


def test_what_a_drop_by_the_bench_route_needs_is_whole_and_quiet(tmp_path: Path) -> None:
    assert warned(tmp_path, BENCH_DROP) == ()
    without = BENCH_DROP.replace('stroke = "112.4 mm"\n', "").replace('conrod_length = "196.0 mm"\n', "")
    assert warned(tmp_path, without) == ()  # the command that needs them says so
    drawn = BENCH_DROP.replace('lean = "23 +/- 1"\n', "") + "[train.valve]\nlean = [-23, 0]\n"
    assert warned(tmp_path, drawn) == ()


@pytest.mark.parametrize(
    "blank",
    [
        'table = ""',
        'card = { peak = "" }',
        'card = { duration = { at = "", degrees = "" } }',
        'card = { peak = "", duration = { at = "", degrees = 236 } }',
        'law = { name = "", peak = 0.3 }',
        'law = { degrees = "" }',
    ],
)
def test_lobe_left_blank_is_not_called_missing(tmp_path: Path, blank: str) -> None:
    card = 'card = { peak = "0.318 in", duration = { at = "0.050 in", degrees = 236 } }'
    assert warned(tmp_path, swapped(BENCH_DROP, card, blank)) == ()


def test_card_may_say_its_events_and_the_same_duration(tmp_path: Path) -> None:
    events = "events = { at = 1.27, opens = 22, closes = 62 }"
    same = swapped(OVER_PISTON, events, f"{events}, duration = {{ at = 1.27, degrees = 264 }}")
    assert warned(tmp_path, same) == ()
    assert (
        warned(tmp_path, swapped(same, "at = 1.27, degrees = 264", 'at = "0.050 in", degrees = 263.6')) == ()
    )


# Where a crown, a pocket and a rocker stand, and what a reading does not tell.


def placed(tmp_path: Path, *variations: str, more: str = "") -> tuple[str, ...]:
    """Return what is told of a single by coordinates, which is usual, with other values tried."""
    return load(by_coordinates(tmp_path, more=more), variations).warnings


def test_usual_single_by_coordinates_is_quiet(tmp_path: Path) -> None:
    assert placed(tmp_path) == ()


OF_CROWN = "look at crank.stroke, crank.conrod_length, piston.compression_height and the entries of [stack]"


@pytest.mark.parametrize(
    ("deck", "told"),
    [(131.29, True), (131.31, False), (147.34, False), (147.36, True)],
)
def test_crown_far_out_of_its_cylinder_or_far_down(tmp_path: Path, deck: float, told: bool) -> None:
    # By hand: the crown at top centre is sqrt((176 + 48)^2 - 0.8^2) + 34 = 257.99857 above the crank; the cylinder's
    # top is deck + 0.45 + 125.2, so with 131.9 the crown is 0.44857 out of it under a gasket of 1.05.
    found = placed(tmp_path, f"stack.case_deck={deck}")
    below = deck + 0.45 + 125.2 - 257.99857
    if not told:
        assert found == ()
    elif below < 0:
        out = f"{-below:.3f} mm ({-below / 25.4:.4f} in)"
        assert found == (
            f"at top centre the crown stands {out} out of its cylinder, further than the head gasket's 1.050 mm "
            f"(0.0413 in): it would meet a flat head; {OF_CROWN}",
        )
    else:
        down = f"{below:.3f} mm ({below / 25.4:.4f} in)"
        assert found == (
            f"at top centre the crown stands {down} below its cylinder's top; most stand within a millimetre or two of "
            f"it: {OF_CROWN}",
        )


def test_crown_is_told_only_where_everything_is_entered_and_once_for_alike_cylinders(tmp_path: Path) -> None:
    text = by_coordinates(tmp_path).read_text(encoding="utf-8").replace("131.9 +/- 0.05", "128.9")
    text = text.replace("[[cylinder]]", '[[cylinder]]\nname = "two"\n[[cylinder]]')
    assert [one[:31] for one in warned(tmp_path, text)] == ["at top centre the crown stands "]
    own = text.replace('name = "two"', 'name = "two"\nstack.cylinder = 128.2')
    assert warned(tmp_path, own) == ()  # the first cylinder is "two" here, and "one" is like no other
    own = text.replace('name = "one"\n[lobe', 'name = "one"\nstack.cylinder = 121.2\n[lobe')
    assert [one.split(" stands")[0] for one in warned(tmp_path, own)] == [
        "at top centre the crown",
        "at top centre one's crown",
    ]
    for line in ('base_gasket = "0.45 +/- 0.03"\n', 'compression_height = "34.0 +/- 0.05"\n'):
        assert warned(tmp_path, swapped(text, line, "")) == ()


@pytest.mark.parametrize(("centre", "told"), [(-22.1, False), (-22.3, True)])
def test_pocket_that_runs_out_of_the_bore(tmp_path: Path, centre: float, told: bool) -> None:
    # By hand: the rim's ellipse is 46 / 2 / cos 22 deg = 24.80629 long towards the wall, the bore's radius is 46.
    found = placed(tmp_path, f"one.intake.pocket.centre=[{centre}, 0]")
    past = -centre + 23 / math.cos(math.radians(22)) - 46
    shown = f"{past:.3f} mm ({past / 25.4:.4f} in)"
    sentence = (
        f"one.intake's pocket runs {shown} past the bore's wall: look at pocket.centre, pocket.lean and "
        "pocket.diameter"
    )
    assert found == ((sentence,) if told else ())


def test_rim_of_a_pocket_is_looked_at_all_round_and_only_where_it_is_cut(tmp_path: Path) -> None:
    aside = placed(tmp_path, "one.intake.pocket.centre=[-19.6, 18]")
    turns = np.radians(np.arange(0, 360, 0.01))
    across = -19.6 + 23 / math.cos(math.radians(22)) * np.cos(turns)
    past = float(np.hypot(across, 18 + 23 * np.sin(turns)).max()) - 46
    assert f"pocket runs {past:.3f} mm" in " ".join(aside)
    # On its other side the cutter has left the crown before it comes to the wall.
    assert not any("past the bore" in one for one in placed(tmp_path, "one.intake.pocket.centre=[24, 0]"))
    deep = placed(tmp_path, "one.intake.pocket.centre=[24, 0]", "one.intake.pocket.depth=19")
    assert any("past the bore" in one for one in deep)


def test_rocker_that_misses_its_stem(tmp_path: Path) -> None:
    def across(*variations: str) -> float:
        mapping = load(by_coordinates(tmp_path), variations).mapping
        found = required(build(mapping).train("one.intake")).across
        assert found is not None
        return float(found)

    for arm, way in (("31.2", "towards"), ("39.2", "away from")):
        tried = f"one.intake.rocker.valve_arm={arm}"
        off = abs(across(tried))
        assert 3 < off < 6
        shown = f"{off:.3f} mm ({off / 25.4:.4f} in)"
        near, beyond = (f"one.intake.valve.stem_diameter={2 * off + more}" for more in (0.01, -0.01))
        assert placed(tmp_path, tried, near) == ()
        radius = f"{off - 0.005:.3f} mm ({(off - 0.005) / 25.4:.4f} in)"
        assert placed(tmp_path, tried, beyond) == (
            f"with the valve closed one.intake's rocker bears {shown} off the centre of the stem's tip, {way} the shaft, "
            f"and the stem's radius is {radius}: it misses the tip; look at rocker.shaft, rocker.valve_arm and where the "
            "valve stands",
        )
    text = by_coordinates(tmp_path).read_text(encoding="utf-8").replace("stem_diameter = 8.0\n", "")
    (told,) = warned(tmp_path, text, "one.intake.rocker.valve_arm=25")
    assert "and no stem's radius is more than 6.000 mm" in told
    assert warned(tmp_path, text, "one.intake.rocker.valve_arm=31.2") == ()


def test_what_is_at_fault_is_told_as_a_fault_not_stumbled_over(tmp_path: Path) -> None:
    for tried in (
        "crank.conrod_length=40",
        "one.intake.rocker.span=200",
        "one.intake.rocker.direction=[0, 0, 0]",
        "piston.pin_offset=300",
    ):
        with pytest.raises(InputFaultsError):
            placed(tmp_path, tried)


@pytest.mark.parametrize(
    ("tried", "told"),
    [
        ("front.intake.pocket.depth=0.11", "front.intake.pocket.depth does"),
        ("front.intake.pocket={ depth = 0.11, diameter = 1.8 }", "front.intake.pocket.depth and front."),
        ("piston.dish={ depth = 0.05, diameter = 2 }", "piston.dish.depth and piston.dish.diameter do"),
        ("front.piston.dome.height=0.05", "front.piston.dome.height does"),
        ("piston.crown_thickness=0.3", ""),
        ("head_gasket", ""),
    ],
)
def test_pocket_tried_under_a_drop_that_was_read(tmp_path: Path, tried: str, told: str) -> None:
    tried = tried if tried != "head_gasket" else "stack.head_gasket=0.05"
    text = f"{BENCH_DROP}[train.pocket]\ndepth = 0.09\n"
    found = warned(tmp_path, text, tried)
    assert len(found) == bool(told)
    if told:
        assert found[0].startswith(told)
        assert found[0].endswith(
            "not act on the drop that was read at front.intake, the one thing its clearance is known by: after "
            "cutting, measure that drop again"
        )
    assert warned(tmp_path, text, tried, "front.intake.measured_drop.drop=0.33") == ()  # measured again


def test_pocket_tried_under_a_valve_by_coordinates_acts(tmp_path: Path) -> None:
    assert warned(tmp_path, OVER_PISTON, "front.intake.pocket.depth=3.4") == ()


def test_pocket_tried_is_told_at_its_copy_too(tmp_path: Path) -> None:
    rear = '[[cylinder]]\nname = "rear"\n[[train]]\ncylinder = "front"'
    text = swapped(BENCH_DROP, '[[train]]\ncylinder = "front"', rear)
    drop = text[text.index("[train.measured_drop]") :]
    text += f'[train.pocket]\ndepth = 0.09\n[[train]]\ncylinder = "rear"\nport = "intake"\nlike = "front.intake"\n{drop}'
    found = warned(tmp_path, text, "front.intake.pocket.depth=0.11")
    assert [one.split(", ")[0] for one in found] == [
        "front.intake.pocket.depth does not act on the drop that was read at front.intake",
        "rear.intake.pocket.depth does not act on the drop that was read at rear.intake",
    ]


@pytest.mark.parametrize(("lash_at", "asked"), [("pushrod", True), ("valve", False)])
def test_a_seat_duration_within_the_lash_is_asked_about_as_the_lifter_feels_it(
    tmp_path: Path, lash_at: str, asked: bool
) -> None:
    """0.11 mm reach to the 0.152 mm of the seat by 0.05; over a ratio of 1.6 they are 0.07 mm at the lifter."""
    solid = f'kind = "solid"\nlash = 0.11\nlash_at = "{lash_at}"\n[train.rocker]\nratio = 1.6'
    text = swapped(TWO, 'kind = "hydraulic"\npreload = 1.0\nplunger_travel = 3.5', solid)
    text = text.replace('plunger = "top"\n', "")
    text += """[lobe.intake]
centreline = 106
card = { peak = "0.390 in", duration = { at = "0.053 in", degrees = 250 }, seat = { at = "0.006 in", degrees = 290 } }
"""
    told = [one for one in warned(tmp_path, text) if "read on the ramp" in one]
    assert bool(told) is asked
    assert not any("Which lifter, which lash?" in one for one in told)  # both are entered


def test_a_lifter_that_is_not_said_is_asked_for_with_a_seat_on_the_ramp(tmp_path: Path) -> None:
    lobe = """[lobe.intake]
centreline = 106
card = { peak = "0.390 in", duration = { at = "0.053 in", degrees = 250 }, seat = { at = "0.006 in", degrees = 340 } }
"""
    for text, asked in ((swapped(TWO, 'kind = "hydraulic"\n', ""), True), (TWO, False)):
        (told,) = [one for one in warned(tmp_path, text + lobe) if "read on the ramp" in one]
        assert ("Which lifter, which lash?" in told) is asked


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
