"""What a job of an earlier version is judged by now and was not then is told by check, until the job says it was read."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.job.entries.model import VERSIONS
from tallstack.cli.job.judged_since import CHANGES, changes
from tallstack.cli.job.loading import load

from ...commands import DEMO, EXAMPLES, tallstack


def older(source: Path, folder: Path) -> Path:
    """Copy a job as it was written before it could say for which version."""
    for one in source.parent.iterdir():
        if one.suffix == ".csv":
            (folder / one.name).write_bytes(one.read_bytes())
    job = folder / source.name
    job.write_text(source.read_text(encoding="utf-8").replace('written_for = "0.6"\n', ""), encoding="utf-8")
    return job


def test_a_job_of_the_version_before_is_told_what_is_judged_differently(tmp_path: Path) -> None:
    job = older(EXAMPLES / "pocket_to_be_cut_deeper" / "job.toml", tmp_path)
    told = tallstack("check", job)
    text = " ".join(told.out.split())
    assert "JUDGED DIFFERENTLY SINCE VERSION 0.1" in text
    assert "the straight gap is looked for through the whole cycle" in text
    assert 'write written_for = "0.6" at the top' in text
    assert all(len(line) <= 80 for line in told.out.splitlines() if str(job) not in line)
    found = tallstack("check", job, "--json").json["judged_differently"]
    assert found
    assert not any("spigot" in one for one in found)  # it has none


def test_a_job_that_says_it_was_read_is_told_nothing() -> None:
    assert "JUDGED DIFFERENTLY" not in tallstack("check", DEMO).out
    assert tallstack("check", DEMO, "--json").json["judged_differently"] == []


def test_every_change_concerns_a_job_and_not_every_job(tmp_path: Path) -> None:
    jobs = [load(older(one, tmp_path)) for one in sorted(EXAMPLES.glob("*/job.toml"))]
    jobs.append(load(older(DEMO, tmp_path)))
    for change in CHANGES:
        assert change.version in VERSIONS
        assert not all(change.concerns(job) for job in jobs), change.words
    told = {words for job in jobs for words in changes(job)}
    assert len(told) >= 7


def test_a_version_that_is_none_is_refused(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('format = 1\nwritten_for = "9"\nunits = "mm"\n', encoding="utf-8")
    ended = tallstack("check", job)
    assert ended.status == 2
    assert '"9" where "0.1", "0.2", "0.3", "0.4", "0.5" or "0.6" belongs' in ended.err


@pytest.mark.parametrize("words", [("new", "job.toml", "--blank")])
def test_a_new_job_says_for_which_version_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert tallstack(*words).status == 0
    assert f'written_for = "{VERSIONS[-1]}"' in (tmp_path / "job.toml").read_text(encoding="utf-8")
