"""A job names its shelf and its record; what goes over what is said."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tallstack.cli.job.loading import load
from tallstack.cli.record.recordfile import read
from tallstack.cli.record.remembered import record_of, shelf_of, unread_record

from ...commands import DEMO, screen, tallstack

UNITS = 'units = "in"'


@pytest.fixture
def twin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo with its shelf and its record in folders below it, and named."""
    for one in DEMO.parent.glob("*.*"):
        shutil.copy(one, tmp_path)
    for folder, name in (("parts", "shelf.csv"), ("kept", "twin.record.csv")):
        (tmp_path / folder).mkdir()
        (tmp_path / name).replace(tmp_path / folder / name)
    job = tmp_path / "twin.toml"
    named = f'{UNITS}\nshelf = "parts/shelf.csv"\nrecord = "kept/twin.record.csv"'
    text = job.read_text(encoding="utf-8")
    assert text.count(UNITS) == 1
    job.write_text(text.replace(UNITS, named), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return job


def test_the_shelf_that_a_job_names_is_asked_by_itself(twin: Path) -> None:
    by_itself = tallstack("pushrods", "twin.toml", "--json").json
    given = tallstack("pushrods", "twin.toml", "--shelf", "parts/shelf.csv", "--json").json
    assert by_itself["set"] is not None
    assert by_itself == given
    assert tallstack("swap", "twin.toml", "--from", "before.toml", "--json").json["set"] == by_itself["set"]


def test_the_command_line_goes_over_it_and_says_so(twin: Path) -> None:
    (twin.parent / "other.csv").write_bytes((twin.parent / "parts" / "shelf.csv").read_bytes())
    said = "--shelf other.csv goes over parts/shelf.csv, which the job names"
    for words in (("pushrods", "twin.toml"), ("record", "twin.toml")):
        assert said in screen(*words, "--shelf", "other.csv").out, words
    assert "goes over" not in screen("pushrods", "twin.toml", "--shelf", "parts/shelf.csv").out


def test_record_overview_and_library_read_the_record_that_a_job_names(twin: Path) -> None:
    kept = twin.parent / "kept" / "twin.record.csv"
    before = len(read(kept))
    assert record_of(load(twin)) == kept
    assert tallstack("record", "twin.toml", "--note", "looked at").status in (0, 1)
    assert len(read(kept)) == before + 1
    assert not (twin.parent / "twin.record.csv").exists()


def test_another_record_beside_the_job_is_not_passed_over_in_silence(twin: Path) -> None:
    assert unread_record(load(twin)) == ()
    shutil.copy(twin.parent / "kept" / "twin.record.csv", twin.parent)
    (told,) = unread_record(load(twin))
    assert told.startswith("twin.record.csv is there too and is not read")
    assert "is not read" in " ".join(screen("record", "twin.toml").out.split())


def test_another_shelf_in_the_record_is_told(twin: Path) -> None:
    job, facts = load(twin), read(twin.parent / "kept" / "twin.record.csv")
    shutil.copy(twin.parent / "parts" / "shelf.csv", twin.parent / "shelf.csv")  # what the record names
    found = shelf_of(job, None, facts)
    assert found.path == twin.parent / "parts" / "shelf.csv"
    assert "taken from shelf.csv; the job names parts/shelf.csv" in found.warned[0]
    assert shelf_of(job).warned == ()


def test_the_first_line_of_a_record_says_the_shelf_of_its_job(twin: Path) -> None:
    (twin.parent / "kept" / "twin.record.csv").unlink()
    tallstack("record", "twin.toml", "--note", "begun")
    assert [(one.what, one.typed) for one in read(twin.parent / "kept" / "twin.record.csv")] == [
        ("shelf", "parts/shelf.csv"),
        ("note", ""),
    ]


def test_a_sheet_is_never_written_over_what_a_job_names(twin: Path) -> None:
    for name in ("parts/shelf.csv", "kept/twin.record.csv"):
        assert twin.parent / name in load(twin).files


def test_tables_below_the_job_are_read_wherever_a_job_names_one(twin: Path) -> None:
    """A lobe's table from a folder below: the sheet, the clearances, and `lobe` by hand say the same of it."""
    shared = twin.parent / "shared"
    shared.mkdir()
    text = twin.read_text(encoding="utf-8")
    assert text.count('table = "exhaust.csv"') <= 1
    start = text.index("[lobe.intake]")
    end = text.index("\n[", start + 5)
    plain = f'{text[:start]}[lobe.intake]\ntable = "%s"\nmeasured_at = "lifter"\nangle = "cam"\ncentreline = 106\n{text[end:]}'
    shutil.copy(twin.parent / "intake.csv", shared)
    answers = []
    for name in ("intake.csv", "shared/intake.csv"):
        twin.write_text(plain % name, encoding="utf-8")
        answers.append(tallstack("clearance", "twin.toml", "--json").json)
        assert load(twin).files[-1].name == "twin.record.csv" or (twin.parent / name) in load(twin).files
    assert answers[0] == answers[1]


@pytest.mark.wide
def test_the_sheet_reads_a_crown_and_a_lobe_from_below(twin: Path) -> None:
    shared = twin.parent / "shared"
    shared.mkdir()
    shutil.copy(twin.parent / "intake.csv", shared)
    text = twin.read_text(encoding="utf-8").replace('"intake.csv"', '"shared/intake.csv"')
    twin.write_text(text, encoding="utf-8")
    assert tallstack("sheet", "twin.toml", "-o", "sheet.html").status in (0, 1)
