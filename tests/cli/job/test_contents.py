"""What a job file means: copies and mirrors, one cylinder's own entries, values tried with --with."""

from __future__ import annotations

import json
import math
import tomllib
from pathlib import Path
from typing import Any

import jsonschema  # type: ignore[import-untyped, unused-ignore]
import numpy as np
import pytest
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry import build, required
from tallstack.geometry.core.frames import from_lean
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine.alternatives import pocket_centre
from tallstack.geometry.engine.engine import Train
from tallstack.geometry.gear.train import closed

from ...clearance_jobs import by_coordinates
from ...commands import tallstack
from ...seeded import few

BENCH = """\
format = 1
title = "Twin by the bench route"
units = "in"

[stack]
cylinder = "5.402 +/- 0.001 in"
base_gasket = "0.021 in"
head_gasket = "0.039 +/- 0.002 in"

[[cylinder]]
name = "front"
lean = 24
[[cylinder]]
name = "rear"
lean = -24
fires_at = 312
stack.cylinder = "5.398 in"

[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
preload = "0.042 in"
plunger_travel = "0.145 in"
[train.pushrod]
ball_diameter_low = "5/16 in"
ball_diameter_high = "5/16 in"
hole_low = "0.075 in"
hole_high = "0.075 in"
[train.measured_pushrod]
length = "11.034 +/- 0.003 in"
as = "overall"
plunger = "top"
lean = "2 +/- 1"

[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
[train.measured_pushrod]
checking_rod = { closed = "10.600 in", turns = 8.6, threads_per_inch = 20 }
as = "overall"
plunger = { down = "0.010 in" }
lean = [1.5, -2.0]
stack = { cylinder = "5.200 in" }
"""

FULL = """\
format = 1
title = "Twin by coordinates"
units = "mm"

[crank]
stroke = 91.8
conrod_length = 168.0
turns = "forward"

[piston]
compression_height = 30.5
pin_offset = 0.8

[stack]
bore = 86.4
case_deck = 126.1
base_gasket = 0.4
cylinder = "118.9 +/- 0.02"
head_gasket = 1.3
case_cut = 0.1
head_cut = 0.2

[[cylinder]]
name = "front"
lean = 24
[[cylinder]]
name = "rear"
lean = -24

[[train]]
cylinder = "front"
port = "intake"
[train.lifter]
kind = "hydraulic"
seat = [-19.5, "55 +/- 0.3", -8]
lean = [1.4, -0.9]
lowered = 0.2
plunger_travel = 3.3
preload = 1.0
[train.rocker]
shaft = [-31, 25, 118.5]
direction = [0.02, 1, 0.01]
valve_arm = 32.0
pushrod_arm = 20.5
arm_angle = 161
valve_station = -25
pushrod_station = 21
tip_radius = 5.2
adjuster = { kind = "pushrod screw", threads_per_inch = 24, axis = [3, 1] }
[train.valve]
face = [-20.5, 1, 11]
lean = [-20, 1]
length = 101.0
head_diameter = 44.0
sink = 0.0
[train.pocket]
centre = [-17, 0.5]
lean = [-20, 1]
diameter = 48.0
depth = 3.0
[train.pushrod]
ball_diameter_low = 7.9
ball_diameter_high = 7.9
hole_low = 1.8
hole_high = 1.8

[[train]]
cylinder = "rear"
port = "intake"
like = "front.intake"
mirror = true
"""


def job(tmp_path: Path, text: str, *variations: str) -> JobFile:
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return load(path, variations)


def changed(text: str, *swaps: tuple[str, str]) -> str:
    for before, after in swaps:
        assert before in text
        text = text.replace(before, after, 1)
    return text


def train(found: JobFile, name: str = "front.intake") -> Train:
    return build(found.mapping).train(name)


def centres(found: JobFile, name: str = "front.intake") -> float:
    return float(required(train(found, name)).lengths["centres"])


def entries_under(found: JobFile, name: str) -> dict[str, float | str]:
    prefix = f"{name}."
    return {
        path.removeprefix(prefix): entry.value
        for path, entry in found.entries.items()
        if path.startswith(prefix)
    }


# like and mirror


