"""The pages that are drawn of a job: one valve gear, one cylinder, the whole engine."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from tallstack.geometry.cam.cam import Cam, CamLobe, lifted
from tallstack.geometry.clearance.situation import situation
from tallstack.geometry.clearance.turning import Turning, opening, turning
from tallstack.geometry.clearance.valve_lift import ValveLift, valve_lift
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.frames import Array, point
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine.defaults import UNDER_CROWN
from tallstack.geometry.engine.engine import Train
from tallstack.geometry.piston.bore_entries import READINGS
from tallstack.geometry.piston.crown import first_metal
from tallstack.geometry.piston.over_piston import over_piston
from tallstack.geometry.piston.valves_touch import has_touch
from tallstack.geometry.pushrod.ordering import Order

from ..job import contradicted
from ..job.entries.engine_tables import BLOCK, NONE
from ..job.job import Job
from ..page.wording import ESTIMATE, in_one, number, steady, train_name
from . import bore_sketch, cylinder, engine_page, sheet, touch_sketch
from .engine import Engine, engine
from .lines import OTHER, Dimension, Drawing, Mark, Point, thinned
from .lobe import angles
from .stand_in import standing
from .subject import NOTHING, UP, Entered, Shown, Subject, gear, heights

SHOWN_LACKS = 8
ACROSS = ("piston.diameter", "stack.bore")  # how wide a piston is drawn
CUTS = 241  # points of a crown that is cut
MOST_DEG = 720.0  # of the crank, to either side of the first cylinder's overlap top centre
UNDRAWN = "Crank and piston are not drawn"


def drawing(job: Job, order: Order) -> Drawing:
    """Return the drawing of one valve gear and its stack."""
    subject = subject_of(job, order)
    faces, parts = heights(subject), gear(subject)
    views = sheet.views(subject, faces, parts)
    return sheet.sheet(
        subject, job.title, train_name(order.train.name), _notes(job, order, faces is None), views
    )


def of_cylinder(job: Job, name: str) -> Drawing | None:
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


class Sketch(NamedTuple):
    """How something of a cylinder is read by hand, drawn out of scale where somebody read it."""

    after: str  # a cylinder's name: what the drawing is called
    needs: str  # the table of a cylinder that it is drawn from
    called: str
    title: str
    is_there: Callable[[Reader], bool]  # of the cylinder's own entries
    outline: Callable[[], tuple[Mark, ...]]
    dimensions: Callable[[Entered], tuple[Dimension, ...]]


SKETCHES = (
    Sketch(
        ".valves",
        "valves_touch",
        "the two valves",
        "two valves pushed together",
        has_touch,
        touch_sketch.outline,
        touch_sketch.dimensions,
    ),
    Sketch(
        ".bore",
        "bore_readings",
        "the bore",
        "where the bore is read",
        lambda own: own.has(READINGS),
        bore_sketch.outline,
        bore_sketch.dimensions,
    ),
)


def sketches(job: Job) -> dict[str, tuple[str, Sketch]]:
    """Return the sketches of a job by their names, each with the cylinder that it is of."""
    return {
        f"{name}{one.after}": (name, one)
        for name in job.names["cylinders"]
        for one in SKETCHES
        if one.is_there(Reader(job.mapping, (f"{name}.",)))
    }


def unread(job: Job, name: str) -> str:
    """Return what a sketch of a cylinder lacks, where it goes by that name and nobody read it; else nothing."""
    for of in job.names["cylinders"]:
        for one in SKETCHES:
            if name == f"{of}{one.after}" and name not in sketches(job):
                return f"nothing to draw without [cylinder.{one.needs}] under cylinder {of}: {one.title}"
    return ""


def of_sketch(job: Job, name: str) -> Drawing:
    """Return a sketch by its name."""
    cylinder, one = sketches(job)[name]
    subject = cylinder_of(job, cylinder)
    items = (*one.outline(), *one.dimensions(subject))
    view = sheet.Unplaced("sketch", f"SKETCH: {one.title}", items, to_scale=False)
    notes = [sheet.CAUTION, sheet.SKETCHED]
    return sheet.sheet(subject, job.title, f"{one.called} of cylinder {cylinder}", notes, (view,))


def of_name(job: Job, name: str) -> Drawing | None:
    """Return the drawing of a cylinder, or a sketch of it, by its name; None where nothing of it is known."""
    return of_sketch(job, name) if name in sketches(job) else of_cylinder(job, name)


def of_engine(job: Job, at: float) -> Drawing | None:
    """Return the drawing of the whole engine; None where there is no cylinder.

    at : crank degrees from the first cylinder's overlap top centre
    """
    found = turned(job, np.radians([at, at + 1.0]))
    if not found.own:
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
    there = standing(job.mapping, job.tables, found)
    return engine([cylinder_of(job, name) for name in job.names["cylinders"]], subjects, there)


def cylinder_of(job: Job, name: str) -> Entered:
    """Return what is drawn of one cylinder."""
    return Entered(name, job.mapping, _written_in(job), job.units, _crown(job, name))


def subject_of(job: Job, order: Order) -> Subject:
    """Return what is drawn of one valve gear."""
    needed = None if order.required is None or order.impossible else order.required
    value = NOTHING
    if needed is not None:
        doubt = 0.0 if order.budget is None else order.budget.expanded
        long = float(needed.lengths[order.convention])
        value = Shown(number(long, job.units, doubt), number(long, OTHER[job.units], doubt))
    return Subject(
        cylinder=order.train.cylinder,
        train=order.train,
        mapping=job.mapping,
        written=_written_in(job),
        units=job.units,
        crown=_crown(job, order.train.cylinder),
        obstacles=order.obstacles,
        required_convention=order.convention,
        required_value=value,
        required_remark="ESTIMATE" if value.words and order.is_estimate else "",
        lobe_lifts=_lobe_lifts(job, order.train),
    )


def _crown(job: Job, cylinder: str) -> tuple[Point, ...]:
    """Return a crown cut along x through its middle; nothing where it is not known."""
    reader = Reader(job.mapping, (f"{cylinder}.", ""))
    wide = next((one for entry in ACROSS if (one := reader.find(entry)) is not None), None)
    below = over_piston(job.mapping, cylinder, job.tables.crowns).below
    if wide is None or below is None:
        return ()
    across = float(wide) / 2 * np.linspace(-1.0, 1.0, CUTS)
    start = point(across, 0.0, 0.0)
    up = first_metal(below.crown, start, np.broadcast_to(UP, start.shape))
    return thinned([(float(u), steady(float(v))) for u, v in zip(across, up, strict=True)])


def _lobe_lifts(job: Job, train: Train) -> Array | None:
    """Return the lifts of a valve gear's lifter through the whole cycle; None where they are not known."""
    try:
        found = Cam(job.mapping, job.tables).lobe_of(train.name)
    except GeometryError:
        return None
    if not isinstance(found, CamLobe):
        return None
    if not found.at_valve:
        return lifted(found, angles())
    gear = valve_lift(train, found)
    if not isinstance(gear, ValveLift):
        return None
    here = opening(gear, None, train.name, angles())
    return here.lifter if train.ratio is None else here.lift / float(train.ratio)


