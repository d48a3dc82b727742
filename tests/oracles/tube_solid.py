"""Cut tubes as solids of flat faces by a general-purpose library: what two share, and the least gap between them.

Built by taking cylinders and pies from one another; nothing of ours is in it.
"""

from __future__ import annotations

import manifold3d
import numpy as np

CORNERS = 1440  # around; a radius of 55 mm sags by 0.13 µm


def tube(
    inner: float,
    outer: float,
    low: float,
    top: float,
    reliefs: list[tuple[float, float, float]],
    lean: float,
    offset: float,
) -> manifold3d.Manifold:
    """Return a tube in the engine.

    reliefs : middle and half width around the axis [rad], height above the lower edge [mm]
    """

    def upright(radius: float, begins: float, ends: float) -> manifold3d.Manifold:
        return manifold3d.Manifold.cylinder(ends - begins, radius, radius, CORNERS).translate((0, 0, begins))

    body = upright(outer, low, top)
    if inner > 0:
        body -= upright(inner, low - 1.0, top + 1.0)
    for middle, half, height in reliefs:
        turns = middle + np.linspace(-half, half, 64)
        pie = [(0.0, 0.0), *((2 * outer * np.cos(one), 2 * outer * np.sin(one)) for one in turns)]
        cut = manifold3d.Manifold.extrude(manifold3d.CrossSection([pie]), height + 1.0)
        body -= cut.translate((0, 0, low - 1.0))
    sine, cosine = np.sin(lean), np.cos(lean)
    return body.transform([[cosine, 0.0, sine, 0.0], [0.0, 1.0, 0.0, offset], [-sine, 0.0, cosine, 0.0]])


def shared(one: manifold3d.Manifold, other: manifold3d.Manifold) -> float:
    """Return the volume that two solids share [mm³]."""
    return float((one ^ other).volume())


def gap(one: manifold3d.Manifold, other: manifold3d.Manifold, up_to: float = 60.0) -> float:
    """Return the least distance of two solids [mm], or `up_to` where they are farther apart."""
    return float(one.min_gap(other, up_to))
