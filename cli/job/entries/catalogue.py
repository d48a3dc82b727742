"""What may stand at each place of a job file: the model, asked by path."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tallstack.geometry.engine.before import BEFORE, STEM

from ..faults import Loc
from .before_tables import BEFORE as BEFORE_TABLE
from .fields import LOOKED_AT, Kind, Parts, Quantity, Ways
from .gear_tables import PORTS
from .model import JOB, NOW
from .tables import Either, Named, Part, Rows, Table

TYING = ("name", "cylinder", "port", "like", "mirror")  # they tie rows together, and cannot be varied
ROWS = ("cylinder", "train")
OF_A_READING = ("of", "train", "cylinder", "other")  # what a [[reading]] is of, which cannot be varied either


def entries_of(loc: Loc) -> tuple[str, ...]:
    """Return the names of the entries that may stand at a place of the document."""
    table = table_at(loc)
    return () if table is None else tuple(table.parts)


def table_at(loc: Loc) -> Table | None:
    """Return the table at a place of the document, or None where no table can stand."""
    return _table(_part_at(loc))


def is_rows(loc: Loc) -> bool:
    """Say whether any number of tables of one sort may stand at a place of the document, and nothing else."""
    return isinstance(_part_at(loc), Rows)


def steps(parts: Sequence[str]) -> Loc:
    """Return the steps of a path, those that count rows as numbers."""
    return tuple(int(part) if part.isascii() and part.isdigit() else part for part in parts)


def owned(path: str) -> tuple[str, Kind | None]:
    """Return whose an entry is, and its meaning, by its path.

    The first is the name of its valve gear or cylinder, empty for the engine's and where the path goes without it; of a
    table there is no meaning, nor of what is no entry.
    """
    if path.startswith(STEM):
        owner, kind = owned(path.removeprefix(STEM))
        return f"{STEM}{owner}".rstrip("."), kind
    names = path.split(".")
    parts = steps(names)
    places: list[tuple[str, Loc]] = []
    if names[0] in JOB.parts:
        by_name = isinstance(JOB.parts[names[0]], Rows) and len(parts) > 1 and isinstance(parts[1], str)
        places.append(
            ("", (names[0], 0, parts[-1]) if by_name else parts)
        )  # an instrument's stands under its name
    if len(names) > 2 and names[1] in PORTS:
        places.append((".".join(names[:2]), ("train", 0, *parts[2:])))
    places += [(names[0], ("cylinder", 0, *parts[1:]))] if len(names) > 1 else []
    places += [("", ("cylinder", 0, *parts)), ("", ("train", 0, *parts))]
    known = ((owner, meaning_at(loc), table_at(loc)) for owner, loc in places)
    return next(((owner, kind) for owner, kind, table in known if kind or table), ("", None))


def kind_at(loc: Loc) -> Kind | None:
    """Return the meaning of an entry that can be varied, or None where none stands at that place of the document."""
    if loc == (BEFORE, "same"):
        return None
    own = loc[1:] if loc[:1] == (BEFORE,) else loc
    if len(own) == 3 and own[0] in ROWS and own[-1] in TYING:
        return None
    if len(loc) == 3 and loc[0] == "reading" and loc[-1] in OF_A_READING:
        return None
    return meaning_at(loc)


def meaning_at(loc: Loc) -> Kind | None:
    """Return the meaning of the entry at a place of the document, or None where there is none."""
    part = _part_at(loc)
    if isinstance(part, Either):
        part = part.other
    if isinstance(part, Kind):
        return part
    if part is None and len(loc) > 1 and isinstance(loc[-1], str):
        whole = _part_at(loc[:-1])
        if isinstance(whole, Ways):
            return whole.way(loc[-1])
    if loc[-1] in ("x", "y", "z") and part is None:
        whole = kind_at(loc[:-1]) if len(loc) > 1 else None
        return whole if isinstance(whole, Parts) else None
    return None


def tool_at(loc: Loc) -> str:
    """Return what the entry at a place of the document is read with; of a table, what its first entry is."""
    found = meaning_at(loc)
    table = table_at(loc)
    if found is None and table is not None:
        found = next((part for part in table.parts.values() if isinstance(part, Kind)), None)
    return LOOKED_AT if found is None else found.read_with


def usual_at(loc: Loc) -> tuple[float, float]:
    """Return where the entry at a place of the document lies in most engines: mm, degrees, cc or plain.

    Raises:
        LookupError: where its declaration does not say it.
    """
    kind = meaning_at(loc)
    if not isinstance(kind, (Quantity, Parts)) or kind.usual is None:
        raise LookupError(loc)
    return kind.usual


def homes(name: str, root: str, tables: bool) -> tuple[str, ...]:
    """Return the headers of the tables where an entry of that name belongs, nearest first.

    root   : the top table it was written in: those within it, or else those least deep
    tables : it was written as a table: those where it is one, if there are any
    """
    table, path = (BEFORE_TABLE, BEFORE) if root == BEFORE else (NOW, "")
    every = [(header, is_table) for entry, header, is_table in _headers(table, path, 1) if entry == name]
    of_kind = [header for header, is_table in every if is_table or not tables]
    found = tuple(dict.fromkeys(of_kind or (header for header, _ in every)))
    near = tuple(one for one in found if one.strip("[]").split(".")[0] == root)
    least = min((one.count(".") for one in found), default=0)
    return near or tuple(one for one in found if one.count(".") == least)


def within(loc: Loc, name: str) -> tuple[str, ...]:
    """Return the paths, from a place of the document on, of the entries of that name inside it."""
    table = table_at(loc)
    return () if table is None else tuple(_inside(table, name, ""))


def _inside(table: Table, name: str, path: str) -> Iterator[str]:
    for entry, part in table.parts.items():
        inner = None if isinstance(part, (Named, Rows)) else _table(part)
        if entry == name and (inner is None or isinstance(part, Either)):
            yield f"{path}{entry}"
        elif inner is not None:
            yield from _inside(inner, name, f"{path}{entry}.")


def _headers(table: Table, path: str, brackets: int) -> Iterator[tuple[str, str, bool]]:
    """Yield the name of every part, with the header under which one writes it, and whether it is a table."""
    header = f"{'[' * brackets}{path}{']' * brackets}"
    for name, part in table.parts.items():
        inner = _table(part)
        yield name, header if path else "the top of the file", inner is not None
        if inner is None:
            continue
        below = f"{path}.{name}" if path else name
        below += ".NAME" if isinstance(part, Named) else ""
        yield from _headers(inner, below, 2 if isinstance(part, Rows) and path in ("", BEFORE) else 1)


def _part_at(loc: Loc) -> Part | None:
    part: Part | None = JOB
    for step in loc:
        if isinstance(part, Named):
            part = part.part
        elif isinstance(step, int):
            part = part.table if isinstance(part, Rows) else part
        else:
            table = _table(part)
            part = None if table is None else table.parts.get(step)
    return part


def _table(part: Part | None) -> Table | None:
    """Return the table inside a part, if there is one."""
    if isinstance(part, (Rows, Either)):
        return part.table
    if isinstance(part, Named):
        return part.part if isinstance(part.part, Table) else None
    return part if isinstance(part, Table) else None
