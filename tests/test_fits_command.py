"""`tallstack fits` as a person and as a program sees it."""

from __future__ import annotations

from pathlib import Path

import pytest

from .commands import tallstack

JOB = """
format = 1
title = "V-twin"
units = "mm"
[crank]
stroke = "112.4 +/- 0.05"
conrod_length = "196.0 +/- 0.1"
conrod_beam_width = "24 +/- 0.5"
counterweight_radius = "88 +/- 0.5"
turns = "forward"
[piston]
compression_height = "34.0 +/- 0.05"
pin_offset = 0.0
diameter = "98.95 +/- 0.02"
skirt_below_pin = "22 +/- 0.5"
skirt_inner = "86 +/- 0.5"
[chamber]
volume = "88 +/- 0.5 cc"
[stack]
bore = "99.0 +/- 0.02"
case_deck = "143.65 +/- 0.05"
base_gasket = "0.5 +/- 0.05"
cylinder = "142.6 +/- 0.02"
head_gasket = "1.1 +/- 0.05"
case_cut = 0.0
head_cut = 0.0
[[cylinder]]
name = "front"
lean = 27
spigot = { length = 34.0, outer_diameter = 109.0 }
intake_face = { centre = [-62.0, 0.0, 58.0], normal = [-0.94, 0.0, -0.34] }
points = { steady = [10.0, 0.0, 120.0] }
[[cylinder]]
name = "rear"
lean = -27
spigot = { length = 34.0, outer_diameter = 109.0 }
intake_face = { centre = [62.0, 0.0, 58.0], normal = [0.94, 0.0, -0.34] }
[targets]
squish_least = 1.0
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "after.toml"
    path.write_text(JOB, encoding="utf-8")
    (tmp_path / "before.toml").write_text(
        JOB.replace('"142.6 +/- 0.02"', '"137.8 +/- 0.02"'), encoding="utf-8"
    )
    return path


def test_the_document_has_the_names_of_the_contract(job: Path) -> None:
    ended = tallstack("fits", job, "--from", job.parent / "before.toml", "--json")
    document = ended.json
    assert ended.status == 0
    assert document["command"] == "fits"
    assert document["displacement_cc"] == pytest.approx(2 * 865.21, abs=0.05)
    front = document["cylinders"][0]
    assert front["cylinder"] == "front"
    assert front["deck_mm"] == pytest.approx(0.55)
    assert front["squish_mm"] == pytest.approx(1.65)
    assert {"compression_ratio", "skirt_to_counterweight_mm", "skirt_to_conrod_mm"} <= set(front)
    crossing = document["across"][0]
    assert {"piston", "spigot", "gap_mm", "at_deg"} <= set(crossing)
    drop = document["drop_on"][0]
    assert {"fitted", "lowered", "windows_deg", "safest_deg"} <= set(drop)
    face = document["faces"][0]
    assert face["moved_mm"] == pytest.approx([2.1792, 0.0, 4.2768], abs=5e-5)
    assert face["square_gap_mm"] == pytest.approx(1.6327, abs=5e-5)
    assert face["slip_mm"] == pytest.approx(4.5138, abs=5e-5)
    pair = document["facing"][0]
    assert pair["manifold_moves_mm"] == pytest.approx([0.0, 0.0, 4.5488], abs=5e-5)
    assert pair["spacers_mm"] == pytest.approx([2.1961, 2.1961], abs=5e-5)


def test_what_is_not_measured_is_listed_with_its_entries(job: Path) -> None:
    ended = tallstack("fits", job)
    text = " ".join(ended.out.split())
    assert "NOT MEASURED" in text
    assert "squish at speed, front, rear: needs running.speed (crank speed)" in text
    assert "studs, front, rear: needs studs.stands (stud above the case deck)" in text
    assert "How far they moved apart takes the job before the change: --from BEFORE." in text
    assert ended.status == 0
    lacks = tallstack("fits", job, "--json").json["cylinders"][0]["not_measured"]
    assert "running.speed" in lacks["squish at speed"]


def test_a_missed_target_ends_with_1_and_strict_counts_the_unproved(job: Path) -> None:
    assert tallstack("fits", job, "--with", "targets.squish_least=1.9 mm").status == 1
    assert tallstack("fits", job, "--strict").status == 1  # across: nothing there carries its doubt


def test_with_reaches_every_part(job: Path) -> None:
    plain, taller = (
        tallstack("fits", job, *tried, "--json").json["cylinders"][0]
        for tried in ((), ("--with", "stack.cylinder=143.1 mm"))
    )
    assert taller["deck_mm"] - plain["deck_mm"] == pytest.approx(0.5)
    assert taller["compression_ratio"] < plain["compression_ratio"]


def test_a_job_with_nothing_for_fits_is_refused_with_what_it_lacks(tmp_path: Path) -> None:
    path = tmp_path / "bare.toml"
    path.write_text('format = 1\nunits = "in"\n[[cylinder]]\nname = "one"\n', encoding="utf-8")
    ended = tallstack("fits", path, "--json")
    assert ended.status == 2
    assert ended.out == ""
    assert "no fit can be worked out yet" in ended.err
    assert "displacement, one: needs" in ended.err


def test_the_picture_of_lowering(job: Path, tmp_path: Path) -> None:
    first, second = tmp_path / "a.svg", tmp_path / "b.svg"
    assert tallstack("fits", job, "--plot", first).status == 0
    tallstack("fits", job, "--plot", second)
    assert first.read_bytes() == second.read_bytes()
    assert tallstack("fits", job, "--plot", first).status == 2
    bare = tmp_path / "single.toml"
    bare.write_text(JOB.split('[[cylinder]]\nname = "rear"')[0], encoding="utf-8")
    refused = tallstack("fits", bare, "--plot", tmp_path / "none.png")
    assert refused.status == 2
    assert "nothing to draw" in refused.err
    assert not (tmp_path / "none.png").exists()


def test_gears_of_a_job_give_springs_tubes_and_heat(tmp_path: Path) -> None:
    from .clearance_jobs import by_coordinates

    more = """
