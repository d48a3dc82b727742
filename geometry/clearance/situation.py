"""One cylinder with its valves over their piston, and one clearance of it at a crank angle."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from ..cam.cam import Cam, CamLobe
from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, frozen
from ..core.minima import Minimum, minima
from ..engine.engine import Train, train_of, trains_under
from ..piston.cycle import NO_RIVAL, Valve, between_at, cycle_angles, least_between
from ..piston.in_bore import Bore, InBore
from ..piston.over_piston import OverPiston, over_piston
from ..piston.valves_touch import Touch, Unsure
from .valve_lift import ValveLift, apart, valve_lift
from .valve_over_piston import ByCoordinates, ByReading, OverValve, over_valve

LIFT, CAM = "the valve's lift", "the cam"
OF_BOTH = ("between", "further")  # clearances of a cylinder's two valves

Lacks = dict[str, tuple[str, ...]]


class ByHeads(NamedTuple):
    """Two valves of a cylinder by the coordinates of their heads."""

    first: Valve
    second: Valve

    def with_lifts(self, lifts: Sequence[ValveLift]) -> ByHeads:
        """Return them with other lifts, in the order of the valves."""
        first, second = lifts
        return ByHeads(self.first._replace(lift=first.at), self.second._replace(lift=second.at))

    def least(self, alone: bool = False) -> Minimum:
        """Return the least distance of the cycle; alone : as for `least_between`."""
        return least_between(self.first, self.second, alone)

    def at(self, angle: Array) -> Array:
        """Return the distance at crank angles, (...) [mm]."""
        return between_at(self.first, self.second, angle)


class ByTouch(NamedTuple):
    """Two valves of a cylinder by where they can first touch."""

    touch: Touch
    lifts: tuple[ValveLift, ValveLift]

    def with_lifts(self, lifts: Sequence[ValveLift]) -> ByTouch:
        """Return them with other lifts, in the order of the valves."""
        return self._replace(lifts=(lifts[0], lifts[1]))

    def least(self, alone: bool = False) -> Minimum:  # noqa: ARG002
        """Return the least straight gap of the cycle."""
        return minima(lambda angle, _: self.at(angle), cycle_angles(), near=0.0)[0]

    def least_further(self) -> Minimum:
        """Return the least of the cycle by which both would have to open further to touch."""
        return minima(lambda angle, _: self.touch.further(*self.opened(angle)), cycle_angles(), near=0.0)[0]

    def at(self, angle: Array) -> Array:
        """Return the straight gap at crank angles, (...) [mm]."""
        return self.touch.gap(*self.opened(angle))

    def opened(self, angle: Array) -> list[Array]:
        """Return the lifts of intake and exhaust at crank angles, (...) [mm]."""
        return [one.at(angle) for one in sorted(self.lifts, key=lambda one: side_of(one.train.name))]


Apart = ByHeads | ByTouch
NONE: Mapping[str, float] = MappingProxyType({})


def at_rest(mapping: Flat) -> Flat:
    """Return an engine as it is entered."""
    return mapping


def side_of(train: str) -> int:
    """Return which of a cylinder's valves a valve gear moves: 0 the intake, 1 the exhaust."""
    return int(train.endswith(".exhaust"))


class Edge(NamedTuple):
    """One valve of two that touch, for a clearance that is both's."""

    touch: Touch
    side: int


class Situation(NamedTuple):
    """One cylinder with its valves over their piston."""

    cylinder: str
    over: OverPiston
    trains: dict[str, Train]
    lifts: dict[str, ValveLift]
    valves: dict[str, OverValve]
    lacks: dict[str, Lacks]  # valve gear → route → entries it still needs
    problems: dict[str, tuple[str, ...]]  # valve gear → why it cannot be, in words
    runs: Callable[[Flat], Flat] = at_rest  # an engine as it is entered → as it is looked at here
    later: Mapping[str, float] = (
        NONE  # entry → crank rad by which its lobes stand later for one of it, as it runs
    )

    @property
    def touch(self) -> Touch | None:
        """Where its two valves can first touch, as far as that tells the distance between them."""
        return self.over.touch if isinstance(self.over.touch, Touch) else None

    def apart(self) -> Apart | None:
        """Return the distance between its two valves: by where they touch, or else by their coordinates; None: not known."""
        lifts = [self.lifts[name] for name in self.trains if name in self.lifts]
        if self.touch is not None and len(lifts) == len(self.trains) == 2:
            return ByTouch(self.touch, (lifts[0], lifts[1]))
        heads = self.heads_apart()
        return None if heads is None else ByHeads(*heads)

    def heads_apart(self) -> tuple[Valve, Valve] | None:
        """Return the two valves as they meet each other, or None where one of them is not known.

        They stand where their coordinates say: a drop that was read corrects what it was read of, valve and piston.
        """
        found = [
            Valve(self.over.heads[name], self.lifts[name].at, None)
            for name in self.trains
            if name in self.over.heads and name in self.lifts
        ]
        return (found[0], found[1]) if len(found) == len(self.trains) == 2 else None


