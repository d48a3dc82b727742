"""One cylinder with its valves over their piston, and one clearance of it at a crank angle."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from ..cam.cam import Cam, CamLobe
from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, frozen
from ..engine.engine import Train, build
from ..piston.cycle import NO_RIVAL, Valve, between_at
from ..piston.in_bore import Bore, InBore
from ..piston.over_piston import OverPiston, over_piston
from .valve_lift import ValveLift, apart, valve_lift
from .valve_over_piston import ByCoordinates, ByReading, OverValve, over_valve

LIFT, CAM = "the valve's lift", "the cam"

Lacks = dict[str, tuple[str, ...]]


class Situation(NamedTuple):
    """One cylinder with its valves over their piston."""

    cylinder: str
    over: OverPiston
    trains: dict[str, Train]
    lifts: dict[str, ValveLift]
    valves: dict[str, OverValve]
    lacks: dict[str, Lacks]  # valve gear → route → entries it still needs
    problems: dict[str, tuple[str, ...]]  # valve gear → why it cannot be, in words

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


def situation(mapping: Flat, cylinder: str, cam: Cam) -> Situation:
    """Return one cylinder's valves over their piston, and what is missing for each."""
    mapping = frozen(mapping)
    engine, over = build(mapping), over_piston(mapping, cylinder, cam.tables.crowns)
    here = Situation(cylinder, over, {}, {}, {}, {}, {})
    for train in engine.trains:
        if train.cylinder == cylinder:
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
    what: str  # "drop", "gap", "wall", "bore" or "between"
    angle: float  # rad
    pumped: bool = False  # with the lifters pumped up

    @property
    def key(self) -> str:
        """Its name among the answers."""
        return f"{self.name} {self.what}{' pumped' if self.pumped else ''}"

    def lift_of(self, lift: ValveLift) -> ValveLift:
        """Return a valve's lift as it counts for this clearance."""
        return lift._replace(pumped=True) if self.pumped and lift.pumps else lift


class Placed(NamedTuple):
    """One valve with the lift it has at the angle asked for."""

    over: OverValve | Valve | InBore
    lift: Array


def clearance_at(
    one: Asked, placed: Sequence[Placed], angles: Array | None = None, alone: bool = False
) -> Array:
    """Return one clearance at its crank angle, or at others, the valves lifted as they are there.

    alone : the least along the last axis alone is wanted
    """
    angle = array(one.angle) if angles is None else angles
    if one.what == "between":
        first, second = (_as_valve(valve) for valve in placed)
        return between_at(first, second, angle, alone=alone)
    over, lift = placed[0]
    if isinstance(over, InBore):
        return over.distance(lift, True, NO_RIVAL if alone else None)
    assert not isinstance(over, Valve)
    return {"drop": over.drop, "gap": over.gap, "wall": over.wall}[one.what](angle, lift, alone)


def valve_of(
    one: Asked, over: OverPiston, name: str, lift: ValveLift, known: OverValve | Lacks | None
) -> OverValve | Valve | InBore:
    """Return a valve as a clearance takes it: over its piston, or where its coordinates say."""
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
    return tuple(here.trains) if one.what == "between" else (one.name,)
