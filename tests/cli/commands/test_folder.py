"""Every job of a folder, the worst first: broken ones are listed, what is no job is named, a link is passed by."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tallstack.cli.commands import folder
from tallstack.cli.commands.folder import WORDS

from ...commands import BENCH, DEMO, screen, tallstack

WHOLE = ("b_whole.toml", "c_blank.toml", "d_broken.toml", "e_torn.toml", "twin.toml")


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("jobs")
    for one in DEMO.parent.glob("*.csv"):
        shutil.copy(one, place)
    shutil.copy(DEMO, place)
    shutil.copy(BENCH, place / "b_whole.toml")
    (place / "c_blank.toml").write_text(
        'format = 1\nunits = "in"\n[stack]\ncylinder = ""\n', encoding="utf-8"
    )
    (place / "d_broken.toml").write_text('format = 1\nunits = "in"\n[stack]\ncylindr = 4\n', encoding="utf-8")
    (place / "e_torn.toml").write_text('format = 1\nunits = "in"\n[stack\n', encoding="utf-8")
    (place / "other.toml").write_text('title = "of another program"\n[project]\nx = 1\n', encoding="utf-8")
    (place / "link.toml").symlink_to(place / "twin.toml")
    (place / "inner.toml").mkdir()
    return place


def test_what_cannot_be_read_stands_before_what_is_blank_and_that_before_a_whole_one(
    jobs: Path, tmp_path: Path
) -> None:
    """Of the light ones; with the demo beside them, as the wider tests have it, that comes first."""
    for name in WHOLE[:-1]:
        shutil.copy(jobs / name, tmp_path)
    found = tallstack("overview", tmp_path, "--json")
    assert [one["file"] for one in found.json["jobs"]] == [*WHOLE[2:4], "c_blank.toml", "b_whole.toml"]
    assert found.status == 2


@pytest.mark.wide
def test_the_worst_stands_first_and_gives_the_status(jobs: Path) -> None:
    found = tallstack("overview", jobs, "--json")
    rows = found.json["jobs"]
    assert sorted(one["file"] for one in rows) == sorted(WHOLE)
    places = [WORDS.index(one["state"].upper()) for one in rows]
    assert places == sorted(places)
    assert [one["file"] for one in rows][0] == "twin.toml"
    assert rows[0]["told"] == tallstack("overview", jobs / "twin.toml", "--json").json["stop"]
    assert found.status == max(one["status"] for one in rows) == 2
    assert found.json["no_jobs"] == ["other.toml"]
    by_name = {one["file"]: one for one in rows}
    assert by_name["c_blank.toml"]["open_entries"] == ["stack.cylinder"]
    assert "did you mean cylinder" in by_name["d_broken.toml"]["told"][0]
    assert by_name["d_broken.toml"]["told"][0].startswith("d_broken.toml:4:1")
    assert (by_name["b_whole.toml"]["state"], by_name["b_whole.toml"]["status"]) == ("ok", 0)


@pytest.mark.wide
def test_it_reads_on_a_screen_of_80_columns_on_standard_output(
    jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(jobs)
    found = screen("overview", ".")
    assert (found.status, found.err) == (2, "")
    assert max(map(len, found.out.splitlines())) <= 80
    assert found.out.index("twin.toml") < found.out.index("d_broken.toml") < found.out.index("b_whole.toml")
    assert "no job: other.toml" in found.out


def test_a_folder_without_jobs_and_what_is_of_one_job_alone(tmp_path: Path) -> None:
    none = screen("overview", tmp_path)
    assert none.status == 2
    assert "no job in it" in none.err
    for words in (("--with", "stack.cylinder=1"), ("--shelf", "shelf.csv")):
        assert "is of one job" in screen("overview", tmp_path, *words).err


def test_the_status_of_one_whole_job_is_its_own(tmp_path: Path) -> None:
    shutil.copy(BENCH, tmp_path)
    assert folder.answer(tmp_path).status == 0


def test_one_job_is_one_job(tmp_path: Path) -> None:
    shutil.copy(BENCH, tmp_path / "b.toml")
    assert "OVERVIEW: 1 job, the worst first" in screen("overview", tmp_path).out
    shutil.copy(BENCH, tmp_path / "c.toml")
    assert "OVERVIEW: 2 jobs, the worst first" in screen("overview", tmp_path).out
