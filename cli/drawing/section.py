"""A section through one valve and the crown under it, where the valve comes closest along its stem; to scale, mm.

The section's plane holds the stem and stands upright. Across counts from the middle of the valve's face, to the right
as x grows; up counts from the crown plane. Dashed: the face where it would meet, pushed down along its stem.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from tallstack.geometry.clearance.clearances import ValveClearance
from tallstack.geometry.clearance.situation import Situation
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates
from tallstack.geometry.core.frames import Array, array, point
from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.piston.crown import Crown, first_metal

from ..job.entries.fields import INCH
from ..page.clearance_words import at_crank
from ..page.wording import length
from .lines import Drawing, Fill, Item, Line, Point, Stroke, Text, View, extent
from .sheet import CAUTION, HEADER, MARGIN, NOTE, PAGE, TITLE, TOLD, shortened

BESIDE_MM = 9.0  # of crown shown beyond the head
STEM_MM = 22.0  # of stem shown
METAL_MM = 4.0  # of crown shown below its deepest
POINTS = 1201
USUAL_STEM_MM = 8.0  # drawn where no stem diameter is entered
SMALL = 2.5  # mm of paper


def section(mapping: Flat, units: str, here: Situation, valve: ValveClearance) -> View | None:
    """Return one valve's section at its least drop; None where its head is not known by coordinates.

    mapping : one engine, see `mapping`
    """
    over = here.valves.get(valve.train)
    if not isinstance(over, ByCoordinates) or not valve.drop:
        return None
    least = valve.drop[0]
    angle = array(least.angle)
    stem, head = over.head.stem, over.head
    centre = head.centre + point(0.0, 0.0, over.descent(angle)) - float(over.lift.at(angle)) * stem
    flat = level(stem)
    lean = math.atan2(float(np.dot(stem[:2], flat)), float(stem[2]))
    reach = float(head.radius) + BESIDE_MM
    across = np.linspace(-reach, reach, POINTS)
    crown = heights_along(over.below.crown, centre, flat, across)
    floor = float(crown.min()) - METAL_MM
    surface = thinned([(float(u), float(v)) for u, v in zip(across, crown, strict=True)])
    entered = Reader(mapping, (f"{valve.train}.",)).find("valve.stem_diameter")
    half = (USUAL_STEM_MM if entered is None else float(entered)) / 2
    face = Face(float(centre[2]), lean, float(head.radius))
    items: list[Item] = [
        Line(((-reach, floor), *surface, (reach, floor)), Stroke.THIN, closed=True, fill=Fill.GREY),
        Line(surface, Stroke.OUTLINE),
        Line(face.outline(float(head.margin), half), Stroke.OUTLINE, closed=True, fill=Fill.WHITE),
        *face.pushed(least.value),
        *_bar(units, -reach, floor - 2.5),
    ]
    named = valve.train.replace(".", " ")
    title = f"{named}, {at_crank(least.angle)}: drop {length(least.value, units)}"
    return View(f"section-{valve.train}", title, tuple(items))


def sections_page(title: str, views: Sequence[View]) -> Drawing:
    """Return a page with sections beside and under each other, all at one scale."""
    boxes = [extent(view.items) for view in views]
    columns = 1 if len(views) == 1 else 2
    rows = math.ceil(len(views) / columns)
    room = ((PAGE[0] - 2 * MARGIN) / columns - 6, (PAGE[1] - 2 * MARGIN - HEADER) / rows - 10)
    scale = next(
        one
        for one in (5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.8, 0.5, 0.3)
        if all((b[2] - b[0]) * one <= room[0] and (b[3] - b[1] + 3) * one <= room[1] for b in boxes)
        or one == 0.3
    )
    told = f"sections where valves come closest, {f'{scale:g}:1' if scale >= 1 else f'1:{1 / scale:g}'} on A4"
    said: list[Item] = [
        Text((MARGIN, PAGE[1] - MARGIN - 4), shortened(title, PAGE[0] - 2 * MARGIN, TITLE), TITLE, bold=True),
        Text((MARGIN, PAGE[1] - MARGIN - 9.2), f"{told}; dashed: the face where it would meet", TOLD),
        Text((MARGIN, MARGIN), CAUTION, NOTE),
    ]
    placed: list[View] = []
    for index, (view, box) in enumerate(zip(views, boxes, strict=True)):
        left = MARGIN + (index % columns) * (PAGE[0] - 2 * MARGIN) / columns
        top = PAGE[1] - MARGIN - HEADER - (index // columns) * (room[1] + 10)
        said.append(Text((left, top - 3), shortened(view.title, room[0], TOLD), TOLD, bold=True))
        origin = (left + 2 - box[0] * scale, top - 7 - box[3] * scale)
        placed.append(replace(view, origin=origin, scale=scale))
    return Drawing(f"{title}: sections", told, PAGE[0], PAGE[1], (*placed, View("page", title, tuple(said))))


class Face:
    """The valve's face in the plane of the section."""

    def __init__(self, height: float, lean: float, radius: float) -> None:
        self.height, self.radius, self.lean = height, radius, lean
        self.along = (math.sin(lean), math.cos(lean))
        self.square = (math.cos(lean), -math.sin(lean))

    def at(self, aside: float, up: float) -> Point:
        """Return a point so far to the side of the stem's axis and up along it."""
        return (
            aside * self.square[0] + up * self.along[0],
            self.height + aside * self.square[1] + up * self.along[1],
        )

    def outline(self, margin: float, half: float) -> tuple[Point, ...]:
        """Return the head and a piece of its stem, so much to either side of its axis."""
        tulip = margin + 0.45 * self.radius
        side = [
            (self.radius, 0.0),
            (self.radius, margin),
            (1.3 * half, tulip),
            (half, tulip + 3.0),
            (half, STEM_MM),
        ]
        return (
            *(self.at(out, up) for out, up in side),
            *(self.at(-out, up) for out, up in reversed(side)),
        )

    def pushed(self, drop: float) -> tuple[Line, ...]:
        """Return where the face would meet, and how far it went."""
        face = Line((self.at(-self.radius, -drop), self.at(self.radius, -drop)), Stroke.INDICATED)
        ways = (
            Line((self.at(side * self.radius, -drop), self.at(side * self.radius, 0.0)), Stroke.THIN)
            for side in (-0.55, 0.55)
        )
        return (face, *ways)


