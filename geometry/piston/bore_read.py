"""What a bore gauge found in a cylinder: its tightest and its loosest place, its taper and how far it is out of round.

Read at the top, the middle and the bottom of the rings' travel, across the wrist pin (where the skirt is pressed
to the wall) and along it; and where the gauge was swept round, the largest that it found at each height.

    tightest      the least of all readings              loosest   the greatest
    taper         the greatest, over both directions, of what one direction differs by from height to height
    out of round  the greatest, over the heights, of what the readings of one height differ by

Two fixed directions see only cos 2δ of the out of round of a bore whose wear stands δ off them.

Source: round and taper as workshop manuals define them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array
from ..core.mapping import Reader
from .bore_entries import DIRECTIONS, HEIGHTS, LARGEST, READINGS


class BoreRead(NamedTuple):
    """One bore as it was read; mm on the diameter, as warm as it was."""

    across: tuple[Array | None, ...]  # of the heights, None where it was not read
    along: tuple[Array | None, ...]
    largest: tuple[Array | None, ...]  # found by sweeping

    @property
    def rows(self) -> tuple[tuple[Array, ...], ...]:
        """The readings of each height."""
        columns = zip(self.across, self.along, self.largest, strict=True)
        return tuple(tuple(one for one in row if one is not None) for row in columns)

    @property
    def every(self) -> tuple[Array, ...]:
        """All of them."""
        return tuple(one for row in self.rows for one in row)

    @property
    def tightest(self) -> Array:
        """The least diameter."""
        least: Array = np.minimum.reduce(np.broadcast_arrays(*self.every))
        return least

    @property
    def loosest(self) -> Array:
        """The greatest diameter."""
        most: Array = np.maximum.reduce(np.broadcast_arrays(*self.every))
        return most

    @property
    def taper(self) -> Array | None:
        """What a direction differs by from height to height, at most; None where none was read at two heights."""
        columns = [
            [one for one in column if one is not None] for column in (self.across, self.along, self.largest)
        ]
        return _greatest([column for column in columns if len(column) > 1])

    @property
    def out_of_round(self) -> Array | None:
        """What the readings of a height differ by, at most; None where none was read twice."""
        return _greatest([list(row) for row in self.rows if len(row) > 1])

    @property
    def is_swept(self) -> bool:
        """Whether the gauge was swept for the largest at all three heights."""
        return all(one is not None for one in self.largest)

    def lacks(self, stem: str) -> tuple[str, ...]:
        """Return the entries of both directions that were not read; stem : what stands before their table."""
        return tuple(
            f"{stem}{READINGS}.{height}_{direction}"
            for direction, column in zip(DIRECTIONS, (self.across, self.along), strict=True)
            for height, one in zip(HEIGHTS, column, strict=True)
            if one is None
        )


def bore_read(cylinder: Reader) -> BoreRead | None:
    """Return what a gauge found in a cylinder's bore; None where nothing was read."""
    kinds = (*DIRECTIONS, LARGEST)
    found = BoreRead(
        *(tuple(cylinder.find(f"{READINGS}.{height}_{kind}") for height in HEIGHTS) for kind in kinds)
    )
    return found if found.every else None


def unread(cylinder: Reader) -> tuple[str, ...]:
    """Return the readings without which nobody knows a bore's loosest place: none where it was swept, or not read at all."""
    read = bore_read(cylinder)
    return () if read is None or read.is_swept else read.lacks(cylinder.prefixes[0])


def play_in_bore(cylinder: Reader) -> Array | None:
    """Return the most that a skirt has on the diameter in its bore [mm]: entered, as read, or by the bore's one size.

    None where it is not known; what is lacking is not noted.
    """
    entered = cylinder.find("piston.skirt_clearance")
    if entered is not None:
        return entered
    read, skirt, bore = bore_read(cylinder), cylinder.find("piston.diameter"), cylinder.find("stack.bore")
    widest = bore if read is None else read.loosest
    return None if skirt is None or widest is None else widest - skirt


def _greatest(rows: list[list[Array]]) -> Array | None:
    """Return the greatest, over rows, of what the numbers of a row differ by."""
    if not rows:
        return None
    spans = [
        np.maximum.reduce(row) - np.minimum.reduce(row) for row in (np.broadcast_arrays(*row) for row in rows)
    ]
    found: Array = np.maximum.reduce(np.broadcast_arrays(*spans))
    return found
