"""Pistons across the cylinders, and when a cylinder can be lowered, in words and for JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from tallstack.cli.jobfile.job import JobFile
from tallstack.cli.jobfile.meanings import meant
from tallstack.cli.wording import VERDICTS, length, paragraph
from tallstack.geometry.fits.across import Across, Closest, Pistons
from tallstack.geometry.fits.drop_on import DropOn, Window
from tallstack.geometry.fits.judging import Limit
from tallstack.geometry.fits.part import Lacking
from tallstack.geometry.fits.spigot import Relief
from tallstack.geometry.verdict import Verdict

HOLD = (
    "Hold the crank at that angle with a stop, not with a hand, and turn nothing while a cylinder is half on; look "
    "along the whole way down before it is pushed home."
)


class Crossing(NamedTuple):
    """Everything that pistons, spigots and connecting rods do across the cylinders."""

    across: tuple[Across, ...]
    reliefs: dict[tuple[str, str], Relief | None]  # piston and spigot → the relief for the wanted clearance
    pistons: tuple[Pistons, ...]
    drop_on: tuple[DropOn, ...]
    limit: Limit
    room: float  # mm, wanted while a cylinder is lowered
    lacks: tuple[Lacking, ...]


def verdict_of(gap: float, limit: Limit) -> Verdict:
    """Return SHORT below the limit; nothing here carries its doubt, so that above it nothing is proved."""
    return Verdict.SHORT if gap < limit.value else Verdict.UNPROVED


def crossing_lines(job: JobFile, found: Crossing) -> list[str]:
    """Return what meets across the cylinders and the windows for lowering them."""
    lines: list[str] = []
    if found.across:
        who = "yours" if found.limit.is_set else "common practice, from memory, set your own"
        lines += ["", "ACROSS THE CYLINDERS"]
        lines.append(
            paragraph(
                f"at least {length(found.limit.value, job.units)}: {who} (targets.across); doubts are not worked out here",
                2,
                2,
            )
        )
    for one in found.across:
        lines.append(_closest(job, found, one, "piston", one.piston))
        if (one.moving, one.spigot) in found.reliefs:
            lines.append(paragraph(_cut(job, found.reliefs[one.moving, one.spigot]), 6, 2))
        if one.conrod is not None:
            lines.append(_closest(job, found, one, "connecting rod", one.conrod))
    for pair in found.pistons:
        names = " and ".join(pair.cylinders)
        text = f"pistons of {names}: {length(pair.gap, job.units)}, {_angle(pair.at)} of {pair.cylinders[0]}"
        meets = "; 0 is contact" if pair.gap <= 0 else ""
        lines.append(paragraph(f"{text}: {VERDICTS[verdict_of(pair.gap, found.limit)]}{meets}", 2, 4))
    if found.drop_on:
        lines += ["", "LOWERING ONE CYLINDER WITH THE OTHER FITTED, crank angles of the fitted one"]
        if found.room > 0:
            lines.append(
                paragraph(f"with {length(found.room, job.units)} of room: yours (targets.lowering)", 2, 2)
            )
    for drop in found.drop_on:
        lines += _drop(job, drop)
    if any(drop.windows and not drop.always for drop in found.drop_on):
        lines.append(paragraph(HOLD, 2, 2))
    needs = list(dict.fromkeys(entry for one in found.lacks for entry in one.entries))
    if needs:
        named = ", ".join(meant(entry, "") for entry in needs)
        lines += ["", paragraph(f"across the cylinders, not measured: {named}", 0, 4)]
    return lines


def _closest(job: JobFile, found: Crossing, pair: Across, part: str, close: Closest) -> str:
    text = f"{part} of {pair.moving} to the spigot of {pair.spigot}: {length(close.gap, job.units)}"
    place = f"{_angle(close.at)} of {pair.moving}, at {_around(close.around)} degrees around the bore of {pair.spigot}"
    return paragraph(f"{text}, {place}: {VERDICTS[verdict_of(close.gap, found.limit)]}", 2, 4)


def _drop(job: JobFile, drop: DropOn) -> list[str]:
    lines = _lowered(job, drop)
    if not math.isnan(drop.crown):
        side = "above" if drop.crown >= 0 else "below"
        text = f"the crown of {drop.lowered} then stands {length(abs(drop.crown), job.units)} {side} its case deck"
        lines.append(paragraph(text, 6, 2))
    return lines


def _lowered(job: JobFile, drop: DropOn) -> list[str]:
    head = f"{drop.fitted} fitted, {drop.lowered} lowered"
    if drop.always:
        return [
            paragraph(
                f"{head}: at any crank angle, most room {length(drop.margin, job.units)} at {_signed(drop.best)}",
                2,
                4,
            )
        ]
    if not drop.windows:
        meets = f"they meet by {length(-drop.margin, job.units)}"
        why = f"most room {length(drop.margin, job.units)}" if drop.margin > 0 else meets
        text = f"{head}: NONE, {why} at the least bad angle, {_signed(drop.best)}"
        return [paragraph(text, 2, 4), paragraph(_cut(job, drop.relief), 6, 2)]
    lines = []
    for one in drop.windows:
        text = f"{head}: {_window(one)}; most room {length(one.margin, job.units)} at {_signed(one.at)}"
        lines.append(paragraph(text, 2, 4))
    assert drop.safest is not None
    lines.append(paragraph(f"hold the crank at {_signed(drop.safest)}", 6, 2))
    return lines


def _window(window: Window) -> str:
    """Return a window's ends, both within half a turn of top centre."""
    if window.ends > math.pi:
        return f"from {_signed(window.begins)} over bottom centre to {_signed(window.ends - math.tau)}"
    return f"from {_signed(window.begins)} to {_signed(window.ends)}"