def situation(mapping: Flat, cylinder: str, cam: Cam, alone: str = "") -> Situation:
    """Return one cylinder's valves over their piston, and what is missing for each; alone : the one valve gear asked for."""
    mapping = frozen(mapping)
    trains = [train_of(mapping, alone)] if alone else trains_under(mapping, cylinder)
    over = over_piston(mapping, cylinder, cam.tables.crowns)
    here = Situation(cylinder, over, {}, {}, {}, {}, {})
    for train in trains:
        here.trains[train.name] = train
        _add(here, mapping, train, cam)
    return here


def _add(here: Situation, mapping: Flat, train: Train, cam: Cam) -> None:
    """Add one valve gear's lift and place, or what they lack."""
    name = train.name
    lacks: Lacks = {}
    lift = _lift_of(here, train, cam, lacks)
    over = over_valve(mapping, name, here.over, lift)
    if isinstance(over, dict):
        lacks.update(over)
    else:
        here.valves[name] = over
    here.lacks[name] = {way: entries for way, entries in lacks.items() if entries}


def _lift_of(here: Situation, train: Train, cam: Cam, lacks: Lacks) -> ValveLift | None:
    try:
        lobe = cam.lobe_of(train.name)
    except GeometryError as error:
        here.problems[train.name] = (str(error),)
        return None
    if not isinstance(lobe, CamLobe):
        lacks[CAM] = lobe
        return None
    lift = valve_lift(train, lobe)
    if not isinstance(lift, ValveLift):
        lacks[LIFT] = lift
        return None
    problem = apart(lift)
    if problem:
        here.problems[train.name] = problem
        return None
    here.lifts[train.name] = lift
    return lift


class Asked(NamedTuple):
    """One least clearance: whose, which and at what crank angle."""

    name: str  # valve gear; cylinder for the distance between its valves
    what: str  # "drop", "gap", "wall", "bore", "between" or "further"
    angle: float  # rad
    pumped: bool = False  # with the lifters pumped up
    rise: float | None = None  # mm, by which their plungers have risen then; None: as far as it counts

    @property
    def key(self) -> str:
        """Its name among the answers."""
        risen = " risen" if self.rise is not None else " pumped" if self.pumped else ""
        return f"{self.name} {self.what}{risen}"

    def lift_of(self, lift: ValveLift) -> ValveLift:
        """Return a valve's lift as it counts for this clearance."""
        return lift.risen(self.rise) if self.pumped and lift.pumps else lift


class Placed(NamedTuple):
    """One valve with the lift it has at the angle asked for."""

    over: OverValve | Valve | InBore | Edge
    lift: Array


def clearance_at(
    one: Asked, placed: Sequence[Placed], angles: Array | None = None, alone: bool = False
) -> Array:
    """Return one clearance at its crank angle, or at others, the valves lifted as they are there.

    alone : the least along the last axis alone is wanted
    """
    angle = array(one.angle) if angles is None else angles
    if one.what in OF_BOTH and isinstance(placed[0].over, Edge):
        return _by_touch(one.what, placed)
    if one.what == "between":
        first, second = (_as_valve(valve) for valve in placed)
        return between_at(first, second, angle, alone=alone)
    over, lift = placed[0]
    if isinstance(over, InBore):
        return over.distance(lift, True, NO_RIVAL if alone else None)
    assert not isinstance(over, (Valve, Edge))
    return {"drop": over.drop, "gap": over.gap, "wall": over.wall}[one.what](angle, lift, alone)


def _by_touch(what: str, placed: Sequence[Placed]) -> Array:
    """Return the straight gap between two valves, or how much further both could open, by where they touch."""
    edges = [one.over for one in placed]
    lifts = {edge.side: one.lift for edge, one in zip(edges, placed, strict=True) if isinstance(edge, Edge)}
    touch = edges[0].touch if isinstance(edges[0], Edge) else None
    assert touch is not None
    return (touch.gap if what == "between" else touch.further)(lifts[0], lifts[1])


def valve_of(
    one: Asked, over: OverPiston, name: str, lift: ValveLift, known: OverValve | Lacks | None
) -> OverValve | Valve | InBore | Edge:
    """Return a valve as a clearance takes it: over its piston, where its coordinates say, or where it first touches."""
    if one.what in OF_BOTH and over.touch is not None:
        touch = over.touch.touch if isinstance(over.touch, Unsure) else over.touch
        if touch is not None and (one.what == "further" or isinstance(over.touch, Touch)):
            return Edge(touch, side_of(name))
    if one.what == "bore":
        assert isinstance(over.bore, Bore)
        return InBore(over.heads[name], over.bore)
    if one.what == "between":
        return Valve(over.heads[name], lift.at, None)
    assert isinstance(known, (ByCoordinates, ByReading))
    return known


def _as_valve(placed: Placed) -> Valve:
    assert isinstance(placed.over, Valve)
    return Valve(placed.over.head, lambda _: placed.lift, None)


def trains_of(here: Situation, one: Asked) -> tuple[str, ...]:
    """Return the valve gears that a clearance is of."""
    return tuple(here.trains) if one.what in OF_BOTH else (one.name,)
