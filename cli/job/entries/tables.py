"""What a table of the job file is made of: entries, and tables within tables.

A part of a table is a kind of entry, another table, rows of tables ([[train]]), parts under names
the user chooses ([lobe.NAME]), or one of two of these, told apart by what was written.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..reading.values import Dimension
from .fields import Kind, Parts, Quantity, Sign


class Table:
    """A table: what it is about, and what may stand in it."""

    def __init__(self, words: str, needs: tuple[str, ...] = (), /, **parts: Part) -> None:
        self.words = words
        self.needs = needs  # the entries that tie the file together, and cannot be left out
        self.parts = parts


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


def millimetres(words: str, *usual: float, sign: Sign = Sign.POSITIVE, wish: bool = False) -> Quantity:
    """Return a length; usual : mm, where most engines lie."""
    return Quantity(words, Dimension.LENGTH, sign, _range(usual), below=2000.0, wish=wish)


def radius(words: str, *usual: float, most: float) -> Quantity:
    """Return a radius; most : mm, common practice, from memory: more of it is more likely a diameter."""
    return Quantity(words, usual=_range(usual), sign=Sign.POSITIVE, below=2000.0, radius=most)


def degrees(words: str, *usual: float, below: float = 720.0, sign: Sign = Sign.ANY) -> Quantity:
    """Return an angle; usual : degrees, where most engines lie."""
    return Quantity(words, Dimension.ANGLE, sign, _range(usual), below)


def number(words: str, *usual: float, wish: bool = False, sign: Sign = Sign.POSITIVE) -> Quantity:
    """Return a plain number; usual : where most engines lie."""
    return Quantity(words, Dimension.NUMBER, sign, _range(usual), below=10000.0, wish=wish)


def measure(
    words: str, dimension: Dimension, *usual: float, sign: Sign = Sign.POSITIVE, wish: bool = False
) -> Quantity:
    """Return a quantity of another sort; usual : as shown, where most engines lie."""
    return Quantity(words, dimension, sign, _range(usual), wish=wish)


def target(words: str, *usual: float) -> Quantity:
    """Return a wished-for length of 0 or more."""
    return millimetres(words, *usual, sign=Sign.ZERO_UP, wish=True)


def point(words: str) -> Parts:
    """Return three lengths."""
    return Parts(words, (3,), Dimension.LENGTH, below=2000.0)


def place(words: str) -> Parts:
    """Return two lengths, as seen from above."""
    return Parts(words, (2,), Dimension.LENGTH, below=2000.0, example="[-20.0, 0.0]")


def lean_pair(words: str) -> Parts:
    """Return two leans, as seen from two sides."""
    return Parts(words, (2,), Dimension.ANGLE, below=80.0, example="[1.0, -1.5]")


def direction(words: str) -> Parts:
    """Return three components of a direction, or two leans."""
    return Parts(words, (2, 3), Dimension.NUMBER, example="[0, 1, 0]")


def _range(usual: tuple[float, ...]) -> tuple[float, float] | None:
    return (usual[0], usual[1]) if usual else None
