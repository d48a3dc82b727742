r"""Directions, leans and the stack: where case points and head points stand in one frame.

Cylinder frame, one per cylinder: origin at the crank centre on the cylinder's axis, z up the
axis, y along the crankshaft, x = y × z. In the engine frame (X forward, Y along the
crankshaft, Z up) a cylinder with lean λ has z = (sin λ, 0, cos λ): a positive lean leans forward.

            z  λ  Z                      ── head's gasket face ──  head points ride on this
             \  |                        head gasket
              \ |                        cylinder
               \|                        base gasket
      crank     o ──── X                 ── case deck ──           case points stay with this

Lengths are millimetres, angles radians. The last axis of a point or direction has size 3; all
leading axes broadcast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def array(value: ArrayLike) -> Array:
    """Return the value as an array of doubles."""
    return np.asarray(value, dtype=np.float64)


def point(x: ArrayLike, y: ArrayLike, z: ArrayLike) -> Array:
    """Return one array of points from three arrays of components.

    x, y, z : (...)  any shapes that broadcast
    Returns: (..., 3)
    """
    return np.stack(np.broadcast_arrays(array(x), array(y), array(z)), axis=-1)


MANY = 3000  # numbers, from which on a product by components is quicker


def norm(vector: Array) -> Array:
    """Return the length of each vector: (..., 3) or (..., 2) to (...)."""
    squared: Array = dot(vector, vector) if vector.shape[-1] == 3 else np.vecdot(vector, vector)
    return np.sqrt(squared)


def dot(one: Array, other: Array) -> Array:
    """Return the scalar product of vectors, (..., 3) to (...): component by component where there are many of them."""
    if one.size < MANY and other.size < MANY:
        few: Array = np.vecdot(one, other)
        return few
    product: Array = one[..., 0] * other[..., 0] + one[..., 1] * other[..., 1] + one[..., 2] * other[..., 2]
    return product


def hypot(one: Array, other: Array) -> Array:
    """Return the length of two legs' hypotenuse; of numbers of a common size ten times as quick as numpy's own."""
    squared: Array = one * one + other * other
    return np.sqrt(squared)


def unit(vector: Array) -> Array:
    """Return each vector made one long: (..., 3); a vector of no length becomes NaN."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return vector / norm(vector)[..., None]


def from_lean(lean_x: ArrayLike, lean_y: ArrayLike) -> Array:
    """Return the unit direction (tan lx, tan ly, 1)/|…| of a lean pair.

    lean_x, lean_y : (...) [rad]  as seen along y and along x, each within ±90°
    Returns: (..., 3)
    """
    return unit(point(np.tan(lean_x), np.tan(lean_y), 1.0))


def from_angles(around: ArrayLike, up: ArrayLike) -> Array:
    """Return the unit direction of two angles: (cos up sin around, cos up cos around, sin up).

    around : (...) [rad]  seen from above, from along the crankshaft (+y) towards +x
    up     : (...) [rad]  above the plane square to the cylinder's axis, below it negative
    Returns: (..., 3)
    """
    around, up = array(around), array(up)
    return point(np.cos(up) * np.sin(around), np.cos(up) * np.cos(around), np.sin(up))


def whole_lean(direction: Array) -> Array:
    """Return the whole angle between a direction and the cylinder axis: (..., 3) to (...) [rad].

    Written with the arc tangent, which keeps its digits near zero where an arc cosine loses them.
    """
    return np.arctan2(hypot(direction[..., 0], direction[..., 1]), direction[..., 2])


def combined_lean(view_a: ArrayLike, view_b: ArrayLike) -> Array:
    """Return the whole lean seen as two angles in square views: atan(√(tan²a + tan²b)) [rad]."""
    return np.arctan(hypot(np.tan(view_a), np.tan(view_b)))


def to_engine(cylinder_point: Array, lean: ArrayLike, offset: ArrayLike = 0.0) -> Array:
    """Return points or, with no offset, directions of a cylinder frame in the engine frame.

    cylinder_point : (..., 3) [mm];  lean : (...) [rad];  offset : (...) [mm] along the crankshaft
    Returns: (..., 3) [mm]
    """
    sine, cosine = np.sin(lean), np.cos(lean)
    x, y, z = cylinder_point[..., 0], cylinder_point[..., 1], cylinder_point[..., 2]
    return point(x * cosine + z * sine, y + array(offset), z * cosine - x * sine)


def cross(one: Array, other: Array) -> Array:
    """Return the cross product of vectors, (..., 3)."""
    x, y, z = one[..., 0], one[..., 1], one[..., 2]
    u, v, w = other[..., 0], other[..., 1], other[..., 2]
    product: Array = np.empty(np.broadcast_shapes(one.shape, other.shape))
    product[..., 0] = y * w - z * v
    product[..., 1] = z * u - x * w
    product[..., 2] = x * v - y * u
    return product
