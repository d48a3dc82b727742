"""What stands between crank and head, where nothing of it is entered yet: a sketch that is not to scale.

A cylinder cut through with its gaskets, piston and crank. Its shapes are always the same; only letters come from the job.
"""

from __future__ import annotations

from .lines import Circle, Dimension, Fill, Line, Mark, Stroke, Text, Way
from .solids import arm, body
from .subject import Subject

# mm of the sketch, from the crank centre and up
THROW, PIN, CROWN, SKIRT = 34.0, 150.0, 178.0, 130.0
CASE, FOOT, TOP, FACE = 92.0, 96.0, 181.0, 185.0
BORE, OUTER, DECK = 40.0, 47.0, 56.0  # half widths
CRANK, CRANK_PIN = (0.0, 0.0), (0.0, THROW)
SMALL = 2.4  # mm of paper


def outline() -> tuple[Mark, ...]:
    """Return the bodies of the sketch."""
    half, within = BORE - 2.0, 0.8 * BORE
    hollow = ((within, SKIRT), (within, PIN + 6), (-within, PIN + 6), (-within, SKIRT), (-half, SKIRT))
    found: list[Mark] = [
        arm(CRANK, 14.0, CRANK_PIN, 11.0, known=True),
        Circle(CRANK, THROW, Stroke.AXIS),
        body(((-half, CROWN), (half, CROWN), (half, SKIRT), *hollow), known=True),
        arm(CRANK_PIN, 8.0, (0.0, PIN), 6.0, known=True),
        *(Circle(at, 1.2, Stroke.THIN, Fill.BLACK) for at in ((0.0, PIN), CRANK_PIN, CRANK)),
    ]
    for side in (-1.0, 1.0):
        inner, outer, beyond = side * BORE, side * OUTER, side * DECK
        found += [
            Line(((inner, CASE), (beyond, CASE)), Stroke.FACE),
            body(((inner, FOOT), (inner, TOP), (outer, TOP), (outer, FOOT)), known=True),
            Line(((inner, FACE), (beyond, FACE)), Stroke.FACE),
        ]
    return (
        *found,
        Line(((0.0, -THROW - 6), (0.0, FACE + 14)), Stroke.AXIS),
        Text((-DECK, -THROW - 34), "left: as it will be built", SMALL),
        Text((-DECK, -THROW - 46), "right: when the rod was read", SMALL),
    )


def dimensions(subject: Subject) -> tuple[Dimension, ...]:
    """Return the heights of gaskets and cylinder, as they will be built and as a rod was read on, and the crank."""
    found: list[Dimension] = []
    faces = (("base_gasket", CASE, FOOT), ("cylinder", FOOT, TOP), ("head_gasket", TOP, FACE))
    for reading, side in (("", -1.0), ("measured_pushrod.", 1.0)):
        for entry, low, high in faces:
            up = ((side * OUTER, low), (side * OUTER, high))
            found += subject.dimension(f"{reading}stack.{entry}", Way.UP, *up, side=side, blank=True)
    ends = ((0.0, THROW), (0.0, PIN))
    found += subject.dimension("crank.conrod_length", Way.UP, *ends, inside=0.55 * BORE, blank=True)
    ends = ((0.0, -THROW), (0.0, THROW))
    found += subject.dimension("crank.stroke", Way.UP, *ends, inside=-0.45 * BORE, blank=True)
    return tuple(found)
