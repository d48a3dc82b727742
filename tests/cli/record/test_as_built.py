"""What is set and what was recorded speak of the same turns, the same shelf and the same limits."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from ...clearance_jobs import by_coordinates
from ...cli.commands.test_sheet import pages_of, sheet
from ...commands import DEMO, EXAMPLES, Ended, tallstack

SHELF = EXAMPLES / "pushrods_from_the_shelf"
LASH = EXAMPLES / "hot_lash_lost" / "job.toml"
WHEN = ("--when", "2026-01-02T10:00:00+01:00")


def copied(folder: Path, source: Path) -> Path:
    for one in source.parent.iterdir():
        if one.suffix in (".csv", ".toml"):
            (folder / one.name).write_bytes(one.read_bytes())
    return folder / source.name


def row(job: Path, what: str, of: str, *more: str) -> dict[str, object]:
    rows = tallstack("record", job, *more, "--json").json["compared"]
    return next(one for one in rows if one["what"] == what and of in (one.get("train"), one.get("cylinder")))


@pytest.mark.wide
def test_turns_count_from_zero_lash_everywhere(tmp_path: Path) -> None:
    job = copied(tmp_path, SHELF / "job.toml")
    shelf = ("--shelf", tmp_path / "shelf.csv")
    offer = next(
        one
        for one in tallstack("pushrods", job, *shelf, "--json").json["pushrods"][0]["shelf"]
        if one["turns_from_zero_lash"] is not None
    )
    turns = f"{offer['turns_from_zero_lash']:.2f} turns"
    told = " ".join(tallstack("pushrods", job, *shelf).out.split())
    assert f"on the engine {turns}" in told
    assert "from fully closed, on the bench" in told
    pages = [" ".join(page.split()) for page in pages_of(sheet(job, tmp_path / "sheet.pdf", *shelf))]
    setting = next(page for page in pages if "Setting each pushrod" in page)
    for shown in (pages[0], setting):
        assert re.search(rf"{re.escape(turns)}, [\d/ ]+ flats?, from zero lash", shown)
    plan = row(job, "turns", "front.intake", *map(str, shelf))
    assert plan["as"] == "zero lash"
    assert plan["planned"] == pytest.approx(offer["turns_from_zero_lash"], abs=1e-6)


@pytest.mark.wide
def test_a_record_remembers_its_shelf(tmp_path: Path) -> None:
    job = copied(tmp_path, SHELF / "job.toml")
    assert row(job, "pushrod", "front.intake")
    with pytest.raises(StopIteration):
        row(job, "turns", "front.intake")  # nothing is turned where no shelf is known
    said = ("front.intake", "--turns", "0.93 +/- 0.05", *WHEN)
    assert tallstack("record", job, *said, "--shelf", tmp_path / "shelf.csv").status == 0
    written = (tmp_path / "job.record.csv").read_text(encoding="utf-8").splitlines()
    assert written[1].split(",")[1:5] == ["shelf", "", "", "shelf.csv"]
    assert row(job, "turns", "front.intake")["verdict"] == "as_planned"
    assert row(job, "turns", "rear.intake")["planned"] is not None
    again = ("rear.intake", "--turns", "1.05", *WHEN, "--shelf", tmp_path / "shelf.csv")
    assert tallstack("record", job, *again).status == 0
    text = (tmp_path / "job.record.csv").read_text(encoding="utf-8")
    assert text.count("shelf.csv") == 1
    first = " ".join(pages_of(sheet(job, tmp_path / "sheet.pdf"))[0].split())
    assert "screw type: 0.93 turns" in first
    (tmp_path / "shelf.csv").unlink()
    warned = tallstack("record", job)
    assert "the shelf it names, shelf.csv, is not there: give it with --shelf" in " ".join(warned.out.split())


def test_a_shelf_outside_the_jobs_folder_is_not_read_by_itself(tmp_path: Path) -> None:
    inner = tmp_path / "job"
    inner.mkdir()
    job = copied(inner, SHELF / "job.toml")
    (inner / "shelf.csv").rename(tmp_path / "shelf.csv")
    said = ("front.intake", "--turns", "0.93 +/- 0.05", *WHEN)
    assert tallstack("record", job, *said, "--shelf", tmp_path / "shelf.csv").status == 0
    assert "lies outside the job's folder" in " ".join(tallstack("record", job).out.split())


@pytest.mark.parametrize(
    ("typed", "verdict"), [("0.45 +/- 0.02 mm", "beyond_the_doubt"), ("0.11 +/- 0.02 mm", "as_planned")]
)
def test_a_lash_that_was_felt_is_judged_by_the_feeler(tmp_path: Path, typed: str, verdict: str) -> None:
    job = copied(tmp_path, LASH)
    assert tallstack("record", job, "single.exhaust", "--lash", typed, *WHEN).status == (
        verdict != "as_planned"
    )
    assert row(job, "lash", "single.exhaust")["verdict"] == verdict


@pytest.mark.parametrize(
    ("typed", "verdict", "word"),
    [
        ("273.20 mm", "not_as_planned", "NOT AS PLANNED"),  # there is lash, and it is not the one wanted
        ("272.00 +/- 0.02 mm", "beyond_the_doubt", "BEYOND THE DOUBT"),
        ("274.00 mm", "short", "LIMIT MISSED"),  # holds the valve open
        ("210 mm", "short", "LIMIT MISSED"),  # nothing meets
    ],
)
def test_a_solid_lifters_rod_misses_a_limit_only_where_there_is_one(
    tmp_path: Path, typed: str, verdict: str, word: str
) -> None:
    job = copied(tmp_path, LASH)
    if verdict == "beyond_the_doubt":
        reading = '[train.measured_pushrod]\nlength = "273.44 +/- 0.02"\nas = "overall"\nlean = ["2 +/- 3", "2 +/- 3"]\n'
        text = job.read_text(encoding="utf-8").replace("lash = 0.15 ", 'lash = "0.15 +/- 0.01"')
        job.write_text(f"{text}\n{reading}", encoding="utf-8")
    ended = tallstack("record", job, "single.exhaust", "--pushrod", typed, "--as", "overall", *WHEN)
    assert ended.status == 1
    assert f"pushrod as overall: {word}" in ended.out
    assert ("a limit is missed\n" in ended.out) == (verdict == "short")
    assert row(job, "pushrod", "single.exhaust")["verdict"] == verdict


def test_a_measured_valve_to_valve_is_held_against_its_limit(tmp_path: Path) -> None:
    job = copied(tmp_path, DEMO)  # by the bench route it cannot be foretold
    ended = tallstack("record", job, "front", "--valve-to-valve", "0.030 +/- 0.002 in", *WHEN)
    assert ended.status == 1
    found = row(job, "valve_to_valve", "front")
    assert found["verdict"] == "short"
    assert found["least_mm"] == pytest.approx(1.524)
    assert "LIMIT MISSED" in ended.out


def test_what_was_typed_in_the_wrong_unit_is_asked_about(tmp_path: Path) -> None:
    job = copied(tmp_path, LASH)
    ended = tallstack("record", job, "single.exhaust", "--lash", "0.016", *WHEN)
    told = " ".join(ended.out.split())
    assert "LOOK AGAIN" in ended.out
    assert "0.4064 mm would be usual: was it typed in inches?" in told
    first = " ".join(pages_of(sheet(job, tmp_path / "sheet.pdf"))[0].split())
    assert "was it typed in inches?" in first[: first.index("ORDER,")]


def test_not_judged_says_why(tmp_path: Path) -> None:
    job = copied(tmp_path, SHELF / "job.toml")
    ended = tallstack("record", job, "front.intake", "--preload", "0.042", *WHEN)
    assert re.search(r"cannot be judged: \w", ended.out)


SHELF_JOB = EXAMPLES / "pushrods_from_the_shelf"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    for name in ("job.toml", "shelf.csv"):
        (tmp_path / name).write_bytes((SHELF_JOB / name).read_bytes())
    return tmp_path / "job.toml"


def record(job: Path, *words: str) -> Ended:
    return tallstack("record", job, *words)


def row_of(ended: Ended, what: str, of: str) -> dict[str, object]:
    (found,) = [
        row
        for row in ended.json["compared"]
        if row["what"] == what and of in (row.get("train"), row.get("cylinder"))
    ]
    return dict(found)


def test_a_difference_is_judged_by_both_doubts_together(job: Path) -> None:
    plan = row_of(record(job, "--json"), "preload", "front.intake")
    wish, doubt = float(str(plan["planned_mm"])), float(str(plan["planned_doubt_mm"]))
    half = 0.05
    both = math.hypot(doubt, 2 * half / math.sqrt(3))
    for off, verdict, status in ((both - 0.002, "as_planned", 0), (both + 0.002, "beyond_the_doubt", 1)):
        typed = f"{wish + off:.5f} +/- {half} mm"
        ended = record(job, "front.intake", "--preload", typed, "--json")
        row = row_of(ended, "preload", "front.intake")
        assert row["verdict"] == verdict
        assert ended.status == status
        assert row["difference_mm"] == pytest.approx(off, abs=1e-5)


def test_without_a_doubt_it_cannot_be_judged_but_a_limit_still_counts(job: Path) -> None:
    ended = record(job, "front.intake", "--preload", "0.043 in")
    assert "NOT JUDGED" in ended.out
    assert "what was recorded has no +/-" in ended.out
    assert ended.status == 0
    assert record(job, "--strict").status == 1
    ended = record(job, "front.intake", "--preload", "0.024 in")
    assert ended.status == 1
    assert "front intake, preload: LIMIT MISSED" in ended.out
    assert "at least 0.025 in (0.64 mm)" in ended.out
    assert "below them by 0.001 in (0.03 mm)" in " ".join(ended.out.split())


def test_a_pushrod_says_what_it_does_where_nothing_sets_it_right(job: Path) -> None:
    ended = record(job, "front.intake", "--pushrod", "10.560 in", "--as", "overall")
    assert ended.status == 1
    assert "front intake, pushrod as overall: LIMIT MISSED" in ended.out
    assert "it is slack by" in ended.out.replace("\n    ", " ")


def test_another_convention_is_compared_in_that_convention(job: Path) -> None:
    ended = record(job, "front.intake", "--pushrod", "270 +/- 0.02 mm", "--as", "theoretical", "--json")
    row = row_of(ended, "pushrod", "front.intake")
    (order,) = [
        one for one in tallstack("pushrods", job, "--json").json["pushrods"] if one["train"] == "front.intake"
    ]
    assert row["as"] == "theoretical"
    assert row["planned_mm"] == order["theoretical_mm"]


def test_turns_and_flats_come_from_the_shelf(job: Path) -> None:
    shelf = job.with_name("shelf.csv")
    offers = tallstack("pushrods", job, "--shelf", shelf, "--json").json["pushrods"][0]["shelf"]
    (taken,) = [one for one in offers if one["label"] == "screw type"]
    ended = tallstack(
        *("record", job, "front.intake", "--turned-from", "closed", "--shelf", shelf, "--json"),
        *("--turns", f"{taken['turns']:.3f} +/- 0.05", "--flats", str(taken["flats"])),
    )
    assert ended.status == 0, ended.err
    turns, flats = (row_of(ended, what, "front.intake") for what in ("turns", "flats"))
    assert (turns["planned"], flats["planned"]) == (taken["turns"], taken["flats"])
    assert (turns["verdict"], flats["verdict"]) == ("as_planned", "as_planned")
    off = str(taken["flats"] - 3)
    ended = tallstack(
        *("record", job, "front.intake", "--turned-from", "closed", "--shelf", shelf, "--flats", off)
    )
    assert "front intake, flats from closed: BEYOND THE DOUBT" in ended.out


def test_turns_of_a_rockers_screw_count_from_zero_lash() -> None:
    source = EXAMPLES / "single_with_lifter_screws" / "job.toml"
    ended = tallstack("record", source, "--json")
    (order,) = [
        one
        for one in tallstack("pushrods", source, "--json").json["pushrods"]
        if one["train"].endswith("intake")
    ]
    row, flats = row_of(ended, "flats", order["train"]), 6
    assert row["planned"] == pytest.approx(order["adjuster"]["turns_from_zero_lash"] * flats, abs=1e-5)
    assert abs(row["planned"] - order["adjuster"]["flats_from_zero_lash"]) < 0.5
    assert (
        "1/2 flats, from zero lash" in tallstack("pushrods", source).out
    )  # the plan is what is told to be set
    assert row["as"] == "zero lash"
    lash = row_of(ended, "lash", order["train"])
    assert lash["planned_mm"] == order["lash_mm"]


@pytest.mark.wide
def test_clearances_are_those_of_clearance_and_fits(tmp_path: Path) -> None:
    job = by_coordinates(tmp_path)
    clear = tallstack("clearance", job, "--json").json
    valve, pair = clear["valves"][0], clear["pairs"][0]
    train, cylinder = valve["train"], pair["cylinder"]
    ended = tallstack("record", job, train, "--clay", "1.0 mm", "--valve-lift", "9 +/- 0.1 mm", "--json")
    assert ended.status == 1  # thinner than the limit
    drop, clay, lift = (row_of(ended, what, train) for what in ("drop", "clay", "valve_lift"))
    assert (drop["planned_mm"], drop["least_mm"]) == (valve["drop_mm"], valve["target_mm"])
    assert (clay["planned_mm"], clay["verdict"]) == (valve["gap_mm"], "short")
    assert lift["planned_mm"] == valve["peak_lift_mm"]
    between = row_of(ended, "valve_to_valve", cylinder)
    assert between["planned_mm"] == pair["valve_to_valve_mm"]
    assert between["planned_doubt_mm"] == pair["doubt_mm"]
    fits = tallstack("fits", job, "--json").json["cylinders"][0]
    assert row_of(ended, "squish", cylinder)["planned_mm"] == fits["squish_mm"]


def test_the_doubt_of_a_lift_is_that_of_its_cam_and_rocker(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    text = (SHELF_JOB / "job.toml").read_text(encoding="utf-8")
    text = text.replace('peak = "0.318 in"', 'peak = "0.318 +/- 0.002 in"', 1)
    text = text.replace(
        "[train.measured_pushrod]", '[train.rocker]\nratio = "1.5"\n[train.measured_pushrod]', 1
    )
    job.write_text(text, encoding="utf-8")
    ended = tallstack("record", job, "front.intake", "--valve-lift", "0.477 +/- 0.001 in", "--json")
    row = row_of(ended, "valve_lift", "front.intake")
    assert row["planned_doubt_mm"] == pytest.approx(1.5 * 2 * 0.002 * 25.4 / math.sqrt(3), rel=1e-3)
    assert row["without_doubt"] == ["front.intake.rocker.ratio"]
    assert row["verdict"] == "not_judged"


def test_the_crank_is_held_against_the_window(job: Path) -> None:
    heel = tallstack("pushrods", job, "--json").json["pushrods"][0]["heel_deg"]
    ended = record(job, "front", "--crank", "0 +/- 2")
    assert "front, crank: WITHIN LIMITS" in ended.out, ended.err
    assert ended.status == 0
    ended = record(job, "front", f"--crank={heel[0] - 5:.1f}", "--json")
    row = row_of(ended, "crank", "front")
    assert row["verdict"] == "short"
    assert [row["least_deg"], row["most_deg"]] == heel
