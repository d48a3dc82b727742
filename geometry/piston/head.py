"""A valve's head: a disc of given radius, square to the stem, with a margin above it; mm, in the piston's frame."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.search import Flags, Index, Shape, circle_of, picked


class Head(NamedTuple):
    """A valve's head in the piston's frame; mm."""

    centre: Array  # (..., 3) of the face
    stem: Array  # (..., 3) unit, out of the chamber
    radius: Array
    margin: Array

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes."""
        return np.broadcast_shapes(
            self.centre.shape[:-1], self.stem.shape[:-1], np.shape(self.radius), np.shape(self.margin)
        )

    def spread(self) -> Head:
        """Return the head with one more leading axis, the last, for points of its rim or face."""
        return Head(
            self.centre[..., None, :],
            self.stem[..., None, :],
            array(self.radius)[..., None],
            array(self.margin)[..., None],
        )

    def pick(self, shape: Shape, index: Index | Flags) -> Head:
        """Return some heads of a batch; see `search.picked`."""
        return Head(
            picked(self.centre, shape, index, 1),
            picked(self.stem, shape, index, 1),
            picked(array(self.radius), shape, index),
            picked(array(self.margin), shape, index),
        )


def rim(head: Head, turn: Array, up: float = 0.0) -> Array:
    """Return points of the rim: turn (...) [rad] about the stem, (..., 3) [mm]; leading axes broadcast.

    up : 0 at the face, 1 at the top of the margin
    """
    centre = head.centre + (up * head.margin)[..., None] * head.stem if up else head.centre
    return circle_of(centre, head.stem, head.radius, turn)
