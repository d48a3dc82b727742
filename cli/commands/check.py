"""`tallstack check`: what a job file holds, what it lacks, and what moves its answers."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tallstack.cli.answer import MISSED, OK, Answer, assumed_lines, head, head_lines, tail, warning_lines
from tallstack.cli.jobfile.contents import Entry
from tallstack.cli.jobfile.fields import SHOWN_SCALE
from tallstack.cli.jobfile.job import JobFile
from tallstack.cli.jobfile.meanings import meant
from tallstack.cli.jobfile.values import Dimension
from tallstack.cli.wording import dimension_of, entry_value, paragraph, train_name
from tallstack.geometry.ordering import Order, orders

if TYPE_CHECKING:
    from tallstack.geometry.clearance import ValveClearance

ASKING = (".measured_drop.", ".valve.face.", "piston.crown_table")  # entries that are there for clearances
CLOSEST = {"drop": "along the stem", "gap": "straight gap"}
UNITS = {  # in JSON
    Dimension.LENGTH: "mm",
    Dimension.ANGLE: "deg",
    Dimension.VOLUME: "cc",
    Dimension.AREA: "mm2",
    Dimension.MASS: "g",
    Dimension.FORCE: "n",
    Dimension.RATE: "n_per_mm",
    Dimension.PRESSURE: "bar",
    Dimension.MODULUS: "gpa",
    Dimension.TEMPERATURE: "c",
    Dimension.SPEED: "rpm",
    Dimension.NUMBER: "",
}
SMALLEST = 5e-5  # a derivative shown as 0.0000 is left out


def answer(job: JobFile) -> Answer:
    """Return what a job file holds; status 1 while blanks are open."""
    job, close = _clearances(job)
    found = orders(job.mapping, job.quantities(), job.doubts)
    return Answer(_text(job, found, close), _document(job, found, close), MISSED if job.blanks else OK)


def _clearances(job: JobFile) -> tuple[JobFile, tuple[ValveClearance, ...]]:
    """Return the clearances of a job that says something of them, none of any other; the job with its tables."""
    if not any(path.startswith("lobe.") or any(one in path for one in ASKING) for path in job.entries):
        return job, ()
    from tallstack.cli.jobtables import with_tables
    from tallstack.geometry.clearance import clearances

    job, tables = with_tables(job)
    return job, clearances(job.mapping, tables, job.quantities(), job.doubts).valves


def _document(job: JobFile, found: tuple[Order, ...], close: tuple[ValveClearance, ...]) -> dict[str, Any]:
    return {
        **head("check", job),
        "entries": [_entry_row(path, entry) for path, entry in job.entries.items()],
        "open": [one.path for one in job.blanks],
        "needs": [
            {"train": order.train.name, "answer": "pushrods", "route": route, "entries": list(lacks)}
            for order in found
            for route, lacks in (order.missing or order.train.lacks).items()
        ]
        + [
            {"train": one.train, "answer": "clearance", "route": route, "entries": list(lacks)}
            for one in close
            if one.piston is None
            for route, lacks in one.lacks.items()
        ],
        "moves": [
            {"train": train, "answer": answer, "entry": entry, f"per_{unit or 'one'}": slope}
            for train, answer, slopes in _answers(found, close)
            for entry, slope, unit in _moves(job, slopes)
        ],
        **tail(job, job.assumed),
    }


def _entry_row(path: str, entry: Entry) -> dict[str, Any]:
    row: dict[str, Any] = {"entry": path, "typed": entry.typed, "from": entry.origin or "the file"}
    if isinstance(entry.value, str):
        return {**row, "word": entry.value}
    dimension = dimension_of(entry)
    scale = SHOWN_SCALE[dimension]
    suffix = f"_{UNITS[dimension]}" if UNITS[dimension] else ""
    row[f"value{suffix}"] = entry.value / scale
    if entry.doubt is not None:
        row[f"half_width{suffix}"] = entry.doubt.half_width / scale
        row["sigmas"] = entry.doubt.sigmas
    return row


def _answers(
    found: tuple[Order, ...], close: tuple[ValveClearance, ...]
) -> list[tuple[str, str, Mapping[str, float]]]:
    """Return valve gear, answer and what moves it."""
    rows = [(one.train.name, f"{one.convention}_mm", one.slopes) for one in found]
    for one in close:
        if one.piston is not None:
            rows.append((one.train, f"{one.piston.what}_mm", one.piston.slopes))
    return rows


def _moves(job: JobFile, slopes: Mapping[str, float]) -> list[tuple[str, float, str]]:
    """Return entry, derivative and unit, the largest first; angles per degree."""
    rows = []
    for path, slope in slopes.items():
        entry = job.entries.get(path)
        dimension = dimension_of(entry) if entry is not None else Dimension.ANGLE
        per = slope * math.pi / 180 if dimension is Dimension.ANGLE else slope
        if abs(per) >= SMALLEST:
            rows.append((path, per, UNITS[dimension]))
    return sorted(rows, key=lambda row: (-abs(row[1]), row[0]))


def _text(job: JobFile, found: tuple[Order, ...], close: tuple[ValveClearance, ...]) -> str:
    lines = [*head_lines("CHECK", job), "", paragraph(_verdict(job, found)), *warning_lines(job)]
    lines += ["", "AS TYPED, AND AS UNDERSTOOD"]
    for path, entry in job.entries.items():
        if entry.origin.startswith("as "):
            continue
        origin = f"   [{entry.origin}]" if entry.origin else ""
        lines.append(f"  {path}{origin}")
        shown = entry_value(entry, job.units)
        same = entry.typed == shown
        lines.append(f"      {shown}" if same else f"      {entry.typed}  ->  {shown}")
    if job.blanks:
        lines += ["", "STILL BLANK"]
        lines += [paragraph(f"{one.path}: {one.kind.words}", 2, 4) for one in job.blanks]
    lines += _needs(found, close)
    lines += _moving(job, found, close)
    lines += assumed_lines(job.assumed, job.units)
    return "\n".join(lines)


def _verdict(job: JobFile, found: tuple[Order, ...]) -> str:
    if job.blanks:
        count = len(job.blanks)
        return f"NOT WHOLE: {count} {'entry is' if count == 1 else 'entries are'} still blank, see below."
    lacking = sum(order.required is None for order in found)
    if lacking:
        return (
            f"WHOLE, no faults found; {lacking} of {len(found)} pushrods cannot be worked out yet, see below."
        )
    return f"WHOLE: {len(job.entries)} entries, no faults found."


def _needs(found: tuple[Order, ...], close: tuple[ValveClearance, ...]) -> list[str]:
    lines: list[str] = []
    for order in found:
        for route, lacks in (order.missing or order.train.lacks).items():
            shown = ", ".join(meant(one, order.train.name) for one in lacks)
            without = "" if order.required is None else " (the length is known without it)"
            lines.append(paragraph(f"{train_name(order.train.name)}, {route}{without}: {shown}", 2, 4))
    for one in close:
        for route, lacks in one.lacks.items() if one.piston is None else ():
            shown = ", ".join(meant(entry, one.train) for entry in lacks)
            lines.append(paragraph(f"{train_name(one.train)}, clearance, {route}: {shown}", 2, 4))
    return ["", "STILL TO BE MEASURED", *lines] if lines else []


def _moving(job: JobFile, found: tuple[Order, ...], close: tuple[ValveClearance, ...]) -> list[str]:
    lines: list[str] = []
    for order in found:
        heading = f"WHAT MOVES THE PUSHROD, {train_name(order.train.name)} ({order.convention})"
        lines += _table(job, heading, order.slopes)
    for one in close:
        if one.piston is not None:
            heading = f"WHAT MOVES THE CLEARANCE, {train_name(one.train)} ({CLOSEST[one.piston.what]})"
            lines += _table(job, heading, one.piston.slopes)
    return lines


def _table(job: JobFile, heading: str, slopes: Mapping[str, float]) -> list[str]:
    rows = _moves(job, slopes)
    if not rows:
        return []
    lines = ["", heading]
    for path, slope, unit in rows:
        per = {"mm": "mm per mm", "deg": "mm per degree"}.get(unit, "mm per 1")
        lines.append(f"  {slope:>10.4f} {per:<14}{path}")
    return lines
