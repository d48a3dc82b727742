"""A lock that whoever writes to a file holds meanwhile, on every system that has one.

A file that is appended to is locked itself; one that is replaced as a whole, by a file of another name beside it,
`.NAME.tallstack-lock`, which is there only as long as somebody holds or awaits it.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Generator
from pathlib import Path

FAR = 1 << 30  # where the byte lies that Windows locks: past all that is read
UNLOCKED = "no lock could be had on this disk: let nobody else write at the same time"


@contextlib.contextmanager
def locked(handle: int) -> Generator[str]:
    """Hold an open file's lock; yields what there is to say where there is none to be had."""
    try:
        import fcntl
    except ImportError:
        with _locked_by_windows(handle) as warning:
            yield warning
        return
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
    except OSError:
        yield UNLOCKED
        return
    yield ""  # closing the file lets go of it


@contextlib.contextmanager
def locked_beside(path: Path) -> Generator[str]:
    """Hold the lock of a file that is replaced as a whole; yields what there is to say where there is none to be had."""
    lock = path.with_name(f".{path.name}.tallstack-lock")
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
    while True:
        handle = os.open(lock, flags, 0o666)
        try:
            with locked(handle) as warning:
                if not is_still(handle, lock):
                    continue  # whoever held it has taken it away
                try:
                    yield warning
                finally:
                    with contextlib.suppress(OSError):  # another waits for it, on a system that keeps it then
                        lock.unlink()
                return
        finally:
            os.close(handle)


def is_still(handle: int, path: Path) -> bool:
    """Say whether an open file still is the one of that name."""
    try:
        there = os.lstat(path)
    except FileNotFoundError:
        return False
    return os.path.samestat(os.fstat(handle), there)


@contextlib.contextmanager
def _locked_by_windows(handle: int) -> Generator[str]:
    """Hold a byte far behind the end, so that nobody is kept from reading."""
    try:
        import msvcrt
    except ImportError:
        yield UNLOCKED
        return
    locking, wait, let_go = (getattr(msvcrt, name) for name in ("locking", "LK_LOCK", "LK_UNLCK"))
    os.lseek(handle, FAR, os.SEEK_SET)
    try:
        locking(handle, wait, 1)
    except OSError:
        yield UNLOCKED
        return
    try:
        yield ""
    finally:
        os.lseek(handle, FAR, os.SEEK_SET)
        locking(handle, let_go, 1)
