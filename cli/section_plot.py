"""A section through one valve, its pocket and the crown where they are closest, to scale.

The plane holds the valve's stem and stands parallel to the cylinder's axis; heights count from the crown plane.
"""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from tallstack.cli.jobfile.job import JobFile
from tallstack.cli.plotting import scale_of, showable
from tallstack.geometry.clearance import PairClearance, Situation, ValveClearance
from tallstack.geometry.crown import first_metal
from tallstack.geometry.frames import Array, array, point
from tallstack.geometry.mapping import Reader
from tallstack.geometry.valve_over_piston import ByCoordinates
from tallstack.geometry.valvehead import rim

BESIDE_MM = 9.0  # of crown shown beyond the head
STEM_MM = 22.0  # of stem shown
POINTS = 1201
USUAL_STEM_MM = 8.0  # drawn where no stem diameter is entered


def section(axes: Axes, job: JobFile, here: Situation, valve: ValveClearance) -> None:
    """Draw one valve's section at its least drop."""
    over, name = here.valves[valve.train], valve.train.replace(".", " ")
    axes.set_axis_off()
    if not isinstance(over, ByCoordinates):
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
    least = valve.drop[0]
    angle = array(least.angle)
    stem, head = over.head.stem, over.head
    lift = float(over.lift.at(angle))
    centre = head.centre + point(0.0, 0.0, over.descent(angle)) - lift * stem
    level = _level(stem)
    lean = math.atan2(float(np.dot(stem[:2], level)), float(stem[2]))
    reach = float(head.radius) + BESIDE_MM
    across = np.linspace(-reach, reach, POINTS)
    seen = point(centre[0] + across * level[0], centre[1] + across * level[1], 0.0)
    upright = np.broadcast_to(np.array([0.0, 0.0, 1.0]), seen.shape)
    crown = first_metal(over.below.crown, seen, upright)
    floor = float(crown.min()) - 4.0
    axes.fill_between(across, crown, floor, facecolor="0.85", edgecolor="black", linewidth=1.3, hatch="///")
    axes.fill_between(
        across, np.full(POINTS, floor - 0.3), np.full(POINTS, floor + 0.05), color="white", zorder=3
    )
    _head(axes, job, valve.train, float(centre[2]), lean, float(head.radius), float(head.margin))
    _travel(axes, over, centre, stem, level, least.value)
    _scale_bar(axes, job, reach, floor)
    axes.set_aspect("equal")
    axes.set_xlim(-reach, reach)
    axes.set_title(
        showable(f"{name}, {_where(least.angle)}") + "\nto scale; dashed: the face where it would meet",
        fontsize=9,
    )


def _level(stem: Array) -> Array:
    """Return the direction across the section, seen from above, its x to the right."""
    flat = stem[:2]
    size = float(np.linalg.norm(flat))
    level = np.array([1.0, 0.0]) if size < 1e-6 else flat / size
    return -level if level[0] < 0 else level


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
    axes.set_title(f"both heads, {_where(pair.least.angle)}\nseen along the crankshaft, to scale", fontsize=9)


def _where(angle: float) -> str:
    degrees = math.degrees(angle)
    return f"{abs(degrees):.1f}\u00b0 {'after' if degrees > 0 else 'before'} top centre"


def _head(
    axes: Axes, job: JobFile, train: str, height: float, lean: float, radius: float, margin: float
) -> None:
    """Draw the head and a piece of its stem."""
    along, square = np.array([math.sin(lean), math.cos(lean)]), np.array([math.cos(lean), -math.sin(lean)])
    entered = Reader(job.mapping, (f"{train}.",)).find("valve.stem_diameter")
    half = (USUAL_STEM_MM if entered is None else float(entered)) / 2
    base = np.array([0.0, height])
    tulip = margin + 0.45 * radius
    outline = [
        base - radius * square,
        base + radius * square,
        base + radius * square + margin * along,
        base + 1.3 * half * square + tulip * along,
        base + half * square + (tulip + 3.0) * along,
        base + half * square + STEM_MM * along,
        base - half * square + STEM_MM * along,
        base - half * square + (tulip + 3.0) * along,
        base - 1.3 * half * square + tulip * along,
        base - radius * square + margin * along,
    ]
    xs, ys = zip(*outline, strict=True)
    axes.fill(xs, ys, facecolor="white", edgecolor="black", linewidth=1.3, zorder=4)


def _travel(axes: Axes, over: ByCoordinates, centre: Array, stem: Array, level: Array, drop: float) -> None:
    """Draw where the head would stand after its drop, dashed, and how far it went."""
    radius = float(over.head.radius)
    tilt = math.atan2(float(np.dot(stem[:2], level)), float(stem[2]))
    along, square = np.array([math.sin(tilt), math.cos(tilt)]), np.array([math.cos(tilt), -math.sin(tilt)])
    there = np.array([0.0, float(centre[2])]) - drop * along
    ends = there - radius * square, there + radius * square
    axes.plot(*zip(*ends, strict=True), color="black", linewidth=0.9, linestyle=(0, (4, 2)), zorder=5)
    for side in (-0.55, 0.55):
        foot = there + side * radius * square
        axes.plot(*zip(foot, foot + drop * along, strict=True), color="black", linewidth=0.9, zorder=5)


def _scale_bar(axes: Axes, job: JobFile, reach: float, floor: float) -> None:
    inches = job.units == "in"
    size = 0.5 if inches else 10.0
    long = size * scale_of(inches)
    y = floor - 2.2
    axes.plot([-reach, -reach + long], [y, y], color="black", linewidth=2.2, solid_capstyle="butt", zorder=6)
    axes.text(-reach + long + 1.0, y, f"{size:g} {job.units}", fontsize=8, va="center", zorder=6)
    axes.set_ylim(floor - 3.5, None)
