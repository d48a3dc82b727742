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
from ..core.mapping import Flat, Frozen, Quantities, Reader, frozen, names
from ..core.targets import ACROSS, LOWERING, SPIGOTS
from ..doubt.budget import Doubt
from ..doubt.derivatives import STEP, moved, told
from ..doubt.result import Result, result
from ..piston.head import Head
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
    PISTONS: Figure(
        "piston to piston", least=ACROSS, below_zero="the pistons meet", is_depth=False, alias=PISTONS
    ),
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
    parts = _without_gears(mapping)
    base = _Engine(parts)
    moving = {name: paths for name, paths in quantities.items() if any(path in parts for path in paths)}
    stepped = {
        name: tuple(_Engine(moved(parts, paths, way * STEP)) for way in (1.0, -1.0))
        for name, paths in moving.items()
    }
    found = []
    for one in gaps:
        meets = one.apart is not None and FIGURES[one.kind].meets(one.value)
        slopes = {} if meets else _slopes(one, base, stepped)
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


def _without_gears(mapping: Flat) -> Frozen:
    """Return what an engine says of its cylinders, crank and pistons, without valve gears and what else there is."""
    still, trains = frozen(mapping), tuple(f"{train}." for train in names(mapping, "trains"))
    cylinders = names(mapping, "cylinders")
    own = (*(f"{name}." for name in cylinders), *OF_ENGINE)
    kept = {path: one for path, one in still.items() if path.startswith(own) and not path.startswith(trains)}
    found = Frozen({**kept, "cylinders": cylinders}, still.memory)
    found.is_complete = still.is_complete
    return found


class _Engine:
    """One engine, and the parts of it that a distance is worked out from, each once."""

    def __init__(self, mapping: Flat) -> None:
        self.mapping = mapping
        self.movers: dict[tuple[str, bool], Mover] = {}
        self.spigots: dict[str, CutTube] = {}

    def mover(self, cylinder: str, with_rod: bool = False) -> Mover:
        if (cylinder, with_rod) not in self.movers:
            found = mover(self.mapping, cylinder, with_rod)
            assert isinstance(found, Mover)
            self.movers[cylinder, with_rod] = found
        return self.movers[cylinder, with_rod]

    def spigot(self, cylinder: str) -> CutTube:
        if cylinder not in self.spigots:
            found = spigot_of(self.mapping, cylinder)
            assert isinstance(found, CutTube)
            self.spigots[cylinder] = found
        return self.spigots[cylinder]

    def parts(self, one: Gap) -> tuple[object, ...]:
        """Return all that a distance is worked out from."""
        if one.kind == PISTONS:
            both = (one.moving, one.other)
            return (*(self.mover(name) for name in both), leads(self.mapping, *both))
        if one.kind in (SEATED, PASSING):
            return self.spigot(one.moving), self.spigot(one.other)
        return self.mover(one.moving, one.apart is None), self.spigot(one.other)


def _slopes(one: Gap, base: _Engine, stepped: Mapping[str, tuple[_Engine, ...]]) -> dict[str, float]:
    """Return how much each quantity moves a distance; those that none of its parts hang on are left out.

    stepped : quantity → the engine with it a step more, and a step less
    """
    plain = base.parts(one)
    ends = {name: both for name, both in stepped.items() if any(end.parts(one) != plain for end in both)}
    if not ends:
        return {}
    values = _distances([end for both in ends.values() for end in both], one).reshape(-1, 2)
    found = told((values[:, 0] - values[:, 1]) / (2 * STEP), values)
    if one.apart is not None:
        found = np.where(np.abs(found) < ALONG, 0.0, found)
    return dict(zip(ends, found.tolist(), strict=True))


def _distances(engines: Sequence[_Engine], one: Gap) -> Array:
    """Return the distance of every engine at the angle and the place of the least one, (V) [mm]."""
    if one.apart is not None:
        return array([held(*_tubes(there, one), one.apart) for there in engines])
    assert one.at is not None
    angle = array([one.at])
    if one.kind == PISTONS:
        first = [there.mover(one.moving).head(angle) for there in engines]
        ahead = [leads(there.mapping, one.moving, one.other) for there in engines]
        second = [there.mover(one.other).head(angle + by) for there, by in zip(engines, ahead, strict=True)]
        return between(_row(first), _row(second))
    stands = [there.spigot(one.other) for there in engines]
    if one.kind == LOWERED:
        stands = [swept(found) for found in stands]
    rods = [there.mover(one.moving, with_rod=True).rod(angle) for there in engines]
    gaps: Array = nearest(stacked(stands), _stacked(rods), len(stands)).gap
    return gaps


def _row(heads: Sequence[Head]) -> Head:
    """Return heads of one pose each as one with a pose for each."""
    return Head(*(np.concatenate(column) for column in zip(*heads, strict=True)))


def _tubes(there: _Engine, one: Gap) -> tuple[CutTube, CutTube]:
    """Return the two tubes of a distance, in the order in which they were held against each other."""
    if one.kind == SEATED:
        return there.spigot(one.moving), there.spigot(one.other)
    if one.kind == PASSING:
        return swept(there.spigot(one.other)), there.spigot(one.moving)
    assert one.at is not None
    stands = there.spigot(one.other)
    return there.mover(one.moving).tube(one.at), swept(stands) if one.kind == LOWERED else stands


def _stacked(rods: Sequence[Rod]) -> Rod:
    """Return rods of one pose each as one with a pose for each, spread for a spigot's sides and sections."""
    first, second, radius = (np.stack(column) for column in zip(*rods, strict=True))
    shape = (len(rods), 1, 1)
    return Rod(first.reshape(*shape, 3), second.reshape(*shape, 3), radius.reshape(shape))
