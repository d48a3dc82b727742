"""What is believed to have changed since a reading was taken, in a line that adds up."""

from __future__ import annotations

from collections.abc import Sequence

from tallstack.geometry.engine.since_read import SinceRead, adding_up, since_read

from ..job.entries.fields import INCH
from ..job.file import JobFile
from .model import Block, Words, under
from .wording import number

STEP = {"mm": 0.01, "in": 0.001 * INCH}  # mm, to which a change is told
CALLED = {
    "base_gasket": "base gasket",
    "cylinder": "cylinder",
    "head_gasket": "head gasket",
    "case_cut": "case cut",
    "head_cut": "head cut",
    "crank.stroke": "half the stroke",
    "crank.conrod_length": "connecting rod",
    "piston.compression_height": "compression height",
}
EVERY_GEAR = "every valve gear"
WHAT = {"measured_pushrod": "its pushrod was read", "measured_drop": "its drop was read"}


def sentence(one: SinceRead, units: str) -> str:
    """Return what has changed since a reading, rounded so that it adds up."""
    told = _sum(one.stack, units, "taller", "lower", "the stack is as tall as")
    parts = [f"{told[0]} when read{told[1]}"]
    if one.piston:
        up = _sum(one.piston, units, "higher", "lower", "the piston stands as high as")
        opens, _ = adding_up([one.growth, -one.higher], STEP[units])
        parts.append(
            f"the piston stands {up[0]} then{up[1]}; the gap over it {_signed(opens, units)} {units} along the cylinder"
        )
    parts += [f"lifter {_signed(-one.lowered, units)} {units}"] if one.lowered else []
    parts += [f"valve sunk by {_signed(one.sunk, units)} {units}"] if one.sunk else []
    return "; ".join(parts)


def _sum(terms: dict[str, float], units: str, more: str, less: str, same: str) -> tuple[str, str]:
    """Return by how much the whole changed, and of which parts that is made up."""
    if not terms:
        return same, ""
    total, rounded = adding_up(list(terms.values()), STEP[units])
    moved = [(name, by) for name, by in zip(terms, rounded, strict=True) if by or not any(rounded)]
    named = ", ".join(f"{CALLED[name]} {_signed(by, units)}" for name, by in moved)
    way = f"{number(abs(total), units)} {units} {more if total > 0 else less} than" if total else same
    return way, f": {named}"


def _signed(value: float, units: str) -> str:
    return f"{'-' if value < 0 else '+'}{number(abs(value), units)}"


def changed(job: JobFile, readings: Sequence[str]) -> list[tuple[str, str]]:
    """Return what has changed since readings were taken: valve gears with the same together, and a sentence for them.

    readings : of `since_read.READINGS`
    """
    alike: dict[str, list[tuple[str, str]]] = {}
    mapping = job.mapping
    for reading in readings:
        for train in job.names["trains"]:
            found = since_read(mapping, train, reading)
            if found is not None:
                alike.setdefault(sentence(found, job.units), []).append((train, reading))
    kinds = {reading for rows in alike.values() for _, reading in rows}
    return [(_who(job, rows, kinds), told) for told, rows in alike.items()]


def _who(job: JobFile, rows: Sequence[tuple[str, str]], kinds: set[str]) -> str:
    """Return the valve gears of rows by name, and of which reading they are where that makes a difference."""
    names, own = list(dict.fromkeys(train for train, _ in rows)), {reading for _, reading in rows}
    every = len(names) == len(job.names["trains"]) > 1
    who = EVERY_GEAR if every else ", ".join(names).replace(".", " ")
    return f"{who}, since {WHAT[rows[0][1]]}" if own != kinds else who


def changed_blocks(job: JobFile, readings: Sequence[str]) -> list[Block]:
    """Return what has changed since readings were taken, a paragraph for valve gears that are alike."""
    return under("SINCE IT WAS READ", (Words(f"{who}: {told}", 1) for who, told in changed(job, readings)))
