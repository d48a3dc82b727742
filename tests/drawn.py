"""Drawings of the worked example by coordinates, and what stands on them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from tallstack.cli.drawing import pages, sheet
from tallstack.cli.drawing.labels import Ground, crossing
from tallstack.cli.drawing.lines import Anchor, Circle, Dimension, Drawing, Line, Text
from tallstack.cli.drawing.subject import Gear, Subject, gear, heights
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.cli.page.letters import file_of
from tallstack.geometry.pushrod.ordering import Order, orders

from .commands import COORDINATES

CUTS = (
    'stack.case_cut="1.2 mm"',
    'stack.head_cut="0.8 mm"',
    'piston.pin_offset="1.0 mm"',
    'front.intake.valve.sink="0.6 mm"',
    'front.intake.lifter.lowered="1.4 mm"',
)


@cache
def job_of(path: Path, variations: tuple[str, ...] = ()) -> Job:
    return load(path, variations)


def order_of(job: Job, train: str) -> Order:
    found = orders(job.mapping, job.quantities, job.doubts)
    return next(one for one in found if one.train.name == train)


@cache
def subject(train: str, variations: tuple[str, ...] = (), path: Path = COORDINATES) -> Subject:
    job = job_of(path, variations)
    return pages.subject_of(job, order_of(job, train))


@cache
def page(train: str, variations: tuple[str, ...] = (), path: Path = COORDINATES) -> Drawing:
    job = job_of(path, variations)
    return pages.drawing(job, order_of(job, train))


def gear_of(train: str, variations: tuple[str, ...] = ()) -> Gear:
    found = gear(subject(train, variations))
    assert found is not None
    return found


def unplaced(one: Subject) -> tuple[sheet.Unplaced, ...]:
    return sheet.views(one, heights(one), gear(one))


def dimensions(train: str, variations: tuple[str, ...] = ()) -> dict[str, Dimension]:
    views = unplaced(subject(train, variations))
    return {one.entry: one for view in views for one in view.items if isinstance(one, Dimension)}


def outlines(train: str, variations: tuple[str, ...] = ()) -> list[Line | Circle]:
    views = unplaced(subject(train, variations))
    return [one for view in views for one in view.items if isinstance(one, (Line, Circle))]


def measured(one: Dimension) -> tuple[object, ...]:
    return (one.way, one.start, one.end, one.apex)


def labels(drawing: Drawing) -> list[str]:
    return [mark.words for mark in drawing.on_page() if isinstance(mark, Text)]


def crosses(first: Text, second: Text) -> bool:
    """Say whether two upright or level texts lie on each other."""
    boxes = []
    for one in (first, second):
        across, up = zip(*one.corners(), strict=True)
        boxes.append((min(across), min(up), max(across), max(up)))
    (a, b, c, d), (e, f, g, h) = boxes
    slack = 0.3
    across_by, up_by = min(c, g) - max(a, e), min(d, h) - max(b, f)
    return bool(across_by > slack and up_by > slack)


@cache
def advances(bold: bool) -> dict[int, float]:
    """How far each letter of the printed face advances, of its size."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    with TTFont(file_of("DejaVuSans-Bold" if bold else "DejaVuSans")) as font:
        names, table, units = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
        return {letter: table[name][0] / units for letter, name in names.items()}


def box(text: Text) -> tuple[float, float, float, float]:
    """Where an upright text stands as it is printed: middle, half its width, half the height of its letters."""
    wide = text.size * sum(advances(text.bold).get(ord(one), 1.0) for one in text.words)
    left = text.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[text.anchor]
    return left + wide / 2, text.at[1] + 0.36 * text.size, wide / 2, 0.36 * text.size


def struck(drawing: Drawing, least: float = 0.3) -> list[str]:
    """Texts that lie on one another or on a line of at least that weight, as they are printed."""
    marks = drawing.on_page()
    texts = [one for one in marks if isinstance(one, Text) and one.words and not one.turn]
    boxes = [box(one) for one in texts]
    found = []
    for place, ((u, v, a, b), text) in enumerate(zip(boxes, texts, strict=True)):
        for (p, q, c, d), other in zip(boxes[place + 1 :], texts[place + 1 :], strict=True):
            if abs(u - p) < a + c - 0.05 and abs(v - q) < b + d - 0.05:
                found.append(f"{text.words} / {other.words}")
    heavy = Ground(one for one in marks if not isinstance(one, Text) and one.stroke.weight >= least).segments
    if len(heavy):
        found += [
            f"{text.words} on a line"
            for (u, v, a, b), text in zip(boxes, texts, strict=True)
            if crossing(heavy, (u, v), (a, b)).any()
        ]
    return found