[running]
cold = "68 F"
hot_cylinder = "170 C"
hot_head = "180 C"
hot_case = "90 C"
hot_valve = "250 C"
hot_rocker = "110 C"
hot_pushrod = "100 C"
[materials]
cylinder = "grey iron"
head = "cast aluminium"
case = "cast aluminium"
valve = "stainless steel"
rocker = "steel"
pushrod = "steel"
"""
    path = by_coordinates(tmp_path, more=more)
    gear = """[train.spring]
installed = "46 +/- 0.2"
rate = "250 +/- 5 lbf/in"
free_length = "54 +/- 0.2"
solid_height = "29 +/- 0.2"
[train.tube]
seat_low = [-20.6, 57.2, 2.0]
seat_high = [-17.0, 53.0, 20.0]
shortest = 130.0
longest = 150.0
inner_diameter = 22.0
[train.pushrod]
diameter = 8.0
wall = 2.0
material = "steel"
[[train]]
cylinder = "one"
port = "exhaust"
"""
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace('[[train]]\ncylinder = "one"\nport = "exhaust"\n', gear, 1), encoding="utf-8"
    )
    intake = tallstack("fits", path, "--json").json["trains"][0]
    assert intake["seat_force_n"] == pytest.approx(250 * 4.4482216152605 / 25.4 * 8.0)
    assert intake["coil_bind_mm"] == pytest.approx(46 - 13.18 - 29, abs=0.02)
    assert intake["coil_bind_verdict"] == "ok"
    assert intake["tube_room_mm"] < intake["tube_room_at_rest_mm"]
    assert intake["buckling_margin"] > 1
    assert intake["preload_change_mm"] < 0  # everything around the pushrod grows more than it does
    exhaust = tallstack("fits", path, "--json").json["trains"][1]
    assert "spring" in " ".join(entry for entries in exhaust["not_measured"].values() for entry in entries)


def test_pages_are_narrow_and_without_nan(job: Path) -> None:
    text = tallstack("fits", job, "--from", job.parent / "before.toml").out
    assert "nan" not in text.lower().replace("tan", "")
    assert all(len(line) <= 80 for line in text.splitlines() if str(job.parent) not in line)
