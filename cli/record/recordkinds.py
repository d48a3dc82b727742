"""What can be written down at assembly: the kinds of fact, what each is of, and how each is read."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, NamedTuple

from tallstack.geometry.core.answer import CYLINDER, TRAIN, Group
from tallstack.geometry.fits import groups

from ..job.entries.catalogue import kind_at
from ..job.entries.fields import Kind, Quantity, Sign
from ..job.entries.gear_tables import CONVENTIONS
from ..job.entries.tables import degrees, millimetres, number

NOTE, WITHDRAWN, SHELF = "note", "withdrawn", "shelf"
OF_NOTHING = (NOTE, WITHDRAWN, SHELF)  # need not be of a valve gear or cylinder
TURNED_FROM = (
    "zero lash",
    "closed",
)  # an adjuster from where it just touches; an adjustable pushrod fully closed
FELT_AT = ("valve", "pushrod")
CONVENTIONS_OF = {"pushrod": CONVENTIONS, "turns": TURNED_FROM, "flats": TURNED_FROM, "lash": FELT_AT}


class Recorded(NamedTuple):
    """One kind of fact."""

    kind: Kind
    of: str  # TRAIN or CYLINDER


def _entry(*loc: str | int) -> Kind:
    """Return how an entry of the job file is read, for what is the same thing at assembly."""
    kind = kind_at(loc)
    assert isinstance(kind, Quantity)
    return kind


FIXED: dict[str, Recorded] = {
    "pushrod": Recorded(_entry("train", 0, "measured_pushrod", "length"), TRAIN),
    "turns": Recorded(number("turns, the way that takes up lash", 0, 20, sign=Sign.ANY), TRAIN),
    "flats": Recorded(number("flats, the way that takes up lash", 0, 120, sign=Sign.ANY), TRAIN),
    "preload": Recorded(_entry("train", 0, "lifter", "preload"), TRAIN),
    "lash": Recorded(_entry("train", 0, "lifter", "lash"), TRAIN),
    "drop": Recorded(_entry("train", 0, "measured_drop", "drop"), TRAIN),
    "clay": Recorded(millimetres("the clay where it was thinnest", 0, 25, sign=Sign.ZERO_UP), TRAIN),
    "valve lift": Recorded(millimetres("the valve's greatest lift", 3, 20), TRAIN),
    "valve to valve": Recorded(millimetres("between the two valves at their closest", 0, 25), CYLINDER),
    "crank": Recorded(
        degrees("crank degrees after compression top centre where it was set", below=360.0), CYLINDER
    ),
}


def figures() -> Mapping[str, tuple[Group[Any], str]]:
    """Return every figure of the rest of the stack that a hand can measure, by what it is called in a record."""
    return _figures(groups.GROUPS)


@cache
def _figures(every: tuple[Group[Any], ...]) -> dict[str, tuple[Group[Any], str]]:
    return {
        key.replace("_", " "): (group, key)
        for group in every
        for key, figure in group.figures.items()
        if figure.measured is not None
    }


def kinds() -> Mapping[str, Recorded]:
    """Return everything that can be written down, in the order of assembly."""
    return _kinds(groups.GROUPS)


@cache
def _kinds(declared: tuple[Group[Any], ...]) -> dict[str, Recorded]:
    crank = {"crank": FIXED["crank"]}  # where it stood is written down last
    every = {name: one for name, one in FIXED.items() if name not in crank}
    for name, (group, key) in _figures(declared).items():
        measured = group.figures[key].measured
        assert measured is not None
        sign = Sign.ANY if measured.signed else Sign.ZERO_UP
        every[name] = Recorded(millimetres(measured.words, *measured.usual, sign=sign), group.of)
    return every | crank
