"""A record as JSON: the same for the command and for a program."""

from __future__ import annotations

from pathlib import Path

import tallstack as ts
from tallstack.cli.record.document import document
from tallstack.cli.record.recordfile import Fact
from tallstack.cli.record.visits import Visits

from ...commands import EXAMPLES, tallstack

FACT = Fact("2026-01-01", "note", "", "", "", None, note="started", number=1)


def test_what_no_longer_counts_is_marked() -> None:
    gone = Fact("2026-01-02", "withdrawn", "", "note", "1", None, note="no", number=2)
    found = document(Path("job.record.csv"), (), (), Visits((), ()), (FACT, gone))
    assert [line["counts"] for line in found["lines"]] == [False, False]
    assert (found["file"], found["added"]) == ("job.record.csv", 0)
    assert found["visits"] == found["rates"] == found["compared"] == []


def test_a_program_gets_what_the_command_prints(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_bytes((EXAMPLES / "hot_lash_lost" / "job.toml").read_bytes())
    when = ("--when", "2026-01-01")
    tallstack("record", job, "single.exhaust", "--lash", "0.12 +/- 0.01", *when)
    visit = ("--visit", "500 miles", "--found", "--lash", "0.07 +/- 0.01")
    told = tallstack("record", job, "single.exhaust", *visit, *when, "--json").json
    found = ts.load(job).record()
    assert set(found) < set(told)
    assert (
        [row["verdict"] for row in found["visits"]]
        == [row["verdict"] for row in told["visits"]]
        == ["closed"]
    )
    assert [list(row) for row in found["compared"]] == [list(row) for row in told["compared"]]
    assert found["lines"] == told["lines"]
