"""How sure the distances across the cylinders are: pistons, connecting rods and spigots to spigots, pistons to each other.

The derivative of a least distance is that at its crank angle and its place, both held. Every entry is moved by a step
up and a step down. Where two tubes meet there is no distance, and nothing that moves it.

Source: the envelope theorem; central differences.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ..core.answer import Figure, Value
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, Reader
from ..core.targets import ACROSS, LOWERING, SPIGOTS
from ..doubt.budget import Doubt
from ..doubt.derivatives import STEP, moved, told
from ..doubt.result import Result, result
from ..piston.pair import between
from .across import ARCH, Mover, leads, mover, spigot_of
from .cut_tube import Apart, CutTube, held
from .drop_on import swept
from .spigot import Rod, nearest, stacked

OF_ENGINE = ("crank.", "piston.", "stack.", "spigot.")
PISTON, CONROD, PISTONS, LOWERED = "piston", "conrod", "pistons", "lowered"
SEATED, PASSING = "spigots", "passing"
ALONG = 1e-5  # a derivative of less is of a place that was found to 1e-7 mm and no better
MEET = "the spigots meet"
FIGURES = {
    PISTON: Figure(
        "piston to the spigot",
        least=ACROSS,
        below_zero="the piston and the spigot meet",
        is_depth=False,
        alias=PISTON,
    ),
    CONROD: Figure(
        "connecting rod to the spigot",
        least=ACROSS,
        below_zero="the connecting rod and the spigot meet",
        alias=CONROD,
    ),
    PISTONS: Figure("piston to piston", least=ACROSS, below_zero="the pistons meet", alias=PISTONS),
    SEATED: Figure(
        "spigot to spigot",
        least=SPIGOTS,
        below_zero=MEET,
        zero=True,
        is_depth=False,
        at_nought=MEET.upper(),
        alias=SEATED,
    ),
    PASSING: Figure(
        "spigot past the spigot that is fitted",
        least=SPIGOTS,
        below_zero=f"{MEET} on the way down",
        zero=True,
        is_depth=False,
        at_nought=f"{MEET} on the way down".upper(),
        alias=PASSING,
        alone=False,
    ),
    LOWERED: Figure("room while it is lowered", least=LOWERING, alias=LOWERED, alone=False),
}


class Gap(NamedTuple):
    """One least distance: of what, and at which crank angle."""

    kind: (
        str  # PISTON or CONROD against the other's spigot; PISTONS; SEATED, both spigots in their seats; LOWERED, the
        # nearest of piston and rod, and PASSING, the spigot, against one on its way down
    )
    moving: str  # cylinder; the one that is fitted
    other: str  # cylinder
    value: float  # mm
    at: float | None  # crank rad from the moving one's own top centre; None: it stands
    apart: Apart | None = None  # of two tubes, where; None: of a connecting rod, or of two pistons

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
        meets = one.apart is not None and one.value <= 0
        slopes = {} if meets else dict(zip(groups, _slopes(mapping, one, list(groups.values())), strict=True))
        at = None if one.at is None else array(one.at)
        value = Value(array(one.value), at=at, unsaid=() if meets else _unsaid(mapping, one, doubts))
        of = f"{one.moving}, {one.other}"
        found.append(result(mapping, of, one.key, FIGURES[one.kind], value, slopes, doubts))
    return found


def _unsaid(mapping: Flat, one: Gap, doubts: Mapping[str, Doubt]) -> tuple[str, ...]:
    """Return the entries of an arch that nobody says how well he knows: without them the skirt would be nearer."""
    if one.apart is None or one.kind not in (PISTON, LOWERED):
        return ()
    reader = Reader(mapping, (f"{one.moving}.", ""))
    paths = [reader.path(entry) for entry in ARCH]
    has = all(reader.find(entry) is not None for entry in ARCH)
    return tuple(path for path in paths if has and path not in doubts)


def _of_valve_gear(mapping: Flat, path: str) -> bool:
    trains = mapping["trains"]
    return isinstance(trains, tuple) and any(path.startswith(f"{train}.") for train in trains)


def _slopes(mapping: Flat, one: Gap, groups: Sequence[Mapping[str, float]]) -> list[float]:
    varied = [moved(mapping, paths, way * STEP) for paths in groups for way in (1.0, -1.0)]
    if not varied:
        return []
    values = _distances(varied, one).reshape(-1, 2)
    found = told((values[:, 0] - values[:, 1]) / (2 * STEP), values)
    if one.apart is not None:
        found = np.where(np.abs(found) < ALONG, 0.0, found)
    slopes: list[float] = found.tolist()
    return slopes


def _distances(varied: Sequence[Flat], one: Gap) -> Array:
    """Return the distance of every varied engine at the angle and the place of the least one, (V) [mm]."""
    if one.kind == PISTONS:
        return array([_between(there, one) for there in varied])
    if one.apart is not None:
        return array([held(*_tubes(there, one), one.apart) for there in varied])
    assert one.at is not None
    angle = array([one.at])
    stands = [_spigot(there, one.other) for there in varied]
    if one.kind == LOWERED:
        stands = [swept(found) for found in stands]
    rods = [_mover(there, one.moving, with_rod=True).rod(angle) for there in varied]
    gaps: Array = nearest(stacked(stands), _stacked(rods), len(stands)).gap
    return gaps


def _tubes(mapping: Flat, one: Gap) -> tuple[CutTube, CutTube]:
    """Return the two tubes of a distance, in the order in which they were held against each other."""
    if one.kind == SEATED:
        return _spigot(mapping, one.moving), _spigot(mapping, one.other)
    if one.kind == PASSING:
        return swept(_spigot(mapping, one.other)), _spigot(mapping, one.moving)
    assert one.at is not None
    stands = _spigot(mapping, one.other)
    return _mover(mapping, one.moving).tube(one.at), swept(stands) if one.kind == LOWERED else stands


def _spigot(mapping: Flat, cylinder: str) -> CutTube:
    found = spigot_of(mapping, cylinder)
    assert isinstance(found, CutTube)
    return found


def _mover(mapping: Flat, cylinder: str, with_rod: bool = False) -> Mover:
    found = mover(mapping, cylinder, with_rod)
    assert isinstance(found, Mover)
    return found


def _between(mapping: Flat, one: Gap) -> float:
    assert one.at is not None
    first, second = (_mover(mapping, name) for name in (one.moving, one.other))
    ahead, angle = leads(mapping, one.moving, one.other), array([one.at])
    return float(between(first.head(angle), second.head(angle + ahead))[0])


def _stacked(rods: Sequence[Rod]) -> Rod:
    """Return rods of one pose each as one with a pose for each, spread for a spigot's sides and sections."""
    first, second, radius = (np.stack(column) for column in zip(*rods, strict=True))
    shape = (len(rods), 1, 1)
    return Rod(first.reshape(*shape, 3), second.reshape(*shape, 3), radius.reshape(shape))
