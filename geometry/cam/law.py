"""A lobe by one of the textbook motion laws, its rise and its mirrored fall in closed form.

    share of the lift              x: share of the rise, 0 where the heel ends, 1 at the nose
    1           ╭──╮
               ╱    ╲              a lobe rises over half its length and falls over the other half,
    0 ────────╯      ╰──────       without a dwell at the nose

Sources: the laws of a rise between two dwells (Norton, Cam Design and Manufacturing Handbook, tables of
the double-dwell programs, from memory); each derivative is that of the closed form above it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..crank.heels import TURN
from .lobe import Lobe, about

LAWS = ("cycloidal", "3-4-5", "4-5-6-7", "modified-sine")


class Law(NamedTuple):
    """A lobe's lift by a motion law, its nose at cam angle 0."""

    name: str
    height: float  # mm, the greatest lift
    half: float  # cam rad from heel to nose

    def at(self, angle: Array, order: int) -> Array:
        """Return lift, or its first or second derivative, see `lobe.Curve`."""
        from_nose = about(array(angle))
        share = 1 - np.abs(from_nose) / self.half
        lifted: Array = self.height * rise(self.name, np.maximum(share, 0.0), order)
        if order == 1:
            lifted = lifted * -np.sign(from_nose)
        return np.where(share > 0, lifted if order == 0 else lifted / self.half**order, 0.0)


def law_lobe(name: str, peak: float, duration: float) -> Lobe:
    """Return the lobe of a law, its nose at cam angle 0.

    peak : mm;  duration : CRANK rad, seat to seat, half of it the rise
    """
    return Lobe(Law(name, peak, duration / 4))


def rise(law: str, share: Array, order: int = 0) -> Array:
    """Return the share of the lift after a share of the rise, or its first or second derivative.

    law : one of LAWS;  share : (...), 0 to 1;  order : 0, 1 or 2

    Raises:
        ValueError: where no law is called so.
    """
    x = share
    if law == "cycloidal":
        turn = TURN * x
        return (lambda: x - np.sin(turn) / TURN, lambda: 1 - np.cos(turn), lambda: TURN * np.sin(turn))[
            order
        ]()
    if law == "3-4-5":
        return (
            lambda: x * x * x * (10 - x * (15 - 6 * x)),
            lambda: 30 * x**2 * (1 - x) ** 2,
            lambda: 60 * x * (1 - x) * (1 - 2 * x),
        )[order]()
    if law == "4-5-6-7":
        return (
            lambda: (x * x) ** 2 * (35 - x * (84 - x * (70 - 20 * x))),
            lambda: 140 * (x * (1 - x)) ** 2 * (x * (1 - x)),
            lambda: 420 * x**2 * (1 - x) ** 2 * (1 - 2 * x),
        )[order]()
    if law == "modified-sine":
        return _modified_sine(x, order)
    message = f"no motion law is called {law}"
    raise ValueError(message)


def _modified_sine(x: Array, order: int) -> Array:
    """Return a quarter of a fast sine, half of one three times as slow, and another fast quarter."""
    fast, slow = 4 * np.pi * x, (4 * np.pi * x + np.pi) / 3
    if order == 0:
        outer, inner = np.pi * x - np.sin(fast) / 4, 2 + np.pi * x - 9 * np.sin(slow) / 4
        return np.where(x < 0.125, outer, np.where(x < 0.875, inner, 4 + outer)) / (4 + np.pi)
    if order == 1:
        outer, inner = np.pi * (1 - np.cos(fast)), np.pi * (1 - 3 * np.cos(slow))
    else:
        outer, inner = 4 * np.pi**2 * np.sin(fast), 4 * np.pi**2 * np.sin(slow)
    return np.where((x < 0.125) | (x >= 0.875), outer, inner) / (4 + np.pi)
