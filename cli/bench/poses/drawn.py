"""The pose that a screen is held in, by its name: a drawing with every value at its place, and what it shows in a sentence.

    pose("rod", spots, {"as": "overall", "plunger": "top"}) -> its markup, its caption

Its shapes are always the same and are built once; letters and values come from the page.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from .bore import bore
from .crank import crank
from .drop import drop
from .gears import gears
from .lobe import lobe
from .options import picture_of
from .rod import rod
from .spots import Pose, Spot, Spots
from .stack import stack
from .touch import touch

__all__ = ["POSES", "Pose", "Spot", "Spots", "picture_of", "pose"]

POSES: Mapping[str, Callable[[Spots, Mapping[str, Any]], Pose]] = {
    "stack": stack,
    "gears": gears,
    "rod": rod,
    "drop": drop,
    "touch": touch,
    "lobe": lobe,
    "crank": crank,
    "bore": bore,
}
NOTHING: Mapping[str, Any] = MappingProxyType({})


def pose(name: str, spots: Spots, facts: Mapping[str, Any] = NOTHING) -> Pose | None:
    """Return a pose; None where no drawing has that name.

    spots : its values, by entry within the screen's own owner; those it has no place for stay out of it
    facts : what else it shows, see each pose
    """
    draw = POSES.get(name)
    return None if draw is None else draw(spots, facts)
