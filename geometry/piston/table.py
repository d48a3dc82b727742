"""A crown as it was measured: heights at places of the crown, joined by flat triangles.

Cylinder axes, with z counted from the crown plane, up positive. Between its points the crown is taken as the
triangles of their Delaunay triangulation; beyond them as its plane, with an upright wall down or up to it. So
it is one surface of triangles, and what comes down on it meets a vertex, an edge or a face. Four points of a grid
can be joined along either diagonal, and are along the higher one.

              ╭·──·╮        measured
        ·──·──╯    ╰──·
        ┃             ┃     upright, where the last points do not lie in the crown plane
    ━━━━┛             ┗━━━━ z = 0, further than any valve reaches

A table of heights is what is there. Pockets entered beside it are not cut from it again; they have walls, for the
room to them. The table's own walls count for the straight gap like the rest: nothing in it says which of its slopes
are walls. Its numbers carry no ±, so that no clearance over it is proved. What a table would be after a cut is not
guessed at.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import Array, array, cross, norm, point
from ..core.search import Flags, Index, square_to

FEWEST = 4  # points that make a table
SAME_MM = 1e-3  # apart, two places are one
NARROW_MM = 1.0  # less than which points lie on one line
FAR_MM = 400.0  # from the middle of the table: how far its plane goes on
THIN_MM = 1e-8  # height of a triangle below which it has edges, but no face of its own
EDGE_ON = 1e-9  # cosine of a face's normal to a line of sight that does not see it
NOTHING = 1e-9  # mm, by which a line may seem to miss a face
SHEET = 100_000  # triangles times lines or heads taken at once: some tens of megabytes
ROUND_MM = 1e-6  # by which a point may seem to lie off a circle
FINEST_MM = 1.0  # between the places from which the nearest measured point is looked for


class Faces(NamedTuple):
    """The faces of some triangles; mm. A triangle without one holds no point."""

    normal: Array  # (T, 3) unit
    level: Array  # (T,) along the normal
    inward: Array  # (T, 3, 3) in the face, square to each side, towards the opposite corner
    least: Array  # (T, 3) along those, of a point in the triangle


class Heights(NamedTuple):
    """A crown's surface as triangles; mm, in the piston's frame."""

    vertices: Array  # (V, 3) those that were measured first
    triangles: Index  # (T, 3) which vertices
    edges: Index  # (E, 2) which vertices
    sides: Index  # (T, 3) which edges
    faces: Faces
    middles: Array  # (T, 3) of a ball around each triangle
    reaches: Array  # (T,) radius of that ball
    measured: int  # how many of the vertices

    @property
    def highest(self) -> float:
        """The highest point, never below the crown plane [mm]."""
        return float(self.vertices[:, 2].max())

    def faces_of(self, near: Flags) -> Faces:
        """Return the faces of some of the triangles, (T,)."""
        return Faces(*(one[near] for one in self.faces))


def heights(points: Array) -> Heights:
    """Return the surface through measured points.

    points : (N, 3) [mm]  heights from the crown plane, in any order; of two at one place the higher counts

    Raises:
        GeometryError: there are too few of them, or they lie on one line.
    Source: Delaunay triangulation, in which no circle through a triangle's corners holds another point; of
    points on one circle the higher of two diagonals, which is the cautious one.
    """
    from scipy.spatial import Delaunay  # type: ignore[import-untyped, unused-ignore]

    places, which = np.unique(np.round(points[:, :2] / SAME_MM), axis=0, return_inverse=True)
    count, wide = len(places), breadth(points)
    if count < FEWEST or wide < NARROW_MM:
        message = f"{count} points that spread over {wide:.2f} mm are no crown; it takes {FEWEST} over {NARROW_MM:g} mm"
        raise GeometryError(message)
    measured = np.full((count, 3), -np.inf)
    np.maximum.at(measured, which.reshape(-1), array(points))
    inner = Delaunay(measured[:, :2] - measured[:, :2].mean(axis=0)).simplices.astype(np.intp)
    return _surface(*_with_plane(measured, _higher_diagonals(measured, inner)), count)


def breadth(points: Array) -> float:
    """Return how far points, (N, 2) or (N, 3), spread to the sides of the line that they lie along most [mm]."""
    flat = array(points)[:, :2]
    across = np.linalg.svd(flat - flat.mean(axis=0), full_matrices=False)[2][-1]
    return float(np.ptp(flat @ across))


def first_metal_on(ground: Heights, start: Array, direction: Array) -> Array:
    """Return where lines that come from above first meet a measured surface; see `crown.first_metal`.

    start : (..., 3) [mm];  direction : (..., 3)  unit, upwards along the line
    Returns: (...) [mm]  along the direction from `start`
    """
    shape = np.broadcast_shapes(start.shape, direction.shape)
    origin = np.broadcast_to(start, shape).reshape(-1, 3)
    along = np.broadcast_to(direction, shape).reshape(-1, 3)
    found = -origin[:, 2] / along[:, 2]
    for some in sheets(len(origin), len(ground.triangles)):
        ball = seen_from(axes_along(along[some]), origin[some], ground.middles)
        near = any_of(np.hypot(ball[..., 0], ball[..., 1]) <= ground.reaches + NOTHING)
        faces = ground.faces_of(near)
        at = along_to(faces, origin[some], along[some])
        there = holds(faces, origin[some], along[some], at, NOTHING)
        highest = np.where(there, at, -np.inf).max(axis=-1, initial=-np.inf)
        found[some] = np.where(np.isfinite(highest), highest, found[some])
    return found.reshape(shape[:-1])


def along_to(faces: Faces, origin: Array, direction: Array) -> Array:
    """Return where lines cross the planes of faces: (B, 3) and (B or 1, 3) to (B, T) [mm]; NaN edge-on."""
    cosine = direction @ faces.normal.T
    above: Array = origin @ faces.normal.T - faces.level
    return -above / np.where(np.abs(cosine) > EDGE_ON, cosine, np.nan)


def holds(faces: Faces, origin: Array, direction: Array, moved: Array, slack: float = 0.0) -> Flags:
    """Say whether points lie in triangles, looking square to their faces.

    The points are each origin, (B, 3), moved by so much, (B, T), along its direction, (B or 1, 3).
    """
    square = faces.inward.reshape(-1, 3).T
    from_here, step = (
        (each @ square).reshape(len(each), len(faces.level), 3) for each in (origin, direction)
    )
    inside = from_here + moved[..., None] * step >= faces.least - slack
    every: Flags = np.logical_and.reduce(inside, axis=-1)
    return every


def axes_along(direction: Array) -> Array:
    """Return frames whose third axis is along a direction: (..., 3) to (..., 3, 3), an axis a row."""
    first, second = square_to(direction)
    return np.stack([first, second, direction], axis=-2)


def seen_from(axes: Array, origin: Array, points: Array) -> Array:
    """Return points (N, 3) in frames: axes (B or 1, 3, 3), origin (B, 3); to (B, N, 3)."""
    turned = axes.swapaxes(-1, -2)
    seen: Array = points @ turned - origin[:, None, :] @ turned
    return seen


def any_of(near: Flags) -> Flags:
    """Return which triangles count for any line or head: (B, T) to (T,)."""
    counts: Flags = np.logical_or.reduce(near, axis=0)
    return counts


def sheets(count: int, triangles: int) -> list[slice]:
    """Return lines or heads in lots that are taken at once."""
    most = max(1, SHEET // triangles)
    return [slice(first, first + most) for first in range(0, count, most)]


def widest_hole(ground: Heights, centre: Array, radius: float) -> tuple[float, Array]:
    """Return the widest circle about a place of a disc, seen from above, in which nothing was measured.

    centre : (2,) [mm];  radius : [mm]
    Returns: its diameter [mm], at most 2·FINEST_MM too small, and its middle (2,)
    """
    steps = np.arange(-radius, radius + FINEST_MM, FINEST_MM)
    across, along = np.meshgrid(steps, steps)
    offset = np.stack([across.ravel(), along.ravel()], axis=-1)
    places = centre + offset[np.hypot(offset[:, 0], offset[:, 1]) <= radius]
    measured = ground.vertices[: ground.measured, :2]
    away = np.empty(len(places))
    for some in sheets(len(places), len(measured)):
        away[some] = np.hypot(*(places[some, None, :] - measured).transpose(2, 0, 1)).min(axis=-1)
    at = int(away.argmax())
    return 2 * float(away[at]), places[at]


def _higher_diagonals(points: Array, triangles: Index) -> Index:
    """Return the triangles with every two whose corners lie on one circle joined along the higher diagonal."""
    found = triangles.copy()
    while True:
        one, other, corners = _neighbours(found)
        low, high = points[corners[:, :2]].swapaxes(0, 1), points[corners[:, 2:]].swapaxes(0, 1)
        rise = _above(low, high)
        swaps = np.flatnonzero(_on_one_circle(low, high) & (rise > NOTHING))
        taken: set[int] = set()
        for at in swaps[np.argsort(-rise[swaps], kind="stable")]:
            if not taken & {int(one[at]), int(other[at])}:
                taken |= {int(one[at]), int(other[at])}
                begin, end, left, right = corners[at]
                found[one[at]], found[other[at]] = (left, right, begin), (right, left, end)
        if not taken:
            return found


def _neighbours(triangles: Index) -> tuple[Index, Index, Index]:
    """Return every two triangles that share a side: which, (N,) and (N,), and its ends and what they face, (N, 4)."""
    _, which, times = np.unique(_sides_of(triangles), axis=0, return_inverse=True, return_counts=True)
    pairs = np.argsort(which.reshape(-1), kind="stable")
    pairs = pairs[times[which.reshape(-1)[pairs]] == 2].reshape(-1, 2)
    ends, facing = _sides_of(triangles)[pairs[:, 0]], np.roll(triangles, -2, axis=-1).reshape(-1)[pairs]
    return pairs[:, 0] // 3, pairs[:, 1] // 3, np.concatenate([ends, facing], axis=-1)


def _above(low: Array, high: Array) -> Array:
    """Return how high one diagonal, (2, N, 3), runs above another where they cross, seen from above; or NaN."""
    along, across = low[1] - low[0], high[1] - high[0]
    offset = high[0] - low[0]
    turned = along[:, 0] * across[:, 1] - along[:, 1] * across[:, 0]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = (offset[:, 0] * across[:, 1] - offset[:, 1] * across[:, 0]) / turned
        back = (offset[:, 0] * along[:, 1] - offset[:, 1] * along[:, 0]) / turned
        rise: Array = high[0, :, 2] + back * across[:, 2] - low[0, :, 2] - share * along[:, 2]
    cross_there = (share > 0) & (share < 1) & (back > 0) & (back < 1)
    return np.where(cross_there, rise, np.nan)


def _on_one_circle(low: Array, high: Array) -> Flags:
    """Say whether the ends of two diagonals lie on one circle, seen from above."""
    first, second, last = (one[:, :2] - low[0, :, :2] for one in (low[1], high[0], high[1]))
    squares = [np.vecdot(one, one) for one in (first, second)]
    with np.errstate(invalid="ignore", divide="ignore"):
        twice = 2 * (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
        x = (second[:, 1] * squares[0] - first[:, 1] * squares[1]) / twice
        y = (first[:, 0] * squares[1] - second[:, 0] * squares[0]) / twice
        radius = np.hypot(x, y)
        off = np.abs(np.hypot(last[:, 0] - x, last[:, 1] - y) - radius)
        on: Flags = off < ROUND_MM
    return on


def _with_plane(measured: Array, inner: Index) -> tuple[Array, Index]:
    """Return vertices and triangles of a surface with the crown plane around it."""
    sides, times = np.unique(_sides_of(inner), axis=0, return_counts=True)
    rim = sides[times == 1]
    around, place = np.unique(rim, return_inverse=True)
    one, other = (place.reshape(-1, 2) + len(measured)).T  # below or above the rim, in the crown plane
    flat = point(measured[around, 0], measured[around, 1], 0.0)
    middle, far = flat.mean(axis=0), len(around)
    size = max(2.0, FAR_MM / float(norm(flat - middle).min()))
    ends = measured[rim]
    low, high = ends[:, 0, 2], ends[:, 1, 2]
    through = low * high < 0  # a wall that goes down to the plane and then up from it
    share = low[through] / (low[through] - high[through])
    cross_at = ends[through, 0] + share[:, None] * (ends[through, 1] - ends[through, 0])
    cross_at[:, 2] = 0.0
    vertices = np.concatenate([measured, flat, middle + size * (flat - middle), cross_at])
    there = np.full(len(rim), -1)
    there[through] = len(measured) + 2 * far + np.arange(len(cross_at))
    walls = (
        (rim[:, 0], np.where(through, there, rim[:, 1]), np.where(through, one, other)),
        (
            np.where(through, there, rim[:, 0]),
            np.where(through, rim[:, 1], other),
            np.where(through, other, one),
        ),
    )
    plane = (one, other, other + far), (one, other + far, one + far)
    return vertices, np.concatenate([inner, *(np.stack(each, axis=-1) for each in (*walls, *plane))])


def _sides_of(triangles: Index) -> Index:
    """Return the ends of every triangle's sides, the lower first, (3·T, 2)."""
    return np.sort(np.stack([triangles, np.roll(triangles, -1, axis=-1)], axis=-1), axis=-1).reshape(-1, 2)


def _surface(vertices: Array, triangles: Index, measured: int) -> Heights:
    edges, which = np.unique(_sides_of(triangles), axis=0, return_inverse=True)
    corners = vertices[triangles]
    middles = (corners.min(axis=1) + corners.max(axis=1)) / 2
    reaches = norm(corners - middles[:, None, :]).max(axis=1)
    sides = which.reshape(-1, 3)
    return Heights(vertices, triangles, edges, sides, _faces_of(corners), middles, reaches, measured)


def _faces_of(corners: Array) -> Faces:
    """Return the faces of triangles, (T, 3 corners, 3)."""
    along = np.roll(corners, -1, axis=1) - corners
    square = cross(along[:, 0], along[:, 1])
    twice, long = norm(square), norm(along)
    real = twice > THIN_MM * long.max(axis=-1)
    normal = square / np.where(real, twice, np.inf)[:, None]
    inward = cross(normal[:, None, :], along) / np.where(long > 0, long, np.inf)[..., None]
    least = np.where(real[:, None], np.vecdot(inward, corners), np.inf)
    return Faces(normal, np.vecdot(normal, corners[:, 0]), inward, least)
