"""The text of a job file, or why its bytes are none."""

from __future__ import annotations

import codecs
import os
import re
from collections.abc import Mapping
from pathlib import Path

from ..faults import Fault, InputFaultsError

START = "`tallstack new FILE --blank` writes a job file to fill in"
LARGEST = 1_000_000  # bytes
MOST_ENTRIES, DEEPEST = 8_000, 16
UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def text_of(path: Path) -> str:
    """Return the text of a file, without the mark that some editors put in front.

    Raises:
        InputFaultsError: where there is none, saying why and what to do.
    """
    content = _bytes(path)
    if len(content) > LARGEST:
        raise InputFaultsError(path, _whole(f"too large; a job file is text of at most {LARGEST:,} bytes"))
    if content.startswith(UTF_16) or content[:200].count(b"\0") > len(content[:200]) // 3 > 0:
        message = 'saved as UTF-16, which some editors call "Unicode"; save it again as UTF-8'
        raise InputFaultsError(path, _whole(message))
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputFaultsError(path, *_not_utf_8(content)) from None
    if not text.strip():
        raise InputFaultsError(path, _whole(f"empty; {START}"))
    return text


def _bytes(path: Path) -> bytes:
    try:
        if os.path.isdir(path):
            raise InputFaultsError(path, _whole("a folder, not a job file; name the .toml file in it"))
        return first_bytes(path, LARGEST + 1)
    except FileNotFoundError:
        raise InputFaultsError(
            path, _whole("no such file; `tallstack new FILE --blank` starts one")
        ) from None
    except OSError as error:
        raise InputFaultsError(path, _whole(f"cannot be read: {error.strerror}")) from None
    except ValueError:
        raise InputFaultsError(path, _whole("no file can have such a name")) from None


def no_job(text: str) -> str:
    """Return why a text is no job, where not one of its lines is an entry or a table; nothing where it may be one."""
    lines = [line.split("#")[0].strip() for line in text.splitlines()]
    if not any(lines) or any(re.search(r"=|^\[|^[\w.-]+\s*:", line) for line in lines):
        return ""
    message = "no job file: not one of its lines is an entry, name = value, or a table, [name]"
    if any(re.match(r"[-+.\d]+[,;\s]\s*[-+.\d]", line) for line in lines):
        return f"{message}; a table of numbers is named in one: table under [lobe.NAME], or crown_table under [piston]"
    return f"{message}; {START}"


def first_bytes(path: Path, most: int) -> bytes:
    """Return what a file begins with; a pipe that nobody writes to holds nothing, and is not waited for."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(handle, "rb") as stream:
        if hasattr(os, "O_NONBLOCK"):
            os.set_blocking(handle, True)
        return stream.read(most)


def _not_utf_8(content: bytes) -> tuple[list[Fault], str]:
    """Return the fault of every line with a character of an older encoding, and the text as it was meant."""
    faults = []
    shown = content.removeprefix(codecs.BOM_UTF8).decode("cp1252", errors="replace")
    for number, line in enumerate(content.removeprefix(codecs.BOM_UTF8).split(b"\n"), 1):
        try:
            line.decode()
        except UnicodeDecodeError as error:
            column = len(line[: error.start].decode()) + 1
            message = "a character that is not UTF-8; save the file again as UTF-8 and look at this line"
            faults.append(Fault((), "", message, number, column))
    return faults, shown


def _whole(message: str) -> list[Fault]:
    """Return one fault of the file as a whole."""
    return [Fault((), "", message)]


def too_much(document: Mapping[str, object]) -> str:
    """Return why a document is no job, by how much it holds or how deep; nothing where it may be one."""
    level: list[object] = [document]
    held = 0
    for _ in range(DEEPEST):
        level = [
            inner
            for one in level
            for inner in (one.values() if isinstance(one, Mapping) else one if isinstance(one, list) else ())
        ]
        held += len(level)
        if held > MOST_ENTRIES:
            return f"more than {MOST_ENTRIES:,} entries; no job holds so many"
        if not level:
            return ""
    return f"tables within tables, more than {DEEPEST} deep; no entry of a job stands so deep"
