"""Entries of the file's top that stand under a table: TOML reads them as that table's own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ..entries.catalogue import entries_of
from ..faults import Loc

TOP = ("format", "title", "written_for", "units", "wanted", "shelf", "record")  # they stand above every table


def below_the_top(document: Mapping[str, object]) -> tuple[tuple[Loc, object], ...]:
    """Return the entries that belong to the file's top and stand under a table, with their values."""
    missing = {name for name in TOP if name not in document}
    return tuple(_found_below(document, (), missing)) if missing else ()


def _found_below(found: Mapping[str, object], loc: Loc, missing: set[str]) -> Iterator[tuple[Loc, object]]:
    known = entries_of(loc)
    for name, raw in found.items():
        here = (*loc, name)
        if loc and name in missing and name not in known:
            yield here, raw
        rows = enumerate(raw) if isinstance(raw, list) else [(-1, raw)]
        for index, row in rows:
            if isinstance(row, dict):
                yield from _found_below(row, (*here, index) if index >= 0 else here, missing)


def first_header(document: Mapping[str, object]) -> str:
    """Return the header of the first table in a document."""
    path, found = [], document
    while True:
        name, raw = next((name, raw) for name, raw in found.items() if isinstance(raw, dict) or is_rows(raw))
        path.append(name)
        if not isinstance(raw, dict):
            return f"[[{'.'.join(path)}]]"
        if not raw or not all(isinstance(one, dict) or is_rows(one) for one in raw.values()):
            return f"[{'.'.join(path)}]"
        found = raw


def is_rows(raw: object) -> bool:
    """Say whether a value is several tables: [[name]]."""
    return isinstance(raw, list) and bool(raw) and isinstance(raw[0], dict)
