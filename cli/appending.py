"""Adding to the end of a file so that either the whole addition is there or nothing of it.

Whoever adds holds a lock for as long as it takes, and writes once, at the end, whatever others have added. What a full
disk leaves of a write is cut off again. A file that an editor put in the place of the old one while we waited is
opened anew.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from .files import OutputRefusedError
from .locking import is_still, locked


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
                with locked(handle) as warning:
                    if not is_still(handle, path):
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
