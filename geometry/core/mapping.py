"""The flat mapping from entry path to number: the one way an engine is described and varied.

Keys are the job file's entry paths with the names of cylinder and train in front
("front.intake.lifter.preload"); a point or lean pair is one key per component (".x", ".y", ".z").
Numbers are millimetres, cubic millimetres, radians or plain; each may be an array of any shape,
and all shapes broadcast. Words ("hydraulic") are strings; "cylinders" and "trains" hold the names.

A mapping that cannot be changed (`Frozen`) keeps what was worked out of it: its stems, its defaults, and, under all
that they are worked out of, the fits of readings and the shapes of cards. `with_` makes another that shares them;
nothing is kept in a module, so that two jobs in two threads never meet.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import Any, NoReturn, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from .frames import Array, array, from_angles, from_lean, point, unit

Flat = Mapping[str, ArrayLike | str | tuple[str, ...]]
Quantities = Mapping[
    str, Mapping[str, float]
]  # measured quantity → the entries that move with it, and their sign


ANGLES = ("around", "up")  # of a direction, see `frames.from_angles`
T = TypeVar("T")


class Frozen(dict[str, Any]):
    """A mapping that cannot be changed, its arrays neither, so that what is worked out of it can be kept on it.

    Whoever varies one makes another, `with_`; that one shares what was kept by what it was worked out of. Nothing is
    kept of a mapping that can be changed, since it may say something else the next time, and nothing but on mappings,
    so that engines in two threads never meet.

    Raises:
        TypeError: for a path that is no text, and for a value that is neither a number, an array of numbers, a word nor names.
    """

    __slots__ = ("completed", "is_complete", "memory", "stems", "within")

    def __init__(self, mapping: Flat, memory: dict[Hashable, Any] | None = None) -> None:
        still = (
            mapping
            if isinstance(mapping, Frozen)
            else {path: _still(path, one) for path, one in mapping.items()}
        )
        super().__init__(still)
        self.stems: frozenset[str] | None = None
        self.within: dict[str, tuple[str, ...]] = {}  # see `within`
        self.completed: tuple[Frozen, list[Any]] | None = None  # see `defaults.completed`
        self.is_complete = False  # what `defaults.completed` gave
        self.memory: dict[Hashable, Any] = {} if memory is None else memory

    def with_(self, more: Flat) -> Frozen:
        """Return the mapping with other values for some entries, or with more of them."""
        found = Frozen(self, self.memory)
        dict.update(found, more if isinstance(more, Frozen) else Frozen(more))
        new = [path for path in more if path not in self]
        if self.stems is not None:
            found.stems = self.stems | _above(new) if new else self.stems
        if not new:
            found.within = self.within
            found.is_complete = self.is_complete and not any(isinstance(one, str) for one in more.values())
        return found

    def kept(self, key: Hashable, work: Callable[[], T]) -> T:
        """Return what was worked out before for a key, or work it out now; key : all that it is worked out of."""
        found: T | None = self.memory.get(key)
        return self.memory.setdefault(key, work()) if found is None else found

    def _refuse(self, *_: object, **__: object) -> NoReturn:
        message = "this mapping cannot be changed; make another: mapping.with_({entry: value})"
        raise TypeError(message)

    __setitem__ = __delitem__ = __ior__ = update = pop = popitem = clear = setdefault = _refuse

    def __reduce__(self) -> tuple[type[Frozen], tuple[dict[str, Any]]]:
        """Return how it is pickled: its entries alone."""
        return Frozen, (dict(self),)


def _still(path: str, value: object) -> object:
    """Return a value that nobody can change: an array as a copy that is only read.

    Raises:
        TypeError: see `Frozen`.
    """
    if isinstance(value, np.ndarray) and value.dtype.kind in "fiu" and isinstance(path, str):
        if not value.flags.writeable and value.base is None:
            return value
        value = value.copy()
        value.flags.writeable = False
        return value
    if not isinstance(path, str):
        message = f"{path!r} is no path of an entry; give a text"
        raise TypeError(message)
    is_number = isinstance(value, (float, int, np.floating, np.integer)) and not isinstance(value, bool)
    if is_number or isinstance(value, (str, tuple)):
        return value
    what = f"{value.dtype} array" if isinstance(value, np.ndarray) else type(value).__name__
    message = f"{path}: a {what} is no value of an entry; give a number, a numpy array of numbers or a word"
    raise TypeError(message)


def kept(mapping: Flat | None, key: Hashable, work: Callable[[], T]) -> T:
    """Return what a mapping that cannot be changed keeps for a key; with another or none, work it out; see `Frozen`."""
    return mapping.kept(key, work) if isinstance(mapping, Frozen) else work()


def frozen(mapping: Flat) -> Frozen:
    """Return a mapping that cannot be changed: itself where it is one, else a copy."""
    return mapping if isinstance(mapping, Frozen) else Frozen(mapping)


def within(mapping: Flat, stem: str) -> tuple[str, ...]:
    """Return the paths that begin with a stem, in the mapping's order; a frozen one remembers them."""
    known = mapping.within if isinstance(mapping, Frozen) else {}
    if stem not in known:
        known[stem] = tuple(path for path in mapping if path.startswith(stem))
    return known[stem]