def written(page: Drawing, kind: str) -> bytes:
    """Return a drawing as the bytes of a file."""
    if kind == ".svg":
        from .svg import svg

        return svg(page)
    from .plots import figure

    return figure.png(page) if kind == ".png" else figure.pdf(page)


def _written_in(job: Job) -> frozenset[str]:
    """Return what was entered, not what a reading took from it, nor that there is none of something."""
    return frozenset(
        path for path, entry in job.entries.items() if not entry.is_taken and entry.typed not in (NONE, BLOCK)
    )


def no_coordinates(order: Order) -> str:
    """Return what a valve gear's coordinates lack, in words."""
    lacks = [one.removeprefix(f"{order.train.name}.") for one in order.train.lacks.get("coordinates", ())]
    if not lacks:
        return "The valve gear's coordinates are not entered; the sketch shows how it is measured."
    more = f" and {len(lacks) - SHOWN_LACKS} more" if len(lacks) > SHOWN_LACKS else ""
    return f"The valve gear's coordinates are not complete, they lack {', '.join(lacks[:SHOWN_LACKS])}{more}."


def _notes(job: Job, order: Order, no_stack: bool) -> list[str]:
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
        far = in_one(abs(float(differ)), job.units)
        notes.append(f"The pushrod's length is the measured one; drawn from coordinates it is {far} {way}.")
    drawn = [] if order.train.drawn is None and no_stack else [sheet.CAUTION, sheet.DASHED]
    return [*notes, *drawn, *([sheet.SKETCHED] if order.train.drawn is None else [])]
