"""The pages that are drawn of a job: one valve gear, one cylinder, the whole engine."""

from __future__ import annotations

import numpy as np
from tallstack.geometry.cam.cam import Cam
from tallstack.geometry.clearance.situation import situation
from tallstack.geometry.clearance.turning import Turning, turning
from tallstack.geometry.core.frames import Array
from tallstack.geometry.engine.defaults import UNDER_CROWN
from tallstack.geometry.pushrod.ordering import Order

from ..job import contradicted
from ..job.file import JobFile
from ..job.job import Job
from ..page.wording import ESTIMATE, length, train_name
from . import cylinder, engine_page, sheet
from .engine import Engine, engine
from .lines import Drawing
from .subject import Entered, Subject, gear, heights

SHOWN_LACKS = 8
MOST_DEG = 720.0  # of the crank, to either side of the first cylinder's overlap top centre
UNDRAWN = "Crank and piston are not drawn"


def drawing(job: JobFile, order: Order) -> Drawing:
    """Return the drawing of one valve gear and its stack."""
    subject = subject_of(job, order)
    faces, parts = heights(subject), gear(subject)
    views = sheet.views(subject, faces, parts)
    return sheet.sheet(
        subject, job.title, train_name(order.train.name), _notes(job, order, faces is None), views
    )


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


def of_engine(job: Job, at: float) -> Drawing | None:
    """Return the drawing of the whole engine; None where no crank is known.

    at : crank degrees from the first cylinder's overlap top centre
    """
    found = turned(job, np.radians([at, at + 1.0]))
    if not found.cylinders:
        return None
    return engine_page.page(job.title, job.units, engine_of(job, found), found, 0)


def turned(job: Job, crank: Array) -> Turning:
    """Return where a job's parts stand at crank angles [rad] from the first cylinder's overlap top centre."""
    cam = Cam(job.mapping, job.tables)
    there = {name: situation(job.mapping, name, cam) for name in job.names["cylinders"]}
    return turning(job.mapping, there, crank)


def engine_of(job: Job, found: Turning) -> Engine:
    """Return a job's engine as it is drawn."""
    subjects = [subject_of(job, order) for order in job.orders]
    return engine([cylinder_of(job, name) for name in job.names["cylinders"]], subjects, found)


def cylinder_of(job: JobFile, name: str) -> Entered:
    """Return what is drawn of one cylinder."""
    return Entered(name, job.mapping, _written_in(job), job.units)


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
        from .svg import svg

        return svg(page)
    from .plots import figure

    return figure.png(page) if kind == ".png" else figure.pdf(page)


def _written_in(job: JobFile) -> frozenset[str]:
    """Return what was entered, not what a reading took from it."""
    return frozenset(path for path, entry in job.entries.items() if not entry.is_taken)


def no_coordinates(order: Order) -> str:
    """Return what a valve gear's coordinates lack, in words."""
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
        notes.append(no_coordinates(order))
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
