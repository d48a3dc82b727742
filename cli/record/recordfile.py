"""What was set and measured at assembly and at every visit, one fact a line, in a plain table beside the job.

    when, what, of, as, value, by, tool, note, state, distance, temperature, lift

A line of a visit says how far the engine had run and whether it was so FOUND or LEFT; it stands beside what was written
down at assembly and never in its place. A record whose header has no columns for that still reads.

`engine.toml` has `engine.record.csv`. Lines are only ever added: a later line about the same thing counts in place of
an earlier one, and a line that was a mistake is withdrawn by another line. Any editor or spreadsheet may open it;
a text that a spreadsheet would run as a formula stands behind an apostrophe.

A log that can be rewritten is no log: the line that withdraws one names it and what it said, so that lines moved by
hand are noticed.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from ..appending import appended
from ..files import OutputRefusedError
from ..job.entries.fields import Kind, Quantity, did_you_mean
from ..job.faults import Fault
from ..job.reading.outside import may_read
from ..job.reading.values import Blank, Dimension, Value, ValueFault, echo
from ..tables.tablefile import LARGEST, SEPARATORS, Row, fault_at, read_table
from .recordkinds import (
    AT_LIFT,
    CHANGED,
    CHANGES,
    CONVENTIONS_OF,
    DISTANCE,
    FOUND,
    KEPT,
    LEFT,
    LIFT,
    NOTE,
    OF_NOTHING,
    SHELF,
    STATES,
    TEMPERATURE,
    WITHDRAWN,
    kinds,
)

COLUMNS = (
    *("when", "what", "of", "as", "value", "by", "tool", "note"),
    *("state", "distance", "temperature", "lift"),
)
NEEDED = ("when", "what", "value")
FORMULA = ("=", "+", "-", "@", "\t", "\r")
NOW = "2026-03-14T16:05:00+01:00"  # for messages


class Fact(NamedTuple):
    """One line of a record."""

    when: str  # ISO 8601, as written
    what: str  # of `recordkinds.kinds()`, "note" or "withdrawn"
    of: str  # "front.intake", "front", or nothing for a note on the whole engine
    convention: str  # a pushrod's, where lash was felt, from where turns count
    typed: str  # the value with its unit and its ±
    value: Value | None  # the same as understood; None for a note
    by: str = ""
    tool: str = ""
    note: str = ""
    number: int = 0  # its place in the record, from 1; 0: not written yet
    state: str = ""  # FOUND, LEFT or KEPT at a visit; empty: at assembly
    distance: str = ""  # of a visit, as typed
    temperature: str = ""  # of the cold engine, as typed
    lift: str = ""  # of a room in the rocker's box at full lift: the valve's, as typed

    @property
    def keys(self) -> tuple[tuple[str, ...], ...]:
        """What it is about: of two facts with one key the later one counts; what was found and left so is two."""
        if self.what == SHELF:
            return ((SHELF,),)
        if self.what not in kinds():
            return ((self.what, str(self.number)),)
        counted = (self.convention,) if self.what in ("turns", "flats") else ()
        own = (self.what, self.of, *counted)
        return tuple((*own, state, f"{self.run:.3f}") for state in self.states) if self.state else (own,)

    @property
    def states(self) -> tuple[str, ...]:
        """How it stood at its visit; of what was found and left so, both."""
        return (FOUND, LEFT) if self.state == KEPT else (self.state,) if self.state else ()

    @property
    def run(self) -> float:
        """How far the engine had run [km]; at assembly less than nothing."""
        return understood(DISTANCE, self.distance).number if self.distance else -1.0

    @property
    def lift_value(self) -> Value | None:
        """The valve's lift that it was read at; None where it was read at none."""
        return understood(LIFT, self.lift) if self.lift else None

    @property
    def heat(self) -> Value | None:
        """The temperature of the cold engine; None where nobody wrote it down."""
        return understood(TEMPERATURE, self.temperature) if self.temperature else None

    @property
    def withdraws(self) -> int:
        """The number of the line that it withdraws, 0 for none."""
        return int(self.typed) if self.what == WITHDRAWN else 0


