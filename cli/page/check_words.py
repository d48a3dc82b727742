"""The checks made on the bench beside what the entries foretell, in words and for JSON."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

from tallstack.geometry.cam.shape_entries import is_shape_entry
from tallstack.geometry.sure.what_next import ANGLE, LENGTH, TIMING, VOLUME

from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.reading.values import Dimension
from ..job.readings import Laid, has_readings
from .model import Block, Cell, Column, Form, Heading, Length, Number, Row, Table, Words
from .wording import dimension_of, number

if TYPE_CHECKING:
    from tallstack.geometry.doubt.readings import Fused, Judged
    from tallstack.geometry.sure.bench_checks import Check

FEW = 0.05  # redundancy, up to which nothing else tells a reading
HIDES = 4.1  # standard uncertainties, an error that is found four times out of five at one false alarm in a thousand
RARE = 0.01  # chance of so much disagreement, below which it is told
AGREE = 0.05  # chance, above which the rest agrees
SHOWN = 3
TITLE = "CHECKS MADE ON THE BENCH"
COLUMNS = (
    Column(f"{TITLE}, reading.N", 40),
    Column("foretold minus read", 19, right=True),
    Column("before", 9, right=True),
    Column("after", 8, right=True),
)
AGREED = "the readings agree with the entries and with each other, as far as their +/- go"
CC = 1000.0


def check_blocks(job: JobFile, laid: Laid[Any]) -> list[Block]:
    """Return every check with what was foretold, and what they say of each other."""
    if not laid.checks and not laid.lacks:
        return []
    blocks: list[Block] = []
    if laid.checks:
        fused = () if laid.fused is None else laid.fused.checks
        rows = tuple(_row(job, check, one) for check, one in zip(laid.checks, fused, strict=False))
        blocks.append(Table(COLUMNS, rows, 0))
    else:
        blocks.append(Heading(TITLE))
    if laid.problem:
        blocks.append(Words(f"they cannot be used: {laid.problem}", 1))
    if laid.fused is not None:
        blocks += [Words(text, 1) for text in _said(job, laid, laid.fused)]
    for name, entries in laid.lacks.items():
        needs = ", ".join(meant(entry) for entry in entries)
        why = f"it needs {needs}" if needs else "by the entries the parts cannot be put together"
        blocks.append(Words(f"{_called(job, name)}: not used; {why}", 1, Form.ITEM))
    return blocks


def take_again(laid: Laid[Any]) -> list[str]:
    """Return which reading stands out and is taken again before any other is taken, in a sentence; none where all agree."""
    worst = None if laid.fused is None else laid.fused.worst
    named = "" if worst is None else re.sub(r"^\d+\. ", "", _called(laid.job, worst.name))
    return [f"first the one that stands out, again: {named}"] if named else []


def check_words(job: JobFile, laid: Laid[Any]) -> list[str]:
    """Return what the checks say of each other, for one screen."""
    unused = (
        [f"not used, for what they lack: {', '.join(_called(job, name) for name in laid.lacks)}"]
        if laid.lacks
        else []
    )
    if laid.problem:
        return [f"they cannot be used: {laid.problem}", *unused]
    if laid.fused is None:
        return unused
    if laid.fused.worst is not None:
        return [*_disagreement(job, laid.fused), *unused]
    return [*([AGREED] if laid.fused.freedom > 0 else []), *unused]


def _row(job: JobFile, check: Check, one: Judged) -> Row:
    off: Cell = Length(one.excess, unit=job.units, signed=True)
    if check.kind == "chamber":
        off = Number(one.excess / CC, 2, "cc", signed=True)
    sigmas = () if one.fixed else (Number(one.before, 1, signed=True), Number(one.after, 1, signed=True))
    return Row((_called(job, check.name), off, *(sigmas or ("", ""))))


def _called(job: JobFile, name: str) -> str:
    """Return a check's name in words."""
    if not name.startswith("reading."):
        train, _, what = name.rpartition(".")
        return f"{what.replace('_', ' ')}, {train.replace('.', ' ')}"
    index = int(name.split(".")[1])
    kind = job.entries.get(f"{name}.of")
    of = job.entries.get(f"{name}.train") or job.entries.get(f"{name}.cylinder")
    where = "" if of is None else f", {str(of.value).replace('.', ' ')}"
    return f"{index}. {'reading' if kind is None else kind.value}{where}"


def _said(job: JobFile, laid: Laid[Any], fused: Fused) -> list[str]:
    texts = [
        "before and after: in standard uncertainties, before the entries moved and against all the others after it"
    ]
    fixed = [_called(job, one.name) for one in fused.checks if one.fixed]
    if fixed:
        texts.append(f"compared alone, for want of a +/- of its own or of what moves it: {', '.join(fixed)}")
    for one in fused.checks:
        if one.undoubted:
            more = f" and {len(one.undoubted) - 3} more" if len(one.undoubted) > 3 else ""
            texts.append(
                f"{_called(job, one.name)} also moves with {', '.join(one.undoubted[:3])}{more}, which have no +/-: its "
                "distance may be theirs"
            )
    if fused.tied is not None and not has_readings(job):
        texts.append(
            "told for comparison: what was measured decides by itself what it is of, and no entry moves"
        )
    texts += [
        f"lobe.{lobe} is known by its card, and its shape takes part of a difference; among the card's numbers what was read narrows it more"
        for lobe in dict.fromkeys(
            name.split(".")[1] for name, by in laid.job.moves.items() if is_shape_entry(name) and by != 0.0
        )
    ]
    lone, weak = _unchecked(job, fused)
    if lone:
        texts.append(f"cannot be checked by the others, nothing else tells what was read: {', '.join(lone)}")
    if weak:
        texts.append(
            f"cannot be fully checked by the others; an error of less than this would not show: {', '.join(weak)}"
        )
    if any(
        check.kind == "pushrod" and f"{check.of}.measured_pushrod" not in _measured(job)
        for check in laid.checks
    ):
        texts.append("a pushrod that was measured orders one once it stands under [train.measured_pushrod]")
    if fused.worst is None:
        if fused.freedom > 0:
            texts.append(AGREED)
        return texts
    return [*texts, *_disagreement(job, fused)]