def test_like_copies_everything_but_readings(tmp_path: Path) -> None:
    found = job(tmp_path, BENCH)
    front, rear = entries_under(found, "front.intake"), entries_under(found, "rear.intake")
    copied = {path for path in front if not path.startswith("measured_")}
    assert {path: rear[path] for path in copied} == {path: front[path] for path in copied}
    assert rear["measured_pushrod.plunger.down"] == 0.254
    assert "measured_pushrod.plunger" not in rear
    assert "measured_pushrod.length" not in rear
    assert "measured_pushrod.checking_rod.turns" not in front


def test_like_alone_has_no_reading(tmp_path: Path) -> None:
    text = BENCH[: BENCH.index('like = "front.intake"')] + 'like = "front.intake"\n'
    found = job(tmp_path, text)
    assert not any(path.startswith("rear.intake.measured_pushrod") for path in found.entries)
    assert train(found, "rear.intake").measured is None


def test_copy_says_where_it_came_from(tmp_path: Path) -> None:
    entry = job(tmp_path, BENCH).entries["rear.intake.lifter.preload"]
    assert entry.origin == "like front.intake"
    assert entry.follows == "front.intake.lifter.preload"
    assert entry.typed == "0.042 in"


REVERSED = (
    "lifter.seat",
    "lifter.lean",
    "rocker.shaft",
    "rocker.direction",
    "rocker.adjuster.axis",
    "valve.face",
    "valve.lean",
    "pocket.centre",
    "pocket.lean",
)


def test_mirror_reverses_x_and_nothing_else(tmp_path: Path) -> None:
    found = job(tmp_path, FULL)
    front, rear = entries_under(found, "front.intake"), entries_under(found, "rear.intake")
    assert set(front) == set(rear)
    for path, value in front.items():
        if path in {f"{row}.x" for row in REVERSED}:
            assert rear[path] == -float(value)
        else:
            assert rear[path] == value
    assert {path for path in front if path.endswith(".x")} == {f"{row}.x" for row in REVERSED}


def test_mirror_of_a_mirror_is_the_gear_itself(tmp_path: Path) -> None:
    again = '\n[[train]]\ncylinder = "front"\nport = "exhaust"\nlike = "rear.intake"\nmirror = true\n'
    found = job(tmp_path, FULL + again)
    assert entries_under(found, "front.exhaust") == entries_under(found, "front.intake")
    assert found.entries["front.exhaust.lifter.seat.y"].follows == "front.intake.lifter.seat.y"
    assert found.entries["front.exhaust.lifter.seat.x"].sign == 1.0


def test_mirrored_gear_takes_the_same_pushrod(tmp_path: Path) -> None:
    found = job(tmp_path, FULL)
    assert centres(found, "rear.intake") == pytest.approx(centres(found), abs=1e-9)


def test_doubt_of_a_copy_is_that_of_the_original(tmp_path: Path) -> None:
    found = job(tmp_path, FULL)
    assert "front.intake.lifter.seat.y" in found.doubts
    assert "rear.intake.lifter.seat.y" not in found.doubts
    assert found.quantities["front.intake.lifter.seat.x"] == {
        "front.intake.lifter.seat.x": 1.0,
        "rear.intake.lifter.seat.x": -1.0,
    }


def test_what_is_written_overrides_the_copy(tmp_path: Path) -> None:
    found = job(tmp_path, FULL + "[train.rocker]\nvalve_arm = 33.5\n[train.pocket]\ndepth = 3.4\n")
    rear = entries_under(found, "rear.intake")
    assert rear["rocker.valve_arm"] == 33.5
    assert rear["pocket.depth"] == 3.4
    assert rear["rocker.pushrod_arm"] == 20.5
    assert rear["lifter.seat.x"] == 19.5


