"""A valve's drop through the cycle from one dial reading at top centre.

The closed valve was pushed down at top centre until it touched. The piston has gone down by d since and the
stack stands g taller over it now, the valve has opened by h:

    drop = reading + k·(g + d) - h       k = 1/cos λ where it meets a plain crown
                                         k = cos λ   over a pocket floor square to the stem

with λ the stem's whole lean to the cylinder's axis. Over a pocket the rim moves sideways by (g + d)·sin λ
against the wall; it stays over the floor while that is less than the room it has there, and beyond that the
drop is not known from this reading. Which of the two it meets not being known, the smaller is taken.

How long the rim stays over a floor only `room` says, and metal that the rim climbs has no bound from one reading: a
pocket's reading without it tells nothing.

Source: a valve moving along its stem against a plane square to the cylinder, or square to the stem.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..crank.crank import RAISED, Crank, turns_forward
from ..engine.before import not_said
from ..engine.defaults import PART_ENTRIES, STACK, UNDER_CROWN, completed, signed


class MeasuredDrop(NamedTuple):
    """One dial reading; mm, rad."""

    drop: Array  # as read, valve closed, piston at its highest
    lean: Array  # the stem's whole lean to the cylinder's axis
    meets: str  # "pocket", "crown", or "" where it was not said
    room: Array | None  # rim to pocket wall on the side the valve moves towards; None: not measured
    growth: Array  # how much higher the head stands over the piston's highest point now than then


class Traced(NamedTuple):
    """The drop along the cycle; NaN where the reading does not tell it."""

    drop: Array  # mm
    known: NDArray[np.bool_]  # whether the reading tells it
    assumed: str  # what it was taken to meet where that was not said


class DropReading(NamedTuple):
    """A valve's dial reading with the piston that moves under it."""

    measured: MeasuredDrop
    crank: Crank  # compression height 0 where it was not entered: it cancels
    forward: bool


def has_reading(train: Reader) -> bool:
    """Say whether a valve was pushed down at top centre."""
    return train.has("measured_drop")


def drop_reading(mapping: Flat, name: str) -> DropReading | tuple[str, ...]:
    """Return the dial reading of one valve gear carried to the stack of today, or the entries it lacks.

    mapping : one engine, see `mapping`; its numbers may be arrays that broadcast
    Source: the head's gasket face against the crown, then and now; a valve sunk since drops further by as much.
    """
    full, _ = completed(mapping)
    train, engine = Reader(full, (f"{name}.",)), Reader(full, (f"{name.rpartition('.')[0]}.", ""))
    reading = Reader(full, (f"{name}.measured_drop.",))
    drop, lean = reading.number("drop"), reading.number("lean")
    growth = array(0.0)
    for part in STACK:
        before = reading.find(f"stack.{part}")
        if before is not None:
            growth = growth + signed(part) * (engine.number(f"stack.{part}") - before)
    height = any(one.find("piston.compression_height") is not None for one in (engine, reading))
    now = _crank(engine, engine, height)
    raised = engine.find(RAISED)
    growth = growth - (now.top - _crank(reading, engine, height).top)
    growth = growth if raised is None else growth - raised
    sunk, before = train.find("valve.sink"), reading.find("valve.sink")
    if sunk is not None:
        drop = drop + sunk - (array(0.0) if before is None else before)
    unsaid = not_said(full, name, "measured_drop", PART_ENTRIES, (*UNDER_CROWN, "pocket.diameter"))
    missing = (*unsaid, *reading.missing, *engine.missing)
    if missing:
        return tuple(dict.fromkeys(missing))
    measured = MeasuredDrop(drop, lean, reading.word("meets"), reading.find("room"), growth)
    forward = turns_forward(full)
    return DropReading(measured, now, forward)


def _crank(then: Reader, now: Reader, with_height: bool) -> Crank:
    """Return the moving parts when the reading was taken; what it does not say is as now."""

    def was(entry: str) -> Array:
        before = then.find(entry)
        return now.number(entry) if before is None else before

    offset = then.find("piston.pin_offset")
    if offset is None:
        offset = now.find("piston.pin_offset")
    return Crank(
        throw=was("crank.stroke") / 2,
        conrod_length=was("crank.conrod_length"),
        compression_height=was("piston.compression_height") if with_height else array(0.0),
        pin_offset=array(0.0) if offset is None else offset,
    )


def traced(measured: MeasuredDrop, descent: Array, lift: Array) -> Traced:
    """Return the drop where the piston has gone down and the valve has opened by so much.

    descent, lift : (...) [mm]
    Valid: see the module; `known` says where.
    """
    parted = measured.growth + descent
    cosine, sine = np.cos(measured.lean), np.sin(measured.lean)
    on_crown = measured.drop + parted / cosine - lift
    in_pocket = measured.drop + parted * cosine - lift
    room = 0.0 if measured.room is None else measured.room
    over_floor = np.abs(parted) * sine <= room
    if measured.meets == "crown":
        return Traced(on_crown, np.ones(np.shape(on_crown), dtype=bool), "")
    if measured.meets == "pocket":
        return Traced(np.where(over_floor, in_pocket, np.nan), over_floor, "")
    cautious = np.minimum(on_crown, in_pocket)
    return Traced(np.where(over_floor, cautious, np.nan), over_floor, "pocket")
