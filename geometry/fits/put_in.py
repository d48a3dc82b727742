"""Putting the pushrod in: with the rocker on its shaft past its cup's lip, or the rocker fitted afterwards.

With the rocker fitted afterwards the pushrod always goes in. Fitting it then presses the plunger down by the preload,
or, where the lifter is full, opens the valve by that times the ratio until it has bled.

Source: `goes_in`.
"""

from __future__ import annotations

from ..core.answer import TRAIN, Figure, Found, Missing, Value, Values, answers
from ..core.frames import Array
from ..core.mapping import Flat
from ..engine.engine import Train, train_of
from ..pushrod.goes_in import FINGERS_MM, lacks_of, longer_as_wanted, spare_of, to_open
from ..pushrod.pushrods import setting_lacks
from .full_lift import stands_of


@answers(
    TRAIN,
    "PUTTING THE PUSHROD IN",
    asked_by=(".cup_depth_", ".assembly."),
    takes=stands_of,
    goes_in=Figure(
        "room to put the pushrod in",
        below_zero="a fixed pushrod of that length does not go in with the rocker on its shaft",
        at_nought="DOES NOT GO IN",
        zero=True,
    ),
    valve_to_open=Figure("valve to push open further for it", main=False, headline=True),
    held_open=Figure("valve held open when the rocker is fitted", main=False, headline=True),
)
def put_in(mapping: Flat, train: str, stands: Array | None = None) -> Found:
    """Return whether a fixed pushrod of the length that is ordered goes in, or what fitting the rocker after it does.

    stands : (...) [mm]  the preload that the pushrod as ordered gives; None: the one that is wanted
    """
    gear = train_of(mapping, train)
    lacks = (*setting_lacks(gear), *lacks_of(gear))
    if gear.assembly is not None and not gear.assembly.box_on:
        return _afterwards(gear, stands)
    longer = _longer(gear, stands)
    room = None if longer is None else spare_of(gear, longer)
    if room is None:
        return Missing.of(lacks)
    note = f"lifter on its heel and bled down, valve shut; {FINGERS_MM:g} mm (0.012 in) kept for fingers"
    if gear.assembly is not None and gear.assembly.opened is not None:
        note = f"lifter on its heel and bled down, the valve pushed open with the piston at the bottom; {FINGERS_MM:g} mm (0.012 in) kept for fingers"
    found: Values = {"goes_in": Value(room, note=note, unsaid=lacks)}
    more = to_open(gear, room)
    if more is not None and (more.ndim > 0 or more > 0):
        how = "with a lever, the piston at the bottom, short of coil bind and the seal; or take the rocker off, or an adjustable pushrod"
        found["valve_to_open"] = Value(more, note=how)
    return found


def _afterwards(gear: Train, stands: Array | None) -> Found:
    if gear.lifter.kind != "hydraulic":
        return {}
    lacks = (*setting_lacks(gear), *(() if gear.ratio is not None else (f"{gear.name}.rocker.ratio",)))
    if lacks:
        return Missing.of(lacks)
    longer = _longer(gear, stands)
    assert gear.ratio is not None
    assert longer is not None
    note = (
        "where the lifter is full, until it has bled: turn the piston well down first, near its top the valve may meet it; "
        "do not turn the crank before the pushrod spins"
    )
    return {"held_open": Value(longer * gear.ratio, note=note)}


def _longer(gear: Train, stands: Array | None) -> Array | None:
    """Return what the pushrod is longer than one that just touches [mm]."""
    return longer_as_wanted(gear) if stands is None or gear.lifter.kind != "hydraulic" else stands
