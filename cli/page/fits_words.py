"""The fits of an engine, in words: each part with its figures, or with what is still to be measured."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from tallstack.geometry.core.answer import Figure, Missing
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.targets import LOWERING
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.fits import groups

from ..job.contradicted import word
from ..job.entries.fields import INCH
from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.fits import Answered, Fits
from .model import Block, Column, Form, Heading, Length, Number, Row, Table, Words, under
from .text import lines
from .wording import at_top_centre, decimals, whose

ROOM = ("room wanted while a cylinder is lowered", (LOWERING,))
LBF = 4.4482216152605
PSI = 6894.757293168361e-6  # N/mm²
Unit = tuple[str, float, int]  # how a quantity is shown: name, size in it, decimals
SHOWN: dict[str, tuple[Unit, ...]] = {
    "mm": (("mm", 1.0, 2), ("in", INCH, 3)),
    "cc": (("cc", 1.0, 1), ("cu in", 16.387064, 2)),
    "deg": (("deg", 1.0, 2),),
    "n": (("N", 1.0, 0), ("lbf", LBF, 0)),
    "n_per_mm": (("N/mm", 1.0, 2), ("lbf/in", LBF / INCH, 0)),
    "mpa": (("MPa", 1.0, 0), ("psi", PSI, 0)),
    "rpm": (("rpm", 1.0, 0),),
    "g": (("g", 1.0, 1), ("oz", 28.349523125, 2)),
    "": (("", 1.0, 3),),
}


COLUMNS = (Column(room=40), Column(room=14, right=True), Column(room=14, right=True), Column())


def part_blocks(job: JobFile, answers: Sequence[Answered]) -> list[Block]:
    """Return every part that could be worked out, cylinders and valve gears that read alike together."""
    blocks: list[Block] = []
    for title in dict.fromkeys(one.group.title for one in answers):
        alike: dict[tuple[str, ...], tuple[list[str], list[Row | Words]]] = {}
        for one in answers:
            if one.group.title == title and not isinstance(one.found, Missing):
                rows = [row for figure in one.told.values() for row in _figure(job, figure)]
                if rows:
                    read = tuple(lines([Table(COLUMNS, tuple(rows))]))
                    alike.setdefault(read, ([], rows))[0].append(one.subject.replace(".", " "))
        blocks += [Heading(title)] if alike else []
        for subjects, rows in alike.values():
            blocks += [Words(", ".join(subjects), 1), Table(COLUMNS, tuple(rows))]
    return blocks


def _figure(job: JobFile, one: Result) -> list[Row | Words]:
    doubt, figure = one.doubt or 0.0, one.figure
    refused = not_offered(job, figure, one.value)
    if refused is not None:
        return [Row((figure.title, refused[0], "", ""), 2), Words(refused[1], 4)]
    shown = (cell(one.value, unit, doubt, figure.rounded) for unit in units_of(job, figure.unit))
    behind = [*one.means, *_angle(one), *_doubt(job, one, doubt), *_limits(job, one)]
    behind += [one.note] if one.note else []
    row = Row((figure.title, *shown, word(one.verdict, one.look_again)), 2)
    return [row, Words("; ".join(behind), 4)] if behind else [row]


def not_offered(job: JobFile, figure: Figure, value: float) -> tuple[str, str] | None:
    """Return what stands in place of a suggestion that is not above zero, and why; None where it is offered."""
    if figure.refused is None or value > 0:
        return None
    return figure.refused.instead, figure.refused.why.format(shown_as(job, -value, "mm"))


def value_of(job: JobFile, figure: Figure, value: float) -> str:
    """Return a figure in both units, or what stands in its place."""
    refused = not_offered(job, figure, value)
    return shown_as(job, value, figure.unit) if refused is None else refused[0]


def units_of(job: JobFile, unit: str) -> Sequence[Unit]:
    """Return how a quantity is shown, the job's way first."""
    return SHOWN[unit][::-1] if job.units == "in" else SHOWN[unit]


def cell(value: float, unit: Unit, doubt: float = 0.0, way: float = 0.0) -> Length | Number:
    """Return a quantity in a unit, with no more digits than its doubt supports.

    way : 1.0 to round up, -1.0 to round down, in place of to the nearest
    """
    name, size, places = unit
    places = decimals(doubt / size, places)
    nudged = value / size + way * (0.5 - 1e-4) * 10.0**-places
    if name in ("mm", "in"):
        return Length(nudged * size, doubt, name, alone=True)
    return Number(nudged, places, name)