def record_path(job: Path) -> Path:
    """Return where the record of a job stands."""
    stem = job.stem if job.suffix == ".toml" else job.name
    return job.with_name(f"{stem}.record.csv")


def read(path: Path) -> tuple[Fact, ...]:
    """Return the facts of a record in their order, none where it does not exist yet.

    A faulty one raises InputFaultsError with every fault, its line and its column; something else than a file in
    its place raises OutputRefusedError.
    """
    _plain_file(path)
    if not os.path.exists(path) or not path.stat().st_size:
        return ()
    table = read_table(path, NEEDED, COLUMNS, "a record")
    faults: list[Fault] = []
    facts: list[Fact] = []
    for number, row in enumerate(table.rows, 1):
        fact = _fact(row, number, facts, faults)
        if fact is not None:
            facts.append(fact)
    if faults:
        raise table.refused(faults)
    return tuple(facts)


def standing(facts: Sequence[Fact]) -> tuple[Fact, ...]:
    """Return the facts that count: none that was withdrawn, and of those about one thing the last."""
    gone = {fact.withdraws for fact in facts}
    last: dict[tuple[str, ...], Fact] = {}
    for fact in facts:
        if fact.what != WITHDRAWN and fact.number not in gone:
            for key in fact.keys:
                last.pop(key, None)
                last[key] = fact
    return tuple(dict.fromkeys(last.values()))


def recorded_shelf(job: Path, facts: Sequence[Fact]) -> tuple[Path | None, str]:
    """Return the shelf that a record's pushrods were taken from, and why it cannot be read, or nothing."""
    named = next((fact for fact in standing(facts) if fact.what == SHELF), None)
    if named is None:
        return None, ""
    path, said = (
        job.parent / named.typed,
        f"{record_path(job).name}, line {named.number}: the shelf it names,",
    )
    if not may_read(path, job.parent):
        return None, f"{said} {echo(named.typed)}, lies outside the job's folder: give it with --shelf"
    if not path.is_file():
        return None, f"{said} {echo(named.typed)}, is not there: give it with --shelf"
    return path, ""


def append(path: Path, facts: Sequence[Fact], about: Sequence[Fact] = ()) -> str:
    """Add facts to the end of a record, all of them or none; return what there is to say of how, or nothing.

    about : lines that these are about, which have to stand there as they were read

    Two that append at once wait for one another. A faulty record raises InputFaultsError and stays as it is; one
    that cannot be written, or no longer holds such a line, raises OutputRefusedError.
    """
    _plain_file(path)

    def lines(before: bytes) -> bytes:
        if not before.strip(b"\xef\xbb\xbf \t\r\n"):
            _still_there(path, (), about)
            return _lines(COLUMNS, [dict(zip(COLUMNS, COLUMNS, strict=True)), *map(_cells, facts)], ",")
        _still_there(path, read(path), about)
        header = next(line for line in before.decode("utf-8-sig").splitlines() if line.strip())
        separator = next((one for one in SEPARATORS if one in header), ",")
        columns = [name.strip().strip('"').lower() for name in header.split(separator)]
        added = _lines(columns, list(map(_cells, facts)), separator, _lacking(path, columns, facts))
        broken = b"" if before.endswith((b"\n", b"\r")) else b"\n"
        if len(before) + len(added) > LARGEST:
            message = f"{path}: full; put it aside under another name, and a new one is started"
            raise OutputRefusedError(message)
        return broken + added

    return appended(path, lines)


def _still_there(path: Path, facts: Sequence[Fact], about: Sequence[Fact]) -> None:
    """Refuse where a line no longer says what it said.

    Raises:
        OutputRefusedError: with the line's number.
    """
    for one in about:
        if one.number > len(facts) or not says_the_same(facts[one.number - 1], one):
            message = f"line {one.number} of {path.name} no longer says what it said; nothing was recorded"
            raise OutputRefusedError(message)


