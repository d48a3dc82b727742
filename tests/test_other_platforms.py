"""Each place that asks what system it runs on, as it is on another one: without locks, links, forks, signals or a screen.

None of it was tried on Windows itself.
"""

from __future__ import annotations

import errno
import multiprocessing
import os
import signal
import socket
import stat
import sys
import types
import webbrowser
from multiprocessing import Pipe
from pathlib import Path

import pytest
from tallstack.cli import ending, files
from tallstack.cli.appending import appended
from tallstack.cli.bench import addresses, serving
from tallstack.cli.bench.working import work_beside
from tallstack.cli.job.reading.opened import first_bytes
from tallstack.cli.locking import FAR, UNLOCKED, locked, locked_beside

from .commands import TWIN, tallstack


@pytest.fixture
def without_fcntl(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    monkeypatch.setitem(sys.modules, "fcntl", None)
    return monkeypatch


def windows_locks(held: list[tuple[str, int, int]], refuses: bool = False) -> types.ModuleType:
    """Return a module that locks as Windows does, and keeps what was asked of it."""
    fake = types.ModuleType("msvcrt")

    def locking(handle: int, how: str, many: int) -> None:
        if refuses:
            raise OSError(errno.EDEADLOCK, "nobody lets go of it")
        held.append((how, os.lseek(handle, 0, os.SEEK_CUR), many))

    fake.__dict__.update(locking=locking, LK_LOCK="lock", LK_UNLCK="let go")
    return fake


def test_a_byte_far_behind_the_end_is_locked_and_let_go(
    tmp_path: Path, without_fcntl: pytest.MonkeyPatch
) -> None:
    held: list[tuple[str, int, int]] = []
    without_fcntl.setitem(sys.modules, "msvcrt", windows_locks(held))
    with locked_beside(tmp_path / "job.toml") as warning:
        assert warning == ""
        assert held == [("lock", FAR, 1)]
    assert held[1:] == [("let go", FAR, 1)]


@pytest.mark.parametrize("there", [True, False], ids=["refused", "no such module"])
def test_where_no_lock_is_to_be_had_it_is_said(
    tmp_path: Path, without_fcntl: pytest.MonkeyPatch, there: bool
) -> None:
    without_fcntl.setitem(sys.modules, "msvcrt", windows_locks([], refuses=True) if there else None)
    with (tmp_path / "record.csv").open("wb") as stream, locked(stream.fileno()) as warning:
        assert warning == UNLOCKED


def test_a_line_is_added_where_no_link_can_be_refused_and_none_is_translated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(os, "O_NOFOLLOW", raising=False)
    path = tmp_path / "record.csv"
    assert appended(path, lambda before: before + b"one\n") == ""
    appended(path, lambda before: b"two\n")
    assert path.read_bytes() == b"one\ntwo\n"


def test_a_file_is_written_where_modes_and_hard_links_are_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise OSError(errno.EPERM, "not on this disk")

    monkeypatch.setattr(os, "link", refused)
    monkeypatch.delattr(os, "fchmod", raising=False)
    new, old = tmp_path / "new.svg", tmp_path / "old.svg"
    old.write_bytes(b"before")
    files.write(new, b"made", False, ())
    files.write(old, b"after", True, ())
    assert (new.read_bytes(), old.read_bytes()) == (b"made", b"after")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["new.svg", "old.svg"]
    assert stat.S_ISREG(new.stat().st_mode)


def test_a_file_begins_alike_where_none_can_be_opened_without_waiting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(os, "O_NONBLOCK", raising=False)
    path = tmp_path / "job.toml"
    path.write_bytes(b"format = 1\r\n")
    assert first_bytes(path, 100) == b"format = 1\r\n"


def test_builds_are_drawn_by_one_process_where_none_can_be_forked(monkeypatch: pytest.MonkeyPatch) -> None:
    words = ("risk", TWIN, "--draws", "3000", "--json", "--cores")
    forked = tallstack(*words, "2")
    monkeypatch.setattr(multiprocessing, "get_all_start_methods", lambda: ["spawn"])
    monkeypatch.setattr(multiprocessing, "get_context", None)
    alone = tallstack(*words, "2")
    assert alone == forked
    assert alone.status in (0, 1)


def test_words_are_printed_alike_and_never_in_bold(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """`_takes_bold` and `_echo` are where the system is asked."""
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert ending._takes_bold()
    with monkeypatch.context() as elsewhere:
        elsewhere.setattr(os, "name", "nt")
        assert not ending._takes_bold()
        ending._echo("± 0.02", sys.stdout)
    ending._echo("± 0.02", sys.stdout)
    assert capfd.readouterr().out == "± 0.02\n± 0.02\n"


def test_a_port_is_shared_with_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, shared in (("posix", True), ("nt", False)):
        with monkeypatch.context() as there:
            there.setattr(os, "name", name)
            listener = serving.listening()
        with listener:
            assert bool(listener.getsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR)) is shared


@pytest.mark.parametrize(
    ("name", "platform", "opens"),
    [("posix", "linux", False), ("posix", "darwin", True), ("nt", "win32", True)],
)
def test_a_browser_is_opened_where_there_is_a_screen(
    monkeypatch: pytest.MonkeyPatch, name: str, platform: str, opens: bool
) -> None:
    for one in serving.SCREENS:
        monkeypatch.delenv(one, raising=False)
    asked: list[str] = []
    monkeypatch.setattr(webbrowser, "open", lambda address: bool(asked.append(address)) or True)
    with monkeypatch.context() as there:
        there.setattr(sys, "platform", platform)
        there.setattr(os, "name", name)
        assert serving.opened("http://127.0.0.1:1/") is opens
    assert bool(asked) is opens


def test_lines_are_read_where_signals_cannot_be_held_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """`_read_lines` is what holds a signal back."""
    monkeypatch.delattr(signal, "pthread_sigmask", raising=False)
    read, write = os.pipe()
    os.write(write, b"\n")
    os.close(write)
    lines: list[int] = []
    loop = types.SimpleNamespace(call_soon_threadsafe=lambda then: then())
    serving._read_lines(read, loop, lambda: lines.append(1))  # type: ignore[arg-type]
    os.close(read)
    assert lines == [1]


def test_work_goes_on_beside_where_no_process_can_be_made_nicer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "nice", raising=False)
    monkeypatch.setattr(signal, "signal", lambda *_: None)
    here, there = Pipe()
    here.send(None)  # what is taken for the first that is asked
    here.close()
    with pytest.raises((AssertionError, OSError)):
        work_beside(there)


def test_no_address_is_told_where_the_system_does_not_say_them(without_fcntl: pytest.MonkeyPatch) -> None:
    """`_of_interfaces` asks the system."""
    assert addresses._of_interfaces() == []
    assert all(addresses.own_addresses())
