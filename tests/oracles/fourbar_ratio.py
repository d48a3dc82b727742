"""A planar rocker with its pushrod, its valve's lift by root finding; shares no code with the library."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

VALVE_ARM, PUSHROD_ARM, ROD = 36.0, 22.0, 250.0


def driven(lobe: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the valve's lift for lifts of the lifter [mm].

    The shaft is the origin; the valve arm droops by 8 degrees, the pushrod arm by 15, the pushrod stands upright.
    """
    start, droop = np.radians(-15.0), np.radians(-8.0)
    cup = PUSHROD_ARM * np.array([-np.cos(start), np.sin(start)])
    foot = cup - [0.0, ROD]
    found = []
    for lift in lobe:
        low, high = 0.0, np.radians(60.0)
        for _ in range(60):
            turn = (low + high) / 2
            at = PUSHROD_ARM * np.array([-np.cos(start + turn), np.sin(start + turn)])
            short = np.hypot(*(at - foot - [0.0, lift])) < ROD
            low, high = (turn, high) if short else (low, turn)
        turn = (low + high) / 2
        found.append(VALVE_ARM * (np.sin(-droop + turn) - np.sin(-droop)))
    return np.array(found)
