"""The picture of an engine's clearances: drop against crank angle, lifts and piston beneath, sections beside.

One band of the page for each cylinder. The intake is drawn through, the exhaust dashed; a pumped-up lifter's
drop is thin. Where a dial reading does not tell the drop its line ends.
"""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from tallstack.geometry.clearance.clearances import Clearances, PairClearance, ValveClearance
from tallstack.geometry.clearance.situation import Situation
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates
from tallstack.geometry.core.frames import array

from ...job.contradicted import word
from ...job.file import JobFile
from ...page.clearance_words import at_crank
from ...page.wording import length
from .plotting import both_units, file_bytes, scale_of, showable
from .section import at_angle, heads, section

BAND_IN = 7.2  # of the page's height, for one cylinder
WIDTH_IN = 11.4
HALF_WAY = 100.0  # crank degrees shown to either side of overlap top centre
STYLES = {"intake": "-", "exhaust": (0, (6, 2))}
SEEN_MM = 0.01  # by which a straight gap has to be smaller to be shown beside the drop
ROOM = 3.2  # times its limit: how high the drop is shown


def written(job: JobFile, found: Clearances, kind: str) -> bytes:
    """Return the picture as the bytes of a file, its kind an ending."""
    return file_bytes(lambda: drawn(job, found), kind)


def drawn(job: JobFile, found: Clearances) -> Figure:
    """Return the picture."""
    known = {one.train.rpartition(".")[0] for one in found.valves if one.piston is not None}
    cylinders = [name for name in found.situations if name in known]
    figure = Figure(figsize=(WIDTH_IN, 0.5 + BAND_IN * len(cylinders)), layout="constrained")
    figure.suptitle(showable(f"Clearances: {job.title}"), fontsize=13, fontweight="bold")
    bands = figure.subfigures(len(cylinders), 1, squeeze=False)[:, 0]
    for band, cylinder in zip(bands, cylinders, strict=True):
        valves = [one for one in found.valves if one.train.rpartition(".")[0] == cylinder and one.piston]
        pair = next(one for one in found.pairs if one.cylinder == cylinder)
        here = found.situations[cylinder]
        drawn_beside = any(isinstance(here.valves[one.train], ByCoordinates) for one in valves)
        columns = {"width_ratios": [1.9, 1.0]} if drawn_beside else {}
        grid = band.add_gridspec(6, 2 if drawn_beside else 1, **columns)
        trace = band.add_subplot(grid[:4, 0])
        lifts = band.add_subplot(grid[4:, 0], sharex=trace)
        _trace(trace, job, here, valves, pair)
        _lifts(lifts, job, here, valves)
        if not drawn_beside:
            continue
        both = pair.least is not None
        high = 2 if both else 3
        for index, valve in enumerate(valves):
            section(band.add_subplot(grid[high * index : high * (index + 1), 1]), job, here, valve)
        if both:
            heads(band.add_subplot(grid[4:, 1]), here, pair)
    return figure


def _trace(
    axes: Axes, job: JobFile, here: Situation, valves: list[ValveClearance], pair: PairClearance
) -> None:
    """Draw the drop of both valves against the crank angle, with limits and minima."""
    inches, scale = job.units == "in", scale_of(job.units == "in")
    degrees = np.arange(-HALF_WAY, HALF_WAY + 0.25, 0.5)
    angles = np.radians(degrees)
    top = max(one.piston.limit.value for one in valves if one.piston) * ROOM
    top = max(top, max(one.drop[0].value for one in valves) + 4.0)
    low = min(0.0, min(one.drop[0].value for one in valves), *(_pumped(one) for one in valves)) - 0.5
    axes.axhline(0, color="black", linewidth=1.2)
    limits: dict[float, list[str]] = {}
    for one in valves:
        assert one.piston is not None
        port, over = one.train.rpartition(".")[2], here.valves[one.train]
        drop = over.drop(angles, over.lift.at(angles))
        axes.plot(
            degrees,
            drop / scale,
            color="black",
            linewidth=1.8,
            linestyle=STYLES[port],
            label=f"{port}, along the stem",
        )
        if one.pumped is not None:
            up = over.lift._replace(pumped=True)
            axes.plot(
                degrees,
                over.drop(angles, up.at(angles)) / scale,
                color="black",
                linewidth=0.7,
                linestyle=STYLES[port],
                label=f"{port}, lifter pumped up",
            )
        limits.setdefault(one.piston.limit.value, []).append(port)
        _mark(axes, job, one)
    for index, (limit, ports) in enumerate(sorted(limits.items())):
        axes.axhline(limit / scale, color="black", linewidth=0.9, linestyle=(0, (1, 2)))
        below = index == 0 and len(limits) > 1
        axes.annotate(
            f"limit, {' and '.join(ports)}: {length(limit, job.units)}",
            (-HALF_WAY, limit / scale),
            xytext=(4, -3 if below else 3),
            textcoords="offset points",
            fontsize=9,
            va="top" if below else "bottom",
        )
    axes.set_ylim(round(low / scale, 4), round(top / scale, 4))
    both_units(axes, "drop along the stem", "", inches)
    axes.legend(loc="upper right", fontsize=8.5, frameon=False)
    axes.set_title(showable(_heading(job, here.cylinder, pair)), fontsize=10, loc="left")
    axes.tick_params(labelbottom=False)


