"""The picture of a lobe from readings: lift, residuals, velocity, acceleration, over the crank's degrees.

Line style and mark carry the meaning, never colour; inches stand on one side and mm on the other.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from tallstack.geometry.core.frames import Array

from .plotting import both_units, file_bytes, scale_of, showable

if TYPE_CHECKING:
    from ...lobe_found import Found

SIZE_IN = (8.0, 10.0)
HALF_CYCLE = 360.0  # crank degrees to either side of the centreline


def written(found: Found, kind: str) -> bytes:
    """Return the picture as the bytes of a file, its kind an ending."""
    return file_bytes(lambda: drawn(found), kind)


def drawn(found: Found) -> Figure:
    """Return the picture."""
    inches = found.asked.units == "in"
    lobe, degree = found.lobe, math.pi / 180
    crank = np.linspace(-HALF_CYCLE, HALF_CYCLE, 2881)
    cam = found.middle + np.radians(crank) / 2
    figure = Figure(figsize=SIZE_IN, layout="constrained")
    lift, off, velocity, acceleration = figure.subplots(
        4, 1, sharex=True, gridspec_kw={"height_ratios": [3, 1.5, 1.8, 1.8]}
    )
    _lift(lift, found, crank, lobe.lift(cam))
    _residuals(off, found)
    velocity.plot(crank, lobe.velocity(cam) * degree / scale_of(inches), color="black", linewidth=1)
    both_units(velocity, "velocity", "per cam deg", inches)
    acceleration.plot(
        crank, lobe.acceleration(cam) * degree**2 / scale_of(inches), color="black", linewidth=1
    )
    both_units(acceleration, "acceleration", "per cam deg\u00b2", inches)
    acceleration.set_xlabel("crank degrees from the lobe's centreline")
    acceleration.set_xlim(-HALF_CYCLE, HALF_CYCLE)
    acceleration.set_xticks(np.arange(-360, 361, 60))
    figure.suptitle(showable(found.path.name), fontsize=11, fontweight="bold")
    return figure


def _lift(axes: Axes, found: Found, crank: Array, lift: Array) -> None:
    inches = found.asked.units == "in"
    scale, wrong = scale_of(inches), [one.row for one in found.fit.suspects]
    where, off = _where(found), found.fit.off
    read = found.fit.lobe.lift(found.table.readings.angle) + off
    under = "fitted" if found.under is None else "under the engine's follower"
    axes.plot(crank, lift / scale, color="black", linewidth=1, label=under)
    if found.under is not None:
        as_read = found.fit.lobe.lift(found.middle + np.radians(crank) / 2)
        axes.plot(
            crank, as_read / scale, color="black", linewidth=0.8, linestyle=(0, (6, 2, 1, 2)), label="as read"
        )
    good = np.setdiff1d(np.arange(len(where)), wrong)
    axes.plot(
        where[good],
        read[good] / scale,
        "o",
        markersize=2.6,
        markerfacecolor="white",
        markeredgecolor="black",
        markeredgewidth=0.6,
        label="readings, at rest set to zero",
    )
    if wrong:
        axes.plot(
            where[wrong],
            read[wrong] / scale,
            "x",
            markersize=7,
            color="black",
            markeredgewidth=1.4,
            label="suspicious, left out",
        )
    for one in found.events:
        axes.plot(
            [-one.opens, one.closes],
            [one.level / scale] * 2,
            linestyle=(0, (4, 2)),
            color="black",
            linewidth=0.6,
        )
    axes.plot([], [], linestyle=(0, (4, 2)), color="black", linewidth=0.6, label="check lifts")
    both_units(axes, "lift at the lifter", "", inches)
    axes.legend(loc="upper left", fontsize=8, frameon=False)


def _residuals(axes: Axes, found: Found) -> None:
    inches = found.asked.units == "in"
    scale, where, off = scale_of(inches), _where(found), found.fit.off
    noise, wrong = found.fit.noise, [one.row for one in found.fit.suspects]
    axes.axhline(0, color="black", linewidth=0.8)
    for side in (-2, 2):
        axes.axhline(side * noise / scale, color="black", linewidth=0.6, linestyle=(0, (1, 2)))
    axes.plot(
        where,
        off / scale,
        "o",
        markersize=2.4,
        markerfacecolor="white",
        markeredgecolor="black",
        markeredgewidth=0.6,
    )
    good = np.setdiff1d(np.arange(len(where)), wrong)
    most = max(4 * noise, float(np.abs(off[good]).max(initial=0.0))) * 1.2 / scale
    for index in wrong:
        shown = float(np.clip(off[index] / scale, -most * 0.9, most * 0.9))
        axes.plot(where[index], shown, "x", markersize=7, color="black", markeredgewidth=1.4)
        axes.annotate(
            f"line {found.table.lines[index]}",
            (where[index], shown),
            xytext=(5, -3),
            textcoords="offset points",
            fontsize=7.5,
        )
    axes.set_ylim(-most, most)
    both_units(axes, "reading less fit", "dotted: 2 sigma", inches)


def _where(found: Found) -> Array:
    """Return the readings' places in crank degrees from the centreline."""
    turned = np.degrees(found.table.readings.angle - found.middle) * 2
    return np.mod(turned + HALF_CYCLE, 2 * HALF_CYCLE) - HALF_CYCLE
