"""Clearances against the cam's timing: the same engine with the cam turned earlier and later.

Everything but the lobes stays where it is; each row is worked out through the whole cycle anew.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from .clearances import judged_on, nearest
from .situation import Situation


class Row(NamedTuple):
    """One place of the cam."""

    advance: float  # crank rad, the cam earlier than the job says
    piston: dict[str, float]  # valve gear → the smaller of drop and straight gap, mm
    between: dict[str, float]  # cylinder → the distance between its valves, mm


def against_timing(situations: Mapping[str, Situation], advances: Sequence[float]) -> tuple[Row, ...]:
    """Return the least clearances with the cam earlier by each of some crank rad."""
    return tuple(_row(situations, one) for one in advances)


def _row(situations: Mapping[str, Situation], advance: float) -> Row:
    piston: dict[str, float] = {}
    between: dict[str, float] = {}
    for cylinder, here in situations.items():
        for name, over in here.valves.items():
            drops, gap = nearest(over._replace(lift=over.lift.advanced(advance)))
            if drops:
                piston[name] = judged_on(drops[0], gap)[1].value
        pair = here.apart()
        if pair is not None:
            lifts = [here.lifts[name].advanced(advance) for name in here.trains]
            between[cylinder] = pair.with_lifts(lifts).least(alone=True).value
    return Row(advance, piston, between)
