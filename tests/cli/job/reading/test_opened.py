"""The text of a job file, and why its bytes are none."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from tallstack.cli.job.loading import load

from ....job_texts import BENCH, job, refused


def test_mark_in_front_of_the_file_is_passed_over(tmp_path: Path) -> None:
    assert job(tmp_path, "\ufeff" + BENCH).mapping == job(tmp_path, BENCH).mapping


def test_line_ends_of_another_system_make_no_difference(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(BENCH.replace("\n", "\r\n").encode())
    assert load(path).mapping == job(tmp_path, BENCH).mapping


def test_file_of_ten_megabytes(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    path.write_bytes(b"format = 1\n" + b"# a line without end\n" * 500_000)
    assert refused("pushrods", path) == f"{path}: too large; a job file is text of at most 1,000,000 bytes\n"


def test_folder_in_place_of_a_file(tmp_path: Path) -> None:
    assert refused("check", tmp_path) == f"{tmp_path}: a folder, not a job file; name the .toml file in it\n"


def test_file_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    told = refused("pushrods", path)
    assert told == f"{path}: no such file; `tallstack new FILE --blank` starts one\n"
    assert list(tmp_path.iterdir()) == []


def test_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.toml"
    path.write_text("format = 1\n")

    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(os, "open", forbidden)  # the superuser may read every file
    assert refused("pushrods", path) == f"{path}: cannot be read: Permission denied\n"
