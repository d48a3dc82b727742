"""Which engine a job is compared with: what stood before by its own words, or another job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tallstack.geometry.core.mapping import names
from tallstack.geometry.engine.before import STEM

from .entries.meanings import called_together

if TYPE_CHECKING:
    from .job import Job

SAME_MM = 5e-4
MOST = 4  # entries that are named


def earlier(job: Job, other: Job | None) -> Job | None:
    """Return the engine as it was: of another job where one is given, else by the job's own [before]; None: by neither."""
    return job.before if other is None else other


def which(job: Job, other: Job | None) -> list[str]:
    """Return which of the two is used where both are there, and in what they disagree, in sentences."""
    own = job.before
    if other is None or own is None:
        return []
    told = [f"compared with {other.path}, as --from says; [before] of {job.path} is not used"]
    apart = []
    for path, one in own.entries.items():
        there = other.entries.get(path)
        if there is None:
            continue
        if isinstance(one.value, float) and isinstance(there.value, float):
            if abs(one.value - there.value) > SAME_MM:
                apart.append(path)
        elif one.value != there.value:
            apart.append(path)
    if apart:
        told.append(f"LOOK AGAIN: [before] and {other.path} disagree in {called_together(apart, most=MOST)}")
    return told


def lacking(entries: tuple[str, ...], job: Job) -> str:
    """Return which tables of what stood before are not said, and how one says them, in a sentence.

    entries : that are lacking, by the paths of an engine
    """
    owners = {*names(job.mapping, "trains"), *names(job.mapping, "cylinders")}
    tables: dict[str, None] = {}
    for path in entries:
        steps = path.removeprefix(STEM).split(".")
        while len(steps) > 1 and (steps[0] in owners or ".".join(steps[:2]) in owners):
            steps = steps[2:] if ".".join(steps[:2]) in owners else steps[1:]
        tables[".".join(steps[:2]) if steps[0] == "stack" else steps[0]] = None
    said = called_together(tables, most=MOST + 2).replace("stack ", "")
    ticks = ", ".join(f'"{one}"' for one in tables)
    many = "are" if len(tables) > 1 else "is"
    return f"the {said} before {many} not said: enter it under [before], or same = [{ticks}] if it is the same part"
