"""What is taken over for an entry from another valve gear or cylinder: the same port's of another cylinder, else the other port's.

A length that is read at every valve gear is never taken over.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from ..job.entries.catalogue import kind_at
from ..job.faults import Loc
from ..job.variations import raw_at
from . import words
from .layout import is_blank

SAME = "="  # how it is asked for
AS_THERE = "as at "  # begins what stands behind an entry that was taken over
NOT_TAKEN = ("length", "checking_rod", "drop", "below", "installed")  # read at each, whatever the others read
READ_AT_EACH = ("bore_readings", "valves_touch")


class Same(NamedTuple):
    """What stands for another one."""

    value: Any
    whose: str


def is_taken_over(loc: Loc) -> bool:
    """Say whether an entry may be taken over from another valve gear or cylinder at all."""
    of_row = len(loc) > 2 and loc[0] in ("train", "cylinder") and isinstance(loc[1], int)
    return (
        of_row
        and kind_at(loc) is not None
        and str(loc[-1]) not in NOT_TAKEN
        and str(loc[2]) not in READ_AT_EACH
    )


def same_as(loc: Loc, job: Mapping[str, Any], below: Loc = (), of_cylinder: bool = False) -> Same | None:
    """Return what stands for the nearest other one before it, None where nothing does.

    job         : the document as it stands
    below       : what is taken over of a table that stands there
    of_cylinder : of the same cylinder alone, the other port's
    """
    if not below and not is_taken_over(loc):
        return None
    rows = job.get(str(loc[0]), [])
    place = loc[1]
    assert isinstance(place, int)
    alike = "cylinder" if of_cylinder else "port"
    here = rows[place].get(alike)
    order = sorted(range(place), key=lambda index: (rows[index].get(alike) != here, -index))
    for index in order:
        if of_cylinder and rows[index].get(alike) != here:
            continue
        found = raw_at((loc[0], index, *loc[2:], *below), job)
        if found is not None and not is_blank(found):
            return Same(found, words.whose(job, (loc[0], index, "")))
    return None
