"""Slips in the way a job file is written down: quotes, brackets, a missing value, an entry twice.

Where the standard library's reader stops, the line is looked at for what people get wrong, said in
words, and a line that can be read is put in its place, so that the rest of the file is checked too.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..entries.catalogue import ROWS
from .value_slips import QUOTE_WITHIN, inch_mark_within, of_value, straight, without_comment
from .values import Typed, echo

MOST = 25  # slips told of one file
LOOK_BACK = 60  # lines from where the reader stopped to where its statement began
DEEPEST = 40  # brackets within brackets
DEEP = f"brackets within brackets, more than {DEEPEST} deep"
PLACE = re.compile(r"\(at line (\d+), column (\d+)\)")
ROW_AS_TABLE = re.compile(rf"(\s*)\[\s*({'|'.join(ROWS)})\s*\]\s*(#.*)?$")
HEADER = re.compile(r"\s*(\[{1,2})\s*([^\[\]#=]*?)\s*(\]{0,2})\s*(#.*)?$")
PLAIN_NAME = re.compile(r"[\w-]+(\s*\.\s*[\w-]+)*$", re.ASCII)
PAIR = re.compile(r"""(\s*)([^=#"'\[{]+?)(\s*=\s*)(.*?)\s*$""")
TOKENS = re.compile(r'"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|#[^\n]*|[\[{]|[\]}]')
NAMES = re.compile(r"([\w-]+)\s*[=:]")


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip: where, what it is and what would be right, and a line to read in its place."""

    line: int
    column: int
    entry: str
    message: str
    instead: str | None  # None: nothing after it can be trusted
    names: tuple[str, ...] = ()  # entries of that line: none of them is missing


def parse(source: str) -> tuple[dict[str, Any] | None, str, tuple[Slip, ...]]:
    """Return the document of a TOML text as far as it can be read, the text read for it, and every slip.

    The text read has the same lines as the source. Where there is no document nothing can be read.
    """
    source = source.replace("\r\n", "\n")
    lines = source.split("\n")
    slips = _unreadable(source)
    if slips:
        return None, source, tuple(slips)
    for index, line in enumerate(lines):
        row = ROW_AS_TABLE.match(line)
        if row is not None:
            message = f"[{row[2]}] is one of several: write [[{row[2]}]], with two pairs of brackets"
            slips.append(Slip(index + 1, len(row[1]) + 1, "", message, f"[[{row[2]}]]"))
            lines[index] = f"[[{row[2]}]]"
    while len(slips) < MOST:
        text = "\n".join(lines)
        try:
            return tomllib.loads(text, parse_float=Typed.of), text, tuple(slips)
        except RecursionError:
            slips.append(Slip(1, 1, "", DEEP, None))
            break
        except ValueError as error:
            slip = _slip(lines, str(error))
        line = lines[slip.line - 1]
        slips.append(replace(slip, names=tuple(NAMES.findall(line))))
        if slip.instead is None or slip.instead == line:
            break
        lines[slip.line - 1] = slip.instead
    return None, source, tuple(slips)


def _unreadable(source: str) -> list[Slip]:
    """Return what keeps a text from being read at all: a character that is no text, endless brackets."""
    odd = re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", source)
    if odd is not None:
        message = (
            f"a character that cannot be seen (code {ord(odd[0])}); is this a job file, saved as plain text?"
        )
        return [_at(source, odd.start(), message)]
    start, depth = 0, 0
    for line in source.split("\n"):
        depth = 0 if HEADER.match(line) or PAIR.match(line) else depth
        for token in TOKENS.finditer(line):
            depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(token[0], 0)
            if depth > DEEPEST:
                return [_at(source, start + token.start(), DEEP)]
        start += len(line) + 1
    return []


def _at(source: str, offset: int, message: str) -> Slip:
    before = source[:offset]
    return Slip(before.count("\n") + 1, offset - before.rfind("\n"), "", message, None)


def _slip(lines: Sequence[str], error: str) -> Slip:
    place = PLACE.search(error)
    line, column = (int(place[1]), int(place[2])) if place else (len(lines), len(lines[-1]) + 1)
    if place is None and "digits" in error:
        line = next((at for at, text in enumerate(lines, 1) if re.search(r"\d{4000}", text)), line)
    else:
        line = _began(lines, line)
    text = lines[line - 1]
    header = HEADER.match(text)
    if header is not None:
        return _of_header(lines, line, text, header)
    pair = PAIR.match(text)
    if pair is None:
        return _of_no_pair(line, text)
    name, value = pair[2], without_comment(pair[4])
    blank = f'{name} = ""' if PLAIN_NAME.match(name) else None
    first = 0 if '"""' in text or "'''" in text else _twice(lines, line, name, error)
    if first:
        message = f"{name} is there twice in this table, first in line {first}; keep the one that is right"
        return Slip(line, len(pair[1]) + 1, "", message, "")
    if blank is None:
        right = re.sub(r"[^\w.-]+", "_", name, flags=re.ASCII).strip("_") or "name"
        message = f"{echo(name)}: a name has no spaces or signs; write {right}"
        return Slip(line, len(pair[1]) + 1, "", message, f'{right} = ""')
    at = pair.start(4) + 1
    straightened = straight(name, value)
    if straightened is not None:
        return Slip(line, at, name, *straightened)
    if value[:1] in "[{" and value:
        stopped = column if place is not None and int(place[1]) == line else at
        return _of_brackets(lines, line, at if stopped < at else stopped, value, name)
    return Slip(line, at, name, of_value(name, value), blank)


def _began(lines: Sequence[str], line: int) -> int:
    """Return the line in which the statement began that the reader could not finish."""
    line = min(line, len(lines))
    for start in range(line, max(line - LOOK_BACK, 0), -1):
        if not lines[start - 1].strip():
            continue
        try:
            tomllib.loads("\n".join(lines[: start - 1]))
        except ValueError:
            continue
        return start
    return line


def _of_header(lines: Sequence[str], line: int, text: str, header: re.Match[str]) -> Slip:
    opened, name, closed = header[1], header[2], header[3]
    column = header.start(1) + 1
    right = f"[[{name}]]" if name in ROWS else f"[{name}]"
    if not PLAIN_NAME.match(name):
        words = (
            "a table's name stands in its brackets" if not name else "a table's name has no spaces or signs"
        )
        return Slip(line, column, "", f"{echo(text.strip())}: {words}", _set_aside(line))
    if len(opened) != len(closed):
        return Slip(
            line, column, "", f"the brackets around a table's name do not match; write {right}", right
        )
    again = re.compile(rf"\s*\[{{1,2}}\s*{re.escape(name)}\s*\]")
    under = re.compile(rf"\s*\[{{1,2}}\s*{re.escape(name)}\s*\.")
    before = range(1, line)
    first = next((at for at in before if again.match(lines[at - 1])), 0)
    if first:
        message = f"[{name}] is there twice, first in line {first}; put the entries of both under one"
        return Slip(line, column, "", message, _set_aside(line))
    first = next((at for at in before if under.match(lines[at - 1])), 0)
    if first:
        message = f"{lines[first - 1].strip()} in line {first} stands above the first {right}; put it below"
        return Slip(line, column, "", message, None)
    message = f"{right}: what stands above has said it otherwise already; write it once"
    return Slip(line, column, "", message, None)


def _set_aside(line: int) -> str:
    """Return a header under which the entries that follow disturb nothing."""
    return f'["line {line}"]'


def _of_no_pair(line: int, text: str) -> Slip:
    column = len(text) - len(text.lstrip()) + 1
    words = text.split("#")[0].strip()
    colon = re.match(r"([\w.-]+)\s*:", words)
    if colon is not None:
        message = f"an entry and its value have = between them, not a colon: {colon[1]} = ..."
        return Slip(line, column, "", message, f'{colon[1]} = ""')
    alone = re.match(r"([A-Za-z_][\w.-]*)\s*(.*)$", words)
    if alone is None:
        return Slip(line, column, "", "no entry; each is written as a name, =, and its value", "")
    right = f"{alone[1]} = {alone[2]}" if alone[2] else f'{alone[1]} = ""'
    return Slip(line, column, "", f"no = after the name of an entry; write {echo(right)}", f'{alone[1]} = ""')


def _of_brackets(lines: Sequence[str], line: int, stopped: int, value: str, name: str) -> Slip:
    """Return what is wrong within brackets; stopped : the column where the reader gave up."""
    blank = f'{name} = ""'
    stray = QUOTE_WITHIN.search(value)
    if stray is not None:
        at = lines[line - 1].index(value[0]) + 1 + stray.start()
        return Slip(line, at, name, "a quote stands among the figures; leave it out", blank)
    inches = inch_mark_within(value)
    if inches is not None:
        at = lines[line - 1].index(value[0]) + 1 + inches[0]
        return Slip(line, at, name, inches[1], blank)
    depth = 0
    for token in TOKENS.finditer(value):
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(token[0], 0)
    if depth > 0:
        following = next((one for one in lines[line:] if one.strip() and one.strip()[0] != "#"), "[end]")
        alone = HEADER.match(following) is not None or PAIR.match(following) is not None
        closing = "]" if value[0] == "[" else "} in the same line"
        at = lines[line - 1].index(value[0]) + 1
        return Slip(line, at, name, f"the {value[0]} is not closed; add {closing}", blank if alone else None)
    message = (
        "cannot be read from here on; values stand in quotes where they have a unit, with commas between"
    )
    if value[0] == "{":
        message += ", and each after its name and ="
    if re.search(r",\s*}", value):
        message = "a comma before the closing }; leave it out"
    return Slip(line, stopped, name, message, blank)


def _twice(lines: Sequence[str], line: int, name: str, error: str) -> int:
    """Return the line in which an entry of the same table was written before, or 0."""
    if not re.search(r"overwrite|twice|[Dd]uplicate", error):
        return 0
    for at in range(line - 1, 0, -1):
        if HEADER.match(lines[at - 1]):
            return 0
        pair = PAIR.match(lines[at - 1])
        if pair is not None and pair[2] == name:
            return at
    return 0