@pytest.mark.parametrize(
    ("written", "gone", "kept"),
    [
        ("[train.rocker]\nratio = 1.6\n", ("rocker.pushrod_arm",), ("rocker.valve_arm", "rocker.arm_angle")),
        ("[train.rocker]\nspan = 51.8\n", ("rocker.arm_angle",), ("rocker.pushrod_arm",)),
        (
            "[train.rocker]\ncup = [12, 46, 121]\n",
            ("rocker.pushrod_arm", "rocker.arm_angle", "rocker.pushrod_station"),
            ("rocker.valve_arm", "rocker.valve_station", "rocker.shaft.x"),
        ),
        ("[train.valve]\ntip_height = 106\n", ("valve.length",), ("valve.face.x",)),
        ("[train.pocket]\ndeepest = [-24, 0]\n", ("pocket.centre.x", "pocket.centre.y"), ("pocket.depth",)),
        (
            "[train.rocker.adjuster]\npitch = 1.0\n",
            ("rocker.adjuster.threads_per_inch",),
            ("rocker.adjuster.kind",),
        ),
        (
            '[train.lifter]\nkind = "solid"\nlash = 0.1\n',
            ("lifter.preload", "lifter.plunger_travel"),
            ("lifter.seat.x", "lifter.lowered"),
        ),
        ('[train.lifter]\nkind = "hydraulic"\n', (), ("lifter.preload", "lifter.plunger_travel")),
    ],
)
def test_another_way_to_say_a_thing_does_away_with_the_copied_one(
    tmp_path: Path, written: str, gone: tuple[str, ...], kept: tuple[str, ...]
) -> None:
    rear = entries_under(job(tmp_path, FULL + written), "rear.intake")
    assert not set(gone) & set(rear)
    assert set(kept) <= set(rear)


def test_order_of_the_gears_does_not_matter(tmp_path: Path) -> None:
    head, first, second = FULL.split("[[train]]\n")
    turned = f"{head}[[train]]\n{second}[[train]]\n{first}"
    assert job(tmp_path, FULL).mapping == {
        **job(tmp_path, turned).mapping,
        "trains": ("front.intake", "rear.intake"),
    }


# one cylinder's own entries


def test_cylinder_has_its_own_entries(tmp_path: Path) -> None:
    text = FULL.replace("lean = -24\n", "lean = -24\nstack.head_gasket = 2.3\n")
    assert centres(job(tmp_path, text)) == centres(job(tmp_path, FULL))
    grown = centres(job(tmp_path, text), "rear.intake") - centres(job(tmp_path, FULL), "rear.intake")
    all_grown = changed(FULL, ("head_gasket = 1.3", "head_gasket = 2.3"))
    assert grown == pytest.approx(centres(job(tmp_path, all_grown)) - centres(job(tmp_path, FULL)), abs=1e-9)


# --with


def test_with_tries_another_value_and_leaves_the_file_alone(tmp_path: Path) -> None:
    found = job(tmp_path, BENCH, 'front.intake.lifter.preload="0.050 in"')
    entry = found.entries["front.intake.lifter.preload"]
    assert entry.value == 1.27
    assert entry.origin == '--with front.intake.lifter.preload="0.050 in"'
    assert (tmp_path / "job.toml").read_text() == BENCH


@pytest.mark.parametrize(
    "typed", ['"0.050 in"', "0.050 in", "0.05", "'0.050\"'", '0.050"', "50 thou", " 0.05 "]
)
def test_with_reads_a_value_as_the_shell_leaves_it(tmp_path: Path, typed: str) -> None:
    found = job(tmp_path, BENCH, f"front.intake.lifter.preload={typed}")
    assert found.entries["front.intake.lifter.preload"].value == 1.27


def test_with_one_component_of_a_point(tmp_path: Path) -> None:
    front = entries_under(job(tmp_path, FULL, "front.intake.lifter.seat.x=-20.5"), "front.intake")
    assert (front["lifter.seat.x"], front["lifter.seat.y"]) == (-20.5, 55.0)


def test_with_a_whole_point_and_a_component_of_a_lean(tmp_path: Path) -> None:
    tried = ("front.intake.lifter.seat=[-20, 54, -9]", "front.intake.valve.lean.x=-21")
    front = entries_under(job(tmp_path, FULL, *tried), "front.intake")
    assert [front[f"lifter.seat.{axis}"] for axis in "xyz"] == [-20.0, 54.0, -9.0]
    assert front["valve.lean.x"] == pytest.approx(math.radians(-21), rel=1e-15)


def test_with_for_one_cylinder(tmp_path: Path) -> None:
    before, after = job(tmp_path, FULL), job(tmp_path, FULL, "rear.stack.cylinder=120.9")
    assert centres(after) == centres(before)
    assert centres(after, "rear.intake") - centres(before, "rear.intake") == pytest.approx(2.0, abs=0.01)


