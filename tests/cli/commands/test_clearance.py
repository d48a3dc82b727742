"""`tallstack clearance` as a person and as a program sees it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image
from tallstack.cli.commands.clearance import answer
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load

from ...clearance_jobs import by_coordinates
from ...commands import DEMO, TWIN, tallstack
from ...seeded import few

VALVE_KEYS = (
    "train basis peak_lift_mm ratio_at_seat ratio_at_peak sweep_mm drop_mm drop_at_deg drop_pumped_mm gap_mm "
    "gap_at_deg wall_mm target_mm meets verdict"
).split()
PAIR_KEYS = "cylinder valve_to_valve_mm at_deg target_mm meets verdict".split()

MET = (
    "--with",
    "targets.drop_exhaust=1.4 mm",
    "--with",
    "stack.bore=92 +/- 0.02 mm",
)  # no clearance falls short, so that nothing has to be mended


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return by_coordinates(tmp_path)


@pytest.fixture(scope="module")
def met(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """Return the same with no clearance that falls short; it is worked out once, and kept by the job."""
    return load(by_coordinates(tmp_path_factory.mktemp("met")), MET[1::2])


def test_the_document_has_the_names_of_the_contract(job: Path) -> None:
    ended = tallstack("clearance", job, "--json")
    document = ended.json
    assert list(document) == ["format", "command", "job", "valves", "pairs", "assumed", "warnings"]
    assert document["command"] == "clearance"
    for valve in document["valves"]:
        assert set(VALVE_KEYS) <= set(valve)
        assert valve["meets"] == (valve["verdict"] != "short")
    for pair in document["pairs"]:
        assert set(PAIR_KEYS) <= set(pair)
    assert document["valves"][0]["basis"] == "coordinates"
    short = document["valves"][1]
    assert short["verdict"] == "short"
    pocket = next(one for one in short["remedies"] if one["kind"] == "pocket")
    assert pocket["change_mm"] is None
    assert pocket["why_not"] == "MEASURE BEFORE CUTTING"
    assert ended.status == 1


def test_status_follows_the_verdicts(job: Path) -> None:
    tight = load(job, ["targets.drop_exhaust=1.9 mm"])
    assert answer(tight).status == 0
    assert answer(tight, strict=True).status == 1  # exhaust TIGHT: met by less than its doubt
    by_law = job.read_text(encoding="utf-8")
    card = by_law[by_law.index("card = {") : by_law.index('\ncentreline = "110')]
    law = 'law = { name = "4-5-6-7", peak = "7.9 +/- 0.02", degrees = "280 +/- 1" }'
    job.write_text(by_law.replace(card, law), encoding="utf-8")
    assert tallstack("clearance", job, *MET, "--strict").status == 0


def test_a_twin_answers_by_the_bench_route() -> None:
    ended = tallstack("clearance", TWIN)
    assert ended.status == 0
    assert "from the drop that was measured at top centre" in ended.out
    assert "known from" in ended.out
    assert "light checking springs" in " ".join(ended.out.split())
    document = tallstack("clearance", TWIN, "--json").json
    assert [one["basis"] for one in document["valves"]] == ["measured_drop"] * 4
    assert all(one["valve_to_valve_mm"] is None and one["needs"] for one in document["pairs"])
    assert all(one["known_deg"][0] < one["drop_at_deg"] < one["known_deg"][1] for one in document["valves"])


def test_a_job_that_says_nothing_of_clearances_is_refused_with_what_it_lacks(tmp_path: Path) -> None:
    path = tmp_path / "bare.toml"
    path.write_text(
        'format = 1\nunits = "in"\n[[cylinder]]\nname = "one"\nlean = 0\n[[train]]\ncylinder = "one"\nport = "intake"\n',
        encoding="utf-8",
    )
    ended = tallstack("clearance", path, "--json")
    assert ended.status == 2
    assert ended.out == ""
    assert "no clearance can be worked out yet" in ended.err
    assert "measured_drop.drop" in ended.err
    assert "lobe.intake" in ended.err


@pytest.mark.wide
def test_a_shortfall_comes_with_what_mends_it(job: Path) -> None:
    said = " ".join(answer(load(job)).text.split())
    assert "SHORT by 0.27 mm (0.011 in), on the drop along the stem" in said
    assert "what would mend it, each alone, to the limit itself:" in said
    assert "to be clear of the doubt too, ask for" in said
    assert "MEASURE BEFORE CUTTING, no number without piston.crown_thickness" in said
    mended = answer(load(job, ["piston.crown_thickness=9 mm", "piston.ring_land=8 mm"]))
    cut = " ".join(mended.text.split())
    assert "pocket cut 0.26 mm (0.010 in) deeper, to 4.76 mm (0.187 in): then 2.55 mm (0.100 in)" in cut
    assert "metal left: 4.24 mm (0.167 in) (no +/- entered) under it" in cut
    ways = {one["kind"]: one for one in mended.document["valves"][1]["remedies"]}
    assert ways["pocket"]["metal_under_mm"] == pytest.approx(4.24)
    assert ways["cam timing"]["change_deg"] > 0


@pytest.mark.wide
def test_trying_the_remedy_ends_the_shortfall(job: Path) -> None:
    for tried in (
        "one.exhaust.pocket.depth=4.77 mm",
        "stack.head_gasket=1.35 mm",
        "cam.advance=2.0",
        "one.exhaust.valve.sink=0.28 mm",
    ):
        assert "SHORT" not in tallstack("clearance", job, "--with", tried).out, tried


@pytest.mark.wide
def test_the_table_against_timing(job: Path) -> None:
    turned = answer(load(job, MET[1::2]), around=8.0)
    document = turned.document
    assert [row["advance_deg"] for row in document["timing"]] == pytest.approx(
        [-8, -6, -4, -2, 0, 2, 4, 6, 8]
    )
    intake = [row["valves"][0]["least_mm"] for row in document["timing"]]
    exhaust = [row["valves"][1]["least_mm"] for row in document["timing"]]
    assert intake == sorted(intake, reverse=True)
    assert exhaust == sorted(exhaust)
    assert "8 earlier" in turned.text
    assert "as it is" in turned.text
    for wrong in ("0", "-3", "90", "nan"):
        ended = tallstack("clearance", job, f"--timing={wrong}")
        assert ended.status == 2
        assert "crank degrees to either side" in ended.err


@pytest.mark.wide
@pytest.mark.parametrize("kind", few(("svg", "png", "pdf"), 1))
def test_the_picture_is_written_whole_and_the_same_each_time(
    job: Path, met: Job, tmp_path: Path, kind: str
) -> None:
    first, second = tmp_path / f"one.{kind}", tmp_path / f"two.{kind.upper()}"
    assert tallstack("clearance", job, *MET, "--plot", first).status == 0
    answer(met, plot=second)
    assert first.read_bytes() == second.read_bytes()
    begins = {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF-"}[kind]
    assert first.read_bytes().startswith(begins)
    refused = tallstack("clearance", job, "--plot", first)
    assert refused.status == 2
    assert "exists and is not overwritten" in refused.err
    if kind == "png":
        with Image.open(first) as picture:
            assert picture.width > 1500


def test_a_picture_of_another_kind_is_refused_before_anything_is_worked_out(
    job: Path, tmp_path: Path
) -> None:
    ended = tallstack("clearance", job, "--plot", tmp_path / "x.gif")
    assert ended.status == 2
    assert ".svg" in ended.err
    assert not list(tmp_path.glob("x.*"))


def test_inches_lead_where_the_job_counts_in_them(met: Job) -> None:
    metric = answer(met).text
    assert "mm      in    +/- mm  limit mm" in metric
    imperial = tallstack("clearance", DEMO).out
    assert "in      mm    +/- in  limit in" in imperial
    assert all(
        len(line) <= 80 for line in (metric + imperial).splitlines() if str(met.path.parent) not in line
    )


def test_a_gear_that_cannot_be_assembled_is_an_answer_in_words(job: Path) -> None:
    told = answer(load(job, [*MET[1::2], "one.intake.rocker.valve_arm=5 mm"]))
    assert told.status == 1
    assert "the rocker cannot meet the stem tip" in " ".join(told.text.split())
    assert "nan" not in told.text.lower()
    document = json.loads(told.shown(as_json=True))
    assert document["valves"][0]["drop_mm"] is None
    assert document["valves"][0]["cannot_assemble"]
    assert document["valves"][1]["drop_mm"] is not None


@pytest.mark.wide
def test_metal_that_is_left_is_told_with_its_doubt(job: Path) -> None:
    thick = ("--with", "piston.crown_thickness=9 +/- 0.3 mm", "--with", "piston.ring_land=9 +/- 0.3 mm")
    said = " ".join(tallstack("clearance", job, *thick).out.split())
    assert "+/- 0.35 mm under it" in said
    assert "THE CUT GOES THROUGH" not in said
    deep = ("--with", "targets.drop_exhaust=3.4 mm")  # a cut deeper than the other valve's pocket
    document = tallstack("clearance", job, *thick, *deep, "--json").json
    left = min(one["metal_under_mm"] for one in document["valves"][1]["remedies"] if one["metal_under_mm"])
    thin = f"{9.0 - left + 0.2:.2f} +/- 0.30 mm"
    said = tallstack(
        "clearance", job, *deep, "--with", f"piston.crown_thickness={thin}", "--with", "piston.ring_land=9 mm"
    ).out
    assert "within the doubt THE CUT GOES THROUGH" in " ".join(said.split())
    assert "(no +/- entered)" in " ".join(said.split())


def test_another_gasket_that_is_tried_has_a_doubt_of_its_own(tmp_path: Path) -> None:
    """The drop was read on the gasket of the file; trying another one leaves that where it was."""
    path = tmp_path / "read.toml"
    path.write_text(
        DEMO.read_text(encoding="utf-8").replace("stack = { cylinder", "# stack = { cylinder"),
        encoding="utf-8",
    )
    wide = tallstack("clearance", path, "--with", "stack.head_gasket=2.0 +/- 0.4 mm", "--json").json
    bare = tallstack("clearance", path, "--with", "stack.head_gasket=2.0 mm", "--json").json
    assert all(one["doubt_mm"] > 0.3 for one in wide["valves"])
    assert all("stack.head_gasket" in one["without_doubt"] for one in bare["valves"])


def test_heat_that_is_begun_and_not_known_leaves_nothing_pumped_up_met() -> None:
    """Fewer readings of the heat would else make a plunger rise by less; a shortfall stays one."""
    begun = "--with", "running.hot_head=180 +/- 10 C"
    cold, hot = (
        [tallstack(one, DEMO, *more, "--json").json for one in ("clearance", "fits")] for more in ((), begun)
    )
    was, now = ({one["train"]: one for one in each[0]["valves"]} for each in (cold, hot))
    assert was["front.exhaust"]["verdict"] == "ok"
    assert now["front.exhaust"]["verdict"] == "unproved"
    assert was["front.intake"]["verdict"] == now["front.intake"]["verdict"] == "short"
    assert "running.hot_valve" in now["front.exhaust"]["pumped_needs"]
    assert not was["front.exhaust"]["pumped_needs"]
    for key in ("coil_bind_pumped", "retainer_to_seal_pumped"):
        assert [one["trains"][0][f"{key}_verdict"] for one in (cold[1], hot[1])] == ["ok", "unproved"]
        assert "running.hot_valve" in hot[1]["trains"][0][f"{key}_without_doubt"]
    full = " ".join(tallstack("clearance", DEMO, *begun, "--full").out.split())
    assert "UNPROVED so: not known without materials.cylinder" in full
    assert "no +/- for" not in full
    assert "UNPROVED" not in tallstack("clearance", DEMO).out
    assert "needs materials.cylinder, materials.case and 10 more" in " ".join(
        tallstack("clearance", DEMO, *begun).out.split()
    )
