"""Worn bores drawn at random and bored anew: what size cleans each of them up, by their outlines alone.

A bore is worn at three heights; at each of them its outline is a circle of the new size with wear towards one or two
sides. A bar parallel to the bore stands where it is centred, and takes all that its circle covers: it cleans up where no
place of an outline lies further out than the circle, less the cut.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

AROUND = np.linspace(0.0, 2 * np.pi, 720, endpoint=False)
Array = NDArray[np.float64]


class Worn(NamedTuple):
    """Random bores; mm."""

    outlines: Array  # (bores, heights, around), radius less the new one
    radius: float

    @property
    def swept(self) -> Array:
        """The greatest diameter that a gauge finds at each height, less the new one, (bores, heights)."""
        half = len(AROUND) // 2
        across: Array = self.outlines + np.roll(self.outlines, half, axis=-1)
        return across.max(axis=-1)

    def centre(self, height: int) -> Array:
        """Where a bar stands that is centred on the worn bore at a height, by two pairs of jaws, (bores, 2)."""
        reach = self.radius + self.outlines[:, height]
        x, y = reach * np.cos(AROUND), reach * np.sin(AROUND)
        return np.stack([(one.max(axis=-1) + one.min(axis=-1)) / 2 for one in (x, y)], axis=-1)

    def needs(self, centre: Array) -> Array:
        """Return the diameter over the new size that cleans up everywhere with the bar at centres (bores, 2)."""
        reach = self.radius + self.outlines
        x = reach * np.cos(AROUND) - centre[:, None, None, 0]
        y = reach * np.sin(AROUND) - centre[:, None, None, 1]
        return 2 * (np.hypot(x, y).max(axis=(1, 2)) - self.radius)


def drawn(count: int, seed: int, one_side: bool = False, radius: float = 49.5) -> Worn:
    """Return random worn bores; one_side : all the wear towards one side at every height."""
    rng = np.random.default_rng(seed)
    heights = np.array([1.0, 0.6, 0.25])[None, :, None] * np.ones((count, 1, 1))
    deep = rng.uniform(0.02, 0.3, (count, 1, 1)) * heights * rng.uniform(0.3, 1.0, (count, 3, 1))
    if one_side:
        towards = np.broadcast_to(rng.uniform(0, 2 * np.pi, (count, 1, 1)), (count, 3, 1))
        other = np.zeros((count, 3, 1))
    else:
        towards = rng.uniform(0, 2 * np.pi, (count, 3, 1))
        deep = deep * rng.uniform(0.3, 1.0, (count, 3, 1)) ** rng.integers(0, 2, (count, 1, 1))
        other = rng.uniform(0.0, 1.0, (count, 3, 1)) * rng.integers(0, 2, (count, 1, 1))
    sharp = rng.uniform(0.6, 3.0, (count, 1, 1))
    facing = np.maximum(np.cos(AROUND - towards), 0.0) ** sharp
    facing += other * np.maximum(-np.cos(AROUND - towards), 0.0) ** sharp
    return Worn(deep * facing, radius)
