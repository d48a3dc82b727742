"""What is unlikely about valves, pockets, crowns and lobes is told once, at the right entry."""

from __future__ import annotations

from pathlib import Path

import pytest

from ....job_texts import TWO, swapped, warned

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


@pytest.mark.parametrize(("drop", "asked"), [("0.284", True), ("0.5", True), ("0.72", False)])
def test_a_small_drop_is_taken_for_inches_only_where_that_would_be_usual(
    tmp_path: Path, drop: str, asked: bool
) -> None:
    """18 mm are no usual drop; that 0.72 mm is little is told by its limit."""
    told = " ".join(warned(tmp_path, swapped(OVER_PISTON, '"7.2 +/- 0.05"', drop)))
    assert ("typed in inches?" in told) is asked
