"""`tallstack record`: the log beside the job keeps every line, and what cannot be used writes nothing."""

from __future__ import annotations

import csv
from datetime import datetime
from pathlib import Path

import pytest
from tallstack.cli.record.recordfile import record_path

from ...commands import EXAMPLES, Ended, tallstack

SHELF_JOB = EXAMPLES / "pushrods_from_the_shelf"
WHEN = "2026-03-14T16:05:00+01:00"


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


def lines_of(job: Path) -> list[dict[str, str]]:
    with record_path(job).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_nothing_recorded_shows_the_plan_and_writes_nothing(job: Path) -> None:
    ended = record(job)
    assert ended.status == 0, ended.err
    assert "nothing is written down yet" in ended.out
    assert "front intake, pushrod" in ended.out
    assert not record_path(job).exists()


def test_the_plan_is_that_of_pushrods(job: Path) -> None:
    (order,) = [
        one for one in tallstack("pushrods", job, "--json").json["pushrods"] if one["train"] == "rear.exhaust"
    ]
    ended = record(job, "--json")
    row = row_of(ended, "pushrod", "rear.exhaust")
    assert row["planned_mm"] == order["overall_mm"]
    assert row["planned_doubt_mm"] == order["doubt_mm"]
    wish = row_of(ended, "preload", "rear.exhaust")
    assert (wish["planned_mm"], wish["least_mm"], wish["most_mm"]) == (
        order["preload_mm"],
        order["preload_least_mm"],
        order["preload_most_mm"],
    )


def test_facts_are_written_as_typed_one_a_line(job: Path) -> None:
    ended = record(
        job,
        *("front.intake", "--pushrod", "10.630 +/- 0.001 in", "--as", "overall", "--preload", "0.043"),
        *("--by", "Ann", "--tool", "mic A", "--when", "2026-03-14T16:05:00+01:00", "--note", "second try"),
    )
    assert ended.status == 0, ended.err
    first, second = lines_of(job)
    assert first["what"] == "pushrod"
    assert first["as"] == "overall"
    assert first["value"] == "10.630 +/- 0.001 in"
    assert second["value"] == "0.043 in"  # a bare number gets the job's unit
    assert {line["of"] for line in (first, second)} == {"front.intake"}
    assert [first[name] for name in ("by", "tool", "note")] == ["Ann", "mic A", "second try"]
    assert first["when"] == WHEN


def test_now_is_written_with_its_offset_to_the_second(job: Path) -> None:
    before = datetime.now().astimezone().replace(microsecond=0)
    assert record(job, "--note", "started").status == 0
    moment = datetime.fromisoformat(lines_of(job)[0]["when"])
    assert moment.utcoffset() is not None
    assert before <= moment <= datetime.now().astimezone()
    assert moment.microsecond == 0


