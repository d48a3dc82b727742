"""What can be written down at assembly: the kinds of fact, what each is of, and how each is read."""

from __future__ import annotations

from typing import NamedTuple

from ..job.entries.catalogue import kind_at
from ..job.entries.fields import Kind, Quantity, Sign
from ..job.entries.gear_tables import CONVENTIONS
from ..job.entries.tables import degrees, millimetres, number

TRAIN, CYLINDER = "train", "cylinder"
NOTE, WITHDRAWN, SHELF = "note", "withdrawn", "shelf"
OF_NOTHING = (NOTE, WITHDRAWN, SHELF)  # need not be of a valve gear or cylinder
TURNED_FROM = (
    "zero lash",
    "closed",
)  # an adjuster from where it just touches; an adjustable pushrod fully closed
FELT_AT = ("valve", "pushrod")
CONVENTIONS_OF = {"pushrod": CONVENTIONS, "turns": TURNED_FROM, "flats": TURNED_FROM, "lash": FELT_AT}


class Recorded(NamedTuple):
    """One kind of fact."""

    kind: Kind
    of: str  # TRAIN or CYLINDER


def _entry(*loc: str | int) -> Kind:
    """Return how an entry of the job file is read, for what is the same thing at assembly."""
    kind = kind_at(loc)
    assert isinstance(kind, Quantity)
    return kind


KINDS: dict[str, Recorded] = {
    "pushrod": Recorded(_entry("train", 0, "measured_pushrod", "length"), TRAIN),
    "turns": Recorded(number("turns, the way that takes up lash", 0, 20, sign=Sign.ANY), TRAIN),
    "flats": Recorded(number("flats, the way that takes up lash", 0, 120, sign=Sign.ANY), TRAIN),
    "preload": Recorded(_entry("train", 0, "lifter", "preload"), TRAIN),
    "lash": Recorded(_entry("train", 0, "lifter", "lash"), TRAIN),
    "drop": Recorded(_entry("train", 0, "measured_drop", "drop"), TRAIN),
    "clay": Recorded(millimetres("the clay where it was thinnest", 0, 25, sign=Sign.ZERO_UP), TRAIN),
    "valve lift": Recorded(millimetres("the valve's greatest lift", 3, 20), TRAIN),
    "valve to valve": Recorded(millimetres("between the two valves at their closest", 0, 25), CYLINDER),
    "squish": Recorded(millimetres("crown to head at top centre", 0.3, 4), CYLINDER),
    "deck": Recorded(_entry("stack", "measured_deck", "below"), CYLINDER),
    "crank": Recorded(
        degrees("crank degrees after compression top centre where it was set", below=360.0), CYLINDER
    ),
}