def says_the_same(one: Fact, other: Fact) -> bool:
    """Say whether two lines say the same, wherever they stand."""
    return one._replace(number=0, value=None) == other._replace(number=0, value=None)


def _lacking(path: Path, columns: Sequence[str], facts: Sequence[Fact]) -> tuple[str, ...]:
    """Return the columns that a record has not got and that none of these facts needs.

    Raises:
        OutputRefusedError: where a fact needs one of them.
    """
    missing = tuple(name for name in COLUMNS if name not in columns)
    needed = [name for name in missing if any(_cells(fact)[name] for fact in facts)]
    if needed:
        message = f"{path}:1: the header lacks {', '.join(needed)}; write {'it' if len(needed) == 1 else 'them'} there"
        raise OutputRefusedError(message)
    return missing


def _lines(
    columns: Sequence[str], rows: Sequence[dict[str, str]], separator: str, without: Sequence[str] = ()
) -> bytes:
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, delimiter=separator, lineterminator="\n")
    for row in rows:
        writer.writerow({name: cell for name, cell in row.items() if name not in without})
    return text.getvalue().encode()


def _cells(fact: Fact) -> dict[str, str]:
    texts = (
        *(fact.when, fact.what, fact.of, fact.convention),
        *(fact.typed, fact.by, fact.tool, fact.note),
        *(fact.state, fact.distance, fact.temperature, fact.lift),
    )
    return {name: _inert(text) for name, text in zip(COLUMNS, texts, strict=True)}


def _inert(text: str) -> str:
    """Return a text so that no spreadsheet takes it for a formula."""
    return f"'{text}" if text.startswith((*FORMULA, "'")) else text


def _as_typed(text: str) -> str:
    return text[1:] if text.startswith("'") and text[1:].startswith((*FORMULA, "'")) else text


def _fact(row: Row, number: int, before: Sequence[Fact], faults: list[Fault]) -> Fact | None:
    """Return the fact of a line, or None where anything in it is wrong."""
    cells = {name: _as_typed(cell) for name, cell in row.cells.items()}
    told = len(faults)

    def wrong(column: str, message: str) -> None:
        faults.append(fault_at(row.line, column, message))

    what = " ".join(cells.get("what", "").lower().split())
    problem = _of_time(cells.get("when", ""))
    if problem:
        wrong("when", problem)
    words = (*kinds(), NOTE, WITHDRAWN, SHELF, CHANGED)
    if what not in words:
        hint = did_you_mean(what, words) or f"; write one of {', '.join(words)}"
        wrong("what", f'"{echo(what)}": nothing that is written down{hint}' if what else f"missing{hint}")
        return None
    convention, of = cells.get("as", ""), cells.get("of", "")
    allowed = CONVENTIONS_OF.get(what, ())
    if what in CONVENTIONS_OF and convention not in allowed:
        shown = ", ".join(allowed)
        wrong(
            "as", f'"{echo(convention)}": one of {shown} belongs here' if convention else f"missing: {shown}"
        )
    if not of and what not in OF_NOTHING:
        wrong("of", "missing; the valve gear, as front.intake, or the cylinder")
    value: Value | None = None
    typed = cells.get("value", "")
    if what in kinds():
        try:
            value = understood(kinds()[what].kind, typed)
        except ValueFault as fault:
            wrong("value", str(fault))
    elif what == CHANGED and typed not in CHANGES:
        shown = ", ".join(CHANGES)
        wrong("value", f'"{echo(typed)}": one of {shown} belongs here' if typed else f"missing; {shown}")
    elif what == SHELF and not typed:
        wrong("value", "missing; the file of the pushrods that the set was taken from")
    elif what == WITHDRAWN:
        problem = _of_withdrawal(typed, of, convention, before, number)
        if problem:
            wrong("value", problem)
    state = " ".join(cells.get("state", "").lower().split())
    for column, message in _of_visit(what, state, cells):
        wrong(column, message)
    if len(faults) > told:
        return None
    by, tool, note = (cells.get(name, "") for name in ("by", "tool", "note"))
    visit = (cells.get(name, "") for name in ("distance", "temperature", "lift"))
    return Fact(cells["when"], what, of, convention, typed, value, by, tool, note, number, state, *visit)