def test_a_later_line_counts_and_both_stay(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.020 in")
    ended = record(job, "front.intake", "--preload", "0.043 +/- 0.003 in")
    assert ended.status == 0
    assert "[a later line counts]" in " ".join(ended.out.split())
    assert [line["value"] for line in lines_of(job)] == ["0.020 in", "0.043 +/- 0.003 in"]


def test_a_line_is_withdrawn_by_another_with_the_reason(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.020 in")
    refused = record(job, "--withdraw", "1")
    assert refused.status == 2
    assert "--withdraw 1: a line is withdrawn with the reason" in refused.err
    ended = record(job, "--withdraw", "1", "--note", "that was the exhaust")
    assert ended.status == 0
    assert "[WITHDRAWN]" in " ".join(ended.out.split())
    assert row_of(record(job, "--json"), "preload", "front.intake")["verdict"] == "not_recorded"
    assert len(lines_of(job)) == 2
    for number, why in (("1", "withdrawn already"), ("2", "withdraws another"), ("9", "has 2 lines")):
        again = record(job, "--withdraw", number, "--note", "again")
        assert again.status == 2
        assert why in again.err


def test_lines_that_were_moved_under_a_withdrawal_are_noticed(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.020 in")
    record(job, "rear.intake", "--preload", "0.030 in")
    record(job, "--withdraw", "1", "--note", "wrong valve")
    path = record_path(job)
    text = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join([text[0], *text[2:]]), encoding="utf-8")
    told = record(job)
    assert told.status == 2
    assert f"{path}:3:1: value: " in told.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            ("front.intake", "--pushrod", "10.6 in"),
            "--pushrod: a length means nothing without its convention",
        ),
        (("front.intake", "--pushrod", "10,6", "--as", "overall"), "--pushrod 10,6: "),
        (("front.intake", "--pushrod", "10.6", "--as", "over"), "--as over: "),
        (("front.intke", "--preload", "0.04"), "did you mean front.intake?"),
        (("--preload", "0.04"), "--preload: is of a valve gear, and none is named"),
        (("front.intake", "--squish", "0.04"), "--squish: is of a cylinder, and front.intake is not one"),
        (("front", "--preload", "0.04"), "--preload: is of a valve gear, and front is not one"),
        (("front.intake", "--preload", ""), "--preload: no value after it"),
        (("front.intake", "--preload", "0.04", "--when", "yesterday"), "--when yesterday: no date"),
        (("front.intake", "--preload", "0.04", "--by", "A\nB"), "text of one line"),
        (("front.intake",), "front.intake: nothing to write down of it"),
        (("--by", "Ann"), "--by Ann: nothing to write down with it"),
        (("front.intake", "--preload", "-0.04"), "must be 0 or more"),
        (("front.intake", "--flats", "3", "--turned-from", "there"), "--turned-from there: "),
        (
            ("front.intake", "--as", "overall", "--preload", "0.04"),
            "--as overall: says how a pushrod's length",
        ),
        (("--withdraw", "1", "--note", "x"), "no line to withdraw"),
        (
            ("front.intake", "--visit", "500 miles", "--preload", "0.04"),
            "say whether it was so --found or --left",
        ),
        (
            ("front.intake", "--visit", "500", "--found", "--preload", "0.04"),
            "a distance needs its unit: km or miles",
        ),
        (("front.intake", "--visit", "5 in", "--left", "--preload", "0.04"), '"in" is no unit of a distance'),
        (("front.intake", "--found", "--preload", "0.04"), "--found: at which visit?"),
        (
            ("front.intake", "--visit", "5 km", "--left", "--note", "x"),
            "--left: nothing to write down with it",
        ),
        (("--visit", "500 miles"), "--visit 500 miles: nothing to write down with it"),
        (("front.intake", "--temperature", "18", "--preload", "0.04"), "--temperature 18: "),
        (
            ("front.intake", "--temperature", "", "--lift", "9 mm", "--preload", "0.04"),
            "--lift 9 mm: belongs to",
        ),
        (
            ("front.intake", "--figure", "cover room full = 1.8 mm"),
            "add the valve's lift that it was read at, --lift",
        ),
        (("front.intake", "--visit", "5 km", "--changed", "pushord"), "did you mean pushrod?"),
        (("front.intake", "--changed", "pushrod"), "--changed pushrod: at which visit?"),
        (("front", "--visit", "5 km", "--changed", "pushrod"), "--changed pushrod: is of a valve gear"),
        (("--visit", "5 km", "--changed", "head"), "--changed head: is of a cylinder"),
        (("front.intake", "--figure", "tip hight = 40 mm"), "did you mean tip height?"),
    ],
)
def test_what_cannot_be_used_is_refused_and_nothing_is_written(
    job: Path, words: tuple[str, ...], told: str
) -> None:
    ended = record(job, *words)
    assert ended.status == 2
    assert told in ended.err
    assert not ended.out
    assert not record_path(job).exists()


