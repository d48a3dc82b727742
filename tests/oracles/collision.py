"""Distances between valve heads by a general-purpose collision library, which shares no code with ours."""

from __future__ import annotations

import coal  # type: ignore[import-untyped, unused-ignore]
import numpy as np
from tallstack.geometry.piston.head import Head


def placed(head: Head) -> tuple[object, object]:
    """Return a head as a cylinder and where it stands."""
    stem = np.asarray(head.stem, dtype=float)
    aside = np.array([1.0, 0.0, 0.0]) if abs(stem[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    first = np.cross(aside, stem)
    first /= np.linalg.norm(first)
    turned = np.column_stack([first, np.cross(stem, first), stem])
    middle = np.asarray(head.centre, dtype=float) + stem * float(head.margin) / 2
    return coal.Cylinder(float(head.radius), float(head.margin)), coal.Transform3s(turned, middle)


def distance(one: Head, other: Head) -> float:
    """Return the smallest distance between two heads [mm]; negative where they overlap."""
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    request.gjk_tolerance = 1e-10
    request.gjk_max_iterations = 10000
    first, second = placed(one), placed(other)
    found = coal.distance(first[0], first[1], second[0], second[1], request, result)
    return float(found)
