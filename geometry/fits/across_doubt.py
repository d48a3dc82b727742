"""How sure the distances across the cylinders are: pistons and connecting rods to spigots, and pistons to each other.

The derivative of a least distance is that at its crank angle, that angle held. Every entry is moved by a step up
and a step down, and all of them are looked at together.

Source: the envelope theorem; central differences.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ..core.answer import Figure, Value
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities
from ..core.targets import ACROSS, LOWERING
from ..doubt.budget import Doubt
from ..doubt.derivatives import STEP, moved, told
from ..doubt.result import Result, result
from ..piston.pair import between
from .across import Mover, head_of, leads, mover, spigot_of
from .drop_on import swept
from .spigot import Rod, Round, Spigot, nearest, stacked

OF_ENGINE = ("crank.", "piston.", "stack.")
PISTON, CONROD, PISTONS, LOWERED = "piston", "conrod", "pistons", "lowered"
FIGURES = {
    PISTON: Figure(
        "piston to the spigot", least=ACROSS, below_zero="the piston and the spigot meet", alias=PISTON
    ),
    CONROD: Figure(
        "connecting rod to the spigot",
        least=ACROSS,
        below_zero="the connecting rod and the spigot meet",
        alias=CONROD,
    ),
    PISTONS: Figure("piston to piston", least=ACROSS, below_zero="the pistons meet", alias=PISTONS),
    LOWERED: Figure("room while it is lowered", least=LOWERING, alias=LOWERED, alone=False),
}


class Gap(NamedTuple):
    """One least distance: of what, and at which crank angle."""

    kind: (
        str  # PISTON or CONROD against the other's spigot; PISTONS; LOWERED, both against a spigot on its way
    )
    moving: str  # cylinder
    other: str  # cylinder
    value: float  # mm
    at: float  # crank rad from the moving one's own top centre

    @property
    def key(self) -> str:
        """Its name as an answer."""
        return "margin" if self.kind == LOWERED else f"{self.kind}_across"


def judged_gaps(
    mapping: Flat,
    gaps: Sequence[Gap],
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
) -> list[Result]:
    """Return every distance with its doubt and verdict.

    quantities, doubts : as for `ordering.orders`
    """
    found = []
    for one in gaps:
        own = (f"{one.moving}.", f"{one.other}.", *OF_ENGINE)
        groups = {
            name: paths
            for name, paths in quantities.items()
            if any(path.startswith(own) and not _of_valve_gear(mapping, path) for path in paths)
        }
        slopes = dict(zip(groups, _slopes(mapping, one, list(groups.values())), strict=True))
        value = Value(array(one.value), at=array(one.at))
        of = f"{one.moving}, {one.other}"
        found.append(result(mapping, of, one.key, FIGURES[one.kind], value, slopes, doubts))
    return found


def _of_valve_gear(mapping: Flat, path: str) -> bool:
    trains = mapping["trains"]
    return isinstance(trains, tuple) and any(path.startswith(f"{train}.") for train in trains)


def _slopes(mapping: Flat, one: Gap, groups: Sequence[Mapping[str, float]]) -> list[float]:
    varied = [moved(mapping, paths, way * STEP) for paths in groups for way in (1.0, -1.0)]
    if not varied:
        return []
    values = _distances(varied, one).reshape(-1, 2)
    found: list[float] = told((values[:, 0] - values[:, 1]) / (2 * STEP), values).tolist()
    return found


def _distances(varied: Sequence[Flat], one: Gap) -> Array:
    """Return the distance of every varied engine at the angle of the least one, (V) [mm]."""
    with_rod = one.kind in (CONROD, LOWERED)
    movers = [mover(there, one.moving, with_rod) for there in varied]
    assert all(isinstance(found, Mover) for found in movers)
    known = [found for found in movers if isinstance(found, Mover)]
    angle = array([one.at])
    if one.kind == PISTONS:
        return array([_between(there, found, one) for there, found in zip(varied, known, strict=True)])
    stands = [spigot_of(there, one.other) for there in varied]
    rows = [found for found in stands if isinstance(found, Spigot)]
    if one.kind == LOWERED:
        rows = [swept(found) for found in rows]
    bodies: list[Sequence[Round | Rod]] = []
    if one.kind != CONROD:
        bodies.append([found.piston(angle) for found in known])
    if with_rod:
        bodies.append([found.rod(angle) for found in known])
    spigots = stacked(rows)
    gaps: Array = np.minimum.reduce([nearest(spigots, _stacked(body), len(rows)).gap for body in bodies])
    return gaps


def _between(mapping: Flat, first: Mover, one: Gap) -> float:
    second = mover(mapping, one.other)
    assert isinstance(second, Mover)
    ahead = leads(mapping, one.moving, one.other)
    angle = array([one.at])
    return float(between(head_of(first.piston(angle)), head_of(second.piston(angle + ahead)))[0])


def _stacked(bodies: Sequence[Round | Rod]) -> Round | Rod:
    """Return bodies of one pose each as one with a pose for each, spread for a spigot's sides and sections."""
    parts = [np.stack(column) for column in zip(*bodies, strict=True)]
    first, second, *sizes = (part.reshape(len(bodies), 1, 1, *part.shape[2:]) for part in parts)
    return type(bodies[0])(first, second, *sizes)
