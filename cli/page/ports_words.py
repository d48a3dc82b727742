"""How the ports moved apart and what spacers they need, in words and for JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from tallstack.geometry.core.answer import Missing
from tallstack.geometry.fits.ports import Facing, Moved

from ..job.entries.meanings import meant
from ..job.file import JobFile
from .model import Block, Form, Heading, Words
from .wording import length

STAYED = "for a manifold that stayed where it was"
LEAK = "A spacer that is too thin is an air leak and a lean engine: measure both gaps before ordering."


def port_blocks(
    job: JobFile,
    moved: Sequence[Moved],
    facing: Sequence[Facing],
    lacks: Sequence[Missing],
    before: JobFile | None,
) -> list[Block]:
    """Return where every face and point went, and what stands between two that face each other."""
    if before is None:
        return [
            Heading("PORTS"),
            Words(
                "How far they moved apart takes the engine before the change: [before], or --from BEFORE.", 1
            ),
        ]
    blocks: list[Block] = [Heading("PORTS, X forward, Z up")]
    only = [name for name in job.names["cylinders"] if name not in before.names["cylinders"]]
    if only:
        there = ", ".join(before.names["cylinders"]) or "no cylinder"
        text = f"{', '.join(only)}: not in {before.named}, which has {there}; the same cylinder takes the same name in both"
        blocks.append(Words(text, 1, Form.ITEM))
    for one in moved:
        what = f"{one.name} face" if one.normal is not None else f"point {one.name}"
        blocks.append(Words(f"{one.cylinder}, {what}: moved {_along(job, one.by)}", 1, Form.ITEM))
        if one.opened is not None and one.slip is not None:
            gap = f"the gap in front of it {'opened' if one.opened >= 0 else 'closed'} by {length(abs(one.opened), job.units)}"
            text = f"{STAYED}: {gap}, and it slipped {length(one.slip, job.units)} along the face"
            blocks.append(Words(text, 3))
        if one.tilted:
            blocks.append(Words(f"and it stands {math.degrees(one.tilted):.2f} degrees differently", 3))
    for pair in facing:
        names = " and ".join(pair.cylinders)
        text = f"between the {pair.face} faces of {names}: {_apart(job, pair)}"
        blocks.append(Words(text, 1, Form.ITEM))
        spacers = ", ".join(
            f"{name} {_spacer(job, value)}" for name, value in zip(pair.cylinders, pair.spacers, strict=True)
        )
        text = f"the manifold then sits with least slip moved by {_along(job, pair.manifold)}; it needs {spacers}"
        blocks.append(Words(f"{text}; slip left {length(pair.slip_left, job.units)}", 3))
        if pair.turned:
            text = f"the two faces stand {math.degrees(pair.turned):.2f} degrees differently to each other"
            blocks.append(Words(text, 3))
    blocks += [Words(LEAK, 1)] if facing else []
    needs = list(dict.fromkeys(entry for one in lacks for entry in one.entries))
    if needs:
        blocks.append(Words(f"not measured: {', '.join(meant(entry) for entry in needs)}", 1, Form.ITEM))
    return blocks


def spacer_words(job: JobFile, facing: Sequence[Facing]) -> list[str]:
    """Return how far two faces that face each other went apart and what they need, for one screen."""
    told = []
    for pair in facing:
        spacers = ", ".join(
            f"{name} {_spacer(job, value)}" for name, value in zip(pair.cylinders, pair.spacers, strict=True)
        )
        told.append(
            f"{pair.face} faces {_apart(job, pair).partition(',')[0]}: {spacers}; try both gaps before ordering"
        )
    return told


def _along(job: JobFile, by: Iterable[float]) -> str:
    return ", ".join(f"{axis} {_signed(job, value)}" for axis, value in zip("XYZ", by, strict=True))


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
