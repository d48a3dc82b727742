"""Writing a file so that either the old one or the whole new one is there, never a part."""

from __future__ import annotations

import os
import re
import shlex
import tempfile
from pathlib import Path


class OutputRefusedError(Exception):
    """A file that cannot be written, or will not be overwritten; the sentence says the remedy."""


def write(path: Path, content: bytes, force: bool = False) -> None:
    """Write a whole file by a temporary one beside it.

    Raises:
        OutputRefusedError: where a file stands there and `force` is not given, or the folder cannot
            be written.
    """
    if os.path.lexists(path) and not force:
        message = f"{path}: exists and is not overwritten; name another file or add --force"
        raise OutputRefusedError(message)
    if path.is_dir():
        message = f"{path}: a folder; name a file in it"
        raise OutputRefusedError(message)
    if not path.parent.is_dir():
        there = path.parent.exists()
        problem = "is a file" if there else "does not exist"
        message = f"{path}: folder {path.parent} {problem}; {'name another' if there else 'make it first'}"
        raise OutputRefusedError(message)
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as error:
        message = f"{path}: cannot be written: {error.strerror}"
        raise OutputRefusedError(message) from None
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(0o666 & ~_umask())
        if force:
            Path(name).replace(path)
        else:
            os.link(name, path)
            Path(name).unlink()
    except OSError as error:
        Path(name).unlink(missing_ok=True)
        message = f"{path}: cannot be written: {error.strerror}"
        raise OutputRefusedError(message) from None
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def quoted(path: Path) -> str:
    """Return a path as it is typed in a command: in quotes where a shell would take it apart."""
    text = str(path)
    if re.fullmatch(r"[\w./\\:~+,@%-]+", text):
        return text
    return f'"{text}"' if not re.search(r'["$`!]', text) else shlex.quote(text)


def _umask() -> int:
    current = os.umask(0)
    os.umask(current)
    return current
