"""A pushrod's length in each of the conventions in which people measure and order it.

`centres` runs from ball centre to ball centre and is what the geometry uses. Each end adds to it:

                     ball end                             cup end
    theoretical      r                                    -r  (the bottom of the cup)
    overall          √(r² - (hole/2)²), the cap that      cup_rim, the lip above the ball
                     the oil hole removes is missing      centre, where calipers rest
    gauge            √(r² - (gauge/2)²), over seats       does not apply
                     with a sharp edge

Source: a sphere cut by a plane at the radius of the hole or of the gauge's edge.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .frames import Array, array

CONVENTIONS = ("centres", "theoretical", "overall", "gauge")


class End(NamedTuple):
    """One end of a pushrod; mm, None where it was not measured."""

    kind: str  # "ball" or "cup"
    ball_diameter: Array | None
    hole: Array | None  # the oil hole's diameter, 0 for none
    rim: Array | None  # a cup's lip above its ball centre

    def beyond(self, convention: str, gauge: Array | None) -> Array | None:
        """Return how far this end reaches beyond its ball centre, mm; None where not known."""
        if convention == "centres":
            return array(0.0)
        if self.kind == "cup":
            if convention == "overall":
                return self.rim
            if convention == "gauge" or self.ball_diameter is None:
                return None
            return -self.ball_diameter / 2
        across = {"theoretical": array(0.0), "overall": self.hole, "gauge": gauge}[convention]
        if self.ball_diameter is None or across is None:
            return None
        with np.errstate(invalid="ignore"):
            return np.sqrt((self.ball_diameter - across) * (self.ball_diameter + across)) / 2


class Ends(NamedTuple):
    """Both ends of a pushrod and the gauge it is measured with."""

    low: End  # in the lifter
    high: End  # in the rocker
    gauge: Array | None  # mm, diameter of the sharp-edged gauge seats

    def beyond(self, convention: str) -> Array | None:
        """Return what a convention adds to the length between ball centres, mm; None: not known."""
        low = self.low.beyond(convention, self.gauge)
        high = self.high.beyond(convention, self.gauge)
        return None if low is None or high is None else low + high

    def lacks(self, convention: str) -> tuple[str, ...]:
        """Return the entries of [train.pushrod] that a convention still needs; none: it is known."""
        if convention == "centres":
            return ()
        lacking: list[str] = []
        for side, end in (("low", self.low), ("high", self.high)):
            if end.kind == "cup" and convention == "overall":
                lacking += ["cup_rim"] if end.rim is None else []
                continue
            lacking += [f"ball_diameter_{side}"] if end.ball_diameter is None else []
            if end.kind == "ball" and convention == "overall" and end.hole is None:
                lacking.append(f"hole_{side}")
        if convention == "gauge" and self.gauge is None:
            lacking.append("gauge")
        return tuple(dict.fromkeys(lacking))
