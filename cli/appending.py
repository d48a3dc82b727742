"""Adding to the end of a file so that either the whole addition is there or nothing of it.

Whoever adds holds a lock for as long as it takes, and writes once, at the end, whatever others have added. What a full
disk leaves of a write is cut off again. A file that an editor put in the place of the old one while we waited is
opened anew.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Generator
from pathlib import Path

from .files import OutputRefusedError

FAR = 1 << 30  # where the byte lies that Windows locks: past all that is read
UNLOCKED = "no lock could be had on this disk: let nobody else write at the same time"


def appended(path: Path, addition: Callable[[bytes], bytes]) -> str:
    """Add to a file, made where there is none; return what there is to say of how, or nothing.

    addition : what the file holds, the lock being held → what is added

    Raises:
        OutputRefusedError: where it cannot be written; what was in it is as it was.
    """
    try:
        while True:
            handle, is_new = _opened(path)
            try:
                with _locked(handle) as warning:
                    if not _still(handle, path):
                        continue
                    _add(handle, path, addition, is_new)
                    return warning
            finally:
                os.close(handle)
    except OSError as error:
        message = f"{path}: cannot be written: {error.strerror}; nothing was recorded"
        raise OutputRefusedError(message) from None


def _opened(path: Path) -> tuple[int, bool]:
    """Return the open file, and whether it was made just now."""
    flags = os.O_RDWR | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        return os.open(path, flags | os.O_CREAT | os.O_EXCL, 0o666), True
    except FileExistsError:
        return os.open(path, flags), False


def _still(handle: int, path: Path) -> bool:
    """Say whether the open file still is the one of that name."""
    try:
        there = os.lstat(path)
    except FileNotFoundError:
        return False
    return os.path.samestat(os.fstat(handle), there)


def _add(handle: int, path: Path, addition: Callable[[bytes], bytes], is_new: bool) -> None:
    """Write once, and cut off what a failed write leaves.

    Raises:
        OutputRefusedError: where the disk is full.
    """
    size = os.fstat(handle).st_size
    try:
        os.lseek(handle, 0, os.SEEK_SET)
        content = addition(_all(handle, size))
        written = os.write(handle, content)
        if written < len(content):
            message = f"{path}: cannot be written whole, the disk is full; nothing was recorded"
            raise OutputRefusedError(message)
        os.fsync(handle)
    except BaseException:
        if os.fstat(handle).st_size > size:
            os.ftruncate(handle, size)
        if is_new and not os.fstat(handle).st_size:
            path.unlink(missing_ok=True)
        raise


def _all(handle: int, size: int) -> bytes:
    parts = []
    while size > 0 and (part := os.read(handle, size)):
        parts.append(part)
        size -= len(part)
    return b"".join(parts)


@contextlib.contextmanager
def _locked(handle: int) -> Generator[str]:
    """Hold the file's lock; yields what there is to say where there is none to be had."""
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
