"""What looks wrong in a job, and which of its answers it touches.

A sentence is no more than unusual, a rare engine perhaps, or something that was entered contradicts something else.
What it contradicts is said to be OK by no answer that rests on it: such an answer is UNPROVED at best, and says why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from types import MappingProxyType

FAR_MM = 1.5  # from memory: more than entries taken with rule and protractor are off together
EXTREMES = (
    "bore_readings"  # a table of readings of which the largest or the least counts, among all cylinders
)
NONE: Mapping[str, str] = MappingProxyType({})
Touching = Callable[[str, Iterable[str]], tuple[str, ...]]


class LookAgain(str):
    """A sentence about what looks wrong.

    about : entries, the tables they stand in, valve gears or cylinders that it speaks of, where two things that were
            entered cannot both be so; empty where something is merely unusual
    """

    about: tuple[str, ...]

    def __new__(cls, why: str, *about: str) -> LookAgain:
        """Return a sentence and what it speaks of."""
        found = super().__new__(cls, why)
        found.about = about
        return found


def touching(
    warnings: Sequence[str],
    quantities: Mapping[str, Mapping[str, float]],
    gears: Sequence[str],
    follows: Mapping[str, str] = NONE,
) -> Touching:
    """Return what tells the sentences that touch an answer: its subjects, and the quantities that move it.

    An entry that moves with another one counts where it is of a subject: a reading of one valve gear shares its stack
    with every other, and with what is judged of its cylinder. A wish, a count or a word is no quantity, and no derivative
    tells what it moves: it touches whatever is told of its valve gear, or else what moves with the table it stands in.

    Of readings of which the largest or the least counts, any may be the one that would count if it were right.

    quantities : measured quantity → the entries that move with it
    gears : names of the valve gears; what stands in their tables is not of the cylinder
    follows : every entry → the one that it is a copy of, or nothing
    """
    within = frozenset(gears)
    told = [one for one in warnings if isinstance(one, LookAgain) and one.about]

    def of(subject: str, moving: Iterable[str]) -> tuple[str, ...]:
        if not told:
            return ()
        subjects = subject.split(", ")
        paths = list(moving)
        copied = {
            follows[path] for path in paths if follows.get(path)
        }  # entries; not all of their valve gears
        paths += [path for name in paths for one in subjects for path in parted(name).get(one, ())]
        return tuple(
            one
            for one in told
            if any(about in copied or _touches(about, subjects, paths) for about in spoken_of(one))
        )

    @cache
    def parted(name: str) -> dict[str, list[str]]:
        """Return what moves with a quantity, by whose it is."""
        found: dict[str, list[str]] = {}
        for path in quantities.get(name, ()):
            gear = _gear_of(path)
            found.setdefault(gear if gear in within else path.partition(".")[0], []).append(path)
        return found

    @cache
    def spoken_of(one: LookAgain) -> tuple[str, ...]:
        """Return what a sentence speaks of, for what moves with no quantity with what that stands for."""
        found = list(one.about)
        for about in one.about:
            if about in follows and about not in carried():
                copies = (path for path, source in follows.items() if source == about)
                found += [stands_for(path) for path in (about, *copies)]
            if EXTREMES in about.split("."):
                found += [_table_of_extremes(path) for path in carried() if EXTREMES in path.split(".")]
        return tuple(dict.fromkeys(found))

    @cache
    def carried() -> frozenset[str]:
        return frozenset(path for paths in quantities.values() for path in paths)

    def stands_for(path: str) -> str:
        """Return the valve gear of an entry, or the smallest table around it that anything moves with."""
        if _gear_of(path) in within:
            return _gear_of(path)
        table = path.rpartition(".")[0]
        while table and not any(one.startswith(f"{table}.") for one in carried()):
            table = table.rpartition(".")[0]
        return table or path

    return of


def _gear_of(path: str) -> str:
    """Return the first two steps of a path: of an entry of a valve gear, its name."""
    return ".".join(path.split(".")[:2])


def _table_of_extremes(path: str) -> str:
    return path[: path.index(EXTREMES) + len(EXTREMES)]


def _touches(about: str, subjects: Sequence[str], paths: Sequence[str]) -> bool:
    return about in subjects or any(path == about or path.startswith(f"{about}.") for path in paths)
