"""Valve gears as rigid bodies with joints, solved by a general-purpose multibody library.

Nothing is solved here, on paper or otherwise: the bodies are put near their places, the joints are named, and the
library's Newton closes them. Each body is a free rigid body with six coordinates::

    lifter    slides along u, driven by the lobe            6 constraints
    pushrod   ball in the lifter, ball in the rocker's cup  3 + 3, and 1 more against its free spin
    rocker    turns about the shaft                         5
    valve     slides along n                                5
    contact   the contact centre stays ρ above the tip      1    together 24, of four bodies

The contact is a point in a plane that rides on the valve, held from both sides: where a solid lifter still has
lash, the valve is drawn up by what is left of it. Millimetres and radians; symbols and frame as in `raw_loop`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np

from .raw_loop import Array, Points, turned

exu: Any = import_module("exudyn")  # as Any: its stubs are behind what it takes
items: Any = import_module("exudyn.itemInterface")

PLACED = (1, 1, 1, 1, 1, 1)
SLIDES = (1, 1, 0, 1, 1, 1)  # along z of its joint
TURNS = (1, 1, 1, 1, 1, 0)  # about z of its joint
BALL = (1, 1, 1, 0, 0, 0)
BALL_WITHOUT_SPIN = (1, 1, 1, 0, 0, 1)  # about z of its joint
STAYS_ABOVE = (0, 0, 1, 0, 0, 0)
CLOSES_MM = 1e-12


@dataclass(frozen=True, slots=True)
class Rocker:
    """The numbers of a rocker: mm and rad."""

    valve_arm: float
    pushrod_arm: float
    arm_angle: float
    valve_station: float
    pushrod_station: float
    tip_radius: float


@dataclass(frozen=True, slots=True)
class Gear:
    """A valve gear: its vectors, its rocker and its setting."""

    at: Points
    rocker: Rocker
    down: float  # mm, of a hydraulic lifter's plunger; 0 for a solid one
    lash: float  # mm, of a solid lifter; 0 for a hydraulic one
    lash_at_valve: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """A rocker that the library has stood on its stem."""

    contact: Array  # Q
    cup: Array  # U


class Bodies:
    """Rigid bodies and joints, and where they stand when they are closed at each step."""

    def __init__(self) -> None:
        self._container = exu.SystemContainer()
        self._system = self._container.AddSystem()
        self.ground = int(
            self._system.AddObject(items.ObjectGround())
        )  # stands still, its origin the frame's
        self._origin: dict[int, Array] = {self.ground: np.zeros(3)}
        self._followed: list[int] = []

    def body(self, origin: Array) -> int:
        """Add a free body whose axes are the frame's before it moves."""
        node = items.NodeRigidBodyRxyz(referenceCoordinates=[*map(float, origin), 0.0, 0.0, 0.0])
        number = self._system.AddNode(node)
        inertia = [1.0, 1.0, 1.0, 0.0, 0.0, 0.0]  # any will do: nothing is accelerated
        rigid = items.ObjectRigidBody(mass=1.0, inertia=inertia, nodeNumber=number)
        body = int(self._system.AddObject(rigid))
        self._origin[body] = origin
        return body

    def join(
        self,
        first: int,
        other: int,
        place: Array,
        holds: Sequence[int],
        z: Array,
        *,
        of_other: Array | None = None,
    ) -> None:
        """Join two bodies at a point of the frame.

        Args:
            first: the body that carries the joint's axes.
            other: the body that is held.
            place: (3,) where the joint is, before the bodies move.
            holds: which of x, y, z, and the turns about them, the joint holds.
            z: (3,) unit, the joint's z.
            of_other: (3,) the point of the other body that is held; None: the one at `place`.
        """
        ends = (place, place if of_other is None else of_other)
        markers = [self._marker(body, end, _axes(z)) for body, end in zip((first, other), ends, strict=True)]
        self._system.AddObject(items.GenericJoint(markerNumbers=markers, constrainedAxes=[*holds]))

    def drive(self, body: int, place: Array, way: Callable[[float], Array]) -> None:
        """Hold a body to the ground and push it about.

        Args:
            body: the one that is held.
            place: (3,) a point of it.
            way: how far it is from where it was put, (3,) [mm], at each time from 0 to 1.
        """

        def offset(_system: object, time: float, _item: int, _given: object) -> list[float]:
            return [*map(float, way(time)), 0.0, 0.0, 0.0]

        markers = [self._marker(one, place, np.eye(3)) for one in (self.ground, body)]
        self._system.AddObject(
            items.GenericJoint(markerNumbers=markers, constrainedAxes=[*PLACED], offsetUserFunction=offset)
        )

    def _marker(self, body: int, place: Array, axes: Array) -> int:
        there = exu.HT(rotation=axes, translation=place - self._origin[body])
        return int(self._system.AddMarker(items.MarkerBodyRigid(bodyNumber=body, localHT=there)))

    def follow(self, body: int, place: Array) -> None:
        """Note where a point of a body goes."""
        self._followed.append(
            self._system.AddSensor(
                items.SensorBody(
                    bodyNumber=body,
                    localPosition=[*map(float, place - self._origin[body])],
                    storeInternal=True,
                    writeToFile=False,
                    outputVariableType=exu.OutputVariableType.Position,
                )
            )
        )

    def closed(self, steps: int = 1) -> tuple[Array, ...]:
        """Close all joints at times 1/steps, 2/steps … 1.

        Returns:
            (steps, 3) for every point that is followed, in the order they were named.
        """
        self._system.Assemble()
        settings = exu.SimulationSettings()
        settings.solution.file.write = False
        settings.solution.sensors.writePeriod = 0.5 / steps
        solver = settings.staticSolver
        solver.numberOfLoadSteps, solver.adaptiveStep, solver.verboseMode = steps, False, 0
        solver.newton.relativeTolerance, solver.newton.absoluteTolerance = 1e-16, CLOSES_MM
        assert self._system.SolveStatic(settings, showHints=False)
        return tuple(np.array(self._system.GetSensorStoredData(one))[-steps:, 1:4] for one in self._followed)


