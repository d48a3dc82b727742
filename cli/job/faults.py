"""One fault of an input: where it is, which entry in words, what was found, what would be right."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

Loc = tuple[str | int, ...]
Where = Callable[[str], tuple[Loc, str]]  # of an entry, by its path: where it is, and what it is in words
MOST_TOLD = 60  # faults of one file
SHOWN = 74  # characters of a source line


class Fault(NamedTuple):
    """What is wrong with one entry of an input."""

    loc: Loc  # path in the document; empty: the file as a whole
    entry: str  # in words: "valve gear, front intake: lifter.preload"
    message: str
    line: int | None = None  # when known without the document's tree, from 1
    column: int | None = None
    outside: str = ""  # where it was said when not in the file: "--with …"


class InputFaultsError(Exception):
    """An input that cannot be used, with every fault found in it.

    source : its text as it stands;  readable : the same text, line for line, where slips are set right
    """

    def __init__(self, path: Path, faults: Sequence[Fault], source: str = "", readable: str = "") -> None:
        self.path = path
        self.faults = tuple(faults)
        self.source = source
        self.readable = readable or source
        super().__init__(f"{path}: {len(self.faults)} faults")

    def __str__(self) -> str:
        """Return every fault."""
        return self.report()

    def report(self) -> str:
        """Return every fault as file:line:column: entry: message, with the source line under it."""
        lines = self.source.split("\n")
        shown: dict[str, None] = {}  # in order, each once
        for line, column, fault in self._placed():
            place = f"{self.path}" if line is None else f"{self.path}:{line}:{column}"
            head = f"{fault.outside or place}: "
            text = head + (f"{fault.entry}: " if fault.entry else "") + fault.message
            if line is not None and not fault.outside and line <= len(lines):
                text += "\n" + _pointed_at(lines[line - 1], column or 1)
            shown[text] = None
        left = len(self.faults) - MOST_TOLD
        return "\n".join([*shown, *([f"{self.path}: and {left:,} more faults"] if left > 0 else [])])

    def _placed(self) -> list[tuple[int | None, int | None, Fault]]:
        """Return line, column and fault in the order of the file; a line that was a slip says only that."""
        told, places = self.faults[:MOST_TOLD], None
        slips = {fault.line for fault in self.faults if fault.line is not None}
        placed = []
        for fault in told:
            line, column = fault.line, fault.column
            if line is None and fault.loc and not fault.outside:
                if places is None:
                    from .reading.locate import Places

                    places = Places(self.readable)
                line, column = places.nearest(fault.loc)
                if line in slips:
                    continue
            placed.append((line, column, fault))
        return sorted(placed, key=lambda item: (item[0] or 0, item[1] or 0))


def _pointed_at(line: str, column: int) -> str:
    """Return a source line and a mark under one of its characters; of a long line what is around it."""
    text = "".join(character if character.isprintable() else " " for character in line.rstrip("\r"))
    start = 0
    if len(text) > SHOWN and column > SHOWN - 10:
        start = min(column - SHOWN // 2, len(text) - SHOWN // 2)
    cut = text[start : start + SHOWN]
    mark = " " * (min(column, len(text) + 1) - 1 - start)
    return f"    {cut}\n    {mark}^"


def in_words(document: Mapping[str, object], loc: Loc) -> str:
    """Return an entry's place in the trade's words, with its letter in every drawing."""
    if loc[:1] == ("before",) and len(loc) > 2:  # of what stood before
        inner = document.get("before")
        return f"before, {in_words(inner if isinstance(inner, dict) else {}, loc[1:])}"
    parts = [str(part) for part in loc if loc[0] in ("train", "cylinder") or not isinstance(part, int)]
    if len(loc) > 1 and loc[0] in ("train", "cylinder") and isinstance(loc[1], int):
        rows = document.get(str(loc[0]))
        row = rows[loc[1]] if isinstance(rows, list) and loc[1] < len(rows) else None
        keys = ("cylinder", "port") if loc[0] == "train" else ("name",)
        names = [row.get(key) for key in keys] if isinstance(row, dict) else []
        known = " ".join(one for one in names if isinstance(one, str) and one.isprintable())[:60].strip()
        title = "valve gear" if loc[0] == "train" else "cylinder"
        title += f"{',' if loc[0] == 'train' else ''} {known}" if known else f" {loc[1] + 1}"
        rest = _lettered(parts[2:])
        return f"{title}: {rest}" if rest else title
    return _lettered(parts)


def _lettered(parts: Sequence[str]) -> str:
    """Return an entry with its letter; a point or a lean pair with those of its parts."""
    from .entries.letters import letters_of

    entry = ".".join(parts)
    letters = letters_of(entry)
    return f"{entry} ({letters})" if letters else entry
