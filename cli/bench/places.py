"""Whose screens a job has, and where in its document each of their entries stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from ..guide.needs import own_tables
from ..job.faults import Loc
from ..job.variations import raw_at
from .screens import ALL, NEXT, SCREENS, SET, Of, Part, Screen, named

Document = Mapping[str, Any]


class Placed(NamedTuple):
    """A part of a screen, of one owner."""

    part: Part
    owner: str  # "", "front", "front.intake", "intake"


class Home(NamedTuple):
    """Where an entry is asked for."""

    screen: Screen
    owner: str


def rows_of(job: Document, name: str) -> Sequence[Document]:
    """Return the rows of a name, none where something else stands there."""
    found = job.get(name)
    return [row for row in found if isinstance(row, Mapping)] if isinstance(found, list) else []


def trains(job: Document) -> tuple[str, ...]:
    """Return the names of the valve gears, in the file's order."""
    return tuple(f"{row.get('cylinder', '')}.{row.get('port', '')}" for row in rows_of(job, "train"))


def cylinders(job: Document) -> tuple[str, ...]:
    """Return the names of the cylinders, in the file's order."""
    return tuple(str(row.get("name", "")) for row in rows_of(job, "cylinder"))


def lobes(job: Document) -> tuple[str, ...]:
    """Return the lobes that valve gears run on, and those that the file has besides."""
    run_on = (str(row.get("lobe") or row.get("port", "")) for row in rows_of(job, "train"))
    there = job.get("lobe")
    return tuple(dict.fromkeys((*run_on, *(there if isinstance(there, Mapping) else ()))))


def owners(screen: Screen, job: Document) -> tuple[str, ...]:
    """Return whose a screen there is, one after the other; of the engine one without a name."""
    if screen is SET:
        return (*trains(job), *cylinders(job))
    if screen.of is Of.TRAIN:
        return trains(job)
    if screen.of is Of.LOBE:
        return lobes(job)
    if screen.of is Of.STACK and any("stack" in own_tables(row) for row in rows_of(job, "cylinder")):
        return cylinders(job)
    return ("",)


def placed(screen: Screen, owner: str, job: Document) -> Iterator[Placed]:
    """Yield the parts of a screen, those of several cylinders once for each."""
    for part in screen.parts:
        for one in _owners_of(part, screen, owner, job):
            yield Placed(part, one)


def _owners_of(part: Part, screen: Screen, owner: str, job: Document) -> tuple[str, ...]:
    if part.of is Of.CYLINDER and screen.of is Of.STACK:
        return (owner,) if owner else cylinders(job)
    if part.of is Of.CYLINDER:
        return (owner.partition(".")[0],)
    if part.of is Of.STACK or part.of is screen.of:
        return (owner,)
    return ("",)


def loc_of(part: Part, entry: str, owner: str, job: Document) -> Loc | None:
    """Return where an entry of a part stands, or is to stand; None where its owner is not there."""
    steps = tuple(entry.split("."))
    if part.of is Of.TRAIN:
        names = trains(job)
        return ("train", names.index(owner), *steps) if owner in names else None
    if part.of is Of.LOBE:
        return ("lobe", owner, *steps)
    row = part.of is Of.CYLINDER or (part.of is Of.STACK and owner and _is_own(steps[0], job))
    if row:
        names = cylinders(job)
        return ("cylinder", names.index(owner), *steps) if owner in names else None
    return steps


def _is_own(table: str, job: Document) -> bool:
    """Say whether cylinders have a table each, in place of the engine's."""
    return any(table in own_tables(row) for row in rows_of(job, "cylinder"))


def spread(loc: Loc, job: Document) -> tuple[Loc, ...]:
    """Return where an entry stands in each row of a table that may stand in rows; alone where it does not."""
    for count in range(2, len(loc)):
        here = raw_at(loc[:count], job)
        if isinstance(here, list) and here and isinstance(here[0], Mapping) and isinstance(loc[count], str):
            return tuple(
                one for index in range(len(here)) for one in spread((*loc[:count], index, *loc[count:]), job)
            )
    return (loc,)


def home(loc: Loc, job: Document) -> Home:
    """Return where an entry is asked for: the first screen that names it, else ALL."""
    owner, own = _owner(loc, job)
    plain = ".".join(str(one) for one in own if not isinstance(one, int))
    for screen in SCREENS.values():
        for each in owners(screen, job):
            for part, of in placed(screen, each, job):
                if plain in named(part) and of == owner:
                    return Home(screen, each)
    for screen in SCREENS.values():  # of a copy, or of a cylinder that has no such table of its own
        if screen in (ALL, NEXT):
            continue
        if any(plain in named(part) for part in screen.parts):
            return Home(screen, owner if owner in owners(screen, job) else owners(screen, job)[0])
    return Home(ALL, "")


def _owner(loc: Loc, job: Document) -> tuple[str, Loc]:
    """Return whose an entry is, and its place from there on."""
    if loc[0] == "train" and isinstance(loc[1], int):
        names = trains(job)
        return (names[loc[1]] if loc[1] < len(names) else ""), loc[2:]
    if loc[0] == "cylinder" and isinstance(loc[1], int):
        names = cylinders(job)
        return (names[loc[1]] if loc[1] < len(names) else ""), loc[2:]
    if loc[0] == "lobe" and len(loc) > 2:
        return str(loc[1]), loc[2:]
    return "", loc
