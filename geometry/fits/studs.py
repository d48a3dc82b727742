"""The thread left on the studs of the taller stack, and how much the gaskets are crushed.

The stud stands so far above the case deck; what the stack, the head up to the nut's seat and a washer take of
it is not in the nut. More thread than the nut is high does not hold more.
"""

from __future__ import annotations

import numpy as np

from ..core.frames import array
from ..core.mapping import Flat
from ..engine.alternatives import stack_height
from ..engine.defaults import completed
from .part import Figure, Figures, Lacking, lacking, of_cylinder


def engagement(mapping: Flat, cylinder: str) -> Figures | Lacking:
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
    found = {"thread_in_nut": Figure(held, "mm", note="; ".join(notes), unsaid=unsaid)}
    if diameter is not None:
        found["thread_diameters"] = Figure(held / diameter, "", least="stud_diameters", unsaid=unsaid)
    return found


def crush(mapping: Flat, cylinder: str) -> Figures | Lacking:
    """Return by how much the gaskets are crushed from their free thickness."""
    reader = of_cylinder(mapping, cylinder)
    found: Figures = {}
    for gasket in ("base_gasket", "head_gasket"):
        free = reader.find(f"stack.{gasket}_free")
        if free is not None:
            pressed = reader.number(f"stack.{gasket}")
            found[f"{gasket}_crush"] = Figure(free - pressed, "mm")
    if not found:
        return Lacking(("stack.head_gasket_free",))
    missing = lacking([reader])
    return found if missing is None else missing
