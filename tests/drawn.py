"""Drawings of the worked example by coordinates, and what stands on them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from tallstack.cli.drawing import pages, sheet
from tallstack.cli.drawing.lines import Circle, Dimension, Drawing, Line, Text
from tallstack.cli.drawing.subject import Gear, Subject, gear, heights
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
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
def job_of(path: Path, variations: tuple[str, ...] = ()) -> JobFile:
    return load(path, variations)


def order_of(job: JobFile, train: str) -> Order:
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
