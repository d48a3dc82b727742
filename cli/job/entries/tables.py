"""What a table of the job file is made of: entries, and tables within tables.

A part of a table is a kind of entry, another table, rows of tables ([[train]]), parts under names
the user chooses ([lobe.NAME]), or one of two of these, told apart by what was written.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from typing import Unpack

from ..reading.values import Dimension
from .fields import Kind, Parts, Quantity, Said, Sign


class Table:
    """A table: what it is about, and what may stand in it."""

    def __init__(self, words: str, needs: tuple[str, ...] = (), /, **parts: Part) -> None:
        self.words = words
        self.needs = needs  # the entries that tie the file together, and cannot be left out
        self.parts = parts


class Together(Table):
    """A table whose entries say one thing together: none of them alone."""


@dataclass(frozen=True)
class Rows:
    """Any number of tables of one sort: [[train]]."""

    table: Table


@dataclass(frozen=True)
class Named:
    """Parts of one sort under names that the user chooses: [lobe.NAME]."""

    part: Table | Kind


@dataclass(frozen=True)
class Either:
    """A table, or something else in its place."""

    table: Table
    other: Kind | Rows


Part = Kind | Table | Rows | Named | Either


def then(table: Table, reading: str = "", **letters: str) -> Table:
    """Return a table of the engine as it was when a reading was taken: the same entries, of another moment.

    reading : which one, as a legend says it
    letters : of entries that have letters there too; those of the engine as it is, and its questions, stay with it
    """
    return Table(
        table.words,
        table.needs,
        **{name: _then(name, part, reading, letters.get(name, "")) for name, part in table.parts.items()},
    )


def _then(name: str, part: Part, reading: str, letters: str) -> Part:
    if isinstance(part, Kind):
        other = copy(part)
        other.letters, other.asked, other.on_cylinder = tuple(letters.split()), None, False
        own = part.called or spaced(name)
        other.called = f"{own}, {reading}" if reading else own
        return other
    if isinstance(part, Table):
        return then(part)
    raise TypeError  # rows of a moment: no table that is read at one has any


def spaced(name: str) -> str:
    """Return an entry's own name in words."""
    return name.replace("_", " ")


def millimetres(words: str, *usual: float, sign: Sign = Sign.POSITIVE, **said: Unpack[Said]) -> Quantity:
    """Return a length; usual : mm, where most engines lie."""
    return Quantity(words, Dimension.LENGTH, sign, _range(usual), below=2000.0, **said)


def millimetres_or(
    nothing: str, words: str, *usual: float, sign: Sign = Sign.POSITIVE, **said: Unpack[Said]
) -> Quantity:
    """Return a length, or the word that says there is none of it; usual : mm, where most engines lie."""
    return Quantity(words, Dimension.LENGTH, sign, _range(usual), below=2000.0, nothing=nothing, **said)


def radius(words: str, *usual: float, most: float, **said: Unpack[Said]) -> Quantity:
    """Return a radius; most : mm, common practice, from memory: more of it is more likely a diameter."""
    return Quantity(words, usual=_range(usual), sign=Sign.POSITIVE, below=2000.0, radius=most, **said)


def degrees(
    words: str,
    *usual: float,
    below: float = 720.0,
    sign: Sign = Sign.ANY,
    reached: bool = False,
    **said: Unpack[Said],
) -> Quantity:
    """Return an angle; usual : degrees, where most engines lie; reached : that `below` itself is possible."""
    return Quantity(words, Dimension.ANGLE, sign, _range(usual), below, reached=reached, **said)


def number(words: str, *usual: float, sign: Sign = Sign.POSITIVE, **said: Unpack[Said]) -> Quantity:
    """Return a plain number; usual : where most engines lie."""
    return Quantity(words, Dimension.NUMBER, sign, _range(usual), below=10000.0, **said)


def measure(
    words: str, dimension: Dimension, *usual: float, sign: Sign = Sign.POSITIVE, **said: Unpack[Said]
) -> Quantity:
    """Return a quantity of another sort; usual : as shown, where most engines lie."""
    return Quantity(words, dimension, sign, _range(usual), **said)


def target(words: str, *usual: float) -> Quantity:
    """Return a wished-for length of 0 or more."""
    return millimetres(words, *usual, sign=Sign.ZERO_UP, wish=True)


def point(words: str, **said: Unpack[Said]) -> Parts:
    """Return three lengths."""
    return Parts(words, (3,), Dimension.LENGTH, below=2000.0, **said)


def place(words: str, **said: Unpack[Said]) -> Parts:
    """Return two lengths, as seen from above."""
    return Parts(words, (2,), Dimension.LENGTH, below=2000.0, example="[-20.0, 0.0]", **said)


def lean_pair(words: str, **said: Unpack[Said]) -> Parts:
    """Return two leans, as seen from two sides."""
    return Parts(words, (2,), Dimension.ANGLE, below=80.0, example="[1.0, -1.5]", **said)


def direction(words: str, **said: Unpack[Said]) -> Either:
    """Return a direction: three components, two leans, or two angles that a protractor gives."""
    return Either(
        Together(
            f"{words}: by two angles",
            around=degrees(
                f"{words}: its angle seen from above, from along the crankshaft (+y) towards +x", below=360.5
            ),
            up=degrees(f"{words}: its angle above the head's gasket face, below it negative", below=90.5),
        ),
        Parts(words, (2, 3), Dimension.NUMBER, example="[0, 1, 0]", **said),
    )


def _range(usual: tuple[float, ...]) -> tuple[float, float] | None:
    return (usual[0], usual[1]) if usual else None
