"""When each cylinder is at its top centre, in the crank's turn.

Crank angles count in the direction of turning from the first cylinder's top centre at the end of
its compression. Seen along the crankshaft the pin stands at an angle from upright, towards +x; a
cylinder is at top centre when its pin stands along its axis, so that the next cylinder's top centre
comes after the difference of the leans, less the angle by which its own pin leads. With a wrist pin off the axis
a piston is highest when the throw is past its axis by the arc sine of offset/(connecting rod + throw); where two
pistons' differ, one turned round for instance, their top centres move against each other by the difference.

    turns "forward": the pin's angle grows, and a cylinder leaning further forward comes later

The leans leave a full turn open: a four-stroke cylinder fires on every second of its top centres, and
`fires_at` says which.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.mapping import Flat, Reader, names
from .crank import crank_of, turns_forward
from .heels import CYCLE, TURN

ON_TOP = (
    "piston.pin_offset",
    "crank.stroke",
    "crank.conrod_length",
)  # what a top centre rests on beside leans and pins
AGREE_RAD = np.radians(0.5)  # a stated firing angle may differ from the leans' by as much


class Place(NamedTuple):
    """One cylinder's place in the cycle."""

    cylinder: str
    top_centre: float  # rad, from the first cylinder's, 0 to a turn: from leans, pins and wrist pins
    fires_at: float | None  # rad, 0 to two turns; None where it was not entered and is not the first
    disagrees: float | None  # rad, by which a stated firing angle misses a top centre


def top_centre(lean: Array, first_lean: Array, pin: Array, forward: bool, later: Array) -> Array:
    """Return when a cylinder is at top centre after the first one [rad], 0 to a turn.

    lean, first_lean : (...) [rad]  of the two cylinders, positive towards +x
    pin : (...) [rad]  by which its crank pin leads the first one's in the direction of turning
    later : (...) [rad]  by which its throw is further past its axis than the first one's where the piston is highest
    """
    way = 1.0 if forward else -1.0
    found: Array = np.mod(way * (lean - first_lean) - pin + later, TURN)
    return np.where(TURN - found < 1e-12, 0.0, found)


def place(cylinder: str, at_top: float, fires_at: float | None, first: bool, later: float | None) -> Place:
    """Return a cylinder's place, with its stated firing angle held against its top centres.

    later : rad, as for `top_centre`; None: not known, so that nothing is held against anything. A firing angle that
            is a top centre but for this was counted by leans and pins alone, and is moved by it.
    """
    if first:
        return Place(cylinder, 0.0, 0.0, None)
    if fires_at is None:
        return Place(cylinder, at_top, None, None)
    if later is None:
        return Place(cylinder, at_top, fires_at % CYCLE, None)
    off = _off(fires_at, at_top)
    if abs(off) > AGREE_RAD and abs(_off(fires_at + later, at_top)) <= AGREE_RAD:
        fires_at, off = fires_at + later, 0.0
    return Place(cylinder, at_top, fires_at % CYCLE, off if abs(off) > AGREE_RAD else None)


def _off(angle: float, at_top: float) -> float:
    """Return how far an angle misses the nearer top centre [rad]."""
    return (angle - at_top + TURN / 2) % TURN - TURN / 2


def places(mapping: Flat) -> tuple[Place, ...]:
    """Return every cylinder's place in the cycle, in the order of the mapping.

    mapping : one engine, see `mapping`
    """
    cylinders = names(mapping, "cylinders")
    return tuple(_place(mapping, name, cylinders[0]) for name in cylinders)


def _place(mapping: Flat, name: str, first: str) -> Place:
    own, head = Reader(mapping, (f"{name}.",)), Reader(mapping, (f"{first}.",))
    forward = turns_forward(mapping)
    fires = own.find("fires_at")
    leans = [reader.find("lean") for reader in (own, head)]
    pin = own.find("pin")
    at_top, later = 0.0, _later(mapping, name, first, forward)
    if leans[0] is not None and leans[1] is not None:
        moved = array(0.0 if later is None else later)
        at_top = float(top_centre(leans[0], leans[1], array(0.0) if pin is None else pin, forward, moved))
    return place(name, at_top, None if fires is None else float(fires), name == first, later)


def _later(mapping: Flat, name: str, first: str, forward: bool) -> float | None:
    """Return by how much further past its axis a cylinder's throw is than the first one's, piston highest [rad].

    None where their wrist pins differ and a crank or connecting rod is not known.
    """
    readers = [Reader(mapping, (f"{one}.", "")) for one in (name, first)]
    entered = [[reader.find(entry) for entry in ON_TOP] for reader in readers]
    if entered[0] == entered[1]:
        return 0.0
    own, head = (crank_of(reader) for reader in readers)
    later = float(own.from_upright(forward) - head.from_upright(forward))
    return None if np.isnan(later) else later