def shown_as(job: JobFile, value: float, unit: str, doubt: float = 0.0) -> str:
    """Return a quantity in the job's unit, with the other beside it."""
    first, *rest = (cell(value, one, doubt).shown() for one in units_of(job, unit))
    return f"{first} ({rest[0]})" if rest else first


def _angle(one: Result) -> list[str]:
    if one.at is None:
        return []
    return [at_top_centre((math.degrees(one.at) + 180.0) % 360.0 - 180.0)]


def _doubt(job: JobFile, one: Result, doubt: float) -> list[str]:
    if one.proved:
        return [f"+/- {shown_as(job, doubt, one.figure.unit, doubt)}"] if doubt > 0 else []
    names = list(one.budget.undoubted)
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return [f"no +/- entered for {', '.join(names[:3])}{more}"]


def _limits(job: JobFile, one: Result) -> list[str]:
    words = []
    for side, limit in (("at least", one.least), ("at most", one.most)):
        if limit is not None:
            entry = f" ({limit.target.path})" if limit.target is not None else ""
            words.append(f"{side} {shown_as(job, limit.value, one.figure.unit)}: {whose(limit)}{entry}")
    return words


def lacking_blocks(answers: Sequence[Answered]) -> list[Block]:
    """Return what is not measured, each part with its entries."""
    alike: dict[tuple[str, tuple[str, ...], str], list[str]] = {}
    for one in answers:
        if isinstance(one.found, Missing):
            own = tuple(entry.removeprefix(f"{one.subject}.") for entry in one.found.entries)
            alike.setdefault((one.group.title, own, one.found.why), []).append(one.subject)
    told = []
    for (title, entries, why), subjects in alike.items():
        needs = f"needs {', '.join(map(meant, entries))}" if entries else ""
        said = "; ".join(part for part in (why, needs) if part)
        who = ", ".join(subject.replace(".", " ") for subject in subjects)
        told.append(Words(f"{title.lower()}, {who}: {said}", 1, Form.ITEM))
    return under("NOT MEASURED", told)


def not_asked_blocks(mapping: Flat, found: Fits) -> list[Block]:
    """Return what a target that is not set would add."""
    shown = {key: one.figure for answered in found.answers for key, one in answered.told.items()}
    every = [
        (key, figure) for group in groups.GROUPS for key, figure in group.figures.items() if key in shown
    ]
    more = [figure.more for _, figure in every if figure.more is not None]
    more += [ROOM] if found.crossing.drop_on else []
    open_ = [(what, targets) for what, targets in more if all(one.set_in(mapping) is None for one in targets)]
    told = (
        Words(f"{what}: {' or '.join(one.path for one in targets)}", 1, Form.ITEM) for what, targets in open_
    )
    return under("NOT ASKED, worked out once its target is set", told)


def row(answers: Iterable[Answered]) -> dict[str, object]:
    """Return every figure of one cylinder or valve gear for JSON."""
    found: dict[str, object] = {}
    lacks: dict[str, object] = {}
    for one in answers:
        if isinstance(one.found, Missing):
            lacks[one.group.title.lower()] = list(one.found.entries)
        for each in one.told.values():
            found |= _row(each)
    return {**found, "not_measured": lacks}


def _row(one: Result) -> dict[str, object]:
    key, unit = one.key, one.figure.suffix
    found: dict[str, object] = {f"{key}{unit}": one.value}
    if one.figure.refused is not None:
        found[f"{key}_offered"] = one.offered
    if one.at is not None:
        found[f"{key}_at_deg"] = (math.degrees(one.at) + 180.0) % 360.0 - 180.0
    found[f"{key}_doubt{unit}"] = one.budget.expanded
    found[f"{key}_without_doubt"] = list(one.budget.undoubted)
    if one.verdict is not None or one.look_again:
        found[f"{key}_look_again"] = list(one.look_again)
    if one.verdict is not None:
        found[f"{key}_verdict"] = one.verdict.value
        found[f"{key}_limits"] = [[limit.name, limit.value, limit.is_set] for limit in one.limits]
    return found
