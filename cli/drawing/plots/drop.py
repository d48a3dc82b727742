"""The picture of lowering one cylinder with the other fitted: crank angle across, travel up, room as bands.

Bands are told apart by their lines, which carry the room as numbers, by a dash-dotted one at the room that is wanted, and by
hatching where the two meet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from tallstack.geometry.fits.across import Mover
from tallstack.geometry.fits.cut_tube import CutTube
from tallstack.geometry.fits.drop_on import DropOn, on_the_way

from ...job.file import JobFile
from ...page.wording import number
from .plotting import file_bytes, scale_of, showable

RAISED_MM = 80.0
ROWS, COLUMNS = 29, 121
BANDS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 40.0)
BANDS_IN = (0.04, 0.08, 0.2, 0.4, 0.8, 1.6)

Lowering = tuple[DropOn, Mover, CutTube]


def written(job: JobFile, found: Sequence[Lowering], wanted: float, kind: str) -> bytes:
    """Return the picture as the bytes of a file, its kind an ending."""
    return file_bytes(lambda: drawn(job, found, wanted), kind)


def drawn(job: JobFile, found: Sequence[Lowering], wanted: float) -> Figure:
    """Return the picture; wanted : mm, the room there has to be."""
    figure = Figure(figsize=(9.5, 0.6 + 4.4 * len(found)), layout="constrained")
    figure.suptitle(showable(f"Lowering a cylinder: {job.title}"), fontsize=13, fontweight="bold")
    for axes, one in zip(figure.subplots(len(found), 1, squeeze=False)[:, 0], found, strict=True):
        _panel(axes, job, one, wanted)
    return figure


def _panel(axes: Axes, job: JobFile, found: Lowering, wanted: float) -> None:
    drop, fitted, lowered = found
    inches = job.units == "in"
    scale = scale_of(inches)
    angles, raised = np.linspace(-180.0, 180.0, COLUMNS), np.linspace(0.0, RAISED_MM, ROWS)
    room = on_the_way(fitted, lowered, np.radians(angles), raised) / scale
    axes.contourf(
        angles,
        raised / scale,
        room,
        levels=[float(min(room.min(), -1.0)), 0.0],
        colors="0.8",
        hatches=["xxx"],
    )
    axes.contour(angles, raised / scale, room, levels=[0.0], colors="black", linewidths=2.2)
    asked = wanted / scale
    bands = [one for one in (BANDS_IN if inches else BANDS_MM) if abs(one - asked) > asked / 4]
    for levels, width, dashes in ((bands, 0.8, "solid"), ([asked], 1.6, "dashdot")):
        if levels and room.min() < max(levels):
            lines = axes.contour(
                angles,
                raised / scale,
                room,
                levels=levels,
                colors="black",
                linewidths=width,
                linestyles=dashes,
            )
            axes.clabel(lines, fmt=lambda level: f"{level:g} {job.units}", fontsize=8)
    for window in drop.windows if not drop.always else ():
        for angle, side in ((window.begins, "right"), (window.ends, "left")):
            degrees = (math.degrees(angle) + 180.0) % 360.0 - 180.0
            axes.axvline(degrees, color="black", linewidth=1.0, linestyle=(0, (5, 3)))
            axes.annotate(
                f"{degrees:.0f}\u00b0",
                (degrees, RAISED_MM / scale),
                xytext=(3 if side == "left" else -3, -12),
                textcoords="offset points",
                fontsize=9,
                horizontalalignment=side,
            )
    if drop.safest is not None:
        degrees = math.degrees(drop.safest)
        axes.axvline(degrees, color="black", linewidth=2.0)
        axes.annotate(
            f"hold at {degrees:.0f}\u00b0: {number(drop.margin, job.units)} {job.units} of room",
            (degrees, RAISED_MM / scale),
            xytext=(5, -26),
            textcoords="offset points",
            fontsize=10,
            fontweight="bold",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5},
        )
    said = (
        "at any crank angle"
        if drop.always
        else "NO window"
        if not drop.windows
        else "between the dashed lines"
    )
    axes.set_title(
        showable(f"{drop.fitted} fitted, {drop.lowered} lowered: {said}; hatched: they meet"),
        fontsize=10,
        loc="left",
    )
    axes.set_xlabel(showable(f"crank degrees from top centre of {drop.fitted}"))
    axes.set_ylabel(f"still to go down, {job.units}")
    axes.set_xticks(np.arange(-180, 181, 30))
    axes.set_xlim(-180, 180)
