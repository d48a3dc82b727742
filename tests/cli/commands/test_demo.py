"""`tallstack demo`: the files it writes, and the job that it works."""

from __future__ import annotations

from pathlib import Path

import pytest

from ...commands import screen, tallstack
from ...job_texts import refused


@pytest.mark.wide
def test_demo_writes_its_files_and_works_the_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ended = tallstack("demo", "first try")
    assert ended.status == 0
    assert "STOP, 2 things before anything goes together" in ended.out
    assert "front intake      11.056   280.82" in ended.out
    assert (tmp_path / "first try" / "twin.toml").is_file()
    assert tallstack("pushrods", "first try/twin.toml").status == 0
    monkeypatch.chdir("first try")
    tried = [line.split()[1:] for line in ended.out.splitlines() if line.startswith("  tallstack ")]
    assert len(tried) == 5
    for words in tried[:2]:
        assert screen(*words).status in (0, 1), words
    monkeypatch.chdir("..")
    again = tallstack("demo", "first try")
    assert again.status == 2
    assert "add --force" in again.err
    assert tallstack("demo", "first try", "--force").status == 0


def test_demo_in_a_place_that_is_a_file(tmp_path: Path) -> None:
    path = tmp_path / "taken"
    path.write_text("mine")
    told = refused("demo", path)
    assert told.startswith(f"{path}")
    assert path.read_text() == "mine"
    assert [one.name for one in tmp_path.iterdir()] == ["taken"]


@pytest.mark.wide
def test_demo_does_not_overwrite(tmp_path: Path) -> None:
    assert tallstack("demo", tmp_path / "demo").status == 0
    before = {path: path.read_bytes() for path in (tmp_path / "demo").iterdir()}
    assert "exists and is not overwritten; name another folder or add --force" in refused(
        "demo", tmp_path / "demo"
    )
    assert {path: path.read_bytes() for path in (tmp_path / "demo").iterdir()} == before


@pytest.mark.wide
def test_every_command_that_the_demo_names_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = tallstack("demo", tmp_path / "demo").out
    monkeypatch.chdir(tmp_path / "demo")
    for line in told.splitlines():
        if line.startswith("  tallstack "):
            assert screen(*line.split()[1:]).status in (0, 1), line
