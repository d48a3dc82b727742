"""An engine of arrays from a mapping that a program made: every entry known, every value of the kind that it takes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from tallstack.geometry.core.mapping import Frozen, frozen
from tallstack.geometry.engine.alternatives import disagreements
from tallstack.geometry.engine.engine import Engine
from tallstack.geometry.engine.engine import build as built

from ..job.entries.catalogue import entries_of, meaning_at, steps
from ..job.entries.fields import Choice, Parts, Quantity, did_you_mean
from ..job.faults import Loc
from ..job.reading.values import LARGEST

NAMES = ("cylinders", "trains")
OWN = (
    "stack",
    "piston",
    "crank",
    "chamber",
    "studs",
)  # of the engine, and of one cylinder alone where it has its own


def build(mapping: Mapping[str, Any]) -> Engine:
    """Return the engine of a mapping, one or a batch: its arrays broadcast.

    mapping : entry path → number or array [mm, mm³, rad or plain], or word; "cylinders" and "trains" hold the names. That
        of a job (`job.mapping`, `job.mapping.with_({...})`) is one.

    Raises:
        ValueError: for an entry that no job has, a number that is none, arrays that do not go together.
        TypeError: for a value that is neither a number, an array, nor a word where one belongs.

    Two entries that say one thing in two ways and contradict each other raise DisagreementError.
    """
    if not isinstance(mapping, Mapping):
        message = f"a {type(mapping).__name__} is no engine; give a mapping of entries, or load a job"
        raise TypeError(message)
    still = frozen(mapping)
    for path, value in still.items():
        _check(path, value, still)
    if told := _unlike(still):
        raise ValueError(told)
    for one in disagreements(still):
        raise one
    return built(still)


def _unlike(mapping: Frozen) -> str:
    """Return which arrays do not go together, or nothing."""
    shapes = {
        path: np.shape(value)
        for path, value in mapping.items()
        if np.ndim(value) and not isinstance(value, tuple)
    }
    first, *rest = [*shapes, ""]
    for path in rest[:-1]:
        try:
            np.broadcast_shapes(shapes[first], shapes[path])
        except ValueError:
            return f"{first} has the shape {shapes[first]} and {path} {shapes[path]}: arrays of one engine go together"
    return ""


def _check(path: str, value: Any, mapping: Frozen) -> None:
    """Refuse an entry that no job has, and a value of another kind than its own.

    Raises:
        ValueError: for an entry that no job has, or a number that is none.
        TypeError: for a value of another kind.
    """
    if path in NAMES:
        if not isinstance(value, tuple) or not all(isinstance(one, str) for one in value):
            message = f"{path}: a tuple of names belongs here"
            raise TypeError(message)
        return
    loc = _place(path, mapping)
    kind = meaning_at(loc)
    if kind is None and loc[0] == "cylinder" and loc[2] in OWN:
        kind = meaning_at(loc[2:])
    if kind is None:
        near = (
            did_you_mean(str(loc[-1]), entries_of(loc[:-1])) or "; see `tallstack schema` for those there are"
        )
        message = f"{path}: no such entry{near}"
        raise ValueError(message)
    if isinstance(kind, (Quantity, Parts)) == isinstance(value, (str, tuple)):
        wanted = "a number in mm or rad" if isinstance(kind, (Quantity, Parts)) else "a word"
        message = f"{path}: {value!r} stands where {wanted} belongs; `tallstack.load` reads values with units"
        raise TypeError(message)
    if isinstance(kind, Choice) and value not in kind.options:
        message = f"{path}: {value!r} is no word of it; there are {', '.join(kind.options)}"
        raise ValueError(message)
    if isinstance(value, (str, tuple)):
        return
    if isinstance(value, int) and abs(value) > LARGEST or not (np.abs(value) <= LARGEST).all():
        message = f"{path}: {value!r} is not finite, or too large for anything in a workshop"
        raise ValueError(message)


def _place(path: str, mapping: Frozen) -> Loc:
    """Return where in a job file the entry of a path would stand."""
    for row, key in (("train", "trains"), ("cylinder", "cylinders")):
        for name in mapping.get(key, ()):
            if path.startswith(f"{name}."):
                return (row, 0, *steps(path.removeprefix(f"{name}.").split(".")))
    return steps(path.split("."))
