"""`tallstack measure`: the list of what to measure, before there is a job and after."""

from __future__ import annotations

import io
import tempfile
from functools import cache
from pathlib import Path

import pypdf
import pytest
from tallstack.cli.job.entries.meanings import called
from tallstack.cli.sheet import work

from ...commands import DEMO, EXAMPLES, tallstack

POCKETS = EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml"


DAY = "2026-01-02"


def sheet(job: Path, out: Path, *more: object) -> bytes:
    """Return a sheet that was written, its risk drawn from few builds."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(work, "DRAWS", 500)
        ended = tallstack("sheet", job, "-o", out, "--date", DAY, *more)
    assert ended.status in (0, 1), ended.err
    return out.read_bytes()


def pages_of(content: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


@cache
def printed(job: Path, paper: str) -> bytes:
    """Return the PDF of a job, made once for all tests."""
    with tempfile.TemporaryDirectory() as folder:
        return sheet(job, Path(folder) / "sheet.pdf", "--paper", paper)


def test_what_to_measure_before_there_is_a_job(tmp_path: Path) -> None:
    told = tallstack("measure")
    assert told.status == 0
    assert "  G   rod as read\n" in told.out
    assert "length as read; checking rod and calipers" in told.out
    assert max(map(len, told.out.splitlines())) <= 80
    printed = tmp_path / "list.pdf"
    assert tallstack("measure", "-o", printed).status == 0
    text = " ".join(" ".join(pages_of(printed.read_bytes())).split())
    for one in tallstack("measure", "--json").json["groups"]:
        for reading in one["readings"]:
            assert called(reading["entry"]).partition(", ")[2].replace(" ", "") in text.replace(" ", "")
    assert "A sketch shows where a reading is taken, no size." in text
    page = tmp_path / "list.html"
    assert tallstack("measure", "-o", page).status == 0
    assert "rod as read" in page.read_text(encoding="utf-8")


@pytest.mark.wide
def test_what_a_job_still_lacks_is_asked_in_the_order_of_what_it_settles(tmp_path: Path) -> None:
    text = DEMO.read_text(encoding="utf-8")
    job = tmp_path / "job.toml"
    job.write_text(text.replace("5.342 +/- 0.001 in", ""), encoding="utf-8")
    groups = tallstack("measure", job, "--json").json["groups"]
    assert groups[0]["for"] == "FOR THE PUSHRODS"
    assert groups[0]["readings"][0]["entry"] == "stack.cylinder"
    assert groups[0]["readings"][0]["letter"] == "B"
    whole = tallstack("measure", POCKETS, "--json").json["groups"]
    worth = tallstack("risk", POCKETS, "--draws", "100", "--json").json["next"]
    again = next(one for one in whole if one["for"].startswith("WORTH TAKING AGAIN"))
    ranked = [one["reading"] for one in worth if one["saves"] > 1e-4]
    assert [one["entry"] for one in again["readings"]] == ranked


def test_measure_refuses_what_it_does_not_know(tmp_path: Path) -> None:
    for options, told in (
        (("--for", "power"), "--for power: takes pushrods, valves, compression"),
        (("--units", "cm"), '--units cm: takes "mm" or "in"'),
        (("-o", tmp_path / "list.txt"), "a sheet is written as .html or .pdf"),
    ):
        ended = tallstack("measure", *options)
        assert ended.status == 2
        assert told in ended.err
    assert not list(tmp_path.iterdir())