@pytest.mark.parametrize(
    ("text", "tried"),
    [
        (FULL, "front.intake.rocker.ratio=1.7"),
        (FULL, "front.intake.rocker.cup=[1, 2, 3]"),
        (FULL, "front.intake.rocker.span=45"),
        (FULL, "front.intake.rocker.adjuster.pitch=1"),
        (FULL, "front.intake.valve.tip_height=90"),
        (FULL, "front.intake.pocket.deepest=[9, 9]"),
        (FULL, "stack.measured_deck.below=9"),
        (BENCH, "front.intake.measured_pushrod.checking_rod={ closed = 10, turns = 2, pitch = 1 }"),
        (BENCH, "rear.intake.measured_pushrod.length=9"),
        (BENCH, "rear.intake.measured_drop.drop=0.2"),  # something that belongs beside it is missing
    ],
)
def test_what_is_tried_is_held_to_what_the_file_says_in_another_way(
    tmp_path: Path, text: str, tried: str
) -> None:
    with pytest.raises(InputFaultsError) as refused:
        job(tmp_path, text, tried)
    assert {fault.outside for fault in refused.value.faults} == {f"--with {tried}"}


def test_what_is_tried_stands_beside_another_way_that_agrees(tmp_path: Path) -> None:
    rocker = entries_under(job(tmp_path, FULL, "front.intake.rocker.ratio=1.561"), "front.intake")
    assert (rocker["rocker.ratio"], rocker["rocker.pushrod_arm"]) == (1.561, 20.5)


@pytest.mark.parametrize(
    ("table", "entries"),
    [
        ('measured_pushrod.plunger={ down = "0.060 in" }', ('measured_pushrod.plunger.down="0.060 in"',)),
        (
            'measured_pushrod.checking_rod={ closed = 10.6, turns = "8.68 +/- 0.05", threads_per_inch = 20 }',
            (
                "measured_pushrod.checking_rod.closed=10.6",
                'measured_pushrod.checking_rod.turns="8.68 +/- 0.05"',
                "measured_pushrod.checking_rod.threads_per_inch=20",
            ),
        ),
        (
            'measured_pushrod={ length = 11.1, stack = { cylinder = "5.3 in", head_gasket = 0.03 } }',
            (
                "measured_pushrod.length=11.1",
                "measured_pushrod.stack.cylinder=5.3",
                "measured_pushrod.stack.head_gasket=0.03",
            ),
        ),
    ],
)
def test_with_a_table_in_braces_sets_every_entry_in_it(
    tmp_path: Path, table: str, entries: tuple[str, ...]
) -> None:
    whole = job(tmp_path, BENCH, f"front.intake.{table}")
    singly = job(tmp_path, BENCH, *(f"front.intake.{one}" for one in entries))
    assert whole.mapping == singly.mapping
    assert whole.doubts == singly.doubts
    assert whole.mapping != job(tmp_path, BENCH).mapping
    both = {"front.intake.measured_pushrod.plunger", "front.intake.measured_pushrod.plunger.down"}
    assert not both <= whole.mapping.keys()


def test_last_of_two_tried_values_stands(tmp_path: Path) -> None:
    found = job(tmp_path, BENCH, "stack.cylinder=5.5", "stack.cylinder=5.6")
    assert found.entries["stack.cylinder"].value == pytest.approx(5.6 * 25.4, rel=1e-15)


def test_copies_follow_what_is_tried(tmp_path: Path) -> None:
    rear = entries_under(job(tmp_path, FULL, "front.intake.lifter.seat.x=-20.5"), "rear.intake")
    assert rear["lifter.seat.x"] == 20.5
    apart = entries_under(job(tmp_path, FULL, "rear.intake.lifter.seat.x=20.5"), "front.intake")
    assert apart["lifter.seat.x"] == -19.5


def test_reading_keeps_the_stack_it_was_taken_on(tmp_path: Path) -> None:
    before, after = job(tmp_path, BENCH), job(tmp_path, BENCH, "stack.cylinder=5.502")
    growth = float(np.cos(np.radians(2))) * 0.1 * 25.4
    assert centres(after) - centres(before) == pytest.approx(growth, abs=0.01)
    assert after.entries["front.intake.measured_pushrod.stack.cylinder"].value == pytest.approx(5.402 * 25.4)
    assert before.entries["front.intake.measured_pushrod.stack.cylinder"].follows == "stack.cylinder"
    assert after.entries["front.intake.measured_pushrod.stack.cylinder"].follows == ""