def _pumped(one: ValveClearance) -> float:
    return 0.0 if one.pumped is None else one.pumped.value


def _heading(job: JobFile, cylinder: str, pair: PairClearance) -> str:
    if pair.judged is None or pair.least is None:
        return f"cylinder {cylinder}; valve to valve not known"
    apart = length(pair.least.value, job.units)
    said = f"valve to valve {apart}" if pair.least.value > 0 else "the valves' heads meet"
    return f"cylinder {cylinder}; {said}, {at_crank(pair.least.angle)}: {word(pair.judged.verdict, pair.judged.look_again)}"


def _mark(axes: Axes, job: JobFile, one: ValveClearance) -> None:
    """Mark a least drop, and say what the verdict stands on."""
    assert one.piston is not None
    scale, port = scale_of(job.units == "in"), one.train.rpartition(".")[2]
    least = one.drop[0]
    at = math.degrees(least.angle)
    axes.plot(
        [at],
        [least.value / scale],
        "o" if port == "intake" else "s",
        markersize=7,
        markerfacecolor="white",
        markeredgecolor="black",
        markeredgewidth=1.4,
    )
    words = [
        port.upper(),
        length(least.value, job.units),
        at_angle(at),
        word(one.piston.verdict, one.piston.look_again),
    ]
    if least.value - one.piston.value > SEEN_MM:
        words.insert(2, f"gap {length(one.piston.value, job.units)}")
    right = port == "intake"
    axes.annotate(
        "\n".join(words),
        (at, least.value / scale),
        xytext=(0.99, 0.68) if right else (0.01, 0.97),
        textcoords="axes fraction",
        fontsize=9.5,
        fontweight="bold",
        ha="right" if right else "left",
        va="top",
        arrowprops={"arrowstyle": "-", "linewidth": 0.8, "shrinkB": 5, "relpos": (0 if right else 1, 0.5)},
    )


def _lifts(axes: Axes, job: JobFile, here: Situation, valves: list[ValveClearance]) -> None:
    """Draw both lifts and the piston's travel on the same axis."""
    inches, scale = job.units == "in", scale_of(job.units == "in")
    degrees = np.arange(-HALF_WAY, HALF_WAY + 0.25, 0.5)
    angles = np.radians(degrees)
    most = 1.0
    for one in valves:
        port, over = one.train.rpartition(".")[2], here.valves[one.train]
        lift = over.lift.at(angles)
        most = max(most, float(lift.max()))
        axes.plot(
            degrees, lift / scale, color="black", linewidth=1.4, linestyle=STYLES[port], label=f"lift, {port}"
        )
        axes.plot(
            [math.degrees(one.drop[0].angle)] * 2,
            [0, float(over.lift.at(array(one.drop[0].angle))) / scale],
            color="black",
            linewidth=0.7,
        )
    descent = here.valves[valves[0].train].descent(angles)
    axes.plot(
        degrees,
        descent / scale,
        color="black",
        linewidth=1.2,
        linestyle=(0, (1, 1.5)),
        label="piston below its highest point",
    )
    axes.set_ylim(0, most * 1.25 / scale)
    axes.set_xlim(-HALF_WAY, HALF_WAY)
    axes.set_xticks(np.arange(-100, 101, 20))
    axes.set_xlabel("crank degrees from overlap top centre")
    both_units(axes, "lift, piston travel", "", inches)
    axes.legend(loc="lower left", bbox_to_anchor=(0.0, 0.02), fontsize=8.5, frameon=False)
