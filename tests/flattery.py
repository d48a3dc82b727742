"""Jobs with an entry left out, or its ± doubled, and what that did to their answers: nothing may look better for it.

No verdict better, no lower end of an interval higher; `-m study` for ten jobs.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import tomlkit
from tallstack.cli.commands import risk
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import understood
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.verdict import Verdict

WORDS = ("format", "title", "units", "name", "cylinder", "port", "like", "mirror", "train", "of")
BETTER = {Verdict.SHORT: 0, Verdict.UNPROVED: 1, Verdict.TIGHT: 2, Verdict.OK: 3}
SAME = 1e-6
HALF = re.compile(r"(\+/-\s*)(\d+(?:\.\d*)?|\.\d+)")

Loc = tuple[str | int, ...]


class Room(NamedTuple):
    """One answer as it is told: the lower end of its interval where that is known (less the upper, under a limit), its verdict."""

    lower: float | None
    verdict: Verdict | None


class Better(NamedTuple):
    """An answer that looks better for less being known."""

    loc: Loc
    act: str  # "left out" or "doubled"
    answer: str
    before: Room
    after: Room


def rooms(job: Job) -> dict[str, Room]:
    """Return every answer of a job that has a limit below it, by its linear budget."""
    kinds, *_ = risk.every_answer(job.settled)
    found = {}
    for _, each in kinds:
        for one in (asked.bare for asked in each):
            least, most = one.bounds
            if least is None and most is None:
                continue
            lower = None
            if not one.budget.undoubted:
                lower = (
                    one.value - one.budget.expanded if least is not None else -one.value - one.budget.expanded
                )
            found[f"{one.of} {one.name}"] = Room(lower, one.verdict)
    return found


def leaves(document: Any, loc: Loc = ()) -> Iterator[Loc]:
    """Yield where every entry of a document stands; a point or a row of numbers is one."""
    items = document.items() if isinstance(document, dict) else enumerate(document)
    for key, value in items:
        is_row = isinstance(value, list) and any(isinstance(one, dict) for one in value)
        if isinstance(value, dict) or is_row:
            yield from leaves(value, (*loc, key))
        elif key not in WORDS:
            yield (*loc, key)


def without(document: Any, loc: Loc) -> str:
    """Return the text of a document with one entry left out."""
    changed = copy.deepcopy(document)
    table = changed
    for part in loc[:-1]:
        table = table[part]
    del table[loc[-1]]
    return tomlkit.dumps(changed)


def doubled(document: Any, loc: Loc) -> str | None:
    """Return the text of a document with the ± of one entry doubled, None where it has none."""
    changed = copy.deepcopy(document)
    table = changed
    for part in loc[:-1]:
        table = table[part]
    value = table[loc[-1]]
    said = [wider(one) for one in value] if isinstance(value, list) else wider(value)
    if said == value:
        return None
    table[loc[-1]] = said
    return tomlkit.dumps(changed)


def wider(value: object) -> object:
    """Return a value as typed with its ± doubled."""
    if not isinstance(value, str):
        return value
    return HALF.sub(lambda found: f"{found[1]}{2 * float(found[2]):.9g}", str(value))


def path_of(document: Any, loc: Loc) -> str:
    """Return an entry's path in the mapping."""
    if loc[0] in ("cylinder", "train") and isinstance(loc[1], int):
        row = document[loc[0]][loc[1]]
        owner = row["name"] if loc[0] == "cylinder" else f"{row['cylinder']}.{row['port']}"
        return ".".join([owner, *map(str, loc[2:])])
    return ".".join(map(str, loc))


def is_named(job: JobFile, path: str) -> bool:
    """Say whether an assumption of a job, or a sentence to look at, names an entry or the table it stood in."""
    own = path.split(".")
    told = [one.entry for one in job.assumed]
    tails = {".".join(own[at:]) for at in range(max(len(own) - 2, 1))}
    if any(
        entry == tail or entry.endswith(f".{tail}") or f"{tail}." in f"{entry}."
        for entry in told
        for tail in tails
        if "." in tail or tail == path
    ):
        return True
    return any(path in one for one in job.warnings)


def better(path: Path, only: slice = slice(None)) -> tuple[list[Better], int]:
    """Return what looks better in a job with one entry left out or its ± doubled, and how many were tried."""
    text = path.read_text(encoding="utf-8")
    document = tomlkit.parse(text).unwrap()
    before = rooms(understood(path, text))
    found: list[Better] = []
    tried = 0
    for loc in list(leaves(document))[only]:
        for act, changed in (("left out", without(document, loc)), ("doubled", doubled(document, loc))):
            if changed is None:
                continue
            try:
                job = understood(path, changed)
                after = rooms(job)
            except (InputFaultsError, GeometryError):
                continue  # refused in words
            tried += 1
            for name, room in after.items():
                if name not in before:
                    continue
                was = before[name]
                up = room.lower is not None and was.lower is not None and room.lower > was.lower + SAME
                rank = [-1 if one is None else BETTER[one] for one in (was.verdict, room.verdict)]
                if (up or rank[1] > rank[0]) and not (
                    act == "left out" and is_named(job, path_of(document, loc))
                ):
                    found.append(Better(loc, act, name, was, room))
    return found, tried