def test_a_job_that_computes_nothing_still_lets_facts_be_recorded(tmp_path: Path) -> None:
    job = tmp_path / "bare.toml"
    job.write_text(
        'format = 1\nunits = "mm"\n[[cylinder]]\nname = "one"\n'
        '[[train]]\ncylinder = "one"\nport = "intake"\n'
        '[lobe.intake]\ntable = "lobe.csv"\nmeasured_at = "lifter"\ncentreline = 104\n',
        encoding="utf-8",
    )
    (tmp_path / "lobe.csv").write_text("angle,lift\n0,nonsense\n", encoding="utf-8")
    facts = ("--pushrod", "271.2 mm", "--as", "overall", "--preload", "1 mm", "--clay", "2 mm")
    ended = tallstack("record", job, "one.intake", *facts, "--valve-lift", "9 mm")
    assert ended.status == 1  # thinner than common practice
    assert len(lines_of(job)) == 4
    assert "one intake, pushrod as overall: NOT PLANNED" in ended.out
    assert "lobe.csv:2" in ended.out.replace("\n    ", "")
    ended = tallstack("record", job, "one", "--squish", "1.1 mm", "--deck", "0.2 mm", "--crank", "0")
    assert len(lines_of(job)) == 7


def test_facts_of_what_the_job_no_longer_has_are_shown(job: Path) -> None:
    record(job, "--note", "started")
    path = record_path(job)
    with path.open("a", encoding="utf-8") as stream:
        stream.write(f"{WHEN},preload,middle.intake,,0.04 in,,,\n")
    ended = record(job)
    assert "middle.intake is not in this job" in ended.out
    assert ended.status == 0


