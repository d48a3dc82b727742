"""Whether a pushrod can be put in, past the lip of the cup that it enters last.

The lifter is on the heel of its lobe and bled down, its plunger pressed to the bottom; the valve may be pushed open
with a lever, the adjuster backed out, the pushrod screwed short:

    room = zero-lash length + plunger's travel + valve opened / ratio + adjuster backed out
    need = shortest length of the pushrod + depth of that cup + a little for fingers

all lengths in one convention. Tipping the rocker so that its cup rises opens the valve; tipped off the stem the cup
goes down. So a valve pushed open is all the room that tipping gives. The ball has to rise by the cup's whole depth:
less a²/(2·L) for a lip of radius a, 0.03 mm, which is left out.

Source: the closure of the valve gear at rest; a ball over a lip.
"""

from __future__ import annotations

import numpy as np

from ..core.frames import Array, array
from ..engine.engine import Train

FINGERS_MM = 0.3  # 0.012 in


def spare(
    zero_lash: Array,
    shortest: Array,
    cup: Array,
    travel: Array,
    opened: Array,
    backed_out: Array,
    allowance: float = FINGERS_MM,
) -> Array:
    """Return by how much a pushrod goes in with room to spare, (...) [mm]; negative: it does not.

    zero_lash : length that just touches, the plunger at its top stop
    shortest  : of the pushrod, in the same convention
    cup       : depth of the one that is passed last
    travel    : of the plunger; nought of a solid lifter
    opened    : by how much the rocker's cup rises with the valve pushed open
    """
    found: Array = array(zero_lash) + travel + opened + backed_out - shortest - cup - allowance
    return found


def longer_as_wanted(train: Train) -> Array | None:
    """Return what a pushrod that gives what is wanted is longer than one that just touches [mm]; None: not known."""
    return longer_by(train, train.lifter.down, train.lifter.lash)


def longer_by(train: Train, preload: Array | None, lash: Array | None) -> Array | None:
    """Return what a pushrod that gives a preload, or a lash where the feeler goes, is longer than that [mm]."""
    if preload is not None or lash is None:
        return preload
    if train.lifter.lash_at == "pushrod":
        return -lash
    return None if train.ratio is None else -lash / train.ratio


def spare_of(train: Train, longer: Array) -> Array | None:
    """Return by how much a pushrod goes in with the rocker on its shaft, (...) [mm]; None: not known.

    One cup's depth alone can prove that it does not.

    longer : (...) [mm]  what the pushrod, screwed as short as it goes, is longer than one that just touches
    """
    how, travel = train.assembly, travel_of(train)
    if how is None or how.cup is None or travel is None or (how.opened is not None and how.ratio is None):
        return None
    opened = array(0.0) if how.opened is None or how.ratio is None else how.opened / how.ratio
    found = spare(array(0.0), longer, how.cup, travel, opened, how.backed_out)
    return None if how.lacks and not np.all(found < 0) else found


def travel_of(train: Train) -> Array | None:
    """Return how far a lifter gives way, bled down [mm]; nought of a solid one, None where it is not known."""
    return array(0.0) if train.lifter.kind == "solid" else train.lifter.plunger_travel


def lacks_of(train: Train) -> tuple[str, ...]:
    """Return the entries without which nobody knows whether a pushrod goes in."""
    if train.assembly is None:
        return (f"{train.name}.pushrod.cup_depth_low", f"{train.name}.pushrod.cup_depth_high")
    travel = () if travel_of(train) is not None else (f"{train.name}.lifter.plunger_travel",)
    return (*train.assembly.lacks, *travel)


def to_open(train: Train, spare: Array) -> Array | None:
    """Return how much further the valve has to be pushed open for a pushrod that does not go in, (...) [mm]."""
    ratio = None if train.assembly is None else train.assembly.ratio
    return None if ratio is None else np.maximum(-spare, 0.0) * ratio
