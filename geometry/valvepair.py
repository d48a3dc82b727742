"""The smallest distance between two valve heads, each a short cylinder from its face up its margin.

Both bodies are convex, so the nearest points lie on the rim or the side of one of them, or on the face of
one opposite the rim of the other. The distance from a point to a short cylinder has a closed form; what is
searched is the place on the other body's side.

Source: the distance from a point to a finite cylinder, by its overhang along the axis and across it.
"""

from __future__ import annotations

from functools import partial

import numpy as np
from tallstack.geometry.frames import Array
from tallstack.geometry.search import FINE, LOOKS, circle_of, least_on_circle
from tallstack.geometry.valvehead import Head

LEVELS = 5  # heights of a margin looked at first


def between(first: Head, second: Head, refine: bool = True, sides: bool = True) -> Array:
    """Return the smallest distance between two heads, (...) [mm]; 0 where they meet.

    refine : False looks at the rims alone, for a first search
    sides  : False leaves out the sides between the rims, which are nearest only where two margins cross
    """
    shape = np.broadcast_shapes(first.radius.shape, second.radius.shape)
    ways = []
    for one, other in ((first, second), (second, first)):
        for up in (0.0, 1.0):
            ways.append(least_on_circle(partial(_from_rim, one, other, up), shape, refine))
        if refine and sides:
            ways.append(_from_side(one, other, shape))
    least: Array = np.minimum.reduce([np.broadcast_to(way, shape) for way in ways])
    return least


def _from_rim(one: Head, other: Head, up: float, turn: Array) -> Array:
    return _to(other, _rim(one, turn, up))


def _from_side(one: Head, other: Head, shape: tuple[int, ...]) -> Array:
    """Return the smallest distance from the side of one head to the other, by closer and closer looks."""
    turns = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    ups = np.linspace(0.0, 1.0, LEVELS)
    turn, up = (np.broadcast_to(part.ravel(), (*shape, part.size)) for part in np.meshgrid(turns, ups))
    seen = _to(other, _rim(one, turn, up))
    best: Array = seen.min(axis=-1)
    at = seen.argmin(axis=-1)[..., None]
    middle = np.take_along_axis(turn, at, axis=-1), np.take_along_axis(up, at, axis=-1)
    spread, height = 2 * np.pi / 48, 1.0 / (LEVELS - 1)
    aside, ahead = (part.ravel() for part in np.meshgrid(np.linspace(-1, 1, FINE), np.linspace(-1, 1, FINE)))
    for _ in range(LOOKS + 2):
        turn = middle[0] + spread * aside
        up = np.clip(middle[1] + height * ahead, 0.0, 1.0)
        seen = _to(other, _rim(one, turn, up))
        at = seen.argmin(axis=-1)[..., None]
        middle = np.take_along_axis(turn, at, axis=-1), np.take_along_axis(up, at, axis=-1)
        best = np.minimum(best, seen.min(axis=-1))
        spread, height = spread * 0.25, height * 0.25
    return best


def _rim(head: Head, turn: Array, up: Array | float) -> Array:
    """Return points of the side at shares of the margin, (..., K, 3)."""
    risen = (head.margin[..., None] * up)[..., None] * head.stem[..., None, :]
    return circle_of(head.centre, head.stem, head.radius, turn) + risen


def _to(head: Head, seen: Array) -> Array:
    """Return the distance from points to a head, 0 inside it."""
    offset = seen - head.centre[..., None, :]
    high = np.vecdot(offset, head.stem[..., None, :])
    aside = offset - high[..., None] * head.stem[..., None, :]
    out = np.sqrt(np.vecdot(aside, aside)) - head.radius[..., None]
    over = np.maximum(np.maximum(-high, high - head.margin[..., None]), 0.0)
    distance: Array = np.hypot(over, np.maximum(out, 0.0))
    return distance
