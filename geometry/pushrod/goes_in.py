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

from ..core.frames import Array, array

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
