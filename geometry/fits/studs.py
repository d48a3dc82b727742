"""The thread left on the studs of the taller stack, and how much the gaskets are crushed.

The stud stands so far above the case deck; what the stack, the head up to the nut's seat and a washer take of
it is not in the nut. More thread than the nut is high does not hold more.
"""

from __future__ import annotations

import numpy as np

from ..core.answer import CYLINDER, Figure, Found, Measured, Value, answers, lacking, of_cylinder
from ..core.frames import array
from ..core.mapping import Flat
from ..core.targets import STUD_DIAMETERS
from ..engine.alternatives import stack_height
from ..engine.defaults import completed

ENDS = "the stud ends before the nut begins"


@answers(
    CYLINDER,
    "STUDS",
    thread_in_nut=Figure(
        "thread in the head nuts",
        below_zero=ENDS,
        measured=Measured("thread of the stud in the head nut", (3, 40)),
    ),
    thread_diameters=Figure(
        "head nut's thread, in diameters of its stud", "", least=STUD_DIAMETERS, below_zero=ENDS, main=False
    ),
)
def engagement(mapping: Flat, cylinder: str) -> Found:
    """Return the thread engaged in the head nuts, and in diameters of the stud."""
    full, _ = completed(mapping)
    reader = of_cylinder(full, cylinder)
    stands, seat = reader.number("studs.stands"), reader.number("studs.head_seat")
    height = stack_height(reader)
    missing = lacking([reader])
    if missing is not None:
        return missing
    washer, nut, diameter = (reader.find(f"studs.{one}") for one in ("washer", "nut_height", "diameter"))
    left = stands - height - seat - (array(0.0) if washer is None else washer)
    held = left if nut is None else np.minimum(left, nut)
    notes = ["no more than the nut is high"] if nut is not None else []
    unsaid: tuple[str, ...] = ()
    if washer is None:
        notes.append("studs.washer is not entered: none counted, write 0 if there is none")
        unsaid = ("studs.washer",)
    found = {"thread_in_nut": Value(held, note="; ".join(notes), unsaid=unsaid)}
    if diameter is not None:
        found["thread_diameters"] = Value(held / diameter, unsaid=unsaid)
    return found


@answers(CYLINDER, "BASE GASKET", base_gasket_crush=Figure("base gasket crushed by"))
def base_gasket(mapping: Flat, cylinder: str) -> Found:
    """Return by how much the base gasket is crushed from its free thickness."""
    return _crush(mapping, cylinder, "base_gasket")


@answers(CYLINDER, "HEAD GASKET", head_gasket_crush=Figure("head gasket crushed by"))
def head_gasket(mapping: Flat, cylinder: str) -> Found:
    """Return by how much the head gasket is crushed from its free thickness."""
    return _crush(mapping, cylinder, "head_gasket")


def _crush(mapping: Flat, cylinder: str, gasket: str) -> Found:
    reader = of_cylinder(mapping, cylinder)
    pressed, free = reader.find(f"stack.{gasket}"), reader.find(f"stack.{gasket}_free")
    if free is None and pressed is not None and np.all(pressed == 0):
        return {}  # there is none
    found = {
        f"{gasket}_crush": Value(reader.number(f"stack.{gasket}_free") - reader.number(f"stack.{gasket}"))
    }
    missing = lacking([reader])
    return found if missing is None else missing
