"""A table that was just named for a job: what it holds, and what is suspicious in it, before anything rests on it.

It is opened as the answers open it, so that what is a fault there is one here, in the same words.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from ..job.entries.catalogue import owned
from ..job.entries.fields import FileName
from ..job.faults import InputFaultsError
from ..job.file import JobFile
from ..job.reading.outside import may_read
from ..page.wording import length

LOBE, SHELF, CROWN, RECORD = "lobe", "shelf", "crown", "record"
FEW = 3  # durations, and lines, that are told


class Judged(NamedTuple):
    """What a table says, in sentences."""

    told: tuple[str, ...] = ()  # what it holds
    suspicious: tuple[str, ...] = ()  # what is to be looked at again in it
    faults: tuple[str, ...] = ()  # why it cannot be used; nothing else is told then

    @property
    def usable(self) -> bool:
        """Whether an answer could use it."""
        return not self.faults


def kind_of(entry: str) -> str:
    """Return which kind of table an entry names; nothing where it names none."""
    last = entry.rpartition(".")[2]
    if not isinstance(owned(entry)[1], FileName):
        return ""
    return {"table": LOBE, "crown_table": CROWN, "shelf": SHELF, "record": RECORD}.get(last, "")


def judged(name: str, entry: str, job: JobFile) -> Judged:
    """Return what a table says that is named for a job; the job need not name it yet.

    name  : as typed, from the job's folder
    entry : that is to name it, "lobe.intake.table", "piston.crown_table" or "shelf"
    """
    folder = Path(job.path).parent
    path = folder / name
    if not may_read(path, folder):
        return Judged(faults=(f"{name}: outside the folder of the job file",))
    kind = kind_of(entry)
    try:
        if kind == LOBE:
            return _lobe(path, entry, job)
        if kind == CROWN:
            return _crown(path, entry, job)
        if kind == SHELF:
            return _shelf(path, job)
    except InputFaultsError as error:
        return Judged(faults=tuple(error.report().splitlines()))
    return Judged()


def _said(job: JobFile, path: str, default: str) -> str:
    found = job.entries.get(path)
    return default if found is None else str(found.value)


def _lobe(path: Path, entry: str, job: JobFile) -> Judged:
    from ..lobe_found import examined
    from ..lobe_leads import Asked

    stem = entry.rpartition(".")[0]
    units = _said(job, f"{stem}.units", job.units)
    at = _said(job, f"{stem}.measured_at", "lifter")
    found = examined(path, Asked(angle=_said(job, f"{stem}.angle", "cam"), units=units), [])
    count = len(found.table.readings.angle)
    told = [
        f"{count} readings at the {at}; peak {length(found.peak[1], units)}",
        *(
            f"open for {event.opens + event.closes:.0f} crank degrees at {length(event.check, units)}"
            for event in found.events[-FEW:]
        ),
        f"one reading is known to {length(float(found.fit.noise), units, float(found.fit.noise))}, standard deviation",
    ]
    suspicious = [
        f"line {found.table.lines[one.row]} stands {length(abs(float(one.off)), units)} "
        f"{'above' if one.off > 0 else 'below'} the curve through the others; read it again"
        for one in found.fit.suspects
    ]
    for run in found.fit.runs:
        lines = sorted(found.table.lines[row] for row in run.rows)
        suspicious.append(
            f"lines {lines[0]} to {lines[-1]} all stand {'above' if run.off > 0 else 'below'} the curve, by "
            f"{length(abs(float(run.off)), units)} in the middle"
        )
    return Judged(tuple(told), (*suspicious, *found.unlikely))


def _shelf(path: Path, job: JobFile) -> Judged:
    from ..tables.shelf import load_shelf

    rods = load_shelf(path, job.units)
    if not rods:
        return Judged(("no pushrod stands in it",), ("a shelf with nothing on it fits no engine",))
    ways = ", ".join(dict.fromkeys(rod.convention for rod in rods))
    shortest, longest = min(rod.shortest for rod in rods), max(rod.longest for rod in rods)
    count = (
        f"{len(rods)} kind{'s' if len(rods) > 1 else ''} of pushrod, {sum(rod.count for rod in rods)} in all"
    )
    told = (
        f"{count}; lengths are {ways}",
        f"from {length(shortest, job.units)} to {length(longest, job.units)}",
    )
    none = [rod.label for rod in rods if not rod.count]
    return Judged(told, (f"of {', '.join(none)} there is none",) if none else ())


def _crown(path: Path, entry: str, job: JobFile) -> Judged:
    from ..tables.crownfile import load_crown

    ground = load_crown(path, job, entry)
    heights = ground.vertices[: ground.measured, 2]
    low, high = float(heights.min()), float(heights.max())
    told = (
        f"{ground.measured} points",
        f"the lowest {length(low, job.units)}, the highest {length(high, job.units)} from the crown plane, up positive",
    )
    above = low > 0.0 or high < 0.0
    why = (
        "no height changes its sign: heights count from the plane that compression_height reaches to, up positive",
    )
    return Judged(told, why if above else ())
