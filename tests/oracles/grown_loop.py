"""A valve gear grown by heat, one pushed open and one pumped up, by searching for roots of the raw loop.

Every part of `raw_loop.points` is scaled by its own share and put back as a mapping of its own, so that the
second solver closes the grown loop as it closes a cold one; shares no code with the library.

    case      about the crank's centre; lifter and cam, on the cam's axis that the case carries, along their own
    cylinder  between gaskets that stay
    head      about its gasket face
    valve     from its face, which the head carries, to its tip
    rocker    arms, stations, the radius of its tip
    pushrod   its length, given to the grown loop as it is

Frame, units and names: see `raw_loop`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq  # type: ignore[import-untyped, unused-ignore]

from . import raw_loop
from .raw_loop import Array

PARTS = ("case", "lifter", "cylinder", "head", "valve", "rocker", "pushrod")
READ_AT = 0.5  # [mm] of lifter lift, where a ratio near the seat is dialled
ROCKER = ("valve_arm", "pushrod_arm", "valve_station", "pushrod_station", "tip_radius")
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, slots=True)
class Read:
    """What somebody at the bench reads of a valve gear, all up and down the cylinder but where it says so [mm]."""

    below_deck: float  # lifter's cup ball on the heel, below the case deck
    cylinder: float
    above_gasket: float  # rocker's cup ball above the head's gasket face, the valve closed
    shaft_over_cup: float
    valve: float  # face to tip, along the stem
    shaft_over_tip: float  # along the stem
    rod: float  # between balls
    ratio: float  # plain: the valve's lift over the lifter's, near the seat


def read(mapping: Mapping[str, object], train: str) -> Read:
    """Return the heights of a hydraulic valve gear, cold, its pushrod the one that gives the preload entered."""
    at, closed = raw_loop.points(mapping, train), raw_loop.closed_angle(mapping, train)
    rod = raw_loop.length(mapping, train)
    deck, face = _faces(mapping, train)
    return Read(
        below_deck=deck - float(at.S[2]),
        cylinder=_stack(mapping, train, "cylinder"),
        above_gasket=float(closed.U[2]) - face,
        shaft_over_cup=float(at.P[2] - closed.U[2]),
        valve=float((at.T - at.F) @ at.n),
        shaft_over_tip=float((at.P - at.T) @ at.n),
        rod=rod,
        ratio=float(opened(mapping, train, [READ_AT])[0]) / READ_AT,
    )


def leans(mapping: Mapping[str, object], train: str) -> tuple[float, float]:
    """Return the pushrod's whole lean to the cylinder, then to the lifter's axis, the valve closed [rad]."""
    at, closed = raw_loop.points(mapping, train), raw_loop.closed_angle(mapping, train)
    rod = closed.U - at.S + _of(mapping, f"{train}.lifter.preload") * at.u
    rod = rod / np.linalg.norm(rod)
    return float(np.arccos(rod[2])), float(np.arccos(rod @ at.u))


def grown(
    mapping: Mapping[str, object], train: str, shares: Mapping[str, float], above_cam: float
) -> dict[str, object]:
    """Return the mapping of a valve gear grown, all but its pushrod.

    Args:
        mapping: the gear, cold.
        train: its name.
        shares: part to the share of its size by which it has grown, for all `PARTS`.
        above_cam: cam's axis up to the lifter's seat along the lifter's axis [mm].

    Returns:
        One whose points are all entered from the crank's centre, as they stand hot.
    """
    at = raw_loop.points(mapping, train)
    more = {part: 1.0 + shares[part] for part in PARTS}
    deck, face = _faces(mapping, train)
    gaskets = face - deck - _stack(mapping, train, "cylinder")
    stands = deck * more["case"] + _stack(mapping, train, "cylinder") * more["cylinder"] + gaskets

    def of_head(spot: Array) -> Array:
        found: Array = (spot - face * UP) * more["head"] + stands * UP
        return found

    cam = at.S - above_cam * at.u
    there = {
        "lifter.seat": cam * more["case"] + above_cam * at.u * more["lifter"],
        "rocker.shaft": of_head(at.P),
        "valve.face": of_head(at.F),
    }
    hot = dict(mapping)
    for part in ("case_deck", "base_gasket", "cylinder", "head_gasket", "case_cut", "head_cut"):
        hot |= {f"stack.{part}": 0.0, f"{train.split('.')[0]}.stack.{part}": 0.0}
    hot |= {f"{train}.lifter.lowered": 0.0, f"{train}.valve.sink": 0.0}
    hot |= {
        f"{train}.{entry}.{axis}": float(number)
        for entry, spot in there.items()
        for axis, number in zip("xyz", spot, strict=True)
    }
    hot[f"{train}.valve.length"] = _of(mapping, f"{train}.valve.length") * more["valve"]
    for entry in ROCKER:
        path = f"{train}.rocker.{entry}"
        hot[path] = _of(mapping, path) * more["rocker"]
    return hot


def loss(mapping: Mapping[str, object], train: str, shares: Mapping[str, float], above_cam: float) -> float:
    """Return what heat takes from the preload [mm]: of the rod that gives the one entered, cold less hot."""
    rod = raw_loop.length(mapping, train) * (1.0 + shares["pushrod"])
    hot = raw_loop.preload(grown(mapping, train, shares, above_cam), train, rod)
    return _of(mapping, f"{train}.lifter.preload") - hot


def opened(
    mapping: Mapping[str, object],
    train: str,
    lifter_lifts: Sequence[float] | Array,
    *,
    risen: float = 0.0,
) -> Array:
    """Return the valve's lifts [mm] with the plunger risen by so much from where the preload entered puts it.

    Args:
        mapping: a hydraulic gear.
        train: its name.
        lifter_lifts: of the lifter's body [mm].
        risen: of the plunger [mm], from 0 to the preload, where it is pumped up.

    Returns:
        One lift for each.
    """
    down = _of(mapping, f"{train}.lifter.preload") - risen
    return raw_loop.motion(mapping, train, lifter_lifts, raw_loop.length(mapping, train), down=down)[0]


class Held:
    """A rocker that somebody turns by hand, the lifter on the heel of its lobe."""

    def __init__(self, mapping: Mapping[str, object], train: str) -> None:
        self.at = raw_loop.points(mapping, train)
        self.closed = raw_loop.closed_angle(mapping, train)
        self.opening = self.closed.sense * self.at.a
        self.valve_arm = _of(mapping, f"{train}.rocker.valve_arm") * self.closed.e_v
        self.pushrod_arm = _of(mapping, f"{train}.rocker.pushrod_arm") * self.closed.e_p

    def turn(self, valve: float) -> float:
        """Return the turn [rad] that pushes the valve open by so much, or lifts the rocker off its stem (negative)."""

        def miss(angle: float) -> float:
            swung = raw_loop.turned(self.valve_arm, self.opening, angle)
            return float((self.valve_arm - swung) @ self.at.n) - valve

        found: float = brentq(miss, -0.5, 0.5, xtol=1e-14)
        return found

    def between(self, valve: float, down: float) -> float:
        """Return how far the rocker's cup ball stands from the lifter's, the plunger so far down [mm]."""
        swung = raw_loop.turned(self.pushrod_arm, self.opening, self.turn(valve))
        cup = self.closed.U - self.pushrod_arm + swung
        return float(np.linalg.norm(cup - self.at.S + down * self.at.u))


def room_over_lip(depth: float, lip: float, ball: float, rod: float) -> float:
    """Return by how much more than the rod a cup has to be away for the ball to pass its lip [mm], by brute force.

    The rod stands in the lifter's cup and is tipped upright from one side, its upper ball under the lip, which is a
    circle square to the upright rod; every place of the tipping is tried against every point of the lip.

    Args:
        depth: of the cup, from the plane of its lip.
        lip: its radius.
        ball: its radius.
        rod: between balls.

    Returns:
        Ball seated to ball that just passes.
    """
    reach = lip + ball
    tipped = np.linspace(0.0, reach, 4001) / rod  # [rad]
    centre_x, centre_z = rod * np.sin(tipped), rod * np.cos(tipped)
    highest = -np.inf
    for around in np.linspace(0.0, np.pi, 91):
        off = np.hypot(centre_x - lip * np.cos(around), lip * np.sin(around))
        over = centre_z + np.sqrt(np.clip(ball**2 - off**2, 0.0, None))
        highest = max(highest, float(over[off <= ball].max(initial=-np.inf)))
    seated = rod + ball  # top of the ball, the rod upright
    return depth - (seated - highest)


def _faces(mapping: Mapping[str, object], train: str) -> tuple[float, float]:
    """Return the case deck and the head's gasket face as they stand now, above the crank's centre [mm]."""
    deck = _stack(mapping, train, "case_deck") - _stack(mapping, train, "case_cut")
    stack = [_stack(mapping, train, part) for part in ("base_gasket", "cylinder", "head_gasket")]
    return deck, deck + sum(stack)


def _stack(mapping: Mapping[str, object], train: str, part: str) -> float:
    own = f"{train.split('.')[0]}.stack.{part}"
    return _of(mapping, own if own in mapping else f"stack.{part}")


def _of(mapping: Mapping[str, object], path: str) -> float:
    return float(str(mapping.get(path, 0.0)))