def _cut(job: JobFile, relief: Relief | None) -> str:
    if relief is None:
        return "no relief in the lower edge alone is enough: shorten the spigot, or look at the skirt"
    return (
        f"cut this much: a relief at {_around(relief.at)} degrees around the bore, {length(relief.height, job.units)} up from "
        f"the spigot's lower edge, over {2 * math.degrees(relief.half):.0f} degrees of it"
    )


def _around(angle: float) -> str:
    """Return a place around a bore, 0 to 359 degrees."""
    return f"{round(math.degrees(angle)) % 360}"


def _angle(angle: float) -> str:
    degrees = math.degrees(angle)
    if abs(abs(degrees) - 180.0) < 0.05:
        return "at bottom centre"
    if abs(degrees) < 0.05:
        return "at top centre"
    return f"{abs(degrees):.1f} degrees {'after' if degrees > 0 else 'before'} top centre"


def _signed(angle: float) -> str:
    return f"{math.degrees(angle):.1f} degrees"


def across_rows(found: Crossing) -> list[dict[str, Any]]:
    """Return pistons against spigots for JSON."""
    return [
        {
            "piston": one.moving,
            "spigot": one.spigot,
            **_closest_row(one.piston, found.limit),
            "relief": _relief_row(found.reliefs.get((one.moving, one.spigot))),
            "conrod": None if one.conrod is None else _closest_row(one.conrod, found.limit),
        }
        for one in found.across
    ]


def _closest_row(close: Closest, limit: Limit) -> dict[str, Any]:
    return {
        "gap_mm": close.gap,
        "at_deg": math.degrees(close.at),
        "around_deg": math.degrees(close.around),
        "target_mm": limit.value,
        "verdict": verdict_of(close.gap, limit).value,
    }


def piston_rows(found: Crossing) -> list[dict[str, Any]]:
    """Return pistons against each other for JSON."""
    return [
        {"pistons": list(one.cylinders), "gap_mm": one.gap, "at_deg": math.degrees(one.at)}
        for one in found.pistons
    ]


def drop_rows(found: Sequence[DropOn]) -> list[dict[str, Any]]:
    """Return the windows for JSON."""
    return [
        {
            "fitted": one.fitted,
            "lowered": one.lowered,
            "windows_deg": [
                [math.degrees(window.begins), math.degrees(window.ends)] for window in one.windows
            ],
            "margins_mm": [window.margin for window in one.windows],
            "safest_deg": None if one.safest is None else math.degrees(one.safest),
            "margin_mm": one.margin,
            "at_any_angle": one.always,
            "crown_over_deck_mm": None if math.isnan(one.crown) else one.crown,
            "relief": _relief_row(one.relief),
        }
        for one in found
    ]


def _relief_row(relief: Relief | None) -> dict[str, float] | None:
    if relief is None:
        return None
    return {
        "at_deg": math.degrees(relief.at),
        "half_deg": math.degrees(relief.half),
        "height_mm": relief.height,
    }
