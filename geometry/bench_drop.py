"""A valve's drop through the cycle from one dial reading at top centre.

The closed valve was pushed down at top centre until it touched. The piston has gone down by d since and the
stack stands g taller over it now, the valve has opened by h:

    drop = reading + k·(g + d) - h       k = 1/cos λ where it meets a plain crown
                                         k = cos λ   over a pocket floor square to the stem

with λ the stem's whole lean to the cylinder's axis. Over a pocket the rim moves sideways by (g + d)·sin λ
against the wall; it stays over the floor while that is less than the room it has there, and beyond that the
drop is not known from this reading. Which of the two it meets not being known, the smaller is taken.

Source: a valve moving along its stem against a plane square to the cylinder, or square to the stem.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from tallstack.geometry.frames import Array


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
