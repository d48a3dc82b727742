"""`tallstack draw`: one valve gear and its stack, one cylinder, or the whole engine, to scale."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from tallstack.geometry.cam.cam import Cam
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.clearance.situation import situation
from tallstack.geometry.clearance.turning import Turning, turning
from tallstack.geometry.core.frames import Array
from tallstack.geometry.engine.defaults import UNDER_CROWN
from tallstack.geometry.pushrod.ordering import Order

from ..drawing import cylinder, engine_page, sheet
from ..drawing.engine import Engine, engine
from ..drawing.lines import Drawing
from ..drawing.section import section, sections_page
from ..drawing.subject import Entered, Subject, gear, heights
from ..files import OutputRefusedError, ending, quoted, write
from ..job import contradicted
from ..job.entries.fields import did_you_mean
from ..job.file import JobFile
from ..job.job import Job
from ..page.answer import MISSED, OK, UNUSABLE, Answer, warning_lines
from ..page.wording import ESTIMATE, length, paragraph, train_name

ENGINE = "engine"  # the name of the whole of it, where no cylinder is called so
SHOWN_LACKS = 8
MOST_DEG = 720.0  # of the crank, to either side of the first cylinder's overlap top centre
UNDRAWN = "Crank and piston are not drawn"


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
    return drawn._replace(text="\n".join((drawn.text, *warning_lines(job))))


def _drawn(job: Job, name: str | None, out: Path, force: bool, at: float, cut: bool) -> Answer:
    kind = ending(out)
    if cut:
        return _section(job, name, out, force)
    if name in job.names["cylinders"]:
        return _cylinder(job, name, out, force)
    if name == ENGINE:
        return _engine(job, at, out, force)
    found = contradicted.of_orders(job, job.orders)
    if not found and name is None and job.names["cylinders"]:
        return _cylinder(job, job.names["cylinders"][0], out, force)
    if not found:
        return Answer(f"{job.path}: no [[train]] in this job: write one for each valve gear", {}, UNUSABLE)
    order = _chosen(found, name)
    if order is None:
        names = [*(one.train.name for one in found), *job.names["cylinders"], ENGINE]
        near = did_you_mean(name or "", names) or f"; there are {', '.join(names)}"
        return Answer(f"{job.path}: {name}: no such valve gear or cylinder{near}", {}, UNUSABLE)
    write(out, written(drawing(job, order), kind), force, job.files)
    said = [f"{out}: {train_name(order.train.name)}, drawn from what was entered"]
    said += [paragraph(f"cannot be assembled: {one}", 2, 2) for one in order.obstacles]
    if order.train.drawn is None:
        said.append(paragraph(_no_coordinates(order), 2, 2))
    return Answer("\n".join(said), {}, MISSED if order.obstacles else OK)


def _cylinder(job: JobFile, name: str, out: Path, force: bool) -> Answer:
    page = of_cylinder(job, name)
    if page is None:
        message = (
            f"{job.path}: {name}: no stack to draw without stack.cylinder (cylinder, base face to top face)"
        )
        return Answer(message, {}, UNUSABLE)
    write(out, written(page, ending(out)), force, job.files)
    return Answer(f"{out}: cylinder {name}, drawn from what was entered", {}, OK)


def _engine(job: Job, at: float, out: Path, force: bool) -> Answer:
    page = of_engine(job, at)
    if page is None:
        message = f"{job.path}: nothing turns without crank.stroke (stroke, twice the throw) and crank.conrod_length"
        return Answer(f"{message} (connecting rod, centre to centre)", {}, UNUSABLE)
    write(out, written(page, ending(out)), force, job.files)
    return Answer(f"{out}: the engine at {at:g} crank degrees, drawn from what was entered", {}, OK)


def of_engine(job: Job, at: float) -> Drawing | None:
    """Return the drawing of the whole engine; None where no crank is known.

    at : crank degrees from the first cylinder's overlap top centre
    """
    found = turned(job, np.radians([at, at + 1.0]))
    if not found.cylinders:
        return None
    return engine_page.page(job.title, job.units, engine_of(job, found), found, 0)


def _section(job: Job, name: str | None, out: Path, force: bool) -> Answer:
    """Draw the section through one valve, or through each of a cylinder, at its closest."""
    found = clearances(job.mapping, job.tables, {}, {})
    wanted = [one for one in found.valves if name in (None, one.train, one.train.rpartition(".")[0])]
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
        return Answer(
            f"{message}; a drop that was read tells none of them, `tallstack check {quoted(job.path)}` says what is "
            "missing",
            {},
            UNUSABLE,
        )
    write(out, written(sections_page(job.title, views), ending(out)), force, job.files)
    return Answer(f"{out}: {len(views)} section{'s' if len(views) > 1 else ''}, each at its closest", {}, OK)


def turned(job: Job, crank: Array) -> Turning:
    """Return where a job's parts stand at crank angles [rad] from the first cylinder's overlap top centre."""
    cam = Cam(job.mapping, job.tables)
    there = {name: situation(job.mapping, name, cam) for name in job.names["cylinders"]}
    return turning(job.mapping, there, crank)


def engine_of(job: Job, found: Turning) -> Engine:
    """Return a job's engine as it is drawn."""
    subjects = [subject_of(job, order) for order in job.orders]
    return engine([cylinder_of(job, name) for name in job.names["cylinders"]], subjects, found)


