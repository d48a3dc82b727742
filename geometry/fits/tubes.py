"""The pushrod's tube: the length it needs, and the room the pushrod has in it.

The tube stands between a seat in the case (which stays) and a seat in the head (which rides on the stack). The
pushrod leans in it, and its upper end swings as the rocker turns:

    room = half the tube's inside - half the pushrod - how far the pushrod's axis strays from the tube's

The greatest stray is at an end of what both share, since two straight lines part linearly; the lifts from
seat to full lift are looked at in rows.

Source: the distance of a point from a line.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..core.answer import TRAIN, Figure, Found, Measured, Missing, Value, answers, lacking, of_cylinder
from ..core.frames import Array, array, norm, point
from ..core.mapping import Flat, Reader
from ..core.targets import TUBE
from ..engine.alternatives import case_deck, stack_height
from ..engine.defaults import completed
from ..engine.engine import COORDINATES, train_of
from ..gear.train import closed, cup_at, motion
from ..pushrod.pushrods import by_coordinates, setting_lacks
from .full_lift import lobe_lift_of

LIFTS = 33  # of the lifter, from rest to full lift


@answers(
    TRAIN,
    "PUSHROD TUBES",
    tube_length=Figure("tube between its seats", measured=Measured("tube between its two seats", (80, 400))),
    tube_to_shortest=Figure(
        "left to its shortest",
        below_zero="pushed together the tube is still too long for its seats",
        at_nought="TOO LONG FOR ITS SEATS",
        zero=True,
        main=False,
    ),
    tube_to_longest=Figure(
        "left to its longest",
        below_zero="drawn out the tube does not reach both its seats",
        at_nought="DOES NOT REACH ITS SEATS",
        zero=True,
        main=False,
    ),
)
def tube_length(mapping: Flat, train: str) -> Found:
    """Return the length between a tube's two seats, and what is left of its range."""
    found = _seats(mapping, train)
    if isinstance(found, Missing):
        return found
    low, high = found
    length = norm(high - low)
    reader = Reader(mapping, (f"{train}.tube.",))
    shortest, longest = reader.find("shortest"), reader.find("longest")
    figures = {"tube_length": Value(length, note="between its two seats")}
    if shortest is not None:
        figures["tube_to_shortest"] = Value(length - shortest, note="left before it is fully pushed together")
    if longest is not None:
        figures["tube_to_longest"] = Value(longest - length, note="left before it leaves its seats")
    return figures


MEET = "the pushrod and its tube meet"


@answers(
    TRAIN,
    "ROOM IN THE TUBES",
    takes=lobe_lift_of,
    tube_room_at_rest=Figure(
        "pushrod in its tube, at rest",
        least=TUBE,
        below_zero=MEET,
        at_nought=MEET.upper(),
        zero=True,
        more=("pushrod to its tube against a limit of yours", (TUBE,)),
        main=False,
    ),
    tube_room=Figure(
        "pushrod in its tube, through the lift",
        least=TUBE,
        below_zero=MEET,
        zero=True,
        at_nought=MEET.upper(),
    ),
)
def tube_room(mapping: Flat, train: str, peak: ArrayLike | None) -> Found:
    """Return the least room between pushrod and tube, at rest and through the lift.

    peak : (...) [mm]  of the lobe; None where it is not known: then at rest alone
    """
    seats = _seats(mapping, train)
    reader = Reader(mapping, (f"{train}.",))
    bore, rod = reader.number("tube.inner_diameter"), reader.number("pushrod.diameter")
    gear = train_of(mapping, train)
    missing = lacking([reader])
    lacks = [
        *(seats.entries if isinstance(seats, Missing) else ()),
        *(() if missing is None else missing.entries),
    ]
    if gear.drawn is None:
        lacks += gear.lacks.get(COORDINATES, (f"{train}.lifter.seat", f"{train}.rocker.shaft"))
    else:
        lacks += setting_lacks(gear)
    if lacks or isinstance(seats, Missing):
        return Missing.of(lacks)
    drawn = gear.drawn
    assert drawn is not None
    pose, length = closed(drawn), by_coordinates(gear).lengths["centres"]
    down = array(0.0) if gear.lifter.down is None else gear.lifter.down
    figures = {}
    through = () if peak is None else tuple(np.linspace(0.0, array(peak), LIFTS))
    for key, lifts in (("tube_room_at_rest", (array(0.0),)), ("tube_room", through)):
        if not lifts:
            continue
        rooms = []
        for lift in lifts:
            there = motion(drawn, pose, length, lift, down)
            ball = drawn.seat + (lift - down)[..., None] * drawn.lift_axis
            cup = cup_at(drawn, pose, there.cosine, there.sine)
            rooms.append(_room(seats, ball, cup, bore, rod))
        figures[key] = Value(np.minimum.reduce(rooms))
    return figures


def _room(seats: tuple[Array, Array], ball: Array, cup: Array, bore: Array, rod: Array) -> Array:
    """Return the room over the stretch that tube and pushrod share."""
    low, high = seats
    along = (high - low) / norm(high - low)[..., None]
    ends = []
    for seat in (low, high):
        share = np.clip(np.vecdot(seat - ball, along) / np.vecdot(cup - ball, along), 0.0, 1.0)
        spot = ball + share[..., None] * (cup - ball)
        offset = spot - low
        ends.append(norm(offset - np.vecdot(offset, along)[..., None] * along))
    room: Array = bore / 2 - rod / 2 - np.maximum(ends[0], ends[1])
    return room


def _seats(mapping: Flat, train: str) -> tuple[Array, Array] | Missing:
    """Return a tube's lower and upper seat in the cylinder frame."""
    full, _ = completed(mapping)
    own, reader = Reader(full, (f"{train}.",)), of_cylinder(full, train.rpartition(".")[0])
    low, high = own.point("tube.seat_low"), own.point("tube.seat_high")
    deck = case_deck(reader)
    face = deck + stack_height(reader)
    missing = lacking([own, reader])
    if missing is not None:
        return missing
    return low + point(0.0, 0.0, deck), high + point(0.0, 0.0, face)