def _measured(job: JobFile) -> set[str]:
    return {
        path[: path.index(".measured_pushrod") + 17] for path in job.entries if ".measured_pushrod" in path
    }


def _unchecked(job: JobFile, fused: Fused) -> tuple[list[str], list[str]]:
    """Return the readings that no other tells, and those that others tell in part with the error that would hide."""
    from tallstack.geometry.doubt.readings import CHECKED

    lone, weak = [], []
    for one in fused.checks:
        if one.fixed or one.redundancy >= CHECKED:
            continue
        doubt = job.doubts.get(one.own)
        if one.redundancy < FEW or doubt is None:
            lone.append(_called(job, one.name))
        else:
            hidden = HIDES * doubt.standard / math.sqrt(one.redundancy)
            shown = (
                f"{hidden / CC:.2g} cc"
                if one.own.endswith("volume")
                else f"{number(hidden, job.units)} {job.units}"
            )
            weak.append(f"{_called(job, one.name)} {shown}")
    return lone, weak


def _disagreement(job: JobFile, fused: Fused) -> list[str]:
    worst = fused.worst
    assert worst is not None
    out = f"{_called(job, worst.name)} stands out, by {abs(worst.after):.1f} standard uncertainties"
    rare = f"so much in all would come about by chance {_chance(fused.chance)} of the time; "
    texts = [f"THEY DISAGREE: {rare if fused.chance < RARE else ''}{out}"]
    if fused.without is not None:
        well = (
            f"the others agree ({_chance(fused.without)})"
            if fused.without > AGREE
            else "the others still disagree"
        )
        texts.append(f"without it {well}: take that reading again first")
    as_well = [f"{one.name} by {_moved(job, one.name, one.error)}" for one in fused.entries[:SHOWN]]
    if as_well:
        more = f", or one of {len(fused.entries) - SHOWN} more" if len(fused.entries) > SHOWN else ""
        texts.append(f"or one of these is off, which would explain it as well: {', '.join(as_well)}{more}")
    left_out = any("left out" in one for one in job.warnings)
    if worst.name.startswith("reading."):
        texts.append(f"{'it is left out of' if left_out else 'no reading is used in'} the answers below")
    else:
        texts.append(
            "the answers below rest on it all the same: what was measured decides by itself what it is of"
        )
    return texts


def _chance(share: float) -> str:
    return f"{share:.1%}" if share >= 0.001 else "less than 0.1%"


def _moved(job: JobFile, name: str, by: float) -> str:
    kind = kind_of(job, name)
    if kind in (ANGLE, TIMING):
        return f"{math.degrees(by):+.2f} degrees"
    if kind == VOLUME:
        return f"{by / CC:+.2f} cc"
    return (
        f"{'-' if by < 0 else '+'}{number(abs(by), job.units)} {job.units}"
        if kind == LENGTH
        else f"{by:+.4g}"
    )


def kind_of(job: JobFile, name: str) -> str:
    """Return what kind of thing a quantity is, as its tool goes by; nothing where no tool reads it again."""
    entry = job.entries.get(name)
    if entry is not None:
        dimension = dimension_of(entry)
    else:
        kinds = {"length": Dimension.LENGTH, "angle": Dimension.ANGLE}
        found = next((one.kind for one in job.assumed if one.entry == name), "")
        dimension = kinds.get(found, Dimension.NUMBER)
    if name.startswith("instrument.") or name.startswith("reading."):
        return ""
    if dimension is Dimension.ANGLE:
        return TIMING if name.startswith(("lobe.", "cam.")) else ANGLE
    return {Dimension.LENGTH: LENGTH, Dimension.VOLUME: VOLUME}.get(dimension, "")


def checks_row(laid: Laid[Any]) -> dict[str, Any]:
    """Return the checks for JSON."""
    fused = laid.fused
    told = {} if fused is None else {one.name: one for one in fused.checks}
    return {
        "readings": [_reading(check, told.get(check.name)) for check in laid.checks],
        "needs": {name: list(entries) for name, entries in laid.lacks.items()},
        "problem": laid.problem or None,
        "disagreement": None if fused is None else fused.disagreement,
        "degrees_of_freedom": None if fused is None else fused.freedom,
        "chance": None if fused is None else fused.chance,
        "stands_out": None if fused is None or fused.worst is None else fused.worst.name,
        "chance_without_it": None if fused is None else fused.without,
        "or_off": []
        if fused is None
        else [{"entry": one.name, "sigmas": one.sigmas} for one in fused.entries],
        "moved": {name: by for name, by in laid.job.moves.items() if by != 0.0 and not is_shape_entry(name)},
    }


def _reading(check: Check, one: Judged | None) -> dict[str, Any]:
    unit = "mm3" if check.kind == "chamber" else "mm"
    return {
        "reading": check.name,
        "kind": check.kind,
        "of": check.of,
        f"foretold_less_read_{unit}": None if one is None else one.excess,
        "before_sigmas": None if one is None or one.fixed else one.before,
        "after_sigmas": None if one is None or one.fixed else one.after,
        "redundancy": None if one is None or one.fixed else one.redundancy,
    }