def standing(gear: Gear, gap: float) -> Standing:
    """Return a rocker on the closed valve's stem, its contact standing off by a gap [mm]."""
    at, rocker = gear.at, gear.rocker
    foot = at.P + rocker.valve_station * at.a
    towards = at.T - at.P
    towards = towards - (towards @ at.a) * at.a
    e_v = towards / np.linalg.norm(towards)
    opening = at.a * -np.sign(np.cross(at.a, e_v)[2])
    contact = foot + rocker.valve_arm * e_v
    cup = at.P + rocker.pushrod_station * at.a + rocker.pushrod_arm * turned(e_v, opening, rocker.arm_angle)
    bodies = Bodies()
    arm, valve = bodies.body(at.P), bodies.body(at.T)
    bodies.join(bodies.ground, arm, at.P, TURNS, at.a)
    bodies.join(bodies.ground, valve, at.T, PLACED, at.n)
    bodies.join(valve, arm, at.T + (rocker.tip_radius + gap) * at.n, STAYS_ABOVE, at.n, of_other=contact)
    bodies.follow(arm, contact)
    bodies.follow(arm, cup)
    found = bodies.closed()
    return Standing(found[0][-1], found[1][-1])


def length(gear: Gear) -> float:
    """Return the pushrod that gives the gear its setting, from ball centre to ball centre [mm]."""
    stands = standing(gear, gear.lash if gear.lash_at_valve else 0.0)
    straight = float(np.linalg.norm(stands.cup - _ball(gear)))
    return straight if gear.lash_at_valve else straight - gear.lash


def lifts(gear: Gear, pushrod_length: float, lifter_lifts: Array) -> Array:
    """Return how far the valve is drawn down its stem at a row of lifter lifts, walked in the order given [mm]."""
    at, rocker = gear.at, gear.rocker
    gap = gear.lash if gear.lash_at_valve else 0.0
    stands, ball, steps = standing(gear, gap), _ball(gear), len(lifter_lifts)
    rod_end = ball + pushrod_length * _unit(stands.cup - ball)
    tip = at.T + gap * at.n

    bodies = Bodies()
    lifter, pushrod, arm, valve = (bodies.body(one) for one in (ball, ball, at.P, tip))
    bodies.drive(lifter, ball, lambda time: lifter_lifts[max(round(time * steps) - 1, 0)] * at.u)
    bodies.join(lifter, pushrod, ball, BALL_WITHOUT_SPIN, _unit(rod_end - ball))
    bodies.join(arm, pushrod, stands.cup, BALL, at.a, of_other=rod_end)
    bodies.join(bodies.ground, arm, at.P, TURNS, at.a)
    bodies.join(bodies.ground, valve, tip, SLIDES, at.n)
    bodies.join(valve, arm, tip + rocker.tip_radius * at.n, STAYS_ABOVE, at.n, of_other=stands.contact)
    bodies.follow(valve, tip)
    (where,) = bodies.closed(steps)
    drawn: Array = -(where - at.T) @ at.n
    return drawn


def _ball(gear: Gear) -> Array:
    return gear.at.S - gear.down * gear.at.u


def _unit(vector: Array) -> Array:
    return vector / np.linalg.norm(vector)


def _axes(z: Array) -> Array:
    """Return a right-handed frame as the columns of a matrix, its z as given."""
    aside = np.array([1.0, 0.0, 0.0]) if abs(z[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    y = _unit(np.cross(z, aside))
    return np.column_stack([np.cross(y, z), y, z])
