"""Which files a job may read: those in its folder, links followed, or any where the user said so, in this thread alone."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from tallstack.cli.job.reading.outside import allow_outside, may_read


@pytest.fixture(autouse=True)
def _as_it_was() -> Iterator[None]:
    yield
    allow_outside(False)


def test_only_what_lies_in_the_folder_may_be_read(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    (tmp_path / "job-two").mkdir()
    assert may_read(folder / "lobe.csv", folder)
    assert may_read(folder / "deeper" / "lobe.csv", folder)
    assert may_read(folder / ".." / "job" / "lobe.csv", folder)
    assert not may_read(folder / ".." / "lobe.csv", folder)
    assert not may_read(tmp_path / "job-two" / "lobe.csv", folder)  # its name begins alike
    assert not may_read(Path("/etc/hostname"), folder)


def test_a_link_counts_as_what_it_leads_to(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    (tmp_path / "secret.csv").write_text("x", encoding="utf-8")
    (folder / "out.csv").symlink_to(tmp_path / "secret.csv")
    (folder / "in.csv").write_text("x", encoding="utf-8")
    (folder / "round.csv").symlink_to(folder / "round.csv")
    (tmp_path / "by_link").symlink_to(folder)
    assert not may_read(folder / "out.csv", folder)
    assert may_read(tmp_path / "by_link" / "in.csv", folder)


def test_what_is_allowed_is_allowed_here_alone(tmp_path: Path) -> None:
    allow_outside(True)
    assert may_read(Path("/etc/hostname"), tmp_path)
    elsewhere: list[bool] = []
    other = threading.Thread(target=lambda: elsewhere.append(may_read(Path("/etc/hostname"), tmp_path)))
    other.start()
    other.join()
    assert elsewhere == [False]
