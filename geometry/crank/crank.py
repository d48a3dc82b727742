"""How high the piston stands at a crank angle.

Slider-crank with throw r (half the stroke), connecting rod l and wrist-pin offset e, positive
towards +x of the cylinder frame. Heights are millimetres above the crank centre, crank angles count
from the piston's own highest point, which with an offset is not where the throw stands upright.

               │ e │
               ●───┼─ wrist pin           "forward": just after the highest point the crank pin
                ╲  │ l                     moves towards +x; "backward" is the same with e reversed
                 ╲ │
               r ╱●│
                o──┘   crank centre

Source: plane geometry of a crank and a sliding pin line at distance e; with e = 0 the textbook
slider-crank.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.mapping import Flat, Reader

RAISED = "piston.raised"  # mm, no entry of a job: how far the crown stands above where it does at rest


def turns_forward(mapping: Flat) -> bool:
    """Say whether an engine's crank turns forward, as it is taken to where nobody says."""
    return Reader(mapping, ("",)).word("crank.turns", "forward") == "forward"


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

    @property
    def travel(self) -> Array:
        """From the highest to the lowest point: √((l + r)² - e²) - √((l - r)² - e²)."""
        short = self.conrod_length - self.throw
        lowest = np.sqrt((short - self.pin_offset) * (short + self.pin_offset))
        return self.top - self.compression_height - lowest

    def from_upright(self, forward: bool) -> Array:
        """Return by how much the throw is past upright where the piston is highest, as it turns [rad]."""
        return np.arcsin(self.aside(forward) / (self.conrod_length + self.throw))

    def aside(self, forward: bool) -> Array:
        """Return the wrist-pin offset, positive towards the side to which the throw turns first [mm]."""
        return self.pin_offset if forward else -self.pin_offset

    def height(self, angle: Array, forward: bool = True) -> Array:
        """Return the height of the crown plane at a crank angle [mm].

        angle : (...) [rad]  from the piston's highest point, in the direction of turning
        """
        aside, turned = self.aside(forward), angle + self.from_upright(forward)
        across = aside - self.throw * np.sin(turned)
        rise = np.sqrt((self.conrod_length - across) * (self.conrod_length + across))
        return self.throw * np.cos(turned) + rise + self.compression_height

    def pins(self, angle: Array, forward: bool) -> tuple[Array, Array]:
        """Return where crank pin and wrist pin stand, x and z in the cylinder's frame, (..., 2) each [mm].

        angle : (...) [rad]  as for `height`
        """
        way, turned = 1.0 if forward else -1.0, angle + self.from_upright(forward)
        pin = np.stack([way * self.throw * np.sin(turned), self.throw * np.cos(turned)], axis=-1)
        high = self.height(angle, forward) - self.compression_height
        return pin, np.stack([np.broadcast_to(self.pin_offset, np.shape(high)), high], axis=-1)

    def descent(self, angle: Array, forward: bool = True) -> Array:
        """Return how far the piston stands below its highest point [mm]; arguments as for `height`."""
        return self.top - self.height(angle, forward)


def crank_of(cylinder: Reader) -> Crank:
    """Return the moving parts under a cylinder's crown; what is absent is noted and NaN."""
    offset, raised = cylinder.find("piston.pin_offset"), cylinder.find(RAISED)
    height = cylinder.number("piston.compression_height")
    return Crank(
        throw=cylinder.number("crank.stroke") / 2,
        conrod_length=cylinder.number("crank.conrod_length"),
        compression_height=height if raised is None else height + raised,
        pin_offset=array(0.0) if offset is None else offset,
    )
