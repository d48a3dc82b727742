"""`tallstack swap`: what a change does to every pushrod, and what caused how much of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from tallstack.cli.answer import MISSED, OK, Answer, head, head_lines, tail, tail_lines, warning_lines
from tallstack.cli.jobfile.contents import Entry
from tallstack.cli.jobfile.job import JobFile
from tallstack.cli.wording import CAUTION, degrees, length, number, paragraph, train_name
from tallstack.geometry.mapping import Flat
from tallstack.geometry.swap import Side, Swapped, swap

MEASURABLE_MM = 0.0254  # a thousandth of an inch: what calipers tell apart
FIRST = (
    "What decides a swap, in this order: which convention the two lengths count in, where the lifter's plunger "
    "stood when a rod was measured, the gaskets as compressed, and metal cut from case or head."
)


def answer(after: JobFile, before: JobFile) -> Answer:
    """Return what going from one job to another does."""
    kept, notes = _readings_kept(after, before)
    names = dict.fromkeys((*before.names["trains"], *after.names["trains"]))
    found = [swap(before.mapping, kept, name) for name in names]
    ended = MISSED if any(one.why_not for one in found) or not found else OK
    return Answer(_text(after, before, found, notes), _document(after, before, found, notes), ended)


def _readings_kept(after: JobFile, before: JobFile) -> tuple[Flat, list[str]]:
    """Return the job after, with a reading that both jobs hold left on the stack it was taken on.

    A reading whose stack is not written down was taken on the stack of its job. Copied into the job after
    the change it would seem to have been taken on the new stack.
    """
    mapping = dict(after.mapping)
    notes = []
    for name in after.names["trains"]:
        reading = f"{name}.measured_pushrod."
        one, other = (_written(job.entries, reading) for job in (after, before))
        if not one or one != other or any(".stack." in path for path in one):
            continue
        taken = {path: entry for path, entry in before.entries.items() if path.startswith(f"{reading}stack.")}
        mapping.update({path: entry.value for path, entry in taken.items()})
        notes.append(f"{train_name(name)}: the reading is that of the job before, taken on its stack")
    return mapping, notes


def _written(entries: Mapping[str, Entry], prefix: str) -> dict[str, object]:
    """Return the entries under a prefix that were written, not taken from others."""
    return {
        path: entry.value
        for path, entry in entries.items()
        if path.startswith(prefix) and not entry.origin.startswith("as ")
    }


def _document(after: JobFile, before: JobFile, found: list[Swapped], notes: list[str]) -> dict[str, Any]:
    return {
        **head("swap", after),
        "from": before.title,
        "trains": [_row(one) for one in found],
        "notes": notes,
        **tail(after),
    }


def _row(one: Swapped) -> dict[str, Any]:
    change = _change(one)
    return {
        "train": one.train,
        "as": one.convention or None,
        "before": _side_row(one.before),
        "after": _side_row(one.after),
        "change_mm": change,
        "parts": [{"cause": part.cause, "change_mm": part.change} for part in one.parts],
        "cylinder_alone_mm": one.naive,
        "why_not": one.why_not or None,
    }


def _side_row(side: Side) -> dict[str, Any]:
    return {
        "length_mm": side.length,
        "lean_deg": None if side.lean is None else math.degrees(side.lean),
        "ratio_at_seat": side.ratio,
        "contact_across_mm": side.across,
    }


def _change(one: Swapped) -> float | None:
    if one.before.length is None or one.after.length is None:
        return None
    return one.after.length - one.before.length


def _text(after: JobFile, before: JobFile, found: list[Swapped], notes: list[str]) -> str:
    lines = [*head_lines("SWAP", after), paragraph(f"in place of {before.path}: {before.title}", 2, 2)]
    lines += [*warning_lines(after), *warning_lines(before), "", paragraph(FIRST)]
    for one in found:
        lines += ["", *_block(one, after.units)]
    if notes:
        lines += ["", *(paragraph(note, 2, 2) for note in notes)]
    return "\n".join([*lines, *tail_lines(after), "", paragraph(CAUTION)])


def _block(one: Swapped, units: str) -> list[str]:
    name = train_name(one.train)
    change = _change(one)
    if one.why_not or change is None:
        return [f"{name}: no comparison", paragraph(one.why_not, 2, 2)]
    others = (units, "mm" if units == "in" else "in")
    lines = [name, f"  {one.convention.upper():<28}" + "".join(f"{unit:>10}" for unit in others)]
    for label, value in (("before", one.before.length), ("after", one.after.length)):
        assert value is not None
        lines.append(f"    {label:<26}" + "".join(f"{number(value, unit):>10}" for unit in others))
    lines.append(f"    {'change':<26}" + "".join(f"{_signed(change, unit):>10}" for unit in others))
    for part in one.parts:
        row = "".join(f"{_signed(part.change, unit):>10}" for unit in others)
        lines.append(f"      {part.cause[:40]:<24}{row}")
    lines += _naive(one, units)
    lines += _sides(one)
    return lines


def _signed(value: float, unit: str) -> str:
    text = number(value, unit)
    return text if text.startswith("-") or float(text) == 0 else f"+{text}"


def _naive(one: Swapped, units: str) -> list[str]:
    """Return how far adding the cylinder's difference would have been off."""
    by_cylinder = [part.change for part in one.parts if part.cause == "cylinder"]
    if one.naive is None or not by_cylinder or one.naive == 0:
        return []
    off = one.naive - by_cylinder[0]
    thou = f"{off / 0.0254:+.1f} thou"
    verdict = "below what can be measured" if abs(off) < MEASURABLE_MM else "more than calipers miss"
    text = f"adding the cylinder's whole {length(one.naive, units)} for it would be {thou} off: {verdict}"
    return [paragraph(text, 4, 2)]


def _sides(one: Swapped) -> list[str]:
    before, after = one.before, one.after
    rows = []
    if before.lean is not None and after.lean is not None:
        rows.append(f"lean {degrees(before.lean)} before, {degrees(after.lean)} after")
    if before.ratio is not None and after.ratio is not None:
        rows.append(f"ratio at the seat {before.ratio:.3f} before, {after.ratio:.3f} after")
    if before.across is not None and after.across is not None:
        rows.append(
            f"contact off the stem tip's centre {before.across:.2f} mm before, {after.across:.2f} mm after"
        )
    return [paragraph(row, 4, 2) for row in rows]
