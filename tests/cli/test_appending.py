"""Adding to the end of a file: the whole addition or nothing of it, under a lock."""

from __future__ import annotations

import contextlib
import os
import subprocess
from collections.abc import Callable, Generator
from pathlib import Path

import pytest
from tallstack.cli import appending
from tallstack.cli.appending import appended
from tallstack.cli.files import OutputRefusedError
from tallstack.cli.record.recordfile import Fact, append, read

from ..commands import EXAMPLES, FAULTS, Ended, tallstack
from ..killing import JOB

WHEN = "2026-03-14T16:05:00+01:00"


FACT = Fact(WHEN, "preload", "front.intake", "", "0.050 in", None, "Ann", "mic A", "")


def test_a_partial_write_is_cut_off_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.record.csv"
    append(path, [FACT])
    before = path.read_bytes()
    real = os.write
    monkeypatch.setattr(
        appending.os, "write", lambda handle, content: real(handle, content[: len(content) // 2])
    )
    with pytest.raises(OutputRefusedError, match="the disk is full; nothing was recorded"):
        append(path, [FACT])
    assert path.read_bytes() == before
    with pytest.raises(OutputRefusedError, match="the disk is full"):
        append(tmp_path / "new.record.csv", [FACT])
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_a_full_disk_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int, content: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(appending.os, "write", full)
    with pytest.raises(OutputRefusedError, match="No space left on device; nothing was recorded"):
        append(tmp_path / "x.record.csv", [FACT])
    assert not list(tmp_path.iterdir())


def test_without_a_lock_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fcntl = pytest.importorskip("fcntl")

    def refused(*_: object) -> None:
        raise OSError(37, "No locks available")

    monkeypatch.setattr(fcntl, "flock", refused)
    assert "no lock could be had" in append(tmp_path / "x.record.csv", [FACT])
    assert len(read(tmp_path / "x.record.csv")) == 1


def test_a_file_put_in_the_place_of_the_old_one_gets_the_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An editor saves between `_opened` and the lock; nothing else comes there at the right moment."""
    path = tmp_path / "x.record.csv"
    append(path, [FACT])
    real, times = appending._opened, []

    def opened(name: Path) -> tuple[int, bool]:
        found = real(name)
        if not times:  # an editor saves while we wait for the lock
            times.append(1)
            other = tmp_path / "other"
            other.write_bytes(name.read_bytes())
            other.replace(name)
        return found

    monkeypatch.setattr(appending, "_opened", opened)
    append(path, [FACT])
    assert len(read(path)) == 2


SHEETS, LOBE = (
    EXAMPLES / "sheet_for_the_job_folder",
    FAULTS / "lobe_command" / "good.csv",
)


ROOT = os.name == "posix" and os.geteuid() == 0


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for one in SHEETS.iterdir():
        if one.suffix in (".toml", ".csv"):
            Path(one.name).write_bytes(one.read_bytes())
    Path("lobe.csv").write_bytes(LOBE.read_bytes())
    Path("light.toml").write_bytes(JOB.read_bytes())
    Path("across.toml").write_bytes((EXAMPLES / "which_cylinder_first" / "job.toml").read_bytes())
    Path("shelf.csv").write_bytes((EXAMPLES / "pushrods_from_the_shelf" / "shelf.csv").read_bytes())
    return tmp_path


def told(ended: Ended, *words: str) -> None:
    """Look that a command ended in one message that holds these words."""
    assert ended.status == 2, ended
    assert ended.out == ""
    assert "Traceback" not in ended.err
    assert len(ended.err.splitlines()) == 1
    for one in words:
        assert one in ended.err


@pytest.fixture
def small_disk(folder: Path) -> Generator[Path]:
    """A disk of one page."""
    disk = folder / "disk"
    disk.mkdir()
    mounted = (
        subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=4k", "tmpfs", str(disk)], capture_output=True, check=False
        )
        if ROOT
        else None
    )
    if mounted is None or mounted.returncode:
        pytest.skip("no disk can be mounted here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_keeps_a_record(small_disk: Path, folder: Path) -> None:
    (small_disk / "job.toml").symlink_to(folder / "light.toml")
    record = small_disk / "job.record.csv"
    noted = 0
    with contextlib.suppress(OutputRefusedError):
        while True:
            append(record, [Fact("2026-03-14", "note", "", "", "", None, note="x" * 190)])
            noted, before = noted + 1, record.read_bytes()
    assert noted > 5
    assert record.read_bytes() == before
    told(tallstack("record", "disk/job.toml", "--note", "x" * 190), "nothing was recorded")
    assert record.read_bytes() == before
    assert tallstack("record", "disk/job.toml").status in (0, 1)


def test_the_lock_of_a_record_is_let_go_when_adding_is_refused(folder: Path) -> None:
    def refuse(_: bytes) -> bytes:
        raise OutputRefusedError("no")

    adding: Callable[[bytes], bytes] = lambda before: b"line\n"  # noqa: E731
    with pytest.raises(OutputRefusedError, match="no"):
        appended(Path("r.csv"), refuse)
    assert not Path("r.csv").exists()
    appended(Path("r.csv"), adding)
    assert Path("r.csv").read_bytes() == b"line\n"
