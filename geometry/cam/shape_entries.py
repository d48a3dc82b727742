"""What the numbers are called of which the shape of a card's lobe is drawn.

They count in standard uncertainties from the most probable lobe of the card. They are quantities that are in doubt, as
entries are, and stand in no file.

A check of a card's lobe moves these twenty numbers before it blames an entry. The lobe's doubt is not narrowed by
that; among the card's numbers the same reading does.
"""

from __future__ import annotations

from ..doubt.budget import Doubt

DRAWN_BY = 20  # numbers of one lobe: mean and half difference of the terms of two flanks
UNIT = Doubt(1.0, 1.0)


def shape_entries(lobe: str) -> tuple[str, ...]:
    """Return what the numbers of a lobe's shape are called."""
    return tuple(f"lobe.{lobe}.shape.{index}" for index in range(DRAWN_BY))


def is_shape_entry(name: str) -> bool:
    """Say whether a quantity is one of those numbers."""
    parts = name.split(".")  # lobe, whose, shape, which; a lobe of a file may itself be called "shape"
    return len(parts) == 4 and (parts[0], parts[2]) == ("lobe", "shape")
