"""One lobe's entries by their own names, for what checks them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from ..contents import Entries
from ..entries.fields import Quantity
from ..faults import Fault
from ..reading.values import Dimension
from .blame import Teller
from .words import in_both_units, in_mm


class OneLobe:
    """One lobe's entries by their own names."""

    def __init__(self, name: str, entries: Entries, teller: Teller, is_open: Callable[[str], bool]) -> None:
        self.path = f"lobe.{name}"
        self.entries = entries
        self.teller = teller
        self.is_open = is_open

    def has(self, table: str) -> bool:
        """Say whether an entry, or any entry of a table, was given."""
        stem = f"{self.path}.{table}"
        return stem in self.entries or any(path.startswith(f"{stem}.") for path in self.entries)

    def word(self, entry: str) -> str:
        """Return a word, or nothing."""
        found = self.entries.get(f"{self.path}.{entry}")
        return found.value if found is not None and isinstance(found.value, str) else ""

    def number(self, entry: str) -> float | None:
        """Return a number in mm or degrees, or None."""
        found = self.entries.get(f"{self.path}.{entry}")
        if found is None or not isinstance(found.value, float):
            return None
        is_angle = entry.rpartition(".")[2] in ("degrees", "opens", "closes", "centreline", "angle")
        return math.degrees(found.value) if is_angle else found.value

    def length(self, number: float) -> str:
        """Return a length in both units, first in the one this lobe's lengths were typed in."""
        return in_both_units(number, self._in_inches)

    @property
    def _in_inches(self) -> bool:
        lengths = [
            entry
            for path, entry in self.entries.items()
            if path.startswith(f"{self.path}.")
            and isinstance(entry.kind, Quantity)
            and entry.kind.dimension is Dimension.LENGTH
        ]
        return bool(lengths) and not any(in_mm(one) for one in lengths)

    def fault(self, found: str, remedy: str, *entries: str) -> Iterator[Fault]:
        """Yield that entries of this lobe contradict each other."""
        yield from self.teller.fault(found, remedy, *(f"{self.path}.{one}" for one in entries))

    def lacking(self, table: str, entry: str, message: str, because: str = "") -> Iterator[Fault]:
        """Yield that a table of this lobe lacks an entry that is not left blank."""
        table = f"{self.path}.{table}".rstrip(".")
        if not self.is_open(f"{table}.{entry}"):
            yield from self.teller.lacking(table, entry, message, f"{self.path}.{because}")
