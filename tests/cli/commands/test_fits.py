"""`tallstack fits` as a person and as a program sees it."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tallstack.cli.job.loading import load

from ...clearance_jobs import by_coordinates
from ...commands import tallstack

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


@pytest.mark.wide
def test_what_is_not_measured_is_listed_with_its_entries(job: Path) -> None:
    ended = tallstack("fits", job)
    text = " ".join(ended.out.split())
    assert "NOT MEASURED" in text
    assert "squish at speed, front, rear: needs running.speed (crank speed)" in text
    assert "studs, front, rear: needs studs.stands (CJ: stud above the case deck)" in text
    assert "How far they moved apart takes the engine before the change: [before], or --from BEFORE." in text
    assert ended.status == 0
    lacks = tallstack("fits", job, "--json").json["cylinders"][0]["not_measured"]
    assert "running.speed" in lacks["squish at speed"]


@pytest.mark.wide
def test_a_missed_target_ends_with_1_and_strict_counts_the_unproved(job: Path) -> None:
    assert tallstack("fits", job, "--with", "targets.squish_least=1.9 mm").status == 1
    assert tallstack("fits", job, "--strict").status == 1  # across: nothing there carries its doubt


@pytest.mark.wide
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


@pytest.mark.wide
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


GEAR = """[[train.spring]]
installed = "46 +/- 0.2"
rate = "40 +/- 1 N/mm"
free_length = "54 +/- 0.2"
solid_height = "29 +/- 0.2"
[[train.spring]]
installed = "43 +/- 0.2"
free_length = "49 +/- 0.2"
force = "180 +/- 5 N"
force_at = "39 +/- 0.1"
solid_height = "27.5 +/- 0.2"
[train.tube]
seat_low = [-20.6, 57.2, 2.0]
seat_high = [-17.0, 53.0, 20.0]
inner_diameter = 22.0
[train.pushrod]
ball_diameter_low = 8.0
ball_diameter_high = 8.0
diameter = 8.0
wall = 2.0
material = "steel"
"""
AFTER_INTAKE = '[[train]]\ncylinder = "one"\nport = "exhaust"\n'


@pytest.fixture
def geared(tmp_path: Path) -> Path:
    """Return a single by coordinates whose intake has nested springs and a tube."""
    path = by_coordinates(tmp_path, more="[targets]\nsquish_least = 0.4\n")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(AFTER_INTAKE, GEAR + AFTER_INTAKE, 1), encoding="utf-8")
    return path


def intake_of(path: Path, *tried: str) -> dict[str, object]:
    words = [word for one in tried for word in ("--with", one)]
    row: dict[str, object] = tallstack("fits", path, *words, "--json").json["trains"][0]
    return row


def test_a_pushrod_that_meets_its_tube_is_short_whatever_the_target(geared: Path) -> None:
    tight = ("--with", "one.intake.tube.inner_diameter=8.4")
    assert tallstack("fits", geared).status == 0
    for more in ((), ("--with", "targets.tube=0")):
        ended = tallstack("fits", geared, *tight, *more)
        assert ended.status == 1
        text = " ".join(ended.out.split())
        assert "SHORT the pushrod and its tube meet" in text
    assert (
        "at least 0.76 mm (0.030 in): common practice, from memory, set your own (targets.tube)"
        in " ".join(tallstack("fits", geared, *tight).out.split())
    )
    row = tallstack("fits", geared, *tight, "--json").json["trains"][0]
    assert row["tube_room_mm"] < 0
    assert row["tube_room_verdict"] == row["tube_room_at_rest_verdict"] == "short"


def test_one_of_several_springs_is_tried_by_the_name_that_is_printed(geared: Path) -> None:
    plain = intake_of(geared)
    assert plain["spring_rate_n_per_mm"] == pytest.approx(40 + 18)
    assert intake_of(geared, 'one.intake.spring.0.rate="45 N/mm"')["spring_rate_n_per_mm"] == pytest.approx(
        45 + 18
    )
    second = intake_of(geared, 'one.intake.spring.1.rate="20 N/mm"')  # in place of the force that was read
    assert second["spring_rate_n_per_mm"] == pytest.approx(40 + 20)
    assert second["seat_force_n"] == pytest.approx(40 * 8 + 20 * 6)
    longer = intake_of(geared, 'one.intake.spring.1={free_length="50 mm", force="187 N"}')
    assert longer["spring_rate_n_per_mm"] == pytest.approx(40 + 17)
    named = {str(one) for one in plain["seat_force_without_doubt"]}  # type: ignore[attr-defined]
    assert not any(".spring." in one for one in named)
    unsure = geared.read_text(encoding="utf-8").replace("180 +/- 5 N", "180 N")
    geared.write_text(unsure, encoding="utf-8")
    (printed,) = intake_of(geared)["seat_force_without_doubt"]  # type: ignore[misc]
    assert printed == "one.intake.spring.1.force"
    assert intake_of(geared, f'{printed}="170 +/- 5 N"')["seat_force_without_doubt"] == []


@pytest.mark.parametrize(
    ("tried", "remedy"),
    [
        ("one.intake.spring.rate", "write one.intake.spring.0.rate or one.intake.spring.1.rate"),
        ("one.intake.spring.2.rate", "write one.intake.spring.0.rate or one.intake.spring.1.rate"),
    ],
)
def test_a_name_that_is_no_springs_is_refused_with_those_there_are(
    geared: Path, tried: str, remedy: str
) -> None:
    ended = tallstack("fits", geared, "--with", f'{tried}="20 N/mm"')
    assert ended.status == 2
    assert ended.err == (
        f'--with {tried}="20 N/mm": the file has 2 springs there, counted from 0 in its order; {remedy}\n'
    )


@pytest.mark.wide
def test_copied_springs_and_reliefs_are_counted_alike(geared: Path) -> None:
    text = geared.read_text(encoding="utf-8")
    text = text.replace(
        'name = "one"\n', 'name = "one"\nspigot = { reliefs = [{ at = 90, width = 40, height = 9 }] }\n'
    )
    geared.write_text(
        f'{text}[[cylinder]]\nname = "two"\n[[train]]\ncylinder = "two"\nport = "intake"\nlike = "one.intake"\n',
        encoding="utf-8",
    )
    refused = tallstack("check", geared, "--with", 'two.intake.spring.rate="20 N/mm"')
    assert "write two.intake.spring.0.rate or two.intake.spring.1.rate" in refused.err
    trains = tallstack("fits", geared, "--with", 'two.intake.spring.0.rate="44 N/mm"', "--json").json[
        "trains"
    ]
    rates = {row["train"]: row.get("spring_rate_n_per_mm") for row in trains}
    assert rates["one.intake"] == pytest.approx(58)
    assert rates["two.intake"] == pytest.approx(62)
    relief = tallstack("check", geared, "--with", "one.spigot.reliefs.height=11")
    assert (
        "1 row of reliefs there, counted from 0 in its order; write one.spigot.reliefs.0.height" in relief.err
    )
    assert tallstack("check", geared, "--with", "one.spigot.reliefs.0.height=11").status in (0, 1)
    none = tallstack("check", geared, "--with", "two.spigot.reliefs.height=11")
    assert "the file has no reliefs there; write one in it first" in none.err


def test_a_spring_that_stands_alone_keeps_its_plain_name(geared: Path) -> None:
    text = geared.read_text(encoding="utf-8")
    first, _, rest = text.partition("[[train.spring]]\n")
    alone, _, rest = rest.partition("[[train.spring]]\n")
    geared.write_text(f"{first}[train.spring]\n{alone}{rest[rest.index('[train.tube]') :]}", encoding="utf-8")
    tried = 'one.intake.spring.rate="50 N/mm"'
    assert intake_of(geared, tried)["spring_rate_n_per_mm"] == pytest.approx(50)
    refused = tallstack("fits", geared, "--with", 'one.intake.spring.0.rate="50 N/mm"')
    assert refused.status == 2
    assert "a spring that stands alone has no number; write one.intake.spring.rate" in refused.err


def test_a_rate_tried_takes_the_place_of_the_wire(geared: Path) -> None:
    by_wire = 'wire = "4.6 +/- 0.02"\nmean_diameter = "30 +/- 0.1"\nactive_coils = "4 +/- 0.1"\n'
    text = geared.read_text(encoding="utf-8").replace('rate = "40 +/- 1 N/mm"\n', by_wire)
    geared.write_text(text, encoding="utf-8")
    found = intake_of(geared)["spring_rate_n_per_mm"]
    assert found == pytest.approx(18 + 79300 * 4.6**4 / (8 * 30**3 * 4))
    tried = 'one.intake.spring.0.rate="60 N/mm"'
    assert intake_of(geared, tried)["spring_rate_n_per_mm"] == pytest.approx(78)
    thicker = intake_of(geared, tried, "one.intake.spring.0.wire=5.0")["not_measured"]
    assert "one.intake.spring.0.mean_diameter" in str(
        thicker
    )  # the wire replaces the rate, and takes its diameter and coils with it


def test_a_shim_says_what_it_leaves_to_coil_bind(geared: Path) -> None:
    plain = intake_of(geared)
    row = intake_of(geared, 'targets.seat_force="560 N"')
    shim = (560 - 428) / 58
    assert row["shim_for_seat_force_mm"] == pytest.approx(shim, abs=1e-5)
    assert row["coil_bind_with_shim_mm"] == pytest.approx(plain["coil_bind_mm"] - shim, abs=1e-5)  # type: ignore[operator]
    ended = tallstack("fits", geared, "--with", 'targets.seat_force="560 N"')
    assert "coil bind that shim would leave" in ended.out
    assert ended.status == 0  # the engine that was entered is not that one
    worse = tallstack("fits", geared, "--with", 'targets.seat_force="700 N"')
    assert "the coils would meet before full lift" in " ".join(worse.out.split())
    none = tallstack("fits", geared, "--with", 'targets.seat_force="300 N"')
    text = " ".join(none.out.split())
    assert "shim for the seat force wanted none the springs press that hard already" in text
    assert "that shim would leave" not in text


@pytest.mark.wide
def test_an_impossible_gasket_is_said_in_words(job: Path) -> None:
    text = " ".join(tallstack("fits", job, "--with", "targets.compression_ratio=11.5").out.split())
    assert (
        "head gasket for the ratio wanted not possible it would be 1.28 mm (0.050 in) less than none" in text
    )
    assert "squish that gasket would leave" not in text
    assert "squish that deck would leave -0.73 mm -0.029 in the crown would stand past" in text
    row = tallstack("fits", job, "--with", "targets.compression_ratio=11.5", "--json").json["cylinders"][0]
    assert row["gasket_for_ratio_offered"] is False
    close = " ".join(tallstack("fits", job, "--with", "targets.compression_ratio=10.2").out.split())
    assert "squish that gasket would leave 0.79 mm 0.031 in too little" in close
    most = tallstack(
        "fits", job, "--with", "targets.squish_least=0.2", "--with", "targets.squish_most=0.4"
    ).out
    assert "head gasket for the least squish               any" in most
    assert "head gasket for the most squish       not possible" in most


def test_what_is_not_asked_is_named_with_the_target_that_asks(geared: Path, job: Path) -> None:
    text = tallstack("fits", geared).out
    assert "NOT ASKED" in text
    for entry in ("seat_force", "tube"):
        assert f"targets.{entry}" in text.partition("NOT ASKED")[2]
    assert "targets.lowering" not in text  # one cylinder
    asked = tallstack("fits", geared, "--with", 'targets.seat_force="450 N"').out
    assert "targets.seat_force" not in asked.partition("NOT ASKED")[2].partition("ASSUMED")[0]
    twin = tallstack("fits", job).out.partition("NOT ASKED")[2]
    assert all(f"targets.{entry}" in twin for entry in ("lowering", "compression_ratio"))
    assert "targets.squish_most" not in twin  # a squish is asked for


def test_a_ball_in_its_cup_is_listed_until_its_cup_is_measured(geared: Path) -> None:
    text = " ".join(tallstack("fits", geared).out.partition("NOT MEASURED")[2].split())
    assert (
        "balls in their cups, one intake: needs pushrod.cup_radius_low (EK: radius of the cup in the lifter)"
        in text
    )
    row = intake_of(geared, "one.intake.pushrod.cup_radius_low=4.2")
    assert row["contact_low_mpa"] > 0  # type: ignore[operator]
    one = " ".join(tallstack("fits", geared, "--with", "one.intake.pushrod.cup_radius_low=4.2").out.split())
    assert "the other takes pushrod.cup_radius_high" in one


def test_a_blank_job_shows_the_cups_and_what_the_targets_switch_on(tmp_path: Path) -> None:
    path = tmp_path / "blank.toml"
    tallstack("new", path, "--blank")
    text = path.read_text(encoding="utf-8")
    assert text.count("# cup_radius_low =") == text.count("# cup_radius_high =") == 2
    assert "seat_force or hot_lash set here" in " ".join(text.replace("#", "").split())


@pytest.mark.wide
def test_the_words_beside_the_figures(geared: Path, job: Path) -> None:
    text = " ".join(tallstack("fits", job).out.split())
    assert "180.0 degrees" not in text
    assert "skirt to counterweight" in text
    assert "at bottom centre; +/-" in text
    assert "it stays above the spigot's lower edge, at bottom centre" in text
    hanging = " ".join(tallstack("fits", job, "--with", "front.spigot.length=4").out.split())
    assert "it hangs below the spigot's lower edge, at bottom centre" in hanging
    pressed = " ".join(tallstack("fits", geared).out.split())
    assert "margin against buckling, times" in pressed
    assert "that load over the greatest" in pressed


@pytest.mark.wide
def test_two_cylinders_that_go_on_in_no_order_are_a_limit_missed(job: Path) -> None:
    ready = (
        "--with",
        "targets.across=0.1 mm",
        "--with",
        "targets.skirt=0.1 mm",
        "--with",
        "targets.squish_least=0.5 mm",
    )
    some, none = ("--with", "targets.lowering=1 mm"), ("--with", "targets.lowering=79 mm")
    assert tallstack("fits", job, *ready, *some).status == 0
    ended = tallstack("fits", job, *ready, *none)
    assert ended.out.count("NONE, most room") == 2
    assert ended.status == 1


@pytest.mark.wide
def test_a_distance_across_the_cylinders_has_its_doubt(job: Path) -> None:
    """Proved where everything that moves it has a +/-; what lacks one is named."""
    bare = tallstack("fits", job, "--json").json["across"][0]
    assert "front.lean" in bare["without_doubt"]
    assert bare["verdict"] in ("unproved", "short")
    told = [
        f"{entry} +/- {doubt}"
        for entry, doubt in (
            ("front.lean=27", "0.1"),
            ("rear.lean=-27", "0.1"),
            ("front.spigot.length=34", "0.2 mm"),
            ("rear.spigot.length=34", "0.2 mm"),
            ("front.spigot.outer_diameter=109", "0.1 mm"),
            ("rear.spigot.outer_diameter=109", "0.1 mm"),
        )
    ]
    words = [word for one in told for word in ("--with", one)]
    row = tallstack("fits", job, *words, "--json").json["across"][0]
    assert row["without_doubt"] == []
    assert 0.1 < row["doubt_mm"] < 2.0
    assert row["conrod"]["doubt_mm"] > 0.1


NEAR = """
format = 1
units = "mm"
[stack]
cylinder = "109.47 +/- 0.02"
[[cylinder]]
name = "single"
[lobe.intake]
centreline = "106 +/- 1"
{lobe}
[[train]]
cylinder = "single"
port = "intake"
lifter = {{ kind = "hydraulic", preload = "1.0 +/- 0.1", plunger_travel = "3.6 +/- 0.05" }}
rocker = {{ ratio = "{ratio}" }}
spring = {{ installed = "46 +/- 0.1", rate = "40 +/- 1 N/mm", free_length = "54 +/- 0.2", solid_height = "31 +/- 0.1" }}
valve = {{ retainer_to_seal = "14.5 +/- 0.1" }}
[train.measured_pushrod]
length = "240.85 +/- 0.05"
as = "overall"
plunger = "top"
lean = "3 +/- 1"
stack = {{ cylinder = "109.47 +/- 0.02" }}
"""
CARD = '[lobe.intake.card]\npeak = "7.6 +/- 0.05"\nduration = { at = 1.27, degrees = "236 +/- 1" }'
AT_VALVE = (
    'measured_at = "valve"\n[lobe.intake.card]\npeak = "12.012 +/- 0.08"\nratio = "1.6 +/- 0.005"\nlash = "0.148 +/- 0.01"\n'
    'duration = { at = 1.27, degrees = "236 +/- 1" }'
)
LAW = '[lobe.intake.law]\nname = "cycloidal"\npeak = "7.6 +/- 0.05"\ndegrees = "280 +/- 1"'


def near(folder: Path, ratio: str = "1.62 +/- 0.01", lobe: str = CARD) -> Path:
    path = folder / "near.toml"
    path.write_text(NEAR.format(lobe=lobe, ratio=ratio), encoding="utf-8")
    return path


def figures(path: Path, *words: str) -> dict[str, object]:
    return dict(tallstack("fits", path, "--json", *words).json["trains"][0])


@pytest.mark.parametrize(
    ("ratio", "verdict"), [("1.62 +/- 0.01", "ok"), ("1.62 +/- 0.2", "tight"), ("1.62", "unproved")]
)
def test_the_doubt_of_the_ratio_is_in_everything_at_full_lift(
    tmp_path: Path, ratio: str, verdict: str
) -> None:
    found = figures(near(tmp_path, ratio))
    for key, limit in (("coil_bind", 1.524), ("retainer_to_seal", 1.27)):
        assert found[f"{key}_mm"] > limit  # type: ignore[operator]
        assert found[f"{key}_verdict"] == verdict
        bare = ["single.intake.rocker.ratio"] if verdict == "unproved" else []
        assert found[f"{key}_without_doubt"] == bare
    assert found["open_force_without_doubt"] == found["coil_bind_without_doubt"]


@pytest.mark.parametrize(
    ("lobe", "moves"),
    [
        (CARD, {"lobe.intake.card.peak": -1.62}),
        (LAW, {"lobe.intake.law.peak": -1.62}),
        (
            AT_VALVE,
            {
                "lobe.intake.card.peak": -1.62 / 1.6,
                "lobe.intake.card.lash": -1.62 / 1.6,
                "lobe.intake.card.ratio": 1.62 * 7.6 / 1.6,
            },
        ),
    ],
    ids=["card", "law", "card at the valve"],
)
def test_lobe_and_ratio_move_what_is_left_at_full_lift_as_worked_by_hand(
    tmp_path: Path, lobe: str, moves: dict[str, float]
) -> None:
    path = near(tmp_path, lobe=lobe)
    half = {
        "card.peak": 0.08 if lobe is AT_VALVE else 0.05,
        "law.peak": 0.05,
        "card.lash": 0.01,
        "card.ratio": 0.005,
    }
    own = [(1.0, 0.1), (1.0, 0.1), (7.6, 0.01)]  # installed, solid height, ratio
    own += [(slope, half[entry.removeprefix("lobe.intake.")]) for entry, slope in moves.items()]
    standard = math.sqrt(sum((slope * width) ** 2 for slope, width in own) / 3)
    found = figures(path)
    assert found["coil_bind_mm"] == pytest.approx(46 - 31 - 1.62 * 7.6)
    assert found["coil_bind_doubt_mm"] == pytest.approx(2 * standard, rel=1e-5)
    # The same entries in a job that says something else.
    for entry, slope in moves.items():
        value = float(str(load(path).mapping[entry]))
        moved = figures(path, "--with", f"{entry}={value + 0.01}")
        change = (moved["coil_bind_mm"] - found["coil_bind_mm"]) / 0.01  # type: ignore[operator]
        assert change == pytest.approx(slope, rel=0.01)
    rows = {one["what"]: one for one in tallstack("risk", path, "--json", "--draws", "4000").json["answers"]}
    assert rows["coil_bind"]["drawn_standard_mm"] == pytest.approx(standard, rel=0.05)


def test_a_lifter_that_pumps_up_takes_the_ratio_times_its_preload(tmp_path: Path) -> None:
    path = near(tmp_path, "1.62 +/- 0.01")
    text = path.read_text(encoding="utf-8").replace("46 +/- 0.1", "44.8 +/- 0.1").replace("14.5", "13.7")
    path.write_text(
        text.replace("[[cylinder]]", "[targets]\ncoil_bind = 0.5\nretainer = 0.5\n[[cylinder]]"),
        encoding="utf-8",
    )
    found = figures(path)
    for key, room in (("coil_bind", 44.8 - 31), ("retainer_to_seal", 13.7)):
        left = room - 1.62 * 7.6
        assert found[f"{key}_mm"] == pytest.approx(left)
        assert found[f"{key}_verdict"] == "ok"
        assert found[f"{key}_pumped_mm"] == pytest.approx(left - 1.62)
        assert found[f"{key}_pumped_verdict"] == "short"
    # installed, solid height, both with ±0.1; peak; ratio; the preload as set, and the pushrod it is made by.
    parts = [0.1, 0.1, 1.62 * 0.05, 8.6 * 0.01, 1.62 * 0.1, 1.62 * 0.05, 1.62 * 0.02, 1.62 * 0.02]
    doubt = 2 * math.sqrt(sum(one**2 for one in parts) / 3)
    assert found["coil_bind_pumped_doubt_mm"] == pytest.approx(doubt, rel=0.01)
    ended = tallstack("fits", path)
    assert ended.status == 1
    assert "the coils meet before full lift with the lifter pumped up" in " ".join(ended.out.split())
    rows = {one["what"]: one for one in tallstack("risk", path, "--json", "--draws", "4000").json["answers"]}
    assert rows["coil_bind_pumped"]["drawn_standard_mm"] == pytest.approx(doubt / 2, rel=0.05)
    half = figures(path, "--with", "targets.pumped=50 %")
    assert half["coil_bind_pumped_mm"] == pytest.approx(44.8 - 31 - 1.62 * 8.1)
    alone = tallstack("fits", path, "--with", "targets.pumped=told", "--full")
    assert alone.status == 0
    text_alone = " ".join(alone.out.split())
    assert "the coils meet before full lift with the lifter pumped up" in text_alone
    assert "told, and not counted (targets.pumped)" in text_alone
    path.write_text(
        text.replace("hydraulic", "solid")
        .replace(', preload = "1.0 +/- 0.1", plunger_travel = "3.6 +/- 0.05"', ", lash = 0.1")
        .replace('plunger = "top"\n', ""),
        encoding="utf-8",
    )
    assert not any("pumped" in key for key in figures(path))


LEAVES = "the oil ring leaves the bore and will catch going back up: do not assemble"
RING = 'oil_ring = "52 +/- 0.1"\nboss_below_pin = "17 +/- 0.3"\n'
CHAMFER = ', chamfer = "1.5 +/- 0.2"'


@pytest.fixture
def short(job: Path) -> Path:
    """Return the job of one of the cylinders, its spigot so short that the oil ring leaves it."""
    text = (
        job.read_text(encoding="utf-8")
        .partition('[[cylinder]]\nname = "rear"')[0]
        .replace("skirt_inner", f"{RING}skirt_inner")
    )
    text = text.replace("length = 34.0, outer", f'length = "20 +/- 0.2"{CHAMFER}, outer')
    job.write_text(text, encoding="utf-8")
    return job


def test_an_oil_ring_that_leaves_the_bore_stops_the_work(short: Path) -> None:
    told = tallstack("fits", short)
    head = " ".join(told.out.partition("WATCH")[0].split())
    assert head.index("STOP") < head.index(LEAVES)
    assert told.status == 1
    front = tallstack("fits", short, "--json").json["cylinders"][0]
    below = (143.65 - 20 + 1.5) - (196.0 - 112.4 / 2 + 34.0 - 52.0)
    assert front["oil_ring_room_mm"] == pytest.approx(-below)
    assert front["oil_ring_room_verdict"] == "short"
    assert front["oil_ring_room_limits"] == [["oil_ring_least", pytest.approx(1.524), False]]
    assert front["oil_ring_hangs_mm"] == pytest.approx(below - 1.5)
    assert front["skirt_hangs_mm"] == pytest.approx(front["skirt_out_mm"] - 1.5)
    assert front["skirt_out_share"] == pytest.approx(front["skirt_out_mm"] / 22.0)
    assert front["bosses_to_counterweight_mm"] == pytest.approx(196.0 - 56.2 - 17.0 - 88.0)
    assert "skirt_out_verdict" not in front  # only an owner's own limit judges it


@pytest.mark.wide
def test_it_stops_the_work_in_every_room(short: Path) -> None:
    own = tallstack("fits", short, "--with", "targets.skirt_out_most=3 mm", "--json").json["cylinders"][0]
    assert own["skirt_out_verdict"] == "short"
    assert LEAVES in " ".join(tallstack("overview", short).out.partition("WATCH")[0].split())
    sheet = short.parent / "sheet.html"
    tallstack("sheet", short, "-o", sheet)
    page = " ".join(sheet.read_text(encoding="utf-8").split())
    assert LEAVES in page[: page.index("BEFORE IT TURNS")]
    inches = tallstack("fits", short, "--with", "targets.oil_ring_least=0.020 in")
    assert "limit 0.51 mm" in " ".join(inches.out.split())
    assert "oil ring" not in tallstack("measure", short, "--for", "fits").out
    text = short.read_text(encoding="utf-8")
    short.write_text(text.replace(RING, "").replace(CHAMFER, ""), encoding="utf-8")
    asked = " ".join(tallstack("measure", short, "--for", "fits").out.split())
    assert "CA oil ring" in asked
    assert "FG" in asked.split()
    assert "spigot's chamfer" in asked


@pytest.mark.wide
def test_new_entries_are_in_the_schema_and_the_blank_job(tmp_path: Path) -> None:
    of = tallstack("schema").json["properties"]
    assert {"arch_width", "arch_height", "boss_below_pin"} <= set(of["piston"]["properties"])
    assert "chamfer" in of["cylinder"]["items"]["properties"]["spigot"]["properties"]
    assert {"oil_ring_least", "skirt_out_most", "spigots"} <= set(of["targets"]["properties"])
    path = tmp_path / "blank.toml"
    tallstack("new", path, "--blank")
    text = path.read_text(encoding="utf-8")
    for entry in ("# chamfer =", "# arch_width =", "# boss_below_pin =", "# oil_ring_least ="):
        assert entry in text