def names(mapping: Flat, key: str) -> tuple[str, ...]:
    """Return the names listed under "cylinders" or "trains"; none when the key is absent."""
    value = mapping.get(key, ())
    return value if isinstance(value, tuple) else ()


class Reader:
    """Reads entries under a chain of prefixes, the first that has the entry, and notes what is missing.

    With prefixes ("front.", "") the entry "stack.cylinder" is front's own or else the engine's.
    """

    __slots__ = ("mapping", "missing", "prefixes")

    def __init__(self, mapping: Flat, prefixes: tuple[str, ...]) -> None:
        self.mapping = mapping
        self.prefixes = prefixes
        self.missing: list[str] = []  # full paths, in the order in which they were asked for

    def has(self, path: str) -> bool:
        """Say whether the entry, or any component or sub-entry of it, was given."""
        stems = _stems(self.mapping)
        return any(prefix + path in stems for prefix in self.prefixes)

    def path(self, path: str) -> str:
        """Return the full path under which the entry stands, or would stand first."""
        for prefix in self.prefixes:
            if prefix + path in self.mapping:
                return prefix + path
        return self.prefixes[0] + path

    def find(self, path: str) -> Array | None:
        """Return a number, or None when it was not given."""
        value = self.mapping.get(self.path(path))
        return None if value is None or isinstance(value, (str, tuple)) else array(value)

    def number(self, path: str) -> Array:
        """Return a number; when absent note it as missing and return NaN."""
        value = self.find(path)
        if value is None:
            self.lack(path)
            return array(np.nan)
        return value

    def word(self, path: str, default: str = "") -> str:
        """Return a word, or the default."""
        value = self.mapping.get(self.path(path))
        return value if isinstance(value, str) else default

    def point(self, path: str) -> Array:
        """Return three components as one point (..., 3); when absent note it and return NaN."""
        found = [self.find(f"{path}.{axis}") for axis in "xyz"]
        if found[0] is None or found[1] is None or found[2] is None:
            self.lack(path)
            return point(np.nan, np.nan, np.nan)
        return point(found[0], found[1], found[2])

    def lean(self, path: str) -> Array:
        """Return the unit direction of a lean pair (..., 3); when absent note it and return NaN."""
        pair = [self.find(f"{path}.{axis}") for axis in "xy"]
        if pair[0] is None or pair[1] is None:
            self.lack(path)
            return point(np.nan, np.nan, np.nan)
        return from_lean(pair[0], pair[1])

    def direction(self, path: str) -> Array:
        """Return the unit direction of three components, of a lean pair, or of the two angles of ANGLES (..., 3)."""
        if not self.has(f"{path}.x") and any(self.has(f"{path}.{one}") for one in ANGLES):
            around, up = (self.number(f"{path}.{one}") for one in ANGLES)
            return from_angles(around, up)
        return unit(self.point(path)) if self.has(f"{path}.z") else self.lean(path)

    def lack(self, path: str) -> None:
        """Note an entry as missing, once, under the last and so the most general prefix."""
        full = self.prefixes[-1] + path
        if full not in self.missing:
            self.missing.append(full)


def _stems(mapping: Flat) -> frozenset[str]:
    """Return every path that a mapping holds, and every path above one; a frozen one remembers them."""
    if isinstance(mapping, Frozen) and mapping.stems is not None:
        return mapping.stems
    found = frozenset(_above(mapping))
    if isinstance(mapping, Frozen):
        mapping.stems = found
    return found


def _above(paths: Iterable[str]) -> set[str]:
    """Return paths and every path above one."""
    stems = set(paths)
    for path in tuple(stems):
        above = path.rpartition(".")[0]
        while above and above not in stems:
            stems.add(above)
            above = above.rpartition(".")[0]
    return stems
