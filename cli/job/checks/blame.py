"""Where a contradiction between entries is told: at the one that brought it in, and once.

Of two entries that contradict each other

    one tried by --with                         there
    one of a valve gear or cylinder's own       there
    both copied by like, or the whole engine's  at the first, on the line it was copied from

An entry that is blamed already makes no other look wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..contents import Entries, Entry
from ..entries.engine_tables import TOP
from ..faults import Fault, Where
from .words import missing


class Teller:
    """Tells a contradiction at the entry that brought it in, and blames one entry once."""

    def __init__(self, entries: Entries, where: Where) -> None:
        self.entries = entries
        self.where = where
        self.told: set[str] = set()

    def fault(self, found: str, remedy: str, *paths: str) -> Iterator[Fault]:
        """Yield that entries contradict each other.

        paths : the entries, the one that is rather wrong first
        """
        at = min(paths, key=self._rank)
        root = self.root(at)
        if self.blamed(*paths):
            return
        self.told.add(root)
        others = [_short(path, root) for path in paths if path != root]
        see = f", see {' and '.join(others)}" if others else ""
        message = f"{found}{see}; {remedy}" if remedy else f"{found}{see}"
        origin = self._origin(root)
        if origin.startswith("--"):
            yield Fault((), root, message, outside=origin)
        else:
            yield Fault(*self.where(root), message)

    def blamed(self, *paths: str) -> bool:
        """Say whether one of the entries, or what it was copied from, is blamed for something already."""
        return any(self.root(path) in self.told for path in paths)

    def lacking(self, table: str, entry: str, message: str, because: str = "") -> Iterator[Fault]:
        """Yield that a table lacks an entry; because : the entry that asks for it."""
        origin = self._origin(because)
        if origin.startswith("--"):
            yield Fault((), f"{table}.{entry}", message, outside=origin)
        else:
            yield missing(table, entry, message, self.where)

    def root(self, path: str) -> str:
        """Return the entry or row that another was copied from, or the entry itself."""
        follows = [entry.follows for entry in self._inside(path)]
        if not follows or not all(follows):
            return path
        return follows[0] if path in self.entries else follows[0].rpartition(".")[0]

    def table(self, prefixes: Iterable[str], name: str) -> str:
        """Return the path of a table under the first prefix that has any of it."""
        return next((f"{one}{name}" for one in prefixes if self._inside(f"{one}{name}")), name)

    def is_copy(self, path: str) -> bool:
        """Say whether an entry was copied from another."""
        return self.root(path) != path

    def _rank(self, path: str) -> int:
        root = self.root(path)
        if self._origin(root).startswith("--"):
            return 0
        return 2 if root != path or path.split(".")[0] in TOP else 1

    def _origin(self, path: str) -> str:
        """Return what brought in an entry, or the first in a row or table that --with did."""
        origins = [entry.origin for entry in self._inside(path)]
        return next((one for one in origins if one.startswith("--")), next(iter(origins), ""))

    def _inside(self, path: str) -> list[Entry]:
        """Return an entry, or all in a row or table."""
        return [entry for one, entry in self.entries.items() if one == path or one.startswith(f"{path}.")]


def _short(path: str, beside: str) -> str:
    """Return an entry's path without the valve gear's name where both belong to the same one."""
    gear = ".".join(beside.split(".")[:2])
    return path.removeprefix(f"{gear}.") if beside.count(".") > 1 else path
