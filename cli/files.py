"""Writing a file so that either the old one or the whole new one is there, never a part.

Everything is written to a file of another name beside it, which then takes the name in one step; a symbolic link of
that name is replaced, what it points to is never touched. All that a killed process can leave behind is that other
file, `.tallstack-` with twelve letters and digits, which nothing reads and anybody may delete.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import stat
import time
from collections.abc import Sequence
from pathlib import Path

BESIDE = ".tallstack-"  # how the name of a file that is being written begins
LEFT = re.compile(re.escape(BESIDE) + "[0-9a-f]{12}")
DAY_S = 86_400.0
ENDINGS = (".svg", ".png", ".pdf")  # of a drawing or a plot


class OutputRefusedError(Exception):
    """A file that cannot be written, or will not be overwritten; the sentence says the remedy."""


def free(path: Path, force: bool, sources: Sequence[Path] = ()) -> None:
    """Refuse a file that cannot be written, before anything is worked out for it.

    sources : what the content is worked out from, never overwritten

    Raises:
        OutputRefusedError: where a file stands there and `force` is not given, or it has no folder.
    """
    try:
        there = os.lstat(path)
    except (FileNotFoundError, NotADirectoryError):
        _check_folder(path)
        return
    except OSError as error:
        raise OutputRefusedError(_unwritable(path, error)) from None
    if stat.S_ISDIR(there.st_mode):
        message = f"{path}: a folder; name a file in it"
        raise OutputRefusedError(message)
    if any(_is_same(there, one) for one in sources):
        message = f"{path}: what this is worked out from, and not overwritten; name another file"
        raise OutputRefusedError(message)
    if not (stat.S_ISREG(there.st_mode) or stat.S_ISLNK(there.st_mode)):
        message = f"{path}: no plain file, and not overwritten; name another file"
        raise OutputRefusedError(message)
    if not force:
        raise OutputRefusedError(_taken(path))


def write(path: Path, content: bytes, force: bool = False, sources: Sequence[Path] = ()) -> None:
    """Write a whole file by a temporary one beside it.

    sources : what the content is worked out from, never overwritten

    Raises:
        OutputRefusedError: where a file stands there and `force` is not given, or the folder cannot
            be written.
    """
    free(path, force, sources)
    try:
        name = _beside(path, content)
    except OSError as error:
        raise OutputRefusedError(_unwritable(path, error)) from None
    try:
        if force:
            os.replace(name, path)
        else:
            _name_anew(name, path)
    except FileExistsError:
        raise OutputRefusedError(_taken(path)) from None
    except OSError as error:
        raise OutputRefusedError(_unwritable(path, error)) from None
    finally:
        with contextlib.suppress(OSError):
            name.unlink()
    _settle(path.parent)


def _settle(folder: Path) -> None:
    """Have the disk keep which file has which name, on a system and a disk that can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def sweep(folder: Path) -> None:
    """Take away what writes that were killed more than a day ago left in a folder."""
    for one in folder.glob(f"{BESIDE}*"):
        with contextlib.suppress(OSError):
            there = os.lstat(one)
            is_ours = stat.S_ISREG(there.st_mode) and LEFT.fullmatch(one.name)
            if is_ours and time.time() - there.st_mtime > DAY_S:
                one.unlink()


def _beside(path: Path, content: bytes) -> Path:
    """Write a file of another name and return it; where that does not succeed nothing is left of it."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    name = path.with_name(f"{BESIDE}{os.urandom(6).hex()}")  # short: a long name leaves no room for more
    handle = os.open(name, flags, 0o666)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            _keep_mode(handle, path)
            os.fsync(handle)
    except BaseException:
        with contextlib.suppress(OSError):
            name.unlink()
        raise
    return name


def _keep_mode(handle: int, path: Path) -> None:
    """Let those read and write the new file who may the old one, where there is one."""
    try:
        before = os.lstat(path)
        if stat.S_ISREG(before.st_mode) and hasattr(os, "fchmod"):
            os.fchmod(handle, stat.S_IMODE(before.st_mode))
    except OSError:  # there is none, or a disk without modes
        return


def _name_anew(name: Path, path: Path) -> None:
    """Give a file a name that nothing else has.

    Raises:
        OSError: where something has it.
    """
    try:
        os.link(name, path)
        return
    except OSError as error:
        if error.errno == errno.EEXIST:
            raise
    os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))  # no hard links, as on most sticks
    try:
        os.replace(name, path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _check_folder(path: Path) -> None:
    """Refuse a file whose folder is none.

    Raises:
        OutputRefusedError: saying what is there instead.
    """
    folder = path.parent
    if os.path.isdir(folder):
        return
    problem, remedy = (
        ("is a file", "name another") if os.path.exists(folder) else ("does not exist", "make it first")
    )
    message = f"{path}: folder {folder} {problem}; {remedy}"
    raise OutputRefusedError(message)


def _is_same(there: os.stat_result, source: Path) -> bool:
    """Say whether a source is the file that stands there, by its own name or by a link's."""
    try:
        return os.path.samestat(there, os.lstat(source)) or os.path.samestat(there, os.stat(source))
    except OSError:
        return False


def _taken(path: Path) -> str:
    return f"{path}: exists and is not overwritten; name another file or add --force"


def _unwritable(path: Path, error: OSError) -> str:
    return f"{path}: cannot be written: {error.strerror}"


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
    if text.startswith("-"):
        text = os.path.join(os.curdir, text)  # or it would be taken for an option
    if re.fullmatch(r"[\w./\\:~+,@%-]+", text):
        return text
    return f'"{text}"' if not re.search(r'["$`!]', text) else shlex.quote(text)
