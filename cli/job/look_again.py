"""What looks wrong in a job, and which of its answers it touches.

A sentence is no more than unusual, a rare engine perhaps, or something that was entered contradicts something else.
What it contradicts is said to be OK by no answer that rests on it: such an answer is UNPROVED at best, and says why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache

FAR_MM = 1.5  # from memory: more than entries taken with rule and protractor are off together
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
    warnings: Sequence[str], quantities: Mapping[str, Mapping[str, float]], gears: Sequence[str]
) -> Touching:
    """Return what tells the sentences that touch an answer: its subjects, and the quantities that move it.

    An entry that moves with another one counts where it is of a subject: a reading of one valve gear shares its stack
    with every other, and with what is judged of its cylinder.

    quantities : measured quantity → the entries that move with it
    gears : names of the valve gears; what stands in their tables is not of the cylinder
    """
    within = frozenset(gears)
    told = [one for one in warnings if isinstance(one, LookAgain) and one.about]

    def of(subject: str, moving: Iterable[str]) -> tuple[str, ...]:
        if not told:
            return ()
        subjects = subject.split(", ")
        paths = list(moving)
        paths += [path for name in paths for one in subjects for path in parted(name).get(one, ())]
        return tuple(one for one in told if any(_touches(about, subjects, paths) for about in one.about))

    @cache
    def parted(name: str) -> dict[str, list[str]]:
        """Return what moves with a quantity, by whose it is."""
        found: dict[str, list[str]] = {}
        for path in quantities.get(name, ()):
            cylinder, _, rest = path.partition(".")
            gear = f"{cylinder}.{rest.partition('.')[0]}"
            found.setdefault(gear if gear in within else cylinder, []).append(path)
        return found

    return of


def _touches(about: str, subjects: Sequence[str], paths: Sequence[str]) -> bool:
    return about in subjects or any(path == about or path.startswith(f"{about}.") for path in paths)
