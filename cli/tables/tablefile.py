"""A table of the user's own, as CSV: commas, semicolons or tabs, a header row, one fault a line.

Lines before the header that begin with # are remarks.

A decimal comma is refused with its line: it cannot be told from the comma between two values.
"""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from ..job.entries.fields import did_you_mean
from ..job.faults import Fault, InputFaultsError
from ..job.reading.opened import first_bytes
from ..job.reading.values import echo

LARGEST = 1_000_000  # bytes
MOST_ROWS = 20_000
MOST_FAULTS = 25  # told of one table
SEPARATORS = (";", "\t", ",")


class Row(NamedTuple):
    """One line of a table: what stands in each column, blanks left out."""

    line: int  # from 1, the header's line included
    cells: Mapping[str, str]


class TableFile(NamedTuple):
    """A table as text."""

    path: Path
    source: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]

    def refused(self, faults: Sequence[Fault]) -> InputFaultsError:
        """Return the error that tells these faults with the lines they stand in."""
        return InputFaultsError(self.path, first_of(faults), self.source)


def first_of(faults: Sequence[Fault]) -> Sequence[Fault]:
    """Return no more faults than one reads, and how many are left."""
    if len(faults) <= MOST_FAULTS:
        return faults
    left = len(faults) - MOST_FAULTS
    more = Fault((), "", f"and {left:,} more faults from here on", faults[MOST_FAULTS].line, 1)
    return [*faults[:MOST_FAULTS], more]


def fault_at(line: int, column: str, message: str) -> Fault:
    """Return a fault of one cell."""
    return Fault((), column, message, line, 1)


def read_table(path: Path, needed: Sequence[str], known: Sequence[str], what: str) -> TableFile:
    """Return a table whose columns are all known and hold the needed ones.

    what : what the table is, in words, for messages: "a lobe table"

    Raises:
        InputFaultsError: with every fault of the file, its header and its lines.
    """
    source = _text(path, what)
    lines = source.split("\n")
    start = header_at(lines)
    separator = next((one for one in SEPARATORS if one in lines[start]), ",")
    columns = tuple(name.strip().strip('"').lower() for name in lines[start].split(separator))
    faults = _header_faults(columns, needed, known, start + 1)
    if not any(name in known for name in columns):
        raise InputFaultsError(path, faults, source)
    rows: list[Row] = []
    for line, text in enumerate(lines[start + 1 :], start + 2):
        cells = _cells(text, separator)
        if cells is None:
            faults.append(Fault((), "", "a quote is not closed; close it, or leave it out", line, 1))
            continue
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
            comma = separator == "," and re.search(r"\d,\d", text)
            decimal = "; decimals are written with a point, not a comma" if comma else ""
            message = f"{len(cells)} values under {len(columns)} column{'s' * (len(columns) > 1)}{decimal}"
            faults.append(Fault((), "", message, line, 1))
            continue
        pairs = zip(columns, (cell.strip() for cell in cells), strict=False)
        rows.append(Row(line, {name: cell for name, cell in pairs if cell}))
    if not rows and not faults:
        faults.append(Fault((), "", "no lines under the header", start + 1, 1))
    if len(rows) > MOST_ROWS:
        faults.append(Fault((), "", f"{len(rows):,} lines; {what} has at most {MOST_ROWS:,}"))
    if faults:
        raise InputFaultsError(path, first_of(faults), source)
    return TableFile(path, source, columns, tuple(rows))


def header_at(lines: Sequence[str]) -> int:
    """Return where the header stands: the first line that is neither blank nor a remark, which begins with #."""
    said = (index for index, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#"))
    return next(said, 0)


def _cells(text: str, separator: str) -> list[str] | None:
    """Return the values of one line, or None where a quote in it is not closed."""
    try:
        return next(csv.reader([text], delimiter=separator, skipinitialspace=True, strict=True), [])
    except csv.Error:
        return None


def number_in(row: Row, column: str) -> float:
    """Return a plain number from a cell.

    Raises:
        ValueError: in words, where it is none.
    """
    text = row.cells.get(column, "")
    if not text:
        message = "no number here"
        raise ValueError(message)
    if "," in text:
        message = f'"{text}": a comma; write "{text.replace(",", ".")}" if decimals are meant'
        raise ValueError(message)
    try:
        number = float(text)
    except ValueError:
        from ..job.reading.hints import digits_meant

        meant = digits_meant(text)
        hint = "not a number" if meant is None else f"{meant[0]}; write {meant[1]}"
        message = f'"{echo(text)}": {hint}'
        raise ValueError(message) from None
    if not abs(number) < 1e6:
        message = f'"{text}": not a number that can be measured'
        raise ValueError(message)
    return number


def _header_faults(
    columns: Sequence[str], needed: Sequence[str], known: Sequence[str], line: int
) -> list[Fault]:
    faults = []
    if not any(name in known for name in columns):
        message = f"no header row; the first line names the columns: {', '.join(known)}"
        return [Fault((), "", message, line, 1)]
    for name in columns:
        if name not in known:
            hint = did_you_mean(name, tuple(known)) or f"; the columns are {', '.join(known)}"
            faults.append(Fault((), "", f'"{name}": no such column{hint}', line, 1))
        elif columns.count(name) > 1:
            faults.append(Fault((), "", f'"{name}": this column is there twice', line, 1))
    missing = [name for name in needed if name not in columns]
    if missing:
        message = f"the header lacks {', '.join(missing)}; the first line names the columns"
        faults.append(Fault((), "", message, line, 1))
    return list(dict.fromkeys(faults))


def _text(path: Path, what: str) -> str:
    try:
        if os.path.isdir(path):
            raise _refused(path, f"a folder, not {what}; name the CSV file in it")
        content = first_bytes(path, LARGEST + 1)
    except FileNotFoundError:
        raise _refused(path, "no such file") from None
    except OSError as error:
        raise _refused(path, f"cannot be read: {error.strerror}") from None
    if len(content) > LARGEST:
        raise _refused(path, f"too large; {what} is text of at most {LARGEST:,} bytes")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refused(path, "not text in UTF-8; save it again as CSV in UTF-8") from None
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if "\0" in text:
        raise _refused(path, "not text in UTF-8; save it again as CSV in UTF-8")
    if not text.strip():
        raise _refused(path, f"empty; {what} has a header row and lines under it")
    return text


def _refused(path: Path, message: str) -> InputFaultsError:
    return InputFaultsError(path, [Fault((), "", message)])
