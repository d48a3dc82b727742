"""Whether what was tried by --with changes an answer; where it does not, why.

An answer is worked out once more without each trial. Where both say the same, the trial is

    the value that the file has, or that is taken for it anyway
    overridden : with something else of the job left out, it would count; that stands over it
    unused     : another command's answers rest on it, or none's

What stands over it is found by leaving it out, not by a list of what goes over what: a cylinder's own entry over the
engine's, a reading over coordinates, a card's centreline over another way to say it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from tallstack.geometry.core.errors import GeometryError

from ..job.contents import REPLACES
from ..job.faults import InputFaultsError
from ..job.job import Job
from ..job.loading import understood
from ..job.reading.opened import text_of
from ..page.answer import Answer

APART = ("assumed", "tried")  # of a document: what was entered, not what follows
OVER = (  # tables that can stand over other entries of the same valve gear or cylinder
    *("measured_pushrod", "measured_drop", "valves_touch", "bore_readings"),
    *("stack.measured_deck", "nose_lift", "liner", "pocket"),
)
WAYS = ("card", "table", "law", "dialled", "card.duration", "card.seat", "card.events")  # of one lobe
SMALL = ("running", "targets", "piston", "cam")  # tables whose entries can stand over one another
COMMANDS = {
    "pushrods": "pushrods",
    "clearance": "clearance",
    "fits": "fits",
}  # group of answers → its command
MOST_NAMED = 2
FEW_DRAWS = 200  # that tell whether anything moves
Probe = Callable[[Job], Any]


def trying(
    path: Path,
    variations: Sequence[str],
    work_out: Callable[[Job], Answer],
    groups: Sequence[str] = tuple(COMMANDS),
    probe: Probe | None = None,
) -> Answer:
    """Return an answer of a job with other values tried in it, saying of each that changes nothing so, and why.

    work_out : the answer of a job
    groups   : of the answers that it gives
    probe    : what of it counts as changed; without it, its document

    A faulty job raises InputFaultsError with every fault found.
    """
    source = text_of(path)
    job = understood(path, source, variations)
    if not variations:
        return work_out(job)

    def seen(one: Job, found: Answer | None = None) -> object:
        if probe is not None:
            return probe(one)
        return told((work_out(one) if found is None else found).document)

    whole = (
        work_out(job) if probe is None else None
    )  # with a probe it may write a file, and is asked for once
    first, idle = seen(job, whole), dict[str, str]()
    for place, text in enumerate(variations) if first else ():
        others = (*variations[:place], *variations[place + 1 :])
        if any(_entry(one) == _entry(text) for one in variations[place + 1 :]):
            idle[text] = "another --with of the same entry stands behind it"
            continue
        try:
            without = understood(path, source, others)
        except InputFaultsError:  # the others need it
            continue
        if seen(without) == first:
            idle[text] = _why(job, without, groups)
    if whole is not None and not idle:
        return whole
    return work_out(job._replace(idle=idle) if idle else job)


def told(document: dict[str, Any]) -> dict[str, Any]:
    """Return what of a document follows from what was entered."""
    return {key: value for key, value in document.items() if key not in APART}


def _entry(text: str) -> str:
    return text.partition("=")[0].strip()


def _why(job: Job, without: Job, groups: Sequence[str]) -> str:
    """Return why a trial changes no answer; job, without : with it and without."""
    both = dict.fromkeys((*job.entries, *without.entries))
    changed = [path for path in both if _said(job, path) != _said(without, path)]
    if not changed:
        return "the file says so already"
    if all(_counts(job, path) == _counts(without, path) for path in changed):
        taken = next((one.why for one in without.assumed if one.entry in changed), "")
        return f"that is taken without it too: {taken}" if taken else "that is taken without it too"
    for names, gone in _over(without, changed):
        if _differ(_without(job, gone), _without(without, gone), groups):
            shown = ", ".join(names[:MOST_NAMED])
            more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
            return f"{shown}{more} {'stands' if len(names) == 1 else 'stand'} over it"
    others = [one for one in COMMANDS if one not in groups]
    used = [f"`tallstack {COMMANDS[one]}`" for one in others if _differ(job, without, (one,))]
    if used:
        return f"no answer here rests on it; it counts in {' and '.join(used)}"
    return (
        "no answer that this job has rests on it" if not others else "no answer of this job rests on it yet"
    )


def _said(job: Job, path: str) -> object:
    """Return what a job says of an entry, whatever its way there."""
    found = job.entries.get(path)
    return None if found is None else (found.value, found.doubt)


def _counts(job: Job, path: str) -> object:
    """Return what counts as an entry, entered or not."""
    return job.mapping.get(path), job.doubts.get(path)


def _over(job: Job, changed: Collection[str]) -> Iterator[tuple[list[str], set[str]]]:
    """Yield what may stand over entries: its names, and all entries of it."""
    owners = (*job.names["cylinders"], *job.names["trains"])

    def inside(*tables: str) -> tuple[list[str], set[str]]:
        found = {path: one for path in job.entries for one in tables if f"{path}.".startswith(f"{one}.")}
        return [one for one in tables if one in found.values()], set(found) - set(changed)

    own = [f"{owner}.{path}" for path in changed for owner in owners]
    tables = [[f"{owner}.{table}" for owner in owners] + [table] for table in OVER]
    ways: list[list[str]] = []
    for path in changed:
        owner = next((one for one in owners[::-1] if path.startswith(f"{one}.")), "")
        name = path.removeprefix(f"{owner}.")
        stem = name.rpartition(".")[0] if name.endswith((".x", ".y", ".z")) else name
        prefix = f"{owner}." if owner else ""
        ways.append([f"{prefix}{one}" for one in REPLACES.get(stem, ())])
        if path.startswith("lobe."):
            lobe = ".".join(path.split(".")[:2])
            ways += [[f"{lobe}.{one}"] for one in WAYS if not path.startswith(f"{lobe}.{one}")]
        if name.partition(".")[0] in SMALL:
            table = path.rpartition(".")[0]
            ways += [[one] for one in job.entries if one.rpartition(".")[0] == table and one not in changed]
    for each in (own, *tables, *ways):
        names, gone = inside(*each)
        if gone:
            yield names, gone


def _without(job: Job, gone: Collection[str]) -> Job:
    """Return a job without some of its entries."""
    kept = {path: entry for path, entry in job.entries.items() if path not in gone}
    left = job._replace(entries=kept, memory={})
    return left._replace(assumed=tuple(one for one in job.assumed if one.entry in left.mapping), memory={})


def _differ(job: Job, other: Job, groups: Sequence[str]) -> bool:
    """Say whether any answer of two jobs is not the same; as entered, since readings move both alike or stand over both."""
    try:
        return any(_rows(job, group) != _rows(other, group) for group in groups)
    except (GeometryError, InputFaultsError):  # it makes no sense without what was left out
        return False


@lru_cache(maxsize=12)  # a job is itself alone, and asked again for each trial that changes nothing
def _rows(job: Job, group: str) -> list[dict[str, Any]]:
    from ..answers.gathered import answers
    from ..answers.results import Result

    found = answers(job._replace(is_settled=True), group)
    return [one.row() for one in found if isinstance(one, Result)]
