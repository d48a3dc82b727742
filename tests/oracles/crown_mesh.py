"""A crown's surfaces as triangles, cut from flat pieces by half-spaces; shares no code with ours but the pockets.

A pocket becomes a prism whose section has CORNERS corners, either on its circle (too small, by the sag
radius·(1 - cos(π/CORNERS))) or around it (too large). Everything that is cut and everything that cuts is convex and
flat-sided, so that what is left of a polygon is found by clipping it against one plane after another.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import coal  # type: ignore[import-untyped, unused-ignore]
import numpy as np
from tallstack.geometry.core.frames import Array
from tallstack.geometry.piston.crown import Pocket
from tallstack.geometry.piston.head import Head

CORNERS = 720
WIDE = 90.0  # mm, half the side of the piece of crown plane
TALL = 60.0  # mm, of a wall before it is cut off at the crown plane
THIN = 1e-6  # mm, of the triangle that stands for an edge
ON_MM = 1e-9
TINY = 1e-12

Polygon = Array  # (V, 3), flat and convex


class Prism(NamedTuple):
    """A pocket with flat sides: inside where normal·p ≤ offset for every plane, the floor first."""

    corners: Array  # (CORNERS, 3) of the floor
    normal: Array
    offset: Array


def frame(axis: Array) -> tuple[Array, Array]:
    first = np.cross([0.3, -0.8, 0.5], axis)
    first /= np.linalg.norm(first)
    return first, np.cross(axis, first)


def ring(middle: Array, axis: Array, radius: float, around: bool) -> tuple[Array, Array]:
    """Return the corners of a regular polygon on or around a circle, and its sides' outward normals."""
    first, second = frame(axis)
    turn = np.arange(CORNERS) * 2 * np.pi / CORNERS
    half = np.pi / CORNERS
    size = radius / np.cos(half) if around else radius
    spokes = np.outer(np.cos(turn), first) + np.outer(np.sin(turn), second)
    normals = np.outer(np.cos(turn + half), first) + np.outer(np.sin(turn + half), second)
    return middle + size * spokes, normals


def prism(one: Pocket, around: bool) -> Prism:
    axis = np.asarray(one.axis, dtype=float)
    floor = np.asarray(one.centre, dtype=float) - float(one.sunk) * axis
    corners, sides = ring(floor, axis, float(one.radius), around)
    normal = np.vstack([-axis, sides])
    offset = np.concatenate([[-axis @ floor], np.vecdot(sides, corners)])
    return Prism(corners, normal, offset)


def clipped(polygon: Polygon, height: Array) -> Polygon:
    """Return the part of a polygon where a height above a plane, one at each corner, is not positive."""
    kept = []
    for at in range(len(polygon)):
        here, there = height[at - 1], height[at]
        if (here <= 0) != (there <= 0):
            kept.append(polygon[at - 1] + (polygon[at] - polygon[at - 1]) * (here / (here - there)))
        if there <= 0:
            kept.append(polygon[at])
    return np.array(kept).reshape(-1, 3)


def cut(polygon: Polygon, by: Prism) -> tuple[list[Polygon], Polygon]:
    """Return what a prism leaves of a polygon, in pieces, and what it takes."""
    heights = polygon @ by.normal.T - by.offset
    if (heights >= -TINY).all(axis=0).any():
        return [polygon], np.empty((0, 3))
    left = []
    for at in np.nonzero((heights > 0).any(axis=0))[0]:
        height = polygon @ by.normal[at] - by.offset[at]
        if (height > 0).any():
            left.append(clipped(polygon, -height))
            polygon = clipped(polygon, height)
            if len(polygon) < 3:
                break
    return [piece for piece in left if len(piece) >= 3], polygon


def left_of(polygons: list[Polygon], prisms: list[Prism]) -> list[Polygon]:
    for by in prisms:
        polygons = [piece for polygon in polygons for piece in cut(polygon, by)[0]]
    return polygons


def flats(pockets: tuple[Pocket, ...], larger: bool) -> list[Polygon]:
    """Return crown plane and floors as polygons, a little larger or a little smaller than they are."""
    cutters = [prism(one, not larger) for one in pockets]
    corner = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * WIDE
    found = left_of([np.column_stack([corner, np.zeros(4)])], cutters)
    for index, one in enumerate(pockets):
        floor = prism(one, larger).corners
        below = clipped(floor, floor[:, 2])
        if len(below) >= 3:
            found += left_of([below], cutters[:index] + cutters[index + 1 :])
    return found


def walls(pockets: tuple[Pocket, ...], around: bool) -> tuple[list[Polygon], list[Polygon]]:
    """Return the pockets' walls, and the edges in which two of them cross as very thin triangles."""
    prisms = [prism(one, around) for one in pockets]
    found, edges = [], []
    for index, one in enumerate(prisms):
        axis = np.asarray(pockets[index].axis, dtype=float)
        others = prisms[:index] + prisms[index + 1 :]
        for low in zip(one.corners, np.roll(one.corners, -1, axis=0), strict=True):
            side = np.vstack([low, low[::-1] + TALL * axis])
            side = clipped(side, side[:, 2])
            if len(side) >= 3:
                found += left_of([side], others)
                edges += [edge for other in prisms[index + 1 :] for edge in ridges(side, other, axis)]
    return found, edges


def ridges(side: Polygon, other: Prism, axis: Array) -> Iterator[Polygon]:
    """Yield what edges a side of a pocket has in common with the sides of another pocket."""
    taken = cut(side, other)[1]
    on = np.abs(taken @ other.normal[1:].T - other.offset[1:]) < ON_MM
    for at in range(len(taken)):
        if (on[at - 1] & on[at]).any():
            yield np.array([taken[at - 1], taken[at], taken[at] + THIN * axis])


def model(polygons: list[Polygon]) -> object:
    """Return polygons as a mesh of the collision library."""
    points = np.vstack(polygons)
    triangles, first = [], 0
    for polygon in polygons:
        triangles += [(first, first + at, first + at + 1) for at in range(1, len(polygon) - 1)]
        first += len(polygon)
    mesh = coal.BVHModelOBBRSS()
    mesh.beginModel(len(triangles), len(points))
    mesh.addVertices(points)
    mesh.addTriangles(np.array(triangles, dtype=np.int32))
    mesh.endModel()
    return mesh


def face(head: Head, around: bool) -> object:
    """Return a valve's face as a mesh, a little smaller or a little larger than it is."""
    stem = np.asarray(head.stem, dtype=float)
    return model([ring(np.asarray(head.centre, dtype=float), stem, float(head.radius), around)[0]])


def apart(one: object, other: object) -> float:
    """Return the distance between two meshes [mm]."""
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    here = coal.Transform3s.Identity()
    return float(coal.distance(one, here, other, here, request, result))


def swept_clear(mesh: object, head: Head, length: float = 60.0) -> bool:
    """Say whether the face can be drawn back along its stem, so that it is outside the metal."""
    stem = np.asarray(head.stem, dtype=float)
    first, second = frame(stem)
    middle = np.asarray(head.centre, dtype=float) + stem * length / 2
    placed = coal.Transform3s(np.column_stack([first, second, stem]), middle)
    request, result = coal.CollisionRequest(), coal.CollisionResult()
    body = coal.Cylinder(float(head.radius), length)
    return int(coal.collide(mesh, coal.Transform3s.Identity(), body, placed, request, result)) == 0
