"""What a job file means: copies and mirrors, one cylinder's own entries, other ways to say one."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry import build
from tallstack.geometry.core.frames import from_lean
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine.alternatives import pocket_centre
from tallstack.geometry.gear.train import closed

from ...clearance_jobs import by_coordinates
from ...job_texts import BENCH, FULL, centres, changed, entries_under, faults_of, job, train

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


# reading the file


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


def test_title_is_the_files_name_where_none_is_given(tmp_path: Path) -> None:
    assert job(tmp_path, changed(BENCH, ('title = "Twin by the bench route"', 'title = ""'))).title == "job"


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


def by_angles(text: str) -> str:
    """Return a job whose directions are said by the two angles that their vectors have."""

    def told(found: re.Match[str]) -> str:
        x, y, z = (float(one) for one in found[2].split(","))
        around, up = math.degrees(math.atan2(x, y)), math.degrees(math.atan2(z, math.hypot(x, y)))
        return f"{found[1]} = {{ around = {around!r}, up = {up!r} }}"

    return re.sub(r"(direction|normal) = \[([^]]*)\]", told, text)


def test_a_direction_by_its_angles_gives_the_answers_of_its_vector(tmp_path: Path) -> None:
    """The shaft's, with mirror and like, and the ports' faces, to 1e-9 mm."""
    other = by_angles(FULL)
    assert other.count("around") == FULL.count("direction =") > 0
    for name in ("front.intake", "rear.intake"):
        first, second = (centres(job(tmp_path, text), name) for text in (FULL, other))
        assert abs(first - second) < 1e-9, name
    faces = [
        Reader(mapping, ("front.",)).direction("intake_face.normal")
        for mapping in (
            {
                "front.intake_face.normal.x": -0.94,
                "front.intake_face.normal.y": 0.0,
                "front.intake_face.normal.z": -0.34,
            },
            {
                "front.intake_face.normal.around": math.atan2(-0.94, 0.0),
                "front.intake_face.normal.up": math.atan2(-0.34, 0.94),
            },
        )
    ]
    assert np.abs(faces[0] - faces[1]).max() < 1e-12


def test_one_of_the_two_angles_alone_is_a_fault_and_one_tried_over_a_vector_goes_over_it(
    tmp_path: Path,
) -> None:
    lone = faults_of(FULL.replace("direction = [0.02, 1, 0.01]", "direction = { around = 1 }"))
    assert any("missing beside it: up; write up = 0" in one for one in lone.values())
    tried = job(tmp_path, FULL, "front.intake.rocker.direction={ around = 1, up = 0 }")
    assert not any(path.startswith("front.intake.rocker.direction.x") for path in tried.entries)
    back = job(tmp_path, by_angles(FULL), "front.intake.rocker.direction=[0.02, 1, 0.01]")
    assert abs(centres(back) - centres(job(tmp_path, FULL))) < 1e-9
