"""Where both lifters of a cylinder rest on the heels of their lobes: where pushrods are set.

Angles are crank angles from the cylinder's top centre at the end of compression. Around it the intake
has closed and the exhaust has not opened yet:

     intake closes          compression            exhaust opens
    ───────╲                 top centre                 ╱───────
            ╲_______________________________________ __╱
                  both lifters on the heel, at the check lift

A lobe below a card's lowest stated lift is not guessed at: the heel window counts at that lift, and says so.

Source: an intake lobe's centreline stands so many degrees after overlap top centre, an exhaust lobe's
before it; advance makes both earlier; compression top centre is a turn away from overlap.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

TURN = 2 * np.pi
CYCLE = 2 * TURN


class Opening(NamedTuple):
    """The crank angles over which one lobe lifts by more than the check lift, from overlap top centre."""

    opens: float  # rad
    closes: float  # rad


class HeelWindow(NamedTuple):
    """The crank angles around compression top centre at which both lifters rest, rad."""

    begins: float  # the intake has closed
    ends: float  # the exhaust opens

    @property
    def holds_top_centre(self) -> bool:
        """Whether compression top centre itself lies inside."""
        return self.begins < 0 < self.ends


def heel_window(intake: Opening, exhaust: Opening) -> HeelWindow | None:
    """Return the window around compression top centre, or None where the two lobes leave none."""
    begins = intake.closes - TURN
    ends = exhaust.opens + TURN
    return HeelWindow(begins, ends) if ends > begins else None


def set_on_the_flank(intake: Opening, exhaust: Opening) -> tuple[float, float]:
    """Return the crank angles of the other way to set: intake as the exhaust opens, exhaust as the intake closes.

    Returns: rad from compression top centre, for setting the intake and for setting the exhaust
    """
    return exhaust.opens + TURN, intake.closes - TURN