def of_cylinder(job: JobFile, name: str) -> Drawing | None:
    """Return the drawing of one cylinder; None where its height is not entered."""
    subject = cylinder_of(job, name)
    faces = heights(subject)
    if faces is None:
        return None
    notes = [sheet.CAUTION, sheet.DASHED]
    if not faces.from_crank:
        notes.insert(0, f"{UNDRAWN}: stack.case_deck or what it follows from is not entered.")
    elif cylinder.lowest(subject) is None:
        lacking = [entry for entry in UNDER_CROWN[:3] if subject.number(entry) is None]
        why = (
            f"{', '.join(lacking)} not entered" if lacking else "the pin's offset is out of the crank's reach"
        )
        notes.insert(0, f"{UNDRAWN}: {why}.")
    return sheet.sheet(subject, job.title, f"cylinder {name}", notes, sheet.views_of_cylinder(subject, faces))


def cylinder_of(job: JobFile, name: str) -> Entered:
    """Return what is drawn of one cylinder."""
    return Entered(name, job.mapping, _written_in(job), job.units)


def _written_in(job: JobFile) -> frozenset[str]:
    """Return what was entered, not what a reading took from it."""
    return frozenset(path for path, entry in job.entries.items() if not entry.is_taken)


def drawing(job: JobFile, order: Order) -> Drawing:
    """Return the drawing of one valve gear and its stack."""
    subject = subject_of(job, order)
    faces, parts = heights(subject), gear(subject)
    views = sheet.views(subject, faces, parts)
    return sheet.sheet(
        subject, job.title, train_name(order.train.name), _notes(job, order, faces is None), views
    )


def subject_of(job: JobFile, order: Order) -> Subject:
    """Return what is drawn of one valve gear."""
    needed = None if order.required is None or order.impossible else order.required
    value = ""
    if needed is not None:
        doubt = 0.0 if order.budget is None else order.budget.expanded
        value = length(float(needed.lengths[order.convention]), job.units, doubt)
    return Subject(
        cylinder=order.train.cylinder,
        train=order.train,
        mapping=job.mapping,
        written=_written_in(job),
        units=job.units,
        obstacles=order.obstacles,
        required_convention=order.convention,
        required_value=value,
        required_remark=ESTIMATE if value and order.is_estimate else "",
    )


def written(page: Drawing, kind: str) -> bytes:
    """Return a drawing as the bytes of a file."""
    if kind == ".svg":
        from ..drawing.svg import svg

        return svg(page)
    from ..drawing.plots import figure

    return figure.png(page) if kind == ".png" else figure.pdf(page)


def _chosen(found: tuple[Order, ...], train: str | None) -> Order | None:
    """Return the valve gear that was named, or the first that has coordinates, or the first."""
    if train is not None:
        return next((one for one in found if one.train.name == train), None)
    return next((one for one in found if one.train.drawn is not None), found[0])


def _no_coordinates(order: Order) -> str:
    lacks = [one.removeprefix(f"{order.train.name}.") for one in order.train.lacks.get("coordinates", ())]
    if not lacks:
        return "The valve gear's coordinates are not entered; the sketch shows how it is measured."
    more = f" and {len(lacks) - SHOWN_LACKS} more" if len(lacks) > SHOWN_LACKS else ""
    return f"The valve gear's coordinates are not complete, they lack {', '.join(lacks[:SHOWN_LACKS])}{more}."


def _notes(job: JobFile, order: Order, no_stack: bool) -> list[str]:
    """Return what has to be said in the drawing, most urgent first."""
    notes: list[str] = []
    if order.look_again:
        notes += [contradicted.LOOK_AGAIN, *(f"{one[:1].upper()}{one[1:]}." for one in order.look_again)]
    if order.obstacles:
        notes += ["CANNOT BE ASSEMBLED", *(f"{one[:1].upper()}{one[1:]}." for one in order.obstacles)]
        notes.append("The points stand as entered; the rocker's arms and the pushrod are left out.")
    if order.train.drawn is None:
        notes.append(_no_coordinates(order))
    if no_stack:
        notes.append("The stack is not to scale: stack.cylinder is not entered.")
    if order.is_estimate and not order.impossible:
        notes.append(f"Pushrod: {ESTIMATE}: coordinates alone stand behind its length.")
    differ = None if order.required is None else order.required.coordinates_differ
    if differ is not None and not order.obstacles:
        way = "longer" if float(differ) >= 0 else "shorter"
        far = length(abs(float(differ)), job.units)
        notes.append(f"The pushrod's length is the measured one; drawn from coordinates it is {far} {way}.")
    return [*notes, sheet.CAUTION, sheet.DASHED]
