"""How the ports moved apart and what spacers they need, in words and for JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from tallstack.geometry.core.answer import Missing
from tallstack.geometry.fits.ports import Facing, Moved

from ..job.entries.meanings import meant
from ..job.file import JobFile
from .wording import length, paragraph

STAYED = "for a manifold that stayed where it was"
LEAK = "A spacer that is too thin is an air leak and a lean engine: measure both gaps before ordering."


def port_lines(
    job: JobFile,
    moved: Sequence[Moved],
    facing: Sequence[Facing],
    lacks: Sequence[Missing],
    before: JobFile | None,
) -> list[str]:
    """Return where every face and point went, and what stands between two that face each other."""
    if before is None:
        return [
            "",
            "PORTS",
            paragraph("How far they moved apart takes the job before the change: --from BEFORE.", 2, 2),
        ]
    lines = ["", "PORTS, X forward, Z up"]
    only = [name for name in job.names["cylinders"] if name not in before.names["cylinders"]]
    if only:
        there = ", ".join(before.names["cylinders"]) or "no cylinder"
        text = f"{', '.join(only)}: not in {before.path}, which has {there}; the same cylinder takes the same name in both"
        lines.append(paragraph(text, 2, 4))
    for one in moved:
        way = f"X {_signed(job, one.by[0])}, Y {_signed(job, one.by[1])}, Z {_signed(job, one.by[2])}"
        what = f"{one.name} face" if one.normal is not None else f"point {one.name}"
        lines.append(paragraph(f"{one.cylinder}, {what}: moved {way}", 2, 4))
        if one.opened is not None and one.slip is not None:
            gap = f"the gap in front of it {'opened' if one.opened >= 0 else 'closed'} by {length(abs(one.opened), job.units)}"
            lines.append(
                paragraph(
                    f"{STAYED}: {gap}, and it slipped {length(one.slip, job.units)} along the face", 6, 2
                )
            )
        if one.tilted:
            lines.append(paragraph(f"and it stands {math.degrees(one.tilted):.2f} degrees differently", 6, 2))
    for pair in facing:
        names = " and ".join(pair.cylinders)
        lines.append(paragraph(f"between the {pair.face} faces of {names}: {_apart(job, pair)}", 2, 4))
        spacers = ", ".join(
            f"{name} {_spacer(job, value)}" for name, value in zip(pair.cylinders, pair.spacers, strict=True)
        )
        moves = ", ".join(
            f"{axis} {_signed(job, value)}" for axis, value in zip("XYZ", pair.manifold, strict=True)
        )
        lines.append(
            paragraph(
                f"the manifold then sits with least slip moved by {moves}; it needs {spacers}; slip left {length(pair.slip_left, job.units)}",
                6,
                2,
            )
        )
        if pair.turned:
            lines.append(
                paragraph(
                    f"the two faces stand {math.degrees(pair.turned):.2f} degrees differently to each other",
                    6,
                    2,
                )
            )
    if facing:
        lines.append(paragraph(LEAK, 2, 2))
    needs = list(dict.fromkeys(entry for one in lacks for entry in one.entries))
    if needs:
        named = ", ".join(meant(entry) for entry in needs)
        lines.append(paragraph(f"not measured: {named}", 2, 4))
    return lines


def _apart(job: JobFile, pair: Facing) -> str:
    way = "further apart" if pair.opened >= 0 else "closer together"
    rise = "rose" if pair.rise >= 0 else "went down"
    return (
        f"{length(abs(pair.opened), job.units)} {way}, and both {rise} by {length(abs(pair.rise), job.units)}"
    )


def _spacer(job: JobFile, value: float) -> str:
    if value < -5e-4:
        return f"{length(-value, job.units)} taken off"
    return f"a spacer of {length(value, job.units)}"


def _signed(job: JobFile, value: float) -> str:
    return f"{'-' if value < 0 else '+'}{length(abs(float(value)), job.units)}"


def face_rows(moved: Sequence[Moved]) -> list[dict[str, Any]]:
    """Return faces and points for JSON."""
    return [
        {
            "cylinder": one.cylinder,
            "face" if one.normal is not None else "point": one.name,
            "moved_mm": [float(value) for value in one.by],
            "square_gap_mm": one.opened,
            "slip_mm": one.slip,
            "tilted_deg": math.degrees(one.tilted),
        }
        for one in moved
    ]


def facing_rows(facing: Sequence[Facing]) -> list[dict[str, Any]]:
    """Return pairs of faces for JSON."""
    return [
        {
            "cylinders": list(one.cylinders),
            "face": one.face,
            "opened_mm": one.opened,
            "rise_mm": one.rise,
            "manifold_moves_mm": [float(value) for value in one.manifold],
            "spacers_mm": list(one.spacers),
            "slip_left_mm": one.slip_left,
            "turned_deg": math.degrees(one.turned),
        }
        for one in facing
    ]
