"""How high the piston stands at a crank angle.

Slider-crank with throw r (half the stroke), connecting rod l and wrist-pin offset e, positive
towards +x of the cylinder frame. Heights are millimetres above the crank centre.

Source: plane geometry of a crank and a sliding pin line at distance e; with e = 0 the textbook
slider-crank.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from tallstack.geometry.frames import Array


class Crank(NamedTuple):
    """The moving parts under the crown, in mm."""

    throw: Array  # r, half the stroke
    conrod_length: Array  # l, centre to centre
    compression_height: Array  # pin axis to crown plane
    pin_offset: Array  # e, positive towards +x

    @property
    def top(self) -> Array:
        """Height of the crown plane at the piston's own highest point.

        Source: crank and connecting rod in one line, √((l + r)² - e²), plus compression height.
        """
        reach = self.conrod_length + self.throw
        return np.sqrt((reach - self.pin_offset) * (reach + self.pin_offset)) + self.compression_height