def test_the_answer_fits_a_terminal_in_plain_letters(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(job.parent)
    for where in ("front.intake", "rear.exhaust"):
        ended = record(
            Path("job.toml"), where, "--pushrod", "10.6 +/- 0.01 in", "--as", "overall", "--preload", "1.1 mm"
        )
    assert ended.out.isascii()
    assert max(map(len, ended.out.splitlines())) <= 80


VISIT = ("front.intake", "--visit", "500 miles")


def visit_of(ended: Ended, run: float = 804.672) -> dict[str, object]:
    (found,) = [row for row in ended.json["visits"] if row["distance_km"] == pytest.approx(run)]
    return dict(found)


def test_a_visit_keeps_what_was_built_and_says_what_moved(job: Path) -> None:
    built = ("--preload", "0.043 +/- 0.002 in", "--when", WHEN)
    before = record(job, "front.intake", *built, "--json").json["compared"]
    ended = record(job, *VISIT, "--found", "--preload", "0.053 +/- 0.002 in", "--when", WHEN, "--json")
    assert ended.status == 1  # it moved
    assert ended.json["compared"] == before
    row = visit_of(ended)
    assert (row["since"], row["verdict"], row["lines"]) == ("assembly", "closed", [1, 2])
    assert row["moved_mm"] == pytest.approx(0.254)
    assert row["moved_doubt_mm"] == pytest.approx(2 * 0.0508 * 2**0.5 / 3**0.5, abs=1e-5)
    ended = record(job, *VISIT, "--left", "--preload", "0.043 +/- 0.002 in", "--when", WHEN)
    head = " ".join(ended.out[: ended.out.index("lengths (in)")].split())
    assert (
        "LOOK AGAIN: front intake, preload closed by 0.010 +/- 0.003 in between assembly and 500 miles"
        in head
    )
    assert "the engine maker's manual comes first" in " ".join(ended.out.split())
    assert record(job, "--json").json["compared"] == before
    assert [line["state"] for line in lines_of(job)] == ["", "found", "left"]


def test_one_command_may_say_found_and_left_so(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.043 +/- 0.002 in", "--when", WHEN)
    record(job, *VISIT, "--found", "--left", "--preload", "0.044 +/- 0.002 in", "--temperature", "64 F")
    (_, line) = lines_of(job)
    assert (line["state"], line["distance"], line["temperature"]) == ("found and left", "500 miles", "64 F")
    row = visit_of(record(job, "--json"))
    assert (row["verdict"], row["found_mm"], row["left_mm"]) == (
        "no_change_shown",
        row["left_mm"],
        row["found_mm"],
    )


def test_a_withdrawn_line_of_a_visit_counts_no_more(job: Path) -> None:
    record(job, "front.intake", "--preload", "0.043 +/- 0.002 in", "--when", WHEN)
    record(job, *VISIT, "--found", "--preload", "0.090 +/- 0.002 in", "--when", WHEN)
    assert record(job, "--withdraw", "2", "--note", "that was the exhaust").status == 0
    assert record(job, "--json").json["visits"] == []
    record(job, *VISIT, "--found", "--preload", "0.044 +/- 0.002 in", "--when", WHEN)
    assert visit_of(record(job, "--json"))["verdict"] == "no_change_shown"
    told = record(job, "--withdraw", "1", "--note", "so was that", "--json")
    assert (
        visit_of(told)["why"]
        == "Nothing was written down before as left, so nothing can be said of what moved."
    )


def test_what_was_changed_is_written_where_it_belongs(job: Path) -> None:
    both = ("--changed", "lifter", "--preload", "0.043 +/- 0.002 in", "--when", WHEN)
    record(job, *VISIT, "--left", *both)
    record(job, "rear.intake", "--visit", "500 miles", "--found", *both)
    assert [line["what"] for line in lines_of(job)] == ["changed", "preload", "preload", "changed"]
    record(job, "front.intake", "--visit", "900 km", "--changed", "head", "--when", WHEN)
    record(job, "--visit", "900 km", "--changed", "camshaft", "--when", WHEN)
    assert [(line["of"], line["value"]) for line in lines_of(job)][-2:] == [
        ("front", "head"),
        ("", "camshaft"),
    ]


@pytest.fixture
def single(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_bytes((EXAMPLES / "hot_lash_lost" / "job.toml").read_bytes())
    record(path, "single.exhaust", "--lash", "0.12 +/- 0.01", "--when", WHEN)
    record(
        path, "single.exhaust", "--visit", "500 miles", "--found", "--lash", "0.07 +/- 0.01", "--when", WHEN
    )
    return path


MOVED = "LOOK AGAIN: single exhaust, lash closed by 0.05 +/- 0.02 mm between assembly and 500 miles"


def test_overview_says_what_moved_first(single: Path) -> None:
    told = tallstack("overview", single, "--json")
    assert told.status == 1
    assert MOVED in told.json["stop"]


@pytest.mark.wide
def test_the_sheet_says_what_moved_first_and_in_full(single: Path) -> None:
    page = single.with_name("sheet.html")
    tallstack("sheet", single, "-o", page)
    sheet = " ".join(page.read_text(encoding="utf-8").split())
    assert MOVED in sheet[: sheet.index("Found and left since")]
    assert "any of these alone fits" in sheet


@pytest.mark.parametrize("typed", ["0.2 mm", "0.2 +/- 0.1 mm", "0.2 +/- 3 mm"])
def test_a_doubt_left_out_or_wide_is_no_better_where_a_limit_is_missed(typed: str, tmp_path: Path) -> None:
    """Of a squish that may be 0.89 mm at least."""
    job = tmp_path / "job.toml"
    job.write_bytes((EXAMPLES / "which_cylinder_first" / "job.toml").read_bytes())
    told = tallstack("record", job, "front", "--squish", typed)
    assert told.status == 1
    assert "LIMIT MISSED: front, squish" in told.out


@pytest.mark.parametrize("typed", ["2.9 mm", "2.9 +/- 0.1 mm", "2.9 +/- 1.9 mm"])
def test_what_stands_off_the_plan_is_told_whatever_its_doubt(typed: str, tmp_path: Path) -> None:
    """Planned are 0.7 mm: without a +/-, or with one so wide that it tells nothing, it is not judged, and counts."""
    job = tmp_path / "job.toml"
    job.write_bytes((EXAMPLES / "which_cylinder_first" / "job.toml").read_bytes())
    told = tallstack("record", job, "front", "--deck", typed)
    assert told.status == 1
    assert "AS PLANNED" not in told.out.replace("NOT AS PLANNED", "")
    head = told.out[: told.out.index("lengths (mm)")]
    assert "front, deck" in head[head.index("STOP") :]
