"""A valve's head over a measured crown: drop and straight gap, exact and without a search over the surface.

The surface is flat between its edges, so what the face meets first along its stem is the highest along it of
the vertices under the face, the places where an edge crosses under the rim, and the rim's place that is
nearest to a triangle's plane, where it lies in that triangle. What is nearest straight is a vertex, a place of
an edge, or the rim's nearest place to a plane, where its foot lies in the triangle. A triangle that folds under
another, as seen along a leaning stem, adds places that are lower, so that it does no harm.

The distance from a place of an edge to the face is convex along the edge: its tangents at two places cross
above no value between them, and what they leave open shrinks to nothing. Frame as in `head`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, hypot, norm
from ..core.search import Flags, Index
from .head import Head
from .table import Faces, Heights, along_to, any_of, axes_along, holds, seen_from, sheets

PARALLEL = 1e-9  # sine of a face's lean to the head's below which the two are parallel
ENOUGH = 1e-10  # mm, less than which is not worth another look
LOOKS = 60


class _Over(NamedTuple):
    """Heads over those triangles of a surface that may count; B heads, K triangles, L edges, M vertices."""

    centre: Array  # (B, 3)
    stem: Array  # (B or 1, 3)
    radius: Array  # (B, 1)
    faces: Faces  # K
    seen: Array  # (B, M, 3) vertices from each head's centre, the third axis up its stem
    ends: Index  # (L, 2) of the edges, which of those


def drop_on(ground: Heights, head: Head) -> Array:
    """Return how much further a head can travel along its stem, (...) [mm]; see `drop.drop`."""
    centre, stem, radius = _flat(head)
    found = np.empty(len(centre))
    for some in sheets(len(centre), len(ground.triangles)):
        here = centre[some], stem[some] if len(stem) > 1 else stem, radius[some]
        ball = seen_from(axes_along(here[1]), here[0], ground.middles)
        near = hypot(ball[..., 0], ball[..., 1]) <= here[2] + ground.reaches
        over = _over(ground, any_of(near), *here)
        found[some] = -np.maximum.reduce([_vertex_under(over), _edge_under(over), _face_under(over)])
    return found.reshape(head.shape)


def gap_on(ground: Heights, head: Head) -> Array:
    """Return the shortest straight way from the face to the surface, (...) [mm]; see `gap.gap`."""
    further = drop_on(ground, head)
    found, clear = (further * head.stem[..., 2]).reshape(-1), (further > 0).reshape(-1)
    centre, stem, radius = _flat(head)
    clear_at = np.flatnonzero(clear)
    for some in sheets(len(clear_at), len(ground.triangles)):
        at = clear_at[some]
        here = centre[at], stem[at] if len(stem) > 1 else stem, radius[at]
        axes = axes_along(here[1])
        most = np.minimum(
            further.reshape(-1)[at], _to_face(seen_from(axes, here[0], ground.vertices), here[2]).min(axis=-1)
        )
        near = _to_face(seen_from(axes, here[0], ground.middles), here[2]) - ground.reaches <= most[:, None]
        over = _over(ground, any_of(near), *here)
        found[at] = _edge_to_face(over, np.minimum(most, _rim_to_face(over)))
    return found.reshape(head.shape)


def _flat(head: Head) -> tuple[Array, Array, Array]:
    """Return centre (B, 3), stem (B or 1, 3) and radius (B, 1) of heads in one row."""
    shape = head.shape
    one_stem = all(size == 1 for size in head.stem.shape[:-1])
    stem = head.stem if one_stem else np.broadcast_to(head.stem, (*shape, 3))
    centre = np.broadcast_to(head.centre, (*shape, 3))
    return centre.reshape(-1, 3), stem.reshape(-1, 3), np.broadcast_to(head.radius, shape).reshape(-1, 1)


def _over(ground: Heights, near: Flags, centre: Array, stem: Array, radius: Array) -> _Over:
    edges = ground.edges[np.unique(ground.sides[near])]
    used, ends = np.unique(edges, return_inverse=True)
    seen = seen_from(axes_along(stem), centre, ground.vertices[used])
    return _Over(centre, stem, radius, ground.faces_of(near), seen, ends.reshape(-1, 2))


def _vertex_under(over: _Over) -> Array:
    """Return how high above each face, along its stem, the highest vertex under it is; -inf without one."""
    seen = over.seen
    under = seen[..., 0] ** 2 + seen[..., 1] ** 2 <= over.radius**2
    highest: Array = np.where(under, seen[..., 2], -np.inf).max(axis=-1, initial=-np.inf)
    return highest


def _edge_under(over: _Over) -> Array:
    """Return how high above each face the highest place is at which an edge crosses under its rim."""
    begin, way = over.seen[:, over.ends[:, 0]], over.seen[:, over.ends[:, 1]] - over.seen[:, over.ends[:, 0]]
    square = way[..., 0] ** 2 + way[..., 1] ** 2
    middle = begin[..., 0] * way[..., 0] + begin[..., 1] * way[..., 1]
    out = begin[..., 0] ** 2 + begin[..., 1] ** 2 - over.radius**2
    with np.errstate(invalid="ignore", divide="ignore"):
        root = np.sqrt(middle**2 - square * out)
        highest = np.full(len(begin), -np.inf)
        for share in ((-middle - root) / square, (-middle + root) / square):
            there = (share >= 0) & (share <= 1)
            high = np.where(there, begin[..., 2] + share * way[..., 2], -np.inf)
            highest = np.maximum(highest, high.max(axis=-1, initial=-np.inf))
    return highest


def _face_under(over: _Over) -> Array:
    """Return how high above each face the highest place under its rim is that lies within a triangle.

    Source: of a plane that leans by θ to the face the highest place under the rim is radius·tan θ above that
    under the centre, uphill.
    """
    faces, cosine = over.faces, np.abs(over.stem @ over.faces.normal.T)
    sine = _sine(over)
    with np.errstate(invalid="ignore", divide="ignore"):
        high = along_to(faces, over.centre, over.stem) + over.radius * sine / cosine
        uphill = np.where(sine > PARALLEL, over.radius * cosine / sine, 0.0)
    there = holds(faces, over.centre, over.stem, high + uphill)
    highest: Array = np.where(there, high, -np.inf).max(axis=-1, initial=-np.inf)
    return highest


def _rim_to_face(over: _Over) -> Array:
    """Return the shortest way from rims to triangles, square to those, whose feet lie within them."""
    faces, sine = over.faces, _sine(over)
    above = over.centre @ faces.normal.T - faces.level
    with np.errstate(invalid="ignore", divide="ignore"):
        towards = np.sign(above) * (over.stem @ faces.normal.T)
        moved = np.where(sine > PARALLEL, over.radius * towards / sine, 0.0)
    there = holds(faces, over.centre, over.stem, moved)
    away = np.abs(np.abs(above) - over.radius * sine)
    least: Array = np.where(there, away, np.inf).min(axis=-1, initial=np.inf)
    return least


def _sine(over: _Over) -> Array:
    """Return the sine of each triangle's lean to the head's face, (B or 1, K)."""
    normal, stem = over.faces.normal, over.stem[:, None, :]
    return norm(normal - np.vecdot(normal, stem)[..., None] * stem)


def _edge_to_face(over: _Over, most: Array) -> Array:
    """Return the shortest way from edges to each face, where that is less than what is known, (B,)."""
    best = most.copy()
    ends = over.seen[:, over.ends]
    way = ends[:, :, 1] - ends[:, :, 0]
    values = [_slope(ends[:, :, at], way, over.radius) for at in (0, 1)]
    low, high = (value for value, _ in values)
    falls, climbs = (slope for _, slope in values)
    row, at = np.nonzero(
        (falls < 0) & (climbs > 0) & (_bound(0.0, low, falls, 1.0, high, climbs)[1] < best[:, None] - ENOUGH)
    )
    begin, way, radius = ends[row, at, 0], way[row, at], over.radius[row, 0]
    left, right = np.zeros(len(row)), np.ones(len(row))
    low, falls, high, climbs = low[row, at], falls[row, at], high[row, at], climbs[row, at]
    for _ in range(LOOKS):
        if not row.size:
            break
        place, _ = _bound(left, low, falls, right, high, climbs)
        value, slope = _slope(begin + place[:, None] * way, way, radius)
        np.minimum.at(best, row, value)
        on = slope < 0
        left, low, falls = np.where(on, place, left), np.where(on, value, low), np.where(on, slope, falls)
        right, high, climbs = (
            np.where(on, right, place),
            np.where(on, high, value),
            np.where(on, climbs, slope),
        )
        bound = _bound(left, low, falls, right, high, climbs)[1]
        keep = (slope != 0) & (bound < best[row] - ENOUGH)
        row, begin, way, radius, left, right, low, falls, high, climbs = (
            each[keep] for each in (row, begin, way, radius, left, right, low, falls, high, climbs)
        )
    return best


def _bound(
    left: Array | float, low: Array, falls: Array, right: Array | float, high: Array, climbs: Array
) -> tuple[Array, Array]:
    """Return where the tangents at two places cross, as a share of the edge, and how high."""
    with np.errstate(invalid="ignore", divide="ignore"):
        place = (low - high - falls * left + climbs * right) / (climbs - falls)
    place = np.clip(place, left, right)
    return place, low + falls * (place - left)


def _slope(seen: Array, way: Array, radius: Array) -> tuple[Array, Array]:
    """Return how far places are from the face, and how fast that changes along a way."""
    aside = hypot(seen[..., 0], seen[..., 1])
    beyond = np.maximum(aside - radius, 0.0)
    away = hypot(beyond, seen[..., 2])
    with np.errstate(invalid="ignore", divide="ignore"):
        outwards = (seen[..., 0] * way[..., 0] + seen[..., 1] * way[..., 1]) / aside
        slope = (np.where(beyond > 0, beyond * outwards, 0.0) + seen[..., 2] * way[..., 2]) / away
    return away, np.where(away > 0, slope, 0.0)


def _to_face(seen: Array, radius: Array) -> Array:
    """Return how far points seen from heads are from their faces: (B, N, 3) to (B, N) [mm]."""
    beyond = np.maximum(hypot(seen[..., 0], seen[..., 1]) - radius, 0.0)
    return hypot(beyond, seen[..., 2])