def test_every_entry_can_be_tried_as_it_was_typed(tmp_path: Path) -> None:
    for text in (BENCH, FULL):
        plain = job(tmp_path, text)
        for path, entry in plain.entries.items():
            if entry.origin or entry.follows:
                continue
            again = job(tmp_path, text, f"{path}={json.dumps(entry.typed)}")
            assert again.entries[path].value == entry.value, path
            assert again.entries[path].doubt == entry.doubt


# reading the file


def test_mark_in_front_of_the_file_is_passed_over(tmp_path: Path) -> None:
    assert job(tmp_path, "\ufeff" + BENCH).mapping == job(tmp_path, BENCH).mapping


def test_line_ends_of_another_system_make_no_difference(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(BENCH.replace("\n", "\r\n").encode())
    assert load(path).mapping == job(tmp_path, BENCH).mapping


def test_units_of_the_file_make_no_difference(tmp_path: Path) -> None:
    bare = changed(BENCH, ('preload = "0.042 in"', "preload = 0.042"))
    assert job(tmp_path, bare).mapping == job(tmp_path, BENCH).mapping
    metric = changed(BENCH, ('units = "in"', 'units = "mm"'))
    assert job(tmp_path, metric).mapping == job(tmp_path, BENCH).mapping


def test_number_is_kept_as_typed(tmp_path: Path) -> None:
    found = job(tmp_path, changed(FULL, ("stroke = 91.8", "stroke = 91.80")))
    assert found.entries["crank.stroke"].typed == "91.80"


def test_blanks_are_open_and_not_entries(tmp_path: Path) -> None:
    blank = changed(
        BENCH,
        ('"0.042 in"', '""'),
        ('plunger = "top"', 'plunger = ""'),
        ('as = "overall"', 'as = " "'),
    )
    blank = changed(blank, ("[train.lifter]", '[train.lifter]\nseat = ["", "", ""]\nlean = ""'))
    found = job(tmp_path, blank)
    assert {one.path for one in found.blanks} >= {
        "front.intake.lifter.preload",
        "front.intake.lifter.seat",
        "front.intake.lifter.lean",
        "front.intake.measured_pushrod.plunger",
        "front.intake.measured_pushrod.as",
    }
    assert not any(one.path in found.entries for one in found.blanks)


def test_blank_is_filled_by_what_is_tried(tmp_path: Path) -> None:
    blank = changed(BENCH, ('"0.042 in"', '""'))
    found = job(tmp_path, blank, "front.intake.lifter.preload=0.042")
    assert "front.intake.lifter.preload" not in {one.path for one in found.blanks}
    assert centres(found) == centres(job(tmp_path, BENCH))


def test_title_is_the_files_name_where_none_is_given(tmp_path: Path) -> None:
    assert job(tmp_path, changed(BENCH, ('title = "Twin by the bench route"', 'title = ""'))).title == "job"


def test_every_fault_is_in_the_exception(tmp_path: Path) -> None:
    with pytest.raises(InputFaultsError) as caught:
        job(tmp_path, changed(FULL, ("stroke = 91.8", "stroke = 0"), ("hole_low = 1.8", "hole_low = 18")))
    assert {fault.entry for fault in caught.value.faults} >= {"crank.stroke (U)"}
    assert len(caught.value.faults) == 2  # the hole is copied, and told once


# every other way to say a thing


def _drawn(tmp_path: Path) -> Any:
    drawn = train(job(tmp_path, FULL)).drawn
    assert drawn is not None
    return drawn


def _cup(tmp_path: Path) -> str:
    """Return where the cup's ball centre lies in the head, valve closed."""
    drawn = _drawn(tmp_path)
    pose, angle = closed(drawn), math.radians(161)
    across = math.cos(angle) * pose.valve_dir + math.sin(angle) * np.cross(pose.turn, pose.valve_dir)
    at = np.array([-31, 25, 118.5]) + 21 * drawn.axis + 20.5 * across
    return "[" + ", ".join(repr(float(one)) for one in at) + "]"


def _span() -> float:
    return math.sqrt(32**2 + 20.5**2 - 2 * 32 * 20.5 * math.cos(math.radians(161)))


def _below() -> float:
    top = math.sqrt((168 + 45.9) ** 2 - 0.8**2) + 30.5
    return 126.1 + 0.4 + 118.9 - top  # read before the case was cut


def _tip_height() -> float:
    return float(11 + 101 * from_lean(np.radians(-20.0), np.radians(1.0))[2])


def test_ratio_in_place_of_an_arm(tmp_path: Path) -> None:
    plain = centres(job(tmp_path, FULL))
    for arm in ("valve_arm = 32.0", "pushrod_arm = 20.5"):
        said = changed(FULL, (arm, f"ratio = {32 / 20.5!r}"))
        assert centres(job(tmp_path, said)) == pytest.approx(plain, abs=1e-9)


def test_span_in_place_of_the_arm_angle(tmp_path: Path) -> None:
    said = changed(FULL, ("arm_angle = 161", f'span = {_span()!r}\narms = "droop"'))
    assert centres(job(tmp_path, said)) == pytest.approx(centres(job(tmp_path, FULL)), abs=1e-9)
    over = changed(FULL, ("arm_angle = 161", "arm_angle = 199"))
    said = changed(FULL, ("arm_angle = 161", f'span = {_span()!r}\narms = "rise"'))
    assert centres(job(tmp_path, said)) == pytest.approx(centres(job(tmp_path, over)), abs=1e-9)


def test_cup_in_place_of_arm_angle_and_station(tmp_path: Path) -> None:
    said = changed(
        FULL,
        ("pushrod_arm = 20.5\n", ""),
        ("arm_angle = 161\n", ""),
        ("pushrod_station = 21\n", f"cup = {_cup(tmp_path)}\n"),
    )
    found = job(tmp_path, said)
    assert centres(found) == pytest.approx(centres(job(tmp_path, FULL)), abs=1e-8)
    assert centres(found, "rear.intake") == pytest.approx(centres(job(tmp_path, FULL)), abs=1e-8)


def test_tip_height_in_place_of_the_stems_length(tmp_path: Path) -> None:
    said = changed(FULL, ("length = 101.0", f"tip_height = {_tip_height()!r}"))
    assert centres(job(tmp_path, said)) == pytest.approx(centres(job(tmp_path, FULL)), abs=1e-9)


def test_measured_deck_in_place_of_the_case_deck(tmp_path: Path) -> None:
    said = changed(FULL, ("case_deck = 126.1", f"measured_deck = {{ below = {_below()!r} }}"))
    assert centres(job(tmp_path, said)) == pytest.approx(centres(job(tmp_path, FULL)), abs=1e-9)


def test_deepest_point_in_place_of_the_pockets_centre(tmp_path: Path) -> None:
    plain = pocket_centre(Reader(job(tmp_path, FULL).mapping, ("front.intake.",)))
    lean = from_lean(np.radians(-20.0), np.radians(1.0))
    down = np.array([lean[0], lean[1]]) / np.hypot(lean[0], lean[1])
    said = changed(FULL, ("centre = [-17, 0.5]", "deepest = [0, 0]"))
    shift = -pocket_centre(Reader(job(tmp_path, said).mapping, ("front.intake.",)))
    assert abs(float(np.cross([*shift, 0], [*down, 0])[2])) < 1e-9
    at = ", ".join(repr(float(one)) for one in plain + shift)
    said = changed(FULL, ("centre = [-17, 0.5]", f"deepest = [{at}]"))
    again = pocket_centre(Reader(job(tmp_path, said).mapping, ("front.intake.",)))
    assert again == pytest.approx(plain, abs=1e-9)


def test_checking_rod_in_place_of_a_length(tmp_path: Path) -> None:
    for thread in ("threads_per_inch = 20", 'pitch = "0.050 in"'):
        rod = f'checking_rod = {{ closed = "10.634 in", turns = 8, {thread} }}'
        said = changed(BENCH, ('length = "11.034 +/- 0.003 in"', rod))
        assert centres(job(tmp_path, said)) == pytest.approx(centres(job(tmp_path, BENCH)), abs=1e-9)


def test_inches_in_place_of_millimetres(tmp_path: Path) -> None:
    said = changed(FULL, ("valve_arm = 32.0", f'valve_arm = "{32 / 25.4:.15f} in"'))
    assert centres(job(tmp_path, said)) == pytest.approx(centres(job(tmp_path, FULL)), abs=1e-9)


def test_two_ways_that_agree_may_stand_together(tmp_path: Path) -> None:
    both = changed(
        FULL,
        ("arm_angle = 161", f'arm_angle = 161\nspan = {_span()!r}\narms = "droop"'),
        ("length = 101.0", f"length = 101.0\ntip_height = {_tip_height()!r}"),
        ("pushrod_arm = 20.5", f"pushrod_arm = 20.5\nratio = {32 / 20.5!r}"),
        ("case_deck = 126.1", f"case_deck = 126.1\nmeasured_deck = {{ below = {_below()!r} }}"),
    )
    assert centres(job(tmp_path, both)) == pytest.approx(centres(job(tmp_path, FULL)), abs=1e-9)


# the JSON Schema


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    found: dict[str, Any] = tallstack("schema").json
    jsonschema.Draft202012Validator.check_schema(found)
    return found


@pytest.fixture(scope="module")
def valid(schema: dict[str, Any]) -> Any:
    """Return what holds a document against the schema, which itself is held against its own once."""
    return jsonschema.Draft202012Validator(schema)


MORE = """
[lobe.intake]
card = { peak = 7.7, duration = { at = "1.0 mm", degrees = 241 }, seat = { at = "0.4 mm", degrees = 272 } }
measured_at = "lifter"
centreline = 106
[lobe.exhaust]
law = { name = "cycloidal", peak = 7.4, degrees = 276 }
[chamber]
volume = "81.0 cc"
[targets]
wall = "0.050 in"
"""


@pytest.mark.parametrize("text", few([BENCH, FULL, FULL + MORE], 1), ids=["bench", "coordinates", "more"])
def test_schema_takes_what_the_program_takes(tmp_path: Path, valid: Any, text: str) -> None:
    job(tmp_path, text)
    valid.validate(tomllib.loads(text))


def test_schema_takes_the_blank_file(tmp_path: Path, valid: Any) -> None:
    path = tmp_path / "job.toml"
    assert tallstack("new", path, "--blank").status == 0
    valid.validate(tomllib.loads(path.read_text()))


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("plunger_travel", "plunger_travl"),
        ('kind = "hydraulic"', 'kind = "hydralic"'),
        ("[stack]", "[stak]"),
        ("format = 1", "format = 2"),
        ('port = "intake"', 'prt = "intake"'),
        ("lean = [1.5, -2.0]", "lean = [1.5, -2.0, 0]"),
    ],
)
def test_schema_refuses_what_the_program_refuses(tmp_path: Path, valid: Any, right: str, wrong: str) -> None:
    text = changed(BENCH, (right, wrong))
    with pytest.raises(InputFaultsError):
        job(tmp_path, text)
    with pytest.raises(jsonschema.ValidationError):
        valid.validate(tomllib.loads(text))


