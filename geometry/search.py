"""The least value on a circle or over a disc, by closer and closer looks at its lowest places.

For functions that jump where a line leaves a cut or a point its surface: a look keeps the lowest place
seen so far, so that a jump is closed in on from its low side. Infinity stands for "nothing here".
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from tallstack.geometry.frames import Array, point, unit

COARSE = 96  # points of a circle looked at first
FINE = 17  # points between two neighbours at every closer look
LOOKS = 7  # closer looks: a circle's spacing shrinks 8-fold each time, to 3e-8 rad
PEAKS = 3  # places of a circle that are looked at more closely
RINGS, SPOKES = 17, 48  # places of a disc looked at first
CLOSER = 24  # of them that are looked at more closely
PATCH = 5  # places along each side of a closer look
DISC_LOOKS = 17  # each half as wide as the last: 6 mm to 0.1 µm of a valve


def least_on_circle(value: Callable[[Array], Array], shape: tuple[int, ...], refine: bool) -> Array:
    """Return the least value on a circle of turns, looked at more closely around its lowest places.

    value : turns (..., K) [rad] to (..., K);  shape : of the leading axes
    """
    spacing = 2 * np.pi / COARSE
    turns = np.broadcast_to(np.arange(COARSE) * spacing, (*shape, COARSE))
    seen = value(turns)
    best: Array = seen.min(axis=-1)
    if not refine:
        return best
    lower = (seen <= np.roll(seen, 1, axis=-1)) & (seen <= np.roll(seen, -1, axis=-1))
    order = np.argsort(np.where(lower, seen, np.inf), axis=-1, kind="stable")[..., :PEAKS]
    around = np.take_along_axis(turns, order, axis=-1)
    steps = np.linspace(-1.0, 1.0, FINE)
    for _ in range(LOOKS):
        closer = around[..., None] + spacing * steps
        found = value(closer.reshape((*shape, -1))).reshape(closer.shape)
        at = found.argmin(axis=-1)[..., None]
        around = np.take_along_axis(closer, at, axis=-1)[..., 0]
        best = np.minimum(best, found.min(axis=(-2, -1)))
        spacing *= 2.0 / (FINE - 1)
    return best


def least_on_disc(value: Callable[[Array, Array], Array], shape: tuple[int, ...], refine: bool) -> Array:
    """Return the least value over a disc of radius one.

    value : two square coordinates (..., K) to (..., K);  shape : of the leading axes
    """

    def inside(across: Array, along: Array) -> Array:
        return np.where(across * across + along * along <= 1.0, value(across, along), np.inf)

    shares, turns = np.sqrt(np.linspace(0.0, 1.0, RINGS)), np.arange(SPOKES) * (2 * np.pi / SPOKES)
    across = np.broadcast_to(np.outer(shares, np.cos(turns)).ravel(), (*shape, RINGS * SPOKES))
    along = np.broadcast_to(np.outer(shares, np.sin(turns)).ravel(), (*shape, RINGS * SPOKES))
    seen = inside(across, along)
    least: Array = seen.min(axis=-1)
    if not refine:
        return least
    order = np.argsort(seen, axis=-1, kind="stable")[..., :CLOSER]
    at = [np.take_along_axis(one, order, axis=-1) for one in (across, along)]
    step, patch = 0.25, np.linspace(-1.0, 1.0, PATCH)
    aside, ahead = (one.ravel() for one in np.meshgrid(patch, patch))
    for _ in range(DISC_LOOKS):
        near = [at[0][..., None] + step * aside, at[1][..., None] + step * ahead]
        found = inside(near[0].reshape((*shape, -1)), near[1].reshape((*shape, -1))).reshape(near[0].shape)
        best = found.argmin(axis=-1)[..., None]
        at = [np.take_along_axis(one, best, axis=-1)[..., 0] for one in near]
        least = np.minimum(least, found.min(axis=(-2, -1)))
        step *= 0.5
    return least


def circle_of(centre: Array, axis: Array, radius: Array, turn: Array) -> Array:
    """Return points of circles: turn (..., K) [rad] about the axis, (..., K, 3) [mm]."""
    first, second = square_to(axis)
    across = np.cos(turn)[..., None] * first[..., None, :] + np.sin(turn)[..., None] * second[..., None, :]
    return centre[..., None, :] + radius[..., None, None] * across


def square_to(axis: Array) -> tuple[Array, Array]:
    """Return two unit directions square to each axis and to each other."""
    aside = np.where((np.abs(axis[..., 0]) < 0.9)[..., None], point(1.0, 0.0, 0.0), point(0.0, 1.0, 0.0))
    first = unit(aside - np.vecdot(aside, axis)[..., None] * axis)
    return first, np.cross(axis, first)