def heights_along(crown: Crown, centre: Array, flat: Array, across: Array) -> Array:
    """Return the crown's heights so far across from a point, in a direction seen from above."""
    seen = point(centre[0] + across * flat[0], centre[1] + across * flat[1], 0.0)
    return first_metal(crown, seen, np.broadcast_to(np.array([0.0, 0.0, 1.0]), seen.shape))


def level(stem: Array) -> Array:
    """Return the direction across the section, seen from above, its x to the right."""
    flat = stem[:2]
    size = float(np.linalg.norm(flat))
    level = np.array([1.0, 0.0]) if size < 1e-6 else flat / size
    return -level if level[0] < 0 else level


def thinned(points: list[Point]) -> tuple[Point, ...]:
    """Return a line without the points that lie straight between their neighbours."""
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        turn = (here[0] - before[0]) * (after[1] - here[1]) - (here[1] - before[1]) * (after[0] - here[0])
        if abs(turn) > 1e-9:
            kept.append(here)
    return (*kept, points[-1])


def _bar(units: str, left: float, up: float) -> tuple[Item, ...]:
    """Return a bar that shows the scale."""
    size, long = (0.5, 0.5 * INCH) if units == "in" else (10.0, 10.0)
    return (
        Line(((left, up), (left + long, up)), Stroke.OUTLINE),
        Text((left + long + 1.0, up - 0.5), f"{size:g} {units}", SMALL),
    )