def test_schema_explains_every_entry(schema: dict[str, Any]) -> None:
    stroke = schema["properties"]["crank"]["properties"]["stroke"]
    one = {"type": ["number", "string"]}
    several = {"type": "array", "items": one, "minItems": 2}
    by_instrument = stroke["anyOf"][2]
    assert stroke == {"description": "stroke, twice the throw", "anyOf": [one, several, by_instrument]}
    assert by_instrument["required"] == ["read", "by"]


def test_the_pivot_of_a_mirrored_gear_stands_and_turns_on_the_mirrored_side(tmp_path: Path) -> None:
    """`mirror = true` left eccentric_at as it was, so that the pivot stood on the shaft's other side."""
    text = by_coordinates(tmp_path, pockets=False).read_text(encoding="utf-8")
    own = '[train.rocker.adjuster]\nkind = "eccentric shaft"\neccentricity = 0.9\neccentric_at = 62\n'
    first = text.replace('[train.valve]\nface = ["-21.5', f'{own}[train.valve]\nface = ["-21.5')
    assert first != text
    copy = '[[train]]\ncylinder = "two"\nport = "intake"\nlike = "one.intake"\nmirror = true\n'
    path = tmp_path / "twin.toml"
    path.write_text(
        first.replace('name = "one"\n', 'name = "one"\n[[cylinder]]\nname = "two"\n') + copy, encoding="utf-8"
    )
    engine = build(load(path).mapping)
    places = []
    for name in ("one.intake", "two.intake"):
        gear = engine.train(name)
        assert gear.drawn is not None
        assert gear.adjuster.eccentric_at is not None
        about = gear.drawn.axis
        upright = np.array([0.0, 0.0, 1.0]) - about[2] * about
        upright /= np.linalg.norm(upright)
        at = gear.adjuster.eccentric_at
        places.append(np.cos(at) * upright + np.sin(at) * np.cross(about, upright))
    assert places[1] == pytest.approx(places[0] * np.array([-1.0, 1.0, 1.0]), abs=1e-12)
