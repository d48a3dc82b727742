"""A section through one valve, and both heads where they are closest, within a plot."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from tallstack.geometry.clearance.clearances import PairClearance, ValveClearance
from tallstack.geometry.clearance.situation import Situation
from tallstack.geometry.core.frames import array
from tallstack.geometry.piston.head import rim

from ...job.file import JobFile
from ...page.wording import steady
from ..lines import extent
from ..section import section as drawn
from .figure import artist
from .plotting import showable

STEM_MM = 22.0  # of stem shown


def section(axes: Axes, job: JobFile, here: Situation, valve: ValveClearance) -> None:
    """Draw one valve's section at its least drop."""
    name = valve.train.replace(".", " ")
    axes.set_axis_off()
    cut = drawn(job.mapping, job.units, here, valve)
    if cut is None:
        axes.text(
            0.5,
            0.5,
            f"{name}:\nno section without coordinates",
            ha="center",
            va="center",
            transform=axes.transAxes,
            fontsize=9,
        )
        return
    view = cut.view
    for layer, mark in enumerate(view.on_page()):
        axes.add_artist(artist(mark, layer))
    left, low, right, high = extent(view.items)
    axes.set_xlim(left, right)
    axes.set_ylim(low - 1.5, high)
    axes.set_aspect("equal")
    words = [say(job.units) for say, _ in cut.said]
    figures, limit = (words[:-1], f"{words[-1]}; ") if valve.piston is not None else (words, "")
    axes.set_title(
        showable(f"{name}, {at_angle(math.degrees(valve.drop[0].angle))}")
        + f"\n{', '.join(one for one in figures if one)}\n{limit}dashed: where it would meet",
        fontsize=9,
    )


def heads(axes: Axes, here: Situation, pair: PairClearance) -> None:
    """Draw both heads where they are closest to each other, seen along the crankshaft's direction."""
    axes.set_axis_off()
    valves = here.heads_apart()
    assert valves is not None
    assert pair.least is not None
    angle = array(pair.least.angle)
    turn = np.linspace(0.0, 2 * np.pi, 181)
    for valve in valves:
        head = valve.head
        centre = head.centre - valve.lift(angle) * head.stem
        shown = head._replace(centre=centre)
        rings = [rim(shown, turn, up) for up in (0.0, 1.0)]
        for ring in rings:
            axes.plot(ring[:, 0], ring[:, 2], color="black", linewidth=1.2)
        for side in (0, 45, 90, 135):
            ends = np.array([rings[0][side], rings[1][side]])
            axes.plot(ends[:, 0], ends[:, 2], color="black", linewidth=0.8)
        tip = centre + STEM_MM * head.stem
        axes.plot(
            [centre[0], tip[0]],
            [centre[2], tip[2]],
            color="black",
            linewidth=0.8,
            linestyle=(0, (8, 2, 1, 2)),
        )
    axes.set_aspect("equal")
    axes.set_title(
        f"both heads, {at_angle(math.degrees(pair.least.angle))}\nseen along the crankshaft, to scale",
        fontsize=9,
    )


def at_angle(degrees: float) -> str:
    """Return a crank angle from overlap top centre as a plot says it."""
    return f"{steady(abs(degrees)):.1f}\u00b0 {'after' if degrees > 0 else 'before'} top centre"
