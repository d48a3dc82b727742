"""Where a pocket's cutter stood: its axis on the crown plane, or the place where it went deepest.

Source: the floor's lowest rim point lies radius·sin λ below the floor's centre, λ the cutter's lean.
"""

from __future__ import annotations

import numpy as np

from .frames import Array, array, hypot


def centre_from_deepest(deepest: Array, axis: Array, diameter: Array, depth: Array) -> Array:
    """Return where a pocket's axis meets the crown plane, from where the cutter went deepest.

    deepest  : (..., 2) [mm]  seen from above;  axis : (..., 3)  unit, out of the crown
    diameter : (...) [mm];  depth : (...) [mm]  of the deepest point below the crown plane
    Returns: (..., 2) [mm]
    Valid: the cutter leans; an upright cutter has no deepest point and gives NaN.
    Source: the floor's lowest rim point lies radius·sin λ below the floor's centre.
    """
    radius = diameter / 2
    cosine = axis[..., 2]
    sine = hypot(axis[..., 0], axis[..., 1])
    sunk = (depth - radius * sine) / cosine  # along the axis, crown plane to floor centre
    with np.errstate(invalid="ignore", divide="ignore"):
        outward = cosine * radius / sine
        return deepest + (sunk - outward)[..., None] * axis[..., :2]


def deepest_from_centre(centre: Array, axis: Array, diameter: Array, depth: Array) -> Array:
    """Return where the cutter went deepest, (..., 2) [mm]: the inverse of `centre_from_deepest`."""
    no_shift = centre_from_deepest(array([0.0, 0.0]), axis, diameter, depth)
    return centre - no_shift
