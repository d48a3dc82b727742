"""Which letter stands for which entry, the same in every drawing and in every list of what to measure.

Each entry declares its letters itself. **Letters are never given anew**: a further entry takes the next free one
(`next_free`), and none that was given is given to another, even where its entry is gone. Their order is the one in which
one measures. I and O are left out, since they read as 1 and 0.

What an entry declares is, in this order: the letter of the whole of it, or one for each of its numbers; of a lean that may
be one angle, the whole and then each view; of a table that may stand in rows, what it is alone, and then in each row.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from functools import cache

from ..reading.values import Dimension
from .fields import Kind, Parts, Quantity
from .tables import Either, Named, Part, Rows, Table, spaced

ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ"
AXES = "xyz"
OWNERS = ("cylinder", "train")  # their names do not stand before an entry in a drawing


class Measures(Enum):
    """What an entry measures."""

    LENGTH = "length"
    ANGLE = "angle"
    NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Lettered:
    """An entry with its letter."""

    letter: str
    entry: str  # as in the job file, without the valve gear's or the cylinder's name
    measures: Measures
    called: str = ""  # in a legend, in a few words
    on_cylinder: bool = False  # drawn on the cylinder's own page, not on a valve gear's


REQUIRED = "pushrod"  # not an entry: the length that is worked out
OF_REQUIRED = Lettered("T", REQUIRED, Measures.LENGTH, "pushrod to order")


def letter_at(index: int) -> str:
    """Return the letter at a place of their order: A to Z, AA to AZ, BA and so on, without I and O."""
    first, last = divmod(index, len(ALPHABET))
    return (letter_at(first - 1) if first else "") + ALPHABET[last]


def order_of(letter: str) -> int:
    """Return at which place of their order a letter stands."""
    place = -1
    for one in letter:
        place = (place + 1) * len(ALPHABET) + ALPHABET.index(one)
    return place


@cache
def lettered() -> dict[str, Lettered]:
    """Return every entry that has a letter, in the order of their letters."""
    from .model import NOW

    found = [OF_REQUIRED]
    for name, part in NOW.parts.items():
        own = part.table if isinstance(part, Rows) and name in OWNERS else part
        found += _of_part(own, "" if name in OWNERS else name)
    every = {one.entry: one for one in found}  # a cylinder's own stack has the letters of the engine's
    return dict(sorted(every.items(), key=lambda item: order_of(item[1].letter)))


def next_free() -> str:
    """Return the letter that a further entry takes."""
    return letter_at(1 + max(order_of(one.letter) for one in lettered().values()))


def letter_of(entry: str) -> str:
    """Return the letter of an entry, without the valve gear's or the cylinder's name; empty where it has none."""
    table = lettered()
    if entry in table:
        return table[entry].letter
    whole, _, axis = entry.rpartition(".")  # a direction has one letter for all its parts
    is_part = axis in AXES and whole in table and table[whole].measures is Measures.NUMBER
    return table[whole].letter if is_part else ""


def letters_of(entry: str) -> str:
    """Return the letters of an entry, or of the parts of a point or a lean pair: "Y", "Y, Z"; empty where it has none."""
    letter = letter_of(entry)
    if letter:
        return letter
    return ", ".join(one for one in (letter_of(f"{entry}.{axis}") for axis in AXES) if one)


def _of_part(part: Part, path: str, row: int | None = None) -> Iterator[Lettered]:
    """Yield the entries of a part that have letters; row : which of the letters, in a table that may stand in rows."""
    if isinstance(part, Kind):
        yield from _of_kind(part, path, row)
    elif isinstance(part, Table):
        for name, inner in part.parts.items():
            yield from _of_part(inner, f"{path}.{name}" if path else name, row)
    elif isinstance(part, Rows):
        yield from _of_rows(part.table, path, 0)
    elif isinstance(part, Either) and isinstance(part.other, Rows):
        yield from _of_part(part.table, path, 0)
        yield from _of_rows(part.table, path, 1)
    elif isinstance(part, Either):
        yield from _of_part(part.table, path)
        yield from _of_part(part.other, path)
    elif isinstance(part, Named):
        yield from _of_part(part.part, f"{path}.NAME")


def _of_rows(table: Table, path: str, first: int) -> Iterator[Lettered]:
    """Yield the entries of rows of tables, as far as there are letters; first : which of the letters is the first row's."""
    given = max((len(one.letters) for one in table.parts.values() if isinstance(one, Kind)), default=0)
    for row in range(first, given):
        yield from _of_part(table, f"{path}.{row - first}", row)


def _of_kind(kind: Kind, path: str, row: int | None) -> Iterator[Lettered]:
    letters = kind.letters
    if row is not None:
        letters = letters[row : row + 1]
    paths = [path]
    if isinstance(kind, Parts) and len(letters) > 1:
        whole = [path] if kind.may_be_one else []
        paths = [*whole, *(f"{path}.{axis}" for axis in AXES[: max(kind.counts)])]
    if letters and len(letters) != len(paths):
        message = f"{path}: {len(letters)} letters for {', '.join(paths)}"
        raise ValueError(message)
    words = (kind.called or spaced(path.rpartition(".")[2])) + ("" if row is None else _row(path))
    for one, letter in zip(paths, letters, strict=False):
        part = one.removeprefix(path).removeprefix(".")
        yield Lettered(letter, one, _measures(kind), f"{words}, {part}" if part else words, kind.on_cylinder)


def _row(path: str) -> str:
    """Return which of a table's rows an entry stands in, counted from 1; empty where the table is alone."""
    row = path.split(".")[-2]
    return f" {int(row) + 1}" if row.isdigit() else ""


def _measures(kind: Kind) -> Measures:
    if not isinstance(kind, (Quantity, Parts)):
        return Measures.NUMBER
    known = {Dimension.LENGTH: Measures.LENGTH, Dimension.ANGLE: Measures.ANGLE}
    return known.get(kind.dimension, Measures.NUMBER)
