"""`tallstack draw`: one valve gear and its stack, one cylinder, or the whole engine."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from tallstack.geometry.pushrod.ordering import Order

from ..drawing.pages import (
    MOST_DEG,
    drawing,
    no_coordinates,
    of_engine,
    of_name,
    sketches,
    unread,
    written,
)
from ..drawing.section import section, sections_page
from ..files import OutputRefusedError, ending, write
from ..job.entries.fields import did_you_mean
from ..job.job import Job
from ..page.answer import MISSED, OK, UNUSABLE, Answer, tried, warning_blocks
from ..page.model import Lines, Words
from ..page.vocabulary import said
from ..page.wording import train_name

ENGINE = "engine"  # the name of the whole of it, where no cylinder is called so


def named(path: Path | None) -> Path:
    """Return the file to draw into, its ending looked at before anything is read.

    Raises:
        OutputRefusedError: where there is none, or its ending is none that can be written.
    """
    if path is None:
        message = "name the file to draw into: -o gear.svg, or .png or .pdf"
        raise OutputRefusedError(message)
    ending(path)
    return path


def answer(job: Job, name: str | None, out: Path, force: bool, at: float = 0.0, cut: bool = False) -> Answer:
    """Write the drawing of one valve gear, of one cylinder or of the engine, and return what was drawn.

    at  : of the engine, crank degrees from the first cylinder's overlap top centre
    cut : draw the section through the valve and what is under it

    Status 1 where a valve gear cannot be assembled.
    """
    if not abs(at) <= MOST_DEG:
        refused = f"--at {at:g}: write crank degrees from -{MOST_DEG:g} to {MOST_DEG:g}; a cycle is 720"
        return Answer(refused, {}, UNUSABLE)
    job = job.at_hand
    drawn = _drawn(job, name, out, force, at, cut)
    if drawn.status == UNUSABLE:
        return drawn
    return drawn.and_then(*(Words(one, 1) for one in tried(job)), *warning_blocks(job))


def seen(job: Job, name: str | None, at: float, cut: bool) -> tuple[bytes, int]:
    """Return what the drawing shows, and how it ended."""
    with TemporaryDirectory() as folder:
        out = Path(folder) / "seen.svg"
        status = answer(job, name, out, True, at, cut).status
        return out.read_bytes() if out.is_file() else b"", status


def _drawn(job: Job, name: str | None, out: Path, force: bool, at: float, cut: bool) -> Answer:
    kind = ending(out)
    if at and (cut or name != ENGINE):
        return Answer(
            f"--at {at:g}: is of the engine; write `engine` after the job, and no --section", {}, UNUSABLE
        )
    if cut:
        return _section(job, name, out, force)
    if name is not None and name in (*job.names["cylinders"], *sketches(job)):
        return _cylinder(job, name, out, force)
    if name == ENGINE:
        return _engine(job, at, out, force)
    lacking = unread(job, name or "")
    if lacking:
        return Answer(f"{job.path}: {name}: {lacking}", {}, UNUSABLE)
    found = job.orders
    if not found and name is None and job.names["cylinders"]:
        return _cylinder(job, job.names["cylinders"][0], out, force)
    if not found:
        return Answer(f"{job.path}: no [[train]] in this job: write one for each valve gear", {}, UNUSABLE)
    order = _chosen(found, name)
    if order is None:
        names = [*(one.train.name for one in found), *job.names["cylinders"], *sketches(job), ENGINE]
        near = did_you_mean(name or "", names) or f"; there are {', '.join(names)}"
        return Answer(f"{job.path}: {name}: no such valve gear or cylinder{near}", {}, UNUSABLE)
    write(out, written(said(job)(drawing(job, order)), kind), force, job.files)
    told = [f"cannot be assembled: {one}" for one in order.obstacles]
    told += [no_coordinates(order)] if order.train.drawn is None else []
    beside = [*job.names["cylinders"], *sketches(job), ENGINE]
    others = [*(one.train.name for one in found if one is not order), *beside]
    told += [f"others: {', '.join(others)}"] if name is None else []
    drawn_of = Lines(f"{out}: {train_name(order.train.name)}, drawn from what was entered")
    return Answer((drawn_of, *(Words(one, 1) for one in told)), {}, MISSED if order.obstacles else OK)


def _cylinder(job: Job, name: str, out: Path, force: bool) -> Answer:
    page = of_name(job, name)
    if page is None:
        message = (
            f"{job.path}: {name}: no stack to draw without stack.cylinder (cylinder, base face to top face)"
        )
        return Answer(message, {}, UNUSABLE)
    write(out, written(said(job)(page), ending(out)), force, job.files)
    sketch = sketches(job).get(name)
    what = f"cylinder {name}" if sketch is None else f"{sketch[1].called} of cylinder {sketch[0]}"
    return Answer(f"{out}: {what}, drawn from what was entered", {}, OK)


def _engine(job: Job, at: float, out: Path, force: bool) -> Answer:
    page = of_engine(job, at)
    if page is None:
        return Answer(f"{job.path}: no [[cylinder]] in this job: write one for each cylinder", {}, UNUSABLE)
    write(out, written(said(job)(page), ending(out)), force, job.files)
    how = ", not to scale" if "not to scale" in page.description else ""
    return Answer(f"{out}: the engine at {at:g} crank degrees{how}, drawn from what was entered", {}, OK)


def _section(job: Job, name: str | None, out: Path, force: bool) -> Answer:
    """Draw the section through one valve, or through each of a cylinder, at its closest."""
    found = job.clearances
    wanted = [one for one in found.valves if name in (None, ENGINE, one.train, one.train.rpartition(".")[0])]
    if not wanted:
        names = [one.train for one in found.valves]
        near = did_you_mean(name or "", names) or f"; there are {', '.join(names) or 'none in this job'}"
        return Answer(f"{job.path}: {name}: no such valve gear or cylinder{near}", {}, UNUSABLE)
    views = [
        view
        for one in wanted
        if (view := section(job.mapping, job.units, found.situations[one.train.rpartition(".")[0]], one))
    ]
    if not views:
        message = f"{job.path}: no section without the valve's place, the piston and the cam by coordinates"
        return Answer(f"{message}; a drop that was read tells none of them", {}, UNUSABLE)
    write(out, written(said(job)(sections_page(job.title, views)), ending(out)), force, job.files)
    return Answer(f"{out}: {len(views)} section{'s' if len(views) > 1 else ''}, each at its closest", {}, OK)


def _chosen(found: tuple[Order, ...], train: str | None) -> Order | None:
    """Return the valve gear that was named, or the first that has coordinates, or the first."""
    if train is not None:
        return next((one for one in found if one.train.name == train), None)
    return next((one for one in found if one.train.drawn is not None), found[0])
