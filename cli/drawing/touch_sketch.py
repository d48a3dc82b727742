"""How two valves are pushed together by hand: a sketch that is not to scale.

Both valves of a cylinder in the plane of their stems, dashed on their seats and drawn where the intake's edge has just
come to the exhaust's side, a dial on each retainer; beneath, what is seen along the cylinder of the stems that spread off
the line of the heads' centres. Its shapes are always the same; only letters and values come from the job.
"""

from __future__ import annotations

import math
from dataclasses import replace

from tallstack.geometry.piston.touch_entries import NONE_UP_TO, TABLE

from ..page.wording import number
from .lines import Circle, Dimension, Fill, Line, Mark, Point, Stroke, Text, Way
from .solids import ball, body
from .subject import Entered

# mm of the sketch, from between the heads and up
LEAN = math.radians(26.0)  # of either stem
SEATED = ((-25.0, 20.0), (25.0, 20.0))  # centre of each face, the valve closed: intake, exhaust
OPEN = (17.0, 22.0)  # where the two have just come together
RADIUS, MARGIN, STEM, LENGTH, RETAINER = 21.0, 2.5, 3.2, 92.0, 12.0
DIAL, PLUNGER = 9.0, 12.0  # radius; how far it stands off the retainer
APEX = (0.0, SEATED[1][1] - SEATED[1][0] / math.tan(LEAN))  # where the stems' lines meet
ARC = 108.0  # radius of the arc between them
SPREAD = math.radians(9.0)
CENTRES, FROM_ABOVE, TIPS = (-25.0, 25.0), -66.0, 42.0  # seen along the cylinder
SMALL = 2.4  # mm of paper


def on_valve(side: int, up: float, aside: float = 0.0, opened: float = 0.0) -> Point:
    """Return a point of a valve, up its stem from the face and aside from it outward, opened so far.

    side : 0 the intake, on the left; 1 the exhaust
    """
    way = -1.0 if side == 0 else 1.0
    along = up - opened
    across = SEATED[side][0] + way * (along * math.sin(LEAN) + aside * math.cos(LEAN))
    return across, SEATED[side][1] + along * math.cos(LEAN) - aside * math.sin(LEAN)


def outline() -> tuple[Mark, ...]:
    """Return the bodies of the sketch."""
    marks: list[Mark] = []
    for side in (0, 1):
        marks += [*_roof(side), *_valve(side), *_dial(side)]
    return (*marks, *_along_the_cylinder(), *_told())


def _valve(side: int) -> tuple[Mark, ...]:
    head = (
        *((0.0, -RADIUS), (MARGIN, -RADIUS), (16.0, -STEM), (16.0, STEM)),
        *((MARGIN, RADIUS), (0.0, RADIUS)),
    )
    shank = ((15.0, -STEM), (LENGTH, -STEM), (LENGTH, STEM), (15.0, STEM))
    keeper = (
        *((LENGTH - 8, -RETAINER), (LENGTH - 4, -RETAINER)),
        *((LENGTH - 4, RETAINER), (LENGTH - 8, RETAINER)),
    )
    opened = OPEN[side]
    return (
        Line(tuple(on_valve(side, *one) for one in head), Stroke.INDICATED, closed=True),
        *(
            body([on_valve(side, *one, opened=opened) for one in part], known=True)
            for part in (shank, keeper, head)
        ),
        Line((on_valve(side, -34.0), on_valve(side, LENGTH + 30)), Stroke.AXIS),
    )


def _roof(side: int) -> tuple[Mark, ...]:
    """Return the seat that a valve has left, cut through."""
    return tuple(
        body(
            [
                on_valve(side, up, way * across)
                for up, across in (
                    (1.5, RADIUS + 0.5),
                    (6.0, RADIUS - 3),
                    (13.0, RADIUS + 1),
                    (7.0, RADIUS + 6),
                )
            ],
            known=True,
        )
        for way in (-1, 1)
    )


def _dial(side: int) -> tuple[Mark, ...]:
    rests = on_valve(side, LENGTH - 4, -RETAINER * 0.7, opened=OPEN[side])
    foot = on_valve(side, LENGTH - 4 + PLUNGER, -RETAINER * 0.7, opened=OPEN[side])
    centre = on_valve(side, LENGTH - 4 + PLUNGER + DIAL, -RETAINER * 0.7, opened=OPEN[side])
    hand = on_valve(side, LENGTH - 4 + PLUNGER + DIAL + 5.5, -RETAINER * 0.7 + 3.0, opened=OPEN[side])
    return (
        Line((rests, foot), Stroke.OUTLINE),
        ball(centre, DIAL, known=True),
        Circle(centre, DIAL - 2.0, Stroke.THIN, Fill.WHITE),
        Line((centre, hand), Stroke.THIN),
    )


def _along_the_cylinder() -> tuple[Mark, ...]:
    line = ((CENTRES[0] - TIPS - 8, FROM_ABOVE), (CENTRES[1] + TIPS + 14, FROM_ABOVE))
    turned = _turned(TIPS)
    return (
        Line(line, Stroke.AXIS),
        *(ball((one, FROM_ABOVE), RADIUS * 0.8, known=True) for one in CENTRES),
        *(Circle((one, FROM_ABOVE), 1.2, Stroke.THIN, Fill.BLACK) for one in CENTRES),
        Line(((CENTRES[0], FROM_ABOVE), (CENTRES[0] - TIPS, FROM_ABOVE)), Stroke.OUTLINE),
        Line(((CENTRES[1], FROM_ABOVE), turned), Stroke.OUTLINE),
        ball((CENTRES[0] - TIPS, FROM_ABOVE), STEM, known=True),
        ball(turned, STEM, known=True),
    )


def _turned(far: float) -> Point:
    """Return a place of the exhaust's stem as it is seen along the cylinder."""
    return CENTRES[1] + far * math.cos(SPREAD), FROM_ABOVE + far * math.sin(SPREAD)


def _told() -> tuple[Text, ...]:
    left, up = -136.0, 74.0
    return (
        Text((left, up), "light springs, piston far down,", SMALL),
        Text((left, up - 9), "both dials nought when closed", SMALL),
        Text((-50.0, FROM_ABOVE - 30), "seen along the cylinder: both tips at one height", SMALL),
    )


def dimensions(subject: Entered) -> tuple[Dimension, ...]:
    """Return where each reading is taken, with the values that were entered."""
    found: list[Dimension] = []
    for side, port in enumerate(("intake", "exhaust")):
        ends = (on_valve(side, 0.0, RADIUS + 1.5), on_valve(side, 0.0, RADIUS + 1.5, opened=OPEN[side]))
        turned = ends if side == 0 else ends[::-1]
        (edge,) = subject.dimension(f"{TABLE}.edge_{port}", Way.ALONG, *turned, offset=-3.0, blank=True)
        tried = subject.number(f"{TABLE}.edge_{port}.{NONE_UP_TO}")
        found.append(edge if tried is None else replace(edge, value=f"over {number(tried, subject.units)}"))
    arc = tuple((APEX[0] + way * ARC * math.sin(LEAN), APEX[1] + ARC * math.cos(LEAN)) for way in (1.0, -1.0))
    found += subject.dimension(f"{TABLE}.between_stems", Way.ANGLE, arc[0], arc[1], apex=APEX, blank=True)
    flat = (CENTRES[1] + TIPS + 10, FROM_ABOVE)
    found += subject.dimension(
        f"{TABLE}.spread_off", Way.ANGLE, flat, _turned(TIPS + 10), apex=(CENTRES[1], FROM_ABOVE), blank=True
    )
    return tuple(found)
