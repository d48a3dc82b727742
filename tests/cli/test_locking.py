"""A lock beside a file: one at a time, gone with the last of them, and told where there is none to be had."""

from __future__ import annotations

from pathlib import Path
from threading import Thread

import pytest
from tallstack.cli.locking import UNLOCKED, is_still, locked_beside


def test_one_holds_it_at_a_time_and_nothing_is_left_of_it(tmp_path: Path) -> None:
    path, inside, most = tmp_path / "job.toml", list[int](), list[int]()

    def hold() -> None:
        for _ in range(30):
            with locked_beside(path) as warning:
                assert warning == ""
                inside.append(1)
                most.append(len(inside))
                inside.pop()

    threads = [Thread(target=hold) for _ in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(most) == 4 * 30
    assert max(most) == 1
    assert not list(tmp_path.iterdir())


def test_without_a_lock_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fcntl = pytest.importorskip("fcntl")

    def refused(*_: object) -> None:
        raise OSError(37, "No locks available")

    monkeypatch.setattr(fcntl, "flock", refused)
    with locked_beside(tmp_path / "job.toml") as warning:
        assert warning == UNLOCKED


def test_a_file_that_another_took_the_place_of_is_not_the_one_that_is_open(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.touch()
    with path.open() as stream:
        assert is_still(stream.fileno(), path)
        path.unlink()
        assert not is_still(stream.fileno(), path)
        path.touch()
        assert not is_still(stream.fileno(), path) or path.stat().st_ino == 0
