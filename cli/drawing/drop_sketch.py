"""How a valve's drop is measured at top centre: a sketch that is not to scale.

A cylinder cut through beside one valve, which is drawn closed and, dashed, where it meets the crown. Its shapes are
always the same; only letters and values come from the job.
"""

from __future__ import annotations

import math

from .lines import Circle, Dimension, Fill, Line, Mark, Point, Stroke, Text, Way
from .solids import ball, body
from .subject import Subject

# mm of the sketch, from the cylinder's axis and up
LEAN = math.radians(15.0)
CLOSED = (-16.0, 40.0)  # centre of the valve's face
DROP, RADIUS, MARGIN, STEM, LENGTH = 26.0, 20.0, 2.0, 3.5, 112.0
NEAR_WALL, FAR_WALL = 26.0, 24.0  # pocket's walls from its middle: where the valve moves to, and opposite
CASE, FOOT, TOP, FACE, CROWN = -63.0, -60.0, 29.0, 32.0, 28.0
BORE, OUTER, DECK = 45.0, 53.0, 62.0  # half widths
PISTON, SKIRT, PIN = 43.0, -22.0, -4.0
ARC = 96.0  # radius of the lean's arc
SMALL = 2.4  # mm of paper
DROP_ENTRIES = ("measured_drop.drop", "measured_drop.lean", "measured_drop.room")


def on_valve(up: float, aside: float = 0.0, pushed: float = 0.0) -> Point:
    """Return a point of the valve, up its stem from the face and aside to the right, pushed down so far."""
    along = up - pushed
    return (
        CLOSED[0] - along * math.sin(LEAN) + aside * math.cos(LEAN),
        CLOSED[1] + along * math.cos(LEAN) + aside * math.sin(LEAN),
    )


def outline() -> tuple[Mark, ...]:
    """Return the bodies of the sketch."""
    return (*_piston(), *_stack(), *_valve(), *_told())


def _stack() -> tuple[Mark, ...]:
    found: list[Mark] = []
    for side in (-1.0, 1.0):
        inner, outer, beyond = side * BORE, side * OUTER, side * DECK
        found += [
            Line(((inner, CASE), (beyond, CASE)), Stroke.FACE),
            body(((inner, FOOT), (inner, TOP), (outer, TOP), (outer, FOOT)), known=True),
        ]
    seat, out = RADIUS + 1.0, RADIUS + 6.0
    roof = FACE + 16.0
    left = (
        (-DECK, FACE),
        (-BORE, FACE),
        on_valve(MARGIN, -seat),
        on_valve(MARGIN + 5, -seat + 3),
        (-DECK, roof - 8),
    )
    right = (
        on_valve(MARGIN, seat),
        (34.0, FACE + 9),
        (BORE, FACE),
        (DECK, FACE),
        (DECK, roof - 8),
        on_valve(MARGIN + 7, out),
    )
    return (
        *found,
        body(left, known=True),
        body(right, known=True),
        Line(((0.0, CASE - 10), (0.0, FACE + 60)), Stroke.AXIS),
    )


def _piston() -> tuple[Mark, ...]:
    near, far = on_valve(-DROP, NEAR_WALL), on_valve(-DROP, -FAR_WALL)
    rim = [(at[0] - (CROWN - at[1]) * math.tan(LEAN), CROWN) for at in (near, far)]
    within = 0.8 * PISTON
    hollow = ((within, SKIRT), (within, PIN + 5), (-within, PIN + 5), (-within, SKIRT), (-PISTON, SKIRT))
    crown = ((-PISTON, CROWN), rim[1], far, near, rim[0], (PISTON, CROWN), (PISTON, SKIRT))
    return (
        body((*crown, *hollow), known=True),
        body(((-5.0, PIN), (5.0, PIN), (6.0, CASE), (-6.0, CASE)), known=True),
        ball((0.0, PIN), 8.0, known=True),
        Circle((0.0, PIN), 1.2, Stroke.THIN, Fill.BLACK),
    )


def _valve() -> tuple[Mark, ...]:
    head = ((0.0, -RADIUS), (MARGIN, -RADIUS), (16.0, -STEM), (16.0, STEM), (MARGIN, RADIUS), (0.0, RADIUS))
    stem = ((15.0, -STEM), (LENGTH, -STEM), (LENGTH, STEM), (15.0, STEM))
    return (
        body([on_valve(*one) for one in stem], known=True),
        body([on_valve(*one) for one in head], known=True),
        Line(tuple(on_valve(*one, pushed=DROP) for one in head), Stroke.INDICATED, closed=True),
        Line((CLOSED, (CLOSED[0], CLOSED[1] + ARC + 4)), Stroke.AXIS),
        Line((CLOSED, on_valve(LENGTH + 8)), Stroke.AXIS),
    )


def _told() -> tuple[Text, ...]:
    tip = on_valve(LENGTH)
    return (
        Text((tip[0] + 34, tip[1] - 1), "both lifters on the base circle;", SMALL),
        Text((tip[0] + 34, tip[1] - 12), "pushed down until it touches,", SMALL),
        Text((tip[0] + 34, tip[1] - 23), "against a light checking spring", SMALL),
        Text((8.0, SKIRT - 8), "piston at top centre", SMALL),
    )


def dimensions(subject: Subject) -> tuple[Dimension, ...]:
    """Return where each reading is taken, with the values that were entered."""
    pushed = {"pushed": DROP}
    ends = (on_valve(0.0, -RADIUS), on_valve(0.0, -RADIUS, **pushed))
    found = [*subject.dimension(DROP_ENTRIES[0], Way.ALONG, *ends, offset=-2.5, blank=True)]
    arc = ((CLOSED[0], CLOSED[1] + ARC), on_valve(ARC))
    found += subject.dimension(DROP_ENTRIES[1], Way.ANGLE, *arc, side=1.0, apex=CLOSED, blank=True)
    ends = (on_valve(0.0, RADIUS, **pushed), on_valve(0.0, NEAR_WALL, **pushed))
    on_crown = subject.reader.word("measured_drop.meets") == "crown"
    found += subject.dimension(DROP_ENTRIES[2], Way.ALONG, *ends, blank=not on_crown)
    return tuple(found)
