"""A cylinder's spigot as a fine triangle mesh, and round bodies against it, by a general-purpose collision library.

Built from its entries alone: radii, heights, reliefs and the engine frame are written out here again.
"""

from __future__ import annotations

import coal  # type: ignore[import-untyped, unused-ignore]
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
CORNERS = 1440  # around; a radius of 55 mm sags by 0.13 µm


def upright(lean: float) -> Array:
    """Return a cylinder's axes in the engine, as columns x, y, z."""
    return np.array([[np.cos(lean), 0.0, np.sin(lean)], [0.0, 1.0, 0.0], [-np.sin(lean), 0.0, np.cos(lean)]])


def spigot(
    inner: float,
    outer: float,
    low: float,
    top: float,
    reliefs: list[tuple[float, float, float]],
    lean: float,
    offset: float,
) -> object:
    """Return a spigot's surface as the library's model.

    reliefs : middle and half width around the bore [rad], height above the lower edge [mm]
    """
    turns = set((np.arange(CORNERS) * (2 * np.pi / CORNERS)).tolist())
    for middle, half, _ in reliefs:
        turns |= {(middle + side * half) % (2 * np.pi) for side in (-1, 1)}
    around = np.array(sorted(turns))
    vertices: list[Array] = []
    faces: list[tuple[int, int, int]] = []

    def quad(corners: list[Array]) -> None:
        first = len(vertices)
        vertices.extend(corners)
        faces.append((first, first + 1, first + 2))
        faces.append((first, first + 2, first + 3))

    def at(radius: float, turn: float, high: float) -> Array:
        return np.array([radius * np.cos(turn), radius * np.sin(turn), high])

    count = len(around)
    edges = []
    for index in range(count):
        begins, ends = around[index], around[(index + 1) % count] + (2 * np.pi if index == count - 1 else 0.0)
        middle = (begins + ends) / 2
        edge = low
        for place, half, height in reliefs:
            if abs((middle - place + np.pi) % (2 * np.pi) - np.pi) <= half:
                edge = max(edge, low + height)
        edges.append(edge)
        for radius in (inner, outer):
            quad(
                [
                    at(radius, begins, edge),
                    at(radius, ends, edge),
                    at(radius, ends, top),
                    at(radius, begins, top),
                ]
            )
        for high in (edge, top):
            quad(
                [
                    at(inner, begins, high),
                    at(inner, ends, high),
                    at(outer, ends, high),
                    at(outer, begins, high),
                ]
            )
    for index in range(count):  # the upright faces at a relief's ends
        before, after = edges[index - 1], edges[index]
        if before != after:
            turn, first, second = around[index], min(before, after), max(before, after)
            quad(
                [
                    at(inner, turn, first),
                    at(outer, turn, first),
                    at(outer, turn, second),
                    at(inner, turn, second),
                ]
            )
    points = np.array(vertices) @ upright(lean).T + np.array([0.0, offset, 0.0])
    mesh = coal.BVHModelOBBRSS()
    mesh.beginModel(len(faces), len(points))
    corners, triangles = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    for point in points:
        corners.append(point)
    for face in faces:
        triangles.append(coal.Triangle(*face))
    mesh.addSubModel(corners, triangles)
    mesh.endModel()
    return mesh


def to_round(mesh: object, base: Array, axis: Array, radius: float, height: float) -> float:
    """Return the distance from a spigot to a solid round body [mm]; 0 or less where they meet."""
    aside = np.array([0.0, 1.0, 0.0])
    first = np.cross(aside, axis)
    first /= np.linalg.norm(first)
    turned = np.column_stack([first, np.cross(axis, first), axis])
    where = coal.Transform3s(turned, np.asarray(base) + np.asarray(axis) * height / 2)
    return _distance(mesh, coal.Cylinder(radius, height), where)


def to_bar(mesh: object, first: Array, second: Array, radius: float) -> float:
    """Return the distance from a spigot to a bar with round ends [mm]."""
    way = np.asarray(second) - np.asarray(first)
    length = float(np.linalg.norm(way))
    axis = way / length
    aside = np.array([0.0, 1.0, 0.0])
    side = np.cross(aside, axis)
    side /= np.linalg.norm(side)
    turned = np.column_stack([side, np.cross(axis, side), axis])
    where = coal.Transform3s(turned, (np.asarray(first) + np.asarray(second)) / 2)
    return _distance(mesh, coal.Capsule(radius, length), where)


def _distance(mesh: object, body: object, where: object) -> float:
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    request.gjk_tolerance = 1e-8
    request.gjk_max_iterations = 5000
    return float(coal.distance(mesh, coal.Transform3s.Identity(), body, where, request, result))
