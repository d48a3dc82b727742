"""A lifter cut through, by where its plunger stands while a rod is read: outlines for the pose and for the choice."""

from __future__ import annotations

from ...drawing.lines import Line, Mark, Stroke
from ...drawing.solids import body

# mm, from the pushrod's lower ball centre
BALL, WIDE, FOOT, RIM = 6.0, 13.0, -35.0, 2.0
BORE, FLOOR = 9.0, -22.0
DEEP = {"top": 0.0, "down": 4.5, "bottomed": 8.0}  # how far the plunger is below its top stop
PLUNGER = ((6.0, -3.0), (8.5, -3.0), (8.5, -14.0))
COILS = 5


def lifter(plunger: str) -> tuple[Mark, ...]:
    """Return a lifter under a ball at the origin; plunger : where it is held, a key of `DEEP`, or any word of a solid one."""
    if plunger not in DEEP:
        cup = ((-8.0, RIM), (-5.0, -BALL), (5.0, -BALL), (8.0, RIM))
        return (body(((-WIDE, FOOT), (-WIDE, RIM), *cup, (WIDE, RIM), (WIDE, FOOT)), known=True),)
    rim, floor = RIM + DEEP[plunger], FLOOR + DEEP[plunger]
    hollow = ((-BORE, rim), (-BORE, floor), (BORE, floor), (BORE, rim))
    seat = ((-4.5, -BALL), (4.5, -BALL))
    left = tuple((-u, v) for u, v in reversed(PLUNGER))
    steps = [(floor + (PLUNGER[-1][1] - floor) * step / COILS) for step in range(COILS + 1)]
    coils = tuple((3.0 if place % 2 else -3.0, high) for place, high in enumerate(steps))
    return (
        body(((-WIDE, FOOT), (-WIDE, rim), *hollow, (WIDE, rim), (WIDE, FOOT)), known=True),
        body((*left, *seat, *PLUNGER), known=True),
        *((Line(coils, Stroke.THIN),) if floor < PLUNGER[-1][1] - 0.5 else ()),
        *(Line(((s * 12.0, rim), (s * 8.0, rim), (s * 8.0, rim - 3.5)), Stroke.FACE) for s in (-1, 1)),
    )
