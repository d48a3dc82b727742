"""`tallstack check`: what a job file holds, what it lacks, and what moves its answers."""

from __future__ import annotations

import math
from typing import Any

from tallstack.cli.answer import MISSED, OK, Answer, head, head_lines, tail, tail_lines, warning_lines
from tallstack.cli.jobfile.contents import Entry
from tallstack.cli.jobfile.job import JobFile
from tallstack.cli.jobfile.meanings import meant
from tallstack.cli.jobfile.values import Dimension
from tallstack.cli.wording import dimension_of, entry_value, paragraph, train_name
from tallstack.geometry.ordering import Order, orders

UNITS = {Dimension.LENGTH: "mm", Dimension.ANGLE: "deg", Dimension.VOLUME: "cc", Dimension.NUMBER: ""}
SMALLEST = 5e-5  # a derivative shown as 0.0000 is left out


def answer(job: JobFile) -> Answer:
    """Return what a job file holds; status 1 while blanks are open."""
    found = orders(job.mapping, job.quantities(), job.doubts)
    return Answer(_text(job, found), _document(job, found), MISSED if job.blanks else OK)


def _document(job: JobFile, found: tuple[Order, ...]) -> dict[str, Any]:
    return {
        **head("check", job),
        "entries": [_entry_row(path, entry) for path, entry in job.entries.items()],
        "open": [one.path for one in job.blanks],
        "needs": [
            {"train": order.train.name, "answer": "pushrods", "route": route, "entries": list(lacks)}
            for order in found
            for route, lacks in (order.missing or order.train.lacks).items()
        ],
        "moves": [
            {
                "train": order.train.name,
                "answer": f"{order.convention}_mm",
                "entry": entry,
                f"per_{unit or 'one'}": slope,
            }
            for order in found
            for entry, slope, unit in _moves(job, order)
        ],
        **tail(job),
    }


def _entry_row(path: str, entry: Entry) -> dict[str, Any]:
    row: dict[str, Any] = {"entry": path, "typed": entry.typed, "from": entry.origin or "the file"}
    if isinstance(entry.value, str):
        return {**row, "word": entry.value}
    dimension = dimension_of(entry)
    scale = {Dimension.ANGLE: math.pi / 180, Dimension.VOLUME: 1000.0}.get(dimension, 1.0)
    suffix = f"_{UNITS[dimension]}" if UNITS[dimension] else ""
    row[f"value{suffix}"] = entry.value / scale
    if entry.doubt is not None:
        row[f"half_width{suffix}"] = entry.doubt.half_width / scale
        row["sigmas"] = entry.doubt.sigmas
    return row


def _moves(job: JobFile, order: Order) -> list[tuple[str, float, str]]:
    """Return entry, derivative and unit, the largest first; angles per degree."""
    rows = []
    for path, slope in order.slopes.items():
        entry = job.entries.get(path)
        dimension = dimension_of(entry) if entry is not None else Dimension.ANGLE
        per = slope * math.pi / 180 if dimension is Dimension.ANGLE else slope
        if abs(per) >= SMALLEST:
            rows.append((path, per, UNITS[dimension]))
    return sorted(rows, key=lambda row: (-abs(row[1]), row[0]))


def _text(job: JobFile, found: tuple[Order, ...]) -> str:
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
    lines += _needs(found)
    lines += _moving(job, found)
    lines += tail_lines(job)
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


def _needs(found: tuple[Order, ...]) -> list[str]:
    lines: list[str] = []
    for order in found:
        for route, lacks in (order.missing or order.train.lacks).items():
            shown = ", ".join(meant(one, order.train.name) for one in lacks)
            without = "" if order.required is None else " (the length is known without it)"
            lines.append(paragraph(f"{train_name(order.train.name)}, {route}{without}: {shown}", 2, 4))
    return ["", "STILL TO BE MEASURED", *lines] if lines else []


def _moving(job: JobFile, found: tuple[Order, ...]) -> list[str]:
    lines: list[str] = []
    for order in found:
        rows = _moves(job, order)
        if not rows:
            continue
        lines += ["", f"WHAT MOVES THE PUSHROD, {train_name(order.train.name)} ({order.convention})"]
        for path, slope, unit in rows:
            per = {"mm": "mm per mm", "deg": "mm per degree"}.get(unit, "mm per 1")
            lines.append(f"  {slope:>10.4f} {per:<14}{path}")
    return lines
