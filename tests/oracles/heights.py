"""A measured crown by an interpolating library function and closer and closer grids seen from above.

Shares no code with ours: the height over any place comes from the library's own triangulation, and a drop or a gap
is looked for place by place. What is found is never less than the truth.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import LinearNDInterpolator  # type: ignore[import-untyped, unused-ignore]
from scipy.spatial import ConvexHull  # type: ignore[import-untyped, unused-ignore]
from tallstack.geometry.core.frames import Array
from tallstack.geometry.piston.head import Head

FIRST_MM = 0.5  # between the places looked at first
PLACES = 12  # looked at more closely
CLOSER = np.linspace(-1.0, 1.0, 21)
LOOKS = 5
BESIDE_MM = 12.0  # beyond the head, where the nearest metal is looked for


class Ground:
    """The surface through scattered points, at 0 beyond them, with the upright wall between."""

    def __init__(self, points: Array) -> None:
        self.inner = LinearNDInterpolator(points[:, :2], points[:, 2], fill_value=0.0)
        rim = points[ConvexHull(points[:, :2]).vertices]
        share, high = np.linspace(0, 1, 401)[:, None, None], np.linspace(0, 1, 21)[None, :, None]
        walls = []
        for begin, end in zip(rim, np.roll(rim, -1, axis=0), strict=True):
            top = begin + share * (end - begin)
            walls.append((top * np.array([1.0, 1.0, 0.0]) * (1 - high) + top * high).reshape(-1, 3))
        self.wall = np.concatenate(walls)

    def at(self, flat: Array) -> Array:
        """Return the points of the surface at places seen from above, (N, 2) to (N, 3)."""
        return np.column_stack([flat, self.inner(flat)])

    def drop(self, head: Head) -> float:
        """Return how far a head can travel along its stem."""

        def way(seen: Array) -> Array:
            offset = head.centre - seen
            along = np.vecdot(offset, head.stem)
            aside = offset - along[:, None] * head.stem
            return np.where(np.linalg.norm(aside, axis=-1) <= head.radius, along, np.inf)

        return min(self._least(head, way, 0.0), float(way(self.wall).min()))

    def gap(self, head: Head) -> float:
        """Return how near the surface comes to a face that is clear of it."""

        def away(seen: Array) -> Array:
            offset = seen - head.centre
            along = np.vecdot(offset, head.stem)
            aside = np.linalg.norm(offset - along[:, None] * head.stem, axis=-1)
            return np.hypot(along, np.maximum(aside - head.radius, 0.0))

        return min(self._least(head, away, BESIDE_MM), float(away(self.wall).min()))

    def _least(self, head: Head, value: object, beside: float) -> float:
        reach = float(head.radius) + beside + 12.0
        steps = np.arange(-reach, reach + FIRST_MM, FIRST_MM)
        flat = head.centre[:2] + np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
        seen = value(self.at(flat))  # type: ignore[operator]
        best, places, step = float(seen.min()), flat[np.argsort(seen)[:PLACES]], FIRST_MM
        around = np.stack(np.meshgrid(CLOSER, CLOSER), axis=-1).reshape(-1, 2)
        for _ in range(LOOKS):
            flat = (places[:, None] + step * around).reshape(-1, 2)
            seen = value(self.at(flat))  # type: ignore[operator]
            best, step = min(best, float(seen.min())), step * 0.15
            rows = seen.reshape(len(places), -1)
            places = flat.reshape(len(places), -1, 2)[np.arange(len(places)), rows.argmin(axis=-1)]
        return best
