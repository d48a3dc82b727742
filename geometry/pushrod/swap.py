"""What a change from one engine to another does to each pushrod, and what caused how much of it.

The causes are taken one after the other, in the order below: the first engine's entries of a cause are
replaced by the second's and the length is worked out again. The steps add up to the whole exactly.

How much falls to one cause depends on the order by products of two small changes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, Reader
from ..doubt.budget import Budget, Doubt, budget
from ..doubt.derivatives import derivatives
from ..engine.before import engine_before, is_same, was_read_before
from ..engine.engine import Train, train_of
from ..gear.train import closed, motion
from .ordering import ordering_convention
from .pushrods import Required, required

# Cause in words → which entries it changes. Whatever none of them names comes last.
CAUSES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("pushrod ends", ("{train}.pushrod.",)),
    ("wanted preload or lash", ("{train}.lifter.preload", "{train}.lifter.lash", "{train}.lifter.kind")),
    ("base gasket", ("stack.base_gasket", "{cylinder}.stack.base_gasket")),
    ("head gasket", ("stack.head_gasket", "{cylinder}.stack.head_gasket")),
    ("case cut", ("stack.case_cut", "{cylinder}.stack.case_cut")),
    ("head cut", ("stack.head_cut", "{cylinder}.stack.head_cut")),
    ("cylinder", ("stack.cylinder", "{cylinder}.stack.cylinder")),
    ("valve sunk", ("{train}.valve.sink",)),
    ("valve", ("{train}.valve.",)),
    ("rocker", ("{train}.rocker.",)),
    ("lifter", ("{train}.lifter.",)),
    ("case deck", ("stack.case_deck", "stack.measured_deck", "{cylinder}.stack.")),
    ("reading", ("{train}.measured_pushrod.",)),
)
REST = "everything else"


class Part(NamedTuple):
    """How much of a change one cause makes, mm."""

    cause: str
    change: float


class Side(NamedTuple):
    """One valve gear on one side of the swap; None where not known."""

    length: float | None  # mm, in the swap's convention
    lean: float | None  # rad
    ratio: float | None  # at the seat
    across: float | None  # mm, contact off the stem tip's centre with the valve closed


class Swapped(NamedTuple):
    """One valve gear before and after."""

    train: str
    convention: str  # in which both lengths count
    before: Side
    after: Side
    parts: tuple[Part, ...]  # those that change anything
    naive: float | None  # mm, the cylinder's difference alone, as is often added
    why_not: str  # in words, where there is no comparison


def swap(before: Flat, after: Flat, name: str) -> Swapped:
    """Return what going from one engine to another does to one valve gear's pushrod.

    before, after : each one engine, see `mapping`
    Source: lengths of the engines between, each worked out anew; telescoping, so the parts add up.
    """
    first, second = _needed(before, name), _needed(after, name)
    if isinstance(first, str) or isinstance(second, str):
        said = [one for one in (first, second) if isinstance(one, str)]
        return Swapped(name, "", _alone(first), _alone(second), (), None, "; ".join(dict.fromkeys(said)))
    (gear, one), (_, other) = first, second
    convention = ordering_convention(gear, one)
    if convention not in other.lengths:
        convention = "centres"
    if convention not in one.lengths or convention not in other.lengths:
        why = "the two lengths are not known in one convention; enter ball diameters and holes in both jobs"
        return Swapped(name, "", _side(*first, ""), _side(*second, ""), (), None, why)
    cylinder = name.rpartition(".")[0]
    heights = [Reader(flat, (f"{cylinder}.", "")).find("stack.cylinder") for flat in (before, after)]
    naive = None if heights[0] is None or heights[1] is None else float(heights[1] - heights[0])
    return Swapped(
        train=name,
        convention=convention,
        before=_side(*first, convention),
        after=_side(*second, convention),
        parts=_parts(before, after, name, convention),
        naive=naive,
        why_not="",
    )


def change_budgets(
    mapping: Flat, found: Sequence[Swapped], quantities: Quantities, doubts: Mapping[str, Doubt]
) -> dict[str, Budget]:
    """Return the doubt of every pushrod's change from what stood before to the engine as it is, by its valve gear.

    mapping    : the engine with what stood before in it, see `before`
    found      : the swaps, for the conventions in which both lengths count
    quantities : measured quantity → the entries that move with it: one part in both engines is one
    doubts     : quantity → its doubt, where stated

    What is one part, or one reading, in both moves both lengths at once, and cancels as far as it moves them alike.
    Source: derivatives of the difference itself.
    """
    chosen = {one.train: one.convention for one in found if not one.why_not}
    if not chosen:
        return {}

    def lengths(flat: Flat) -> dict[str, Required]:
        return {name: required(train_of(flat, name)) for name in chosen}

    def values(varied: Flat) -> dict[str, Array]:
        now, was = lengths(varied), lengths(engine_before(varied))
        return {name: now[name].lengths[one] - was[name].lengths[one] for name, one in chosen.items()}

    table = derivatives(mapping, quantities, values)
    now, was = lengths(mapping), lengths(engine_before(mapping))
    budgets = {}
    for name in chosen:
        moving = {entry: slope for entry, slope in table[name].items() if slope != 0.0}
        first, second = (float(side[name].along_doubt) for side in (was, now))
        apart = abs(second - first) if _is_one_lifter(mapping, name) else math.hypot(first, second)
        budgets[name] = budget(moving, doubts, mapping).widened(Doubt(apart).standard)
    return budgets


def _is_one_lifter(mapping: Flat, name: str) -> bool:
    """Say whether the lifter, whose angle nobody measured, is the one that stood there before."""
    return is_same(mapping, name, "lifter") or was_read_before(
        Reader(mapping, (f"{name}.",)), "measured_pushrod"
    )


def _needed(mapping: Flat, name: str) -> tuple[Train, Required] | str:
    """Return a valve gear and what it needs, or in words why that is not known."""
    try:
        train = train_of(mapping, name)
        needed = required(train)
    except KeyError:
        return f"one of the two jobs has no valve gear {name}"
    except GeometryError as error:
        return str(error)
    if not all(np.isfinite(length) for length in needed.lengths.values()):
        return "one of the two cannot be assembled from its coordinates"
    return train, needed


def _alone(found: tuple[Train, Required] | str) -> Side:
    """Return one side of which there is no other, as it is ordered."""
    return (
        Side(None, None, None, None) if isinstance(found, str) else _side(*found, ordering_convention(*found))
    )


def _side(train: Train, needed: Required, convention: str) -> Side:
    length = needed.lengths.get(convention)
    ratio = None
    if train.drawn is not None and "centres" in needed.lengths:
        down = array(0.0) if train.lifter.down is None else train.lifter.down
        there = motion(train.drawn, closed(train.drawn), needed.lengths["centres"], array(0.0), down)
        ratio = _known(there.ratio)
    return Side(
        length=None if length is None else float(length),
        lean=float(needed.lean),
        ratio=ratio,
        across=None if needed.across is None else _known(needed.across),
    )


def _known(value: Array) -> float | None:
    """Return a number, None where parts that the pushrod does not fit have none."""
    return None if np.isnan(value) else float(value)


def _parts(before: Flat, after: Flat, name: str, convention: str) -> tuple[Part, ...]:
    """Return the parts; a step that has no length on its own counts with the next."""
    cylinder = name.rpartition(".")[0]
    current = dict(before)
    last = _length(current, name, convention)
    assert last is not None
    left = {path for path in (*before, *after) if not _same(before, after, path)}
    parts: list[Part] = []
    waiting: list[str] = []
    for cause, patterns in (*CAUSES, (REST, ("",))):
        stems = tuple(pattern.format(train=name, cylinder=cylinder) for pattern in patterns)
        changed = {path for path in left if path.startswith(stems)}
        left -= changed
        if not changed:
            continue
        kept = {path: value for path, value in current.items() if path not in changed}
        current = {**kept, **{path: after[path] for path in changed if path in after}}
        now = _length(current, name, convention)
        waiting.append(cause)
        if now is None:
            continue
        if now != last:
            parts.append(Part(" with ".join(waiting), now - last))
        last, waiting = now, []
    return tuple(parts)


def _same(before: Flat, after: Flat, path: str) -> bool:
    return path in before and path in after and np.array_equal(before[path], after[path])


def _length(mapping: Mapping[str, object], name: str, convention: str) -> float | None:
    found = _needed(mapping, name)  # type: ignore[arg-type]
    if isinstance(found, str):
        return None
    length = found[1].lengths.get(convention)
    return None if length is None or not np.isfinite(length) else float(length)
