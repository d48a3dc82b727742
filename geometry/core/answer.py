"""One answer: declared once, beside the function that works it out.

    @answers(CYLINDER, "DECK AND SQUISH",
        deck=Figure("crown below the cylinder's top"),
        squish=Figure("squish at rest", least=SQUISH_LEAST, below_zero="the crown stands past the head"))
    def squish(mapping, cylinder) -> Values | Missing

A function gives the figures that share its work, for one engine or for a batch whose arrays broadcast; it says by
name what each is worth, or what it lacks. Every screen, sheet, record and list reads the declaration.

A figure with words for `below_zero` is a distance between two parts: below nought they meet, and it is SHORT whatever
limit it has. What a suggestion would leave is held against limits in words alone, since the engine that was entered is
not that one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Any, Generic, NamedTuple, ParamSpec

import numpy as np

from .frames import Array, array
from .mapping import Flat, Reader, names
from .targets import Limit, Target, limit_of, pumped_counts
from .verdict import NOTHING, misses

CYLINDER, TRAIN = "cylinder", "train"  # what an answer is of
P = ParamSpec("P")


class Refused(NamedTuple):
    """What stands in place of a suggestion that is not above nought."""

    instead: str
    why: str  # with {} for by how much it is below nought


class Measured(NamedTuple):
    """What is written down of an answer at assembly."""

    words: str
    usual: tuple[float, float]  # in the figure's unit, where most lie
    signed: bool = False  # it may be below nought


class Figure(NamedTuple):
    """One answer, declared."""

    title: str
    unit: str = "mm"  # "deg", "cc", "n", "n_per_mm", "mpa", "rpm"; nothing for a plain number
    least: Target | None = None  # it must not fall below it
    most: Target | None = None  # it must not exceed it
    below_zero: str | None = None  # what that means; "": it says so itself; None: it may be
    zero: bool = False  # nought is the limit of the parts themselves where no target is set
    is_depth: bool = True  # how far below nought it is, is a length too; else that says only that they meet
    at_nought: str = "THEY MEET"  # what one screen says of it at nought or below, where that is its limit
    left_by: str = ""  # the suggestion that would leave it
    refused: Refused | None = None  # of a suggestion
    rounded: float = (
        0.0  # of a suggestion: 1 up, -1 down, so that what is typed from a screen keeps the limit
    )
    more: tuple[str, tuple[Target, ...]] | None = None  # what a target adds to it, and which
    finer: int = 0  # digits more than other figures of its unit are told with
    main: bool = True  # it is the one that is lacking where its group cannot be worked out
    alone: bool = True  # it misses a limit by itself; else only where others of its kind do, too
    headline: bool = False  # what one screen tells of it even where nothing limits it
    alias: str = ""  # its name in the JSON of risk, where that is another
    measured: Measured | None = None  # where a hand can measure it at assembly
    pumped_as: str = ""  # the key of the same with the lifter pumped up, which its verdict is no better than
    lost: str = ""  # what is said where its doubt is as large as itself, with {} for the least it can be; of a quotient
    watched: str = (
        ""  # what is said where it is not above nought by more than its doubt, and nothing limits it
    )
    nought: str = (
        ""  # what is said where it differs from nought by more than its doubt: two readings disagree
    )
    pumped: bool = False  # it is of a lifter pumped up, and limits nothing where that is told alone

    @property
    def suffix(self) -> str:
        """What its names in JSON end with: its unit."""
        return f"_{self.unit}" if self.unit else ""

    def limits(self, mapping: Flat, of: str = "") -> tuple[Limit | None, Limit | None]:
        """Return the least and the most that it may be, None where nothing says so; of : whose it is."""
        if self.told_alone(mapping):
            return None, None
        return limit_of(mapping, self.least, self.zero, of), limit_of(mapping, self.most, of=of)

    def told_alone(self, mapping: Flat) -> bool:
        """Say whether it is told and limits nothing, as the job wants it of what a pumped-up lifter does."""
        return self.pumped and not pumped_counts(mapping)

    def without_limits(self) -> Figure:
        """Return it as it is told where nothing limits it."""
        return self._replace(least=None, most=None, below_zero=None, zero=False)

    def falls_short(self, mapping: Flat, value: float, of: str = "") -> bool:
        """Say whether a value misses a limit, or the parts meet; what a suggestion leaves never counts."""
        if self.left_by or self.told_alone(mapping):
            return False
        least, most = self.limits(mapping, of)
        low, high = (None if one is None else one.value for one in (least, most))
        past = self.below_zero is not None and misses(value, 0.0, None)
        return past or self.meets(value) or misses(value, low, high)

    def meets(self, value: float) -> bool:
        """Say whether two parts meet and a value says no more than that: those that just touch do, but for rounding."""
        return not self.is_depth and value <= NOTHING


def in_both(length: float, finer: int = 0) -> str:
    """Return a length in mm as a sentence says it, in both units; finer : digits more than other lengths have."""
    return f"{length:.{2 + finer}f} mm ({length / 25.4:.{3 + finer}f} in)"


class Value(NamedTuple):
    """What a figure is worth in an engine, or in a batch of them."""

    value: Array  # in the figure's unit
    at: Array | None = None  # crank rad from the cylinder's own top centre, where it is least or greatest
    note: str = ""  # what the number rests on, in words
    unsaid: tuple[str, ...] = ()  # entries that it rests on and that nobody made: nothing with them is proved
    allowed: float = 0.0  # half-width of what its method itself leaves out, in the figure's unit


class Missing(NamedTuple):
    """What an answer needs before it can be worked out."""

    routes: Mapping[str, tuple[str, ...]] = MappingProxyType({})  # by which way → the entries it needs
    why: str = ""  # in words, where entries alone do not say it; or why it cannot be

    @classmethod
    def of(cls, entries: Iterable[str], why: str = "") -> Missing:
        """Return what is missing of something that has but one way to it."""
        there = tuple(dict.fromkeys(entries))
        return cls({"entries": there} if there else {}, why)

    @property
    def entries(self) -> tuple[str, ...]:
        """Every entry that it needs, by whichever way."""
        return tuple(dict.fromkeys(entry for route in self.routes.values() for entry in route))


Values = dict[str, Value]
Found = Values | Missing


def no_arguments(*_: Any) -> tuple[Any, ...]:
    """Return what a function takes that needs the engine alone."""
    return ()


class Group(Generic[P]):
    """The figures that one function gives, which is called as it is."""

    def __init__(
        self,
        function: Callable[P, Found],
        of: str,
        title: str,
        figures: Mapping[str, Figure],
        takes: Callable[..., tuple[Any, ...]],
        searched: bool,
        asked_by: tuple[str, ...],
        of_all: bool,
    ) -> None:
        self.function, self.of, self.title, self.figures = function, of, title, figures
        self.takes = takes
        self.searched = searched
        self.asked_by = asked_by
        self.of_all = of_all
        self.__doc__, self.__name__ = function.__doc__, function.__name__
        self.__qualname__, self.__module__ = function.__qualname__, function.__module__

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> Found:
        """Return what the figures are worth, or what they lack."""
        return self.function(*args, **kwargs)

    def work_out(self, mapping: Flat, name: str, known: Any = None) -> Found:
        """Return what the figures of a cylinder or valve gear are worth, or what they lack.

        known : of a valve gear, before anything is varied; None where it is not known
        """
        return self.function(mapping, name, *self.takes(mapping, known))  # type: ignore[call-arg, arg-type]


def answers(
    of: str,
    title: str,
    takes: Callable[..., tuple[Any, ...]] = no_arguments,
    searched: bool = False,
    asked_by: tuple[str, ...] = (),
    of_all: bool = False,
    **figures: Figure,
) -> Callable[[Callable[P, Found]], Group[P]]:
    """Declare the figures that a function gives.

    of       : CYLINDER or TRAIN, whose name the function takes
    title    : of all of them together
    takes    : (mapping, what is known of the valve gear) → what the function takes further
    searched : through the cycle, which takes long
    asked_by : what stands in the entries that somebody makes for it alone: begun so, what it lacks is told
    of_all   : rests on all cylinders, where others rest on their own alone
    """
    return lambda function: Group(function, of, title, figures, takes, searched, asked_by, of_all)


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


def lacking(readers: Iterable[Reader]) -> Missing | None:
    """Return what readers asked for in vain, or None."""
    entries = [entry for reader in readers for entry in reader.missing]
    return Missing.of(entries) if entries else None


def lacking_but_height(readers: Iterable[Reader]) -> Missing | None:
    """Return what readers asked for in vain but the compression height, or None: it cancels, or does not count."""
    entries = [entry for reader in readers for entry in reader.missing]
    left = [entry for entry in entries if not entry.endswith("compression_height")]
    return Missing.of(left) if left else None


def spread(mapping: Flat) -> Flat:
    """Return a mapping whose arrays have one more axis, the last, of length one: room for a row of places."""
    return {
        path: value if isinstance(value, (str, tuple)) or np.ndim(value) == 0 else array(value)[..., None]
        for path, value in mapping.items()
    }
