"""When each cylinder is at its top centre, in the crank's turn.

Crank angles count in the direction of turning from the first cylinder's top centre at the end of
its compression. Seen along the crankshaft the pin stands at an angle from upright, towards +x; a
cylinder is at top centre when its pin stands along its axis, so that the next cylinder's top centre
comes after the difference of the leans, less the angle by which its own pin leads.

    turns "forward": the pin's angle grows, and a cylinder leaning further forward comes later

The leans leave a full turn open: a four-stroke cylinder fires on every second of its top centres, and
`fires_at` says which.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from tallstack.geometry.crank import turns_forward
from tallstack.geometry.frames import Array, array
from tallstack.geometry.mapping import Flat, Reader, names

TURN = 2 * np.pi
CYCLE = 2 * TURN
AGREE_RAD = np.radians(0.5)  # a stated firing angle may differ from the leans' by as much


class Place(NamedTuple):
    """One cylinder's place in the cycle."""

    cylinder: str
    top_centre: float  # rad, from the first cylinder's, 0 to a turn: from leans and pins
    fires_at: float | None  # rad, 0 to two turns; None where it was not entered and is not the first
    disagrees: float | None  # rad, by which a stated firing angle misses a top centre


def top_centre(lean: Array, first_lean: Array, pin: Array, forward: bool) -> Array:
    """Return when a cylinder is at top centre after the first one [rad], 0 to a turn.

    lean, first_lean : (...) [rad]  of the two cylinders, positive towards +x
    pin : (...) [rad]  by which its crank pin leads the first one's in the direction of turning
    """
    way = 1.0 if forward else -1.0
    later: Array = np.mod(way * (lean - first_lean) - pin, TURN)
    return np.where(TURN - later < 1e-12, 0.0, later)


def place(cylinder: str, at_top: float, fires_at: float | None, first: bool) -> Place:
    """Return a cylinder's place, with its stated firing angle held against its top centres."""
    if first:
        return Place(cylinder, 0.0, 0.0, None)
    if fires_at is None:
        return Place(cylinder, at_top, None, None)
    off = (fires_at - at_top + TURN / 2) % TURN - TURN / 2
    return Place(cylinder, at_top, fires_at % CYCLE, off if abs(off) > AGREE_RAD else None)


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
    at_top = 0.0
    if leans[0] is not None and leans[1] is not None:
        at_top = float(top_centre(leans[0], leans[1], array(0.0) if pin is None else pin, forward))
    return place(name, at_top, None if fires is None else float(fires), name == first)
