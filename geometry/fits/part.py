"""What every fit answers with: figures that broadcast like the engine they are worked out from.

A part is a function of the flat mapping and of whom it is asked for, a cylinder or a valve gear. It returns
its figures by name, or the entries it lacks: a part whose entries are absent is "not measured".
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.mapping import Flat, Reader, names


class Figure(NamedTuple):
    """One quantity of a fit."""

    value: Array  # in `unit`
    unit: str  # "mm", "deg", "cc", "n", "n_per_mm", "mpa", "rpm", "" for a plain number
    at: Array | None = None  # crank rad from the cylinder's own top centre, where it is least or greatest
    least: str = ""  # the target it must not fall below
    most: str = ""  # the target it must not exceed
    note: str = ""  # what the number rests on, in words
    unsaid: tuple[str, ...] = ()  # entries that it rests on and that nobody made: nothing with them is proved


class Lacking(NamedTuple):
    """What a part needs before it can be worked out."""

    entries: tuple[str, ...]
    why: str = ""  # in words, where entries alone do not say it; or why it cannot be


Figures = dict[str, Figure]
Part = Callable[[Flat, str], "Figures | Lacking"]


def of_cylinder(mapping: Flat, cylinder: str) -> Reader:
    """Return a reader of a cylinder's own entries, or else the engine's.

    Raises:
        KeyError: where the engine has cylinders and that is none of them.
    """
    there = names(mapping, "cylinders")
    if there and cylinder not in there:
        message = f"{cylinder}: no such cylinder; there are {', '.join(there)}"
        raise KeyError(message)
    return Reader(mapping, (f"{cylinder}.", ""))


def lacking(readers: Iterable[Reader]) -> Lacking | None:
    """Return what readers asked for in vain, or None."""
    missing = tuple(dict.fromkeys(entry for reader in readers for entry in reader.missing))
    return Lacking(missing) if missing else None


def lacking_but_height(readers: Iterable[Reader]) -> Lacking | None:
    """Return what readers asked for in vain but the compression height, or None: it cancels, or does not count."""
    found = lacking(readers)
    missing = () if found is None else found.entries
    left = tuple(entry for entry in missing if not entry.endswith("compression_height"))
    return Lacking(left) if left else None


def spread(mapping: Flat) -> Flat:
    """Return a mapping whose arrays have one more axis, the last, of length one: room for a row of places."""
    return {
        path: value if isinstance(value, (str, tuple)) or np.ndim(value) == 0 else array(value)[..., None]
        for path, value in mapping.items()
    }
