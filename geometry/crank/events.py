"""When a lobe opens and closes, as a timing card says it.

Angles are crank angles from overlap top centre. A card counts an intake's opening before that top centre
and its closing after bottom centre, an exhaust's opening before bottom centre and its closing after top:

    intake     opens before top centre           closes after bottom centre
    ────┄┄┄┄┄┄┄╱──────────┼───────────────────┼────────────╲┄┄┄┄
                     top centre         bottom centre
"""

from __future__ import annotations

import numpy as np

from .heels import Opening


def event_opening(port: str, opens: float, closes: float, advance: float) -> Opening:
    """Return the opening of a timing card's events, from overlap top centre, crank rad.

    opens, closes : rad; intake: before top and after bottom centre; exhaust: before bottom and after top
    """
    half_turn = np.pi
    if port == "intake":
        return Opening(-opens - advance, half_turn + closes - advance)
    return Opening(-half_turn - opens - advance, closes - advance)
