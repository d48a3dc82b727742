"""Writing a file so that either the old one or the whole new one is there, never a part."""

from __future__ import annotations

import os
import re
from pathlib import Path

ENDINGS = (".svg", ".png", ".pdf")  # of a drawing or a plot


class OutputRefusedError(Exception):
    """A file that cannot be written, or will not be overwritten; the sentence says the remedy."""


def free(path: Path, force: bool) -> None:
    """Refuse a file that cannot be written, before anything is worked out for it.

    Raises:
        OutputRefusedError: where a file stands there and `force` is not given, or it has no folder.
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


def write(path: Path, content: bytes, force: bool = False) -> None:
    """Write a whole file by a temporary one beside it.

    Raises:
        OutputRefusedError: where a file stands there and `force` is not given, or the folder cannot
            be written.
    """
    import tempfile

    free(path, force)

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


def ending(path: Path, endings: tuple[str, ...] = ENDINGS, what: str = "a drawing") -> str:
    """Return the ending that decides how a file is written; what : of which these are the endings.

    Raises:
        OutputRefusedError: where it is none of those that can be written.
    """
    found = path.suffix.lower()
    if found not in endings:
        known = f"{', '.join(endings[:-1])} or {endings[-1]}"
        message = f"{path}: {what} is written as {known}; end the file's name so"
        raise OutputRefusedError(message)
    return found


def quoted(path: Path) -> str:
    """Return a path as it is typed in a command: in quotes where a shell would take it apart."""
    import shlex

    text = str(path)
    if re.fullmatch(r"[\w./\\:~+,@%-]+", text):
        return text
    return f'"{text}"' if not re.search(r'["$`!]', text) else shlex.quote(text)


def _umask() -> int:
    current = os.umask(0)
    os.umask(current)
    return current
