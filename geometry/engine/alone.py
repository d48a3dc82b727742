"""What does one cylinder's answer need of an engine? Its own entries, its valve gears', and those that all share.

Whoever varies every entry for every cylinder works out as many engines as there are cylinders, each with the entries of
all of them. Of each cylinder alone that is no more for a cylinder of many than for a single.
"""

from __future__ import annotations

from typing import Any

from ..core.mapping import Flat, Frozen, Quantities, frozen, names
from .before import STEM


def each_alone(mapping: Flat) -> dict[str, Frozen]:
    """Return what one cylinder and its valve gears need of an engine, without the entries of the others, by its name.

    What is the same of all cylinders stands in each of them.
    """
    still = frozen(mapping)
    cylinders = names(still, "cylinders")
    own: dict[str, dict[str, Any]] = {name: {} for name in cylinders}
    common: dict[str, Any] = {}
    for path, value in still.items():
        own.get(path.removeprefix(STEM).partition(".")[0], common)[path] = value
    return {name: _of(still, {**common, **own[name]}, name) for name in cylinders}


def alone(mapping: Flat, cylinder: str) -> Frozen:
    """Return that of one cylinder, as `each_alone` does."""
    still, others = frozen(mapping), set(names(mapping, "cylinders")) - {cylinder}
    kept = {
        path: value
        for path, value in still.items()
        if path.removeprefix(STEM).partition(".")[0] not in others
    }
    return _of(still, kept, cylinder)


def _of(still: Frozen, kept: dict[str, Any], cylinder: str) -> Frozen:
    """Return an engine of one cylinder, of the entries of another one that are kept."""
    trains = tuple(one for one in names(still, "trains") if one.rpartition(".")[0] == cylinder)
    found = Frozen({**kept, "cylinders": (cylinder,), "trains": trains}, still.memory)
    found.is_complete = still.is_complete
    return found


def those_of(quantities: Quantities, mapping: Flat) -> Quantities:
    """Return the quantities that move entries of a mapping, and of what they move what stands there."""
    found = {
        name: {path: sign for path, sign in paths.items() if path in mapping}
        for name, paths in quantities.items()
    }
    return {name: paths for name, paths in found.items() if paths}
