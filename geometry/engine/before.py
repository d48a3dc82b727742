"""What stood before a change, in the same mapping: its paths are those of the engine, once more below `before.`.

A reading that was taken there says `on = "before"`, and everything that it rests on is what stood then.

What is neither entered there nor named as the same part is lacking; it is never taken to be as it is now. What was cut
or moved is entered as done since, so that before it nothing was: see `defaults`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from ..core.mapping import Flat, Frozen, Quantities, Reader, names

BEFORE = "before"
STEM = f"{BEFORE}."
NOW = "now"
ON = "on"  # of a reading: on which of the two engines it was taken
SAME = "before_same"  # the names of parts that are the same; where it is there, something is said of what stood before

SHARED = (
    "running.",
    "targets.",
    "oversize.",
)  # how it runs, what is wanted and what is on offer: no parts, the same for both

T = TypeVar("T")


def stripped(entries: Mapping[str, T]) -> dict[str, T]:
    """Return what stands below `before.`, by the paths of an engine."""
    return {path.removeprefix(STEM): one for path, one in entries.items() if path.startswith(STEM)}


def stood(entries: Mapping[str, T]) -> dict[str, T]:
    """Return what there is of the engine as it was: what stands below `before.`, and what is of no part."""
    return {**{path: one for path, one in entries.items() if path.startswith(SHARED)}, **stripped(entries)}


def has_before(mapping: Mapping[str, object]) -> bool:
    """Say whether anything is said of what stood before."""
    return SAME in mapping


def engine_before(mapping: Flat, keep: str = "") -> Frozen:
    """Return the engine as it was: the mapping below `before.`, with the names of its cylinders and valve gears.

    keep : the stem of further entries that are left as they are, of a reading
    """
    more = {path: one for path, one in mapping.items() if keep and path.startswith(keep)}
    found = {**stood(mapping), **more, "cylinders": names(mapping, "cylinders")}
    return Frozen({**found, "trains": names(mapping, "trains")}, getattr(mapping, "memory", None))


def quantities_before(quantities: Quantities, keep: str = "") -> dict[str, dict[str, float]]:
    """Return what moves the engine as it was, by the names that each quantity has in the whole mapping.

    keep : as for `engine_before`
    """
    found: dict[str, dict[str, float]] = {}
    for name, paths in quantities.items():
        moved = stood(paths)
        moved |= {path: sign for path, sign in paths.items() if keep and path.startswith(keep)}
        if moved:
            found[name] = moved
    return found


def renamed(quantities: Quantities) -> dict[str, str]:
    """Return the name of each quantity in the engine as it was alone; one that would be another's keeps its own.

    quantities : those of `quantities_before`
    """
    return {
        name: name if name.removeprefix(STEM) in quantities else name.removeprefix(STEM)
        for name in quantities
    }


def was_read_before(reader: Reader, reading: str) -> bool:
    """Say whether a reading was taken on the engine as it was."""
    return reader.word(f"{reading}.{ON}") == BEFORE


def is_same(mapping: Flat, owner: str, entry: str) -> bool:
    """Say whether an entry of a cylinder or valve gear, or of the engine it is in, is of a part that is named as the same."""
    paths = (entry, f"{owner.partition('.')[0]}.{entry}", f"{owner}.{entry}")
    return any(path == one or path.startswith(f"{one}.") for path in paths for one in names(mapping, SAME))


def not_said(
    mapping: Flat, owner: str, reading: str, parts: tuple[str, ...], also: tuple[str, ...]
) -> tuple[str, ...]:
    """Return what is not said of the engine as it was that a reading taken on it rests on, as paths below `before.`.

    owner   : of the reading, "front.intake" or "front"
    reading : "measured_pushrod"
    parts   : entries that it rests on in any case
    also    : and those that it rests on where the engine has them now
    """
    reader = Reader(mapping, (f"{owner}.", "") if "." not in owner else (f"{owner}.",))
    if not was_read_before(reader, reading):
        return ()
    now = Reader(mapping, (f"{owner}.", f"{owner.partition('.')[0]}.", ""))
    lacks = []
    for entry in (*parts, *(one for one in also if now.find(one) is not None)):
        there = reader.find(f"{reading}.{entry}") is not None
        if not there and not is_same(mapping, owner, entry):
            lacks.append(f"{STEM}{entry}")
    return tuple(lacks)
