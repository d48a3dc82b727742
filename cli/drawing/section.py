"""A section through one valve and the crown under it, where the valve comes closest along its stem; to scale, mm.

The section's plane holds the stem and stands upright. Across counts from the middle of the valve's face, to the right
as x grows; up counts from the crown plane. Dashed: the face where it would meet, pushed down along its stem. The figure
stands in the gap, the verdict with it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from tallstack.geometry.clearance.clearances import ValveClearance
from tallstack.geometry.clearance.situation import Situation
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates
from tallstack.geometry.core.frames import Array, array, point
from tallstack.geometry.core.mapping import Flat, Reader
from tallstack.geometry.piston.crown import Crown, first_metal

from ..job.contradicted import word
from ..job.entries.fields import INCH
from ..page.clearance_words import at_crank
from ..page.wording import in_one
from .lines import (
    Anchor,
    Circle,
    Drawing,
    Fill,
    Item,
    Line,
    Point,
    Stroke,
    Text,
    View,
    extent,
    measured,
    thinned,
    width,
)
from .sheet import CAUTION, HEADER, MARGIN, NOTE, PAGE, TITLE, TOLD, shortened

BESIDE_MM = 9.0  # of crown shown beyond the head
STEM_MM = 22.0  # of stem shown
METAL_MM = 4.0  # of crown shown below its deepest
POINTS = 1201
USUAL_STEM_MM = 8.0  # drawn where no stem diameter is entered
SMALL = 2.5  # mm of paper, as are the following
SAID, ROW, LEADER, EDGE = 3.4, 5.0, 6.0, 3.0
SCALES = (5.0, 4.0, 3.0, 2.5, 2.0, 1.75, 1.5, 1.25, 1.0, 0.8, 0.65, 0.5, 0.4, 0.3)


def section(mapping: Flat, units: str, here: Situation, valve: ValveClearance) -> Cut | None:
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
        Line(((-reach, floor), *surface, (reach, floor)), Stroke.OUTLINE, closed=True, fill=Fill.GREY),
        Line(face.outline(float(head.margin), half), Stroke.OUTLINE, closed=True, fill=Fill.GREY),
        *face.pushed(least.value),
        *_bar(units, -reach, floor - 2.5),
    ]
    named = valve.train.replace(".", " ")
    view = View(f"section-{valve.train}", f"{named}, {at_crank(least.angle)}", tuple(items))
    side = 1.0 if face.along[0] <= 0 else -1.0  # on which the face stands higher over the crown
    return Cut(view, units, _words(valve), face.at(side * 0.8 * face.radius, -least.value / 2), side)


Said = Callable[[str], str]  # words with their lengths in "mm" or in "in"


class Cut(NamedTuple):
    """A section, and what is to be said in it."""

    view: View
    units: str
    said: tuple[tuple[Said, bool], ...]  # words, and whether they are bold
    gap: Point  # in the gap, where a leader ends
    side: float  # on which the words stand, 1 right

    @property
    def name(self) -> str:
        """Its name."""
        return self.view.name

    @property
    def title(self) -> str:
        """What it is of, in words."""
        return self.view.title


def _words(valve: ValveClearance) -> tuple[tuple[Said, bool], ...]:
    """Return the verdict, what it stands on, and its limit."""
    drop, judged = valve.drop[0].value, valve.piston
    rows: list[tuple[Said, bool]] = [(lambda unit: f"drop {in_one(drop, unit)}", True)]
    if judged is None:
        return tuple(rows)
    verdict, value, limit = word(judged.verdict, judged.look_again), judged.value, judged.limit.value
    rows.insert(0, (lambda _: verdict, True))
    if judged.name == "gap":
        rows.append((lambda unit: f"straight gap {in_one(value, unit)}", True))
    return (*rows, (lambda unit: f"limit {in_one(limit, unit)}", False))


def fitted(cut: Cut, wide: float, high: float, most: float = 5.0) -> tuple[View, float, float]:
    """Return a section within so much paper, its words beside the gap, and how wide and high it came out.

    Its lower left corner stands at nought.
    """
    left, low, right, top = extent([one for one in cut.view.items if not isinstance(one, Text)])
    beside = (
        max(width(say(unit), SAID, bold) for say, bold in cut.said for unit in ("mm", "in"))
        + LEADER
        + 2 * EDGE
    )
    scale = min((wide - beside) / (right - left), (high - 2 * EDGE) / (top - low), most)
    scale = next((one for one in SCALES if one <= scale + 1e-9), scale)
    rows, unit = len(cut.said), 1 / scale
    more = max(0.0, rows * ROW - (top - low) * scale) / 2
    foot, head = low * scale - more, top * scale + more
    middle = min(max(cut.gap[1] * scale, foot + rows * ROW / 2), head - rows * ROW / 2)
    edge = (right * scale + LEADER) if cut.side > 0 else (left * scale - LEADER)
    said: list[Item] = []
    for place, (say, bold) in enumerate(cut.said):
        up = middle + (rows / 2 - place - 0.8) * ROW
        anchor = Anchor.START if cut.side > 0 else Anchor.END
        said.append(measured((edge * unit, up * unit), cut.units, say, SAID, anchor, bold))
    near = ((edge - cut.side) * unit, middle * unit)
    said += [Line((near, cut.gap), Stroke.THIN), Circle(cut.gap, 0.45 * unit, Stroke.THIN, Fill.BLACK)]
    across = EDGE - left * scale + (beside - 2 * EDGE if cut.side < 0 else 0.0)
    view = replace(cut.view, items=(*cut.view.items, *said), origin=(across, EDGE - foot), scale=scale)
    return view, (right - left) * scale + beside, head - foot + 2 * EDGE


def sections_page(title: str, cuts: Sequence[Cut]) -> Drawing:
    """Return a page with sections beside and under each other, all at one scale."""
    tries = []
    for columns in (1, 2):
        rows = math.ceil(len(cuts) / columns)
        room = ((PAGE[0] - 2 * MARGIN) / columns - 6, (PAGE[1] - 2 * MARGIN - HEADER - 4) / rows - 8)
        tries.append((min(fitted(one, *room)[0].scale for one in cuts), columns, room))
    scale, columns, room = max(tries)
    told = (
        f"sections where valves come closest, {f'{scale:g}:1' if scale >= 1 else f'1:{1 / scale:.3g}'} on A4"
    )
    said: list[Item] = [
        Text((MARGIN, PAGE[1] - MARGIN - 4), shortened(title, PAGE[0] - 2 * MARGIN, TITLE), TITLE, bold=True),
        Text((MARGIN, PAGE[1] - MARGIN - 9.2), f"{told}; dashed: the face where it would meet", TOLD),
        Text((MARGIN, MARGIN), CAUTION, NOTE),
    ]
    placed: list[View] = []
    for index, one in enumerate(cuts):
        view, wide, high = fitted(one, *room, most=scale)
        left = MARGIN + (index % columns) * (PAGE[0] - 2 * MARGIN) / columns
        top = PAGE[1] - MARGIN - HEADER - (index // columns) * (room[1] + 8)
        said.append(Text((left, top - 3), shortened(view.title, room[0], TOLD), TOLD, bold=True))
        across = left + max(0.0, room[0] - wide) / 2 + view.origin[0]
        up = top - 6 - max(0.0, room[1] - high) / 2 - high + view.origin[1]
        placed.append(replace(view, origin=(across, up)))
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


def _bar(units: str, left: float, up: float) -> tuple[Item, ...]:
    """Return a bar that shows the scale."""
    size, long = (0.5, 0.5 * INCH) if units == "in" else (10.0, 10.0)
    return (
        Line(((left, up), (left + long, up)), Stroke.OUTLINE),
        Text((left + long + 1.0, up - 0.5), f"{size:g} {units}", SMALL),
    )
