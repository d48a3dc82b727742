"""The metal left under a cut in the crown.

`piston.crown_thickness` counts from the crown plane down, at the thinnest place a pocket would be cut, and
`piston.ring_land` from the crown's edge down to the top ring groove. What is left is counted from the cut's
deepest point, whether or not that lies at the thinnest place or over the groove: never more than there is.
"""

from __future__ import annotations

from typing import NamedTuple

from ..core.mapping import Flat, Reader

ENTRIES = ("piston.crown_thickness", "piston.ring_land")


class Metal(NamedTuple):
    """What is left under a cut, mm; None where it was not measured."""

    under: float | None  # of the crown's thickness
    land: float | None  # down to the top ring groove
    lacks: tuple[str, ...]  # to be measured before anything is cut

    @property
    def cut_through(self) -> bool:
        """Whether the cut would leave no metal."""
        return any(left is not None and left <= 0 for left in (self.under, self.land))


def metal(mapping: Flat, cylinder: str, depth_entry: str, depth: float | None) -> Metal:
    """Return the metal left under a cut of a depth in mm, its deepest point below the crown plane.

    depth_entry : where the pocket's depth as it is should stand, when it is not known
    """
    reader = Reader(mapping, (f"{cylinder}.", ""))
    found = [reader.find(entry) for entry in ENTRIES]
    lacks = tuple(
        reader.path(entry).removeprefix(f"{cylinder}.")
        for entry, one in zip(ENTRIES, found, strict=True)
        if one is None
    )
    if depth is None:
        return Metal(None, None, (*lacks, depth_entry) if depth_entry else lacks)
    under, land = (None if one is None else float(one) - depth for one in found)
    return Metal(under, land, lacks)