def _of_visit(what: str, state: str, cells: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield what is wrong with how a line says at which visit it was read, and how: its column, and words."""
    shown = ", ".join(STATES)
    if state and state not in STATES:
        yield "state", f'"{echo(state)}": one of {shown} belongs here, or nothing for what was built'
    elif state and what not in kinds():
        yield "state", f"a line of {what} has none"
    elif state and not cells.get("distance"):
        yield "distance", 'missing; how far it had run, for example "500 miles"'
    elif cells.get("distance") and not state and what in kinds():
        yield "state", f"missing; at a visit a thing is {shown}"
    elif what == CHANGED and not cells.get("distance"):
        yield "distance", "missing; at which visit it was changed"
    if cells.get("lift") and what not in AT_LIFT:
        yield "lift", f"belongs to what is read in the rocker's box at full lift: {', '.join(AT_LIFT)}"
    elif what in AT_LIFT and not cells.get("lift"):
        yield "lift", "missing; the valve's lift that it was read at"
    for column, kind in (("distance", DISTANCE), ("temperature", TEMPERATURE), ("lift", LIFT)):
        typed = cells.get(column, "")
        if typed:
            try:
                understood(kind, typed)
            except ValueFault as fault:
                yield column, str(fault)


def understood(kind: Kind, typed: str) -> Value:
    """Return a value of a record, which carries its unit.

    Raises:
        ValueFault: where it is none, in words.
    """
    value = kind.parse(typed, "mm")
    if isinstance(value, Blank) or not isinstance(value, Value):
        message = "no value"
        raise ValueFault(message)
    if value.bare and isinstance(kind, Quantity) and kind.dimension is Dimension.LENGTH:
        message = f'"{echo(typed)}": without its unit; write {echo(typed)} in or {echo(typed)} mm'
        raise ValueFault(message)
    return value


def _of_withdrawal(typed: str, of: str, what: str, before: Sequence[Fact], number: int) -> str:
    """Return what is wrong with a line that withdraws another, or nothing."""
    if not typed.isascii() or not typed.isdigit() or not 0 < int(typed[:9]) < number:
        return f'"{echo(typed)}": the number of an earlier line belongs here'
    there = next((fact for fact in before if fact.number == int(typed)), None)
    if there is not None and (there.what, there.of) != (what, of):
        shown = f"{there.what} {there.of}".strip()
        return (
            f"line {typed} of the record is {shown}, not {what} {of}".rstrip()
            + "; lines were moved or removed"
        )
    return ""


def _of_time(text: str) -> str:
    """Return what is wrong with a date, or nothing."""
    if not text:
        return f"missing; write for example {NOW}"
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return f'"{echo(text)}": no date of ISO 8601; write for example {NOW}, or the date alone'
    return ""


def _plain_file(path: Path) -> None:
    """Refuse what is no file of its own.

    Raises:
        OutputRefusedError: where a link, a folder or something else stands there.
    """
    if os.path.islink(path):
        message = (
            f"{path}: a symbolic link; a record stands beside its job as a file of its own, put it there"
        )
        raise OutputRefusedError(message)
    if os.path.isdir(path):
        message = f"{path}: a folder, where the record belongs; move it away"
        raise OutputRefusedError(message)
    if os.path.lexists(path) and not os.path.isfile(path):
        message = f"{path}: no plain file; move it away"
        raise OutputRefusedError(message)
