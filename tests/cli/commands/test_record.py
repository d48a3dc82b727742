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
