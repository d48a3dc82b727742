r"""The motion of one valve gear, found by searching for roots of its raw loop equations.

Nothing here is solved on paper. Every pose is the root of one scalar equation, bracketed by a scan, closed by
`scipy.optimize.brentq`; every turn is a `scipy.spatial.transform.Rotation`. It is slow, and only made to be
compared with.

Frame: cylinder frame, origin at the crank centre, z up the cylinder axis, y along the crankshaft, x = y × z.
Millimetres and radians throughout. A rocker turn is positive where it opens the valve, that is where it
carries the valve arm towards the underside (-z); it is 0 with the valve closed and the contact on the tip::

         e_v   P, a    e_p           Q = P + yv·a + rv·e_v    contact centre
      Q ------- o ------- U          U = P + yp·a + rp·e_p    cup's ball centre
      |  turn ↓   turn ↑  |          B = S + (s - p)·u        lifter's ball centre
    n ↑ T                 | L        closed: n·(Q - T) = ρ
      | F                 B ↑ u      loop:   |U - B| = L

Every function takes `mapping`, flat, entry path to number, with points and leans split into `.x .y .z`, and
`train`, its name: `"front.intake"` reads `"front.intake.rocker.shaft.x"` and `"stack.cylinder"`, or instead
of the latter `"front.stack.cylinder"` where that is entered. Of the rest, `length` is a pushrod's from ball
centre to ball centre [mm], `lifter_lift` counts from the base circle [mm], a list of lifts is walked in the
order given, and `down` is the plunger's depth below its top stop [mm]: None settles it from the length with
the valve closed, between its stops.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar  # type: ignore[import-untyped, unused-ignore]
from scipy.spatial.transform import Rotation  # type: ignore[import-untyped, unused-ignore]

Array: TypeAlias = NDArray[np.float64]
Number: TypeAlias = float | Array

SCAN_POINTS = 720
# One full turn. It starts where no neat angle lies, so that a root is never cut by the seam.
FULL_TURN = np.linspace(-3.0, -3.0 + 2.0 * np.pi, SCAN_POINTS)
LIFT_STEP = 0.5  # [mm] the longest stride along a lifter's rise
TURN_STENCIL = 0.015  # [rad]
LIFT_STENCIL = 1.0  # [mm]


class Unreachable(Exception):
    """The parts cannot meet: the closed position does not exist, or the loop opens on the way."""


@dataclass(frozen=True, slots=True)
class Points:
    """The raw vectors of one train, named by the symbols of the equations."""

    S: Array  # [mm] lifter's ball centre, lifter on the base circle, plunger at its top stop
    u: Array  # unit, direction of lift
    P: Array  # [mm] rocker shaft point
    a: Array  # unit, along the shaft
    T: Array  # [mm] stem tip centre, valve closed
    F: Array  # [mm] valve face centre, valve closed
    n: Array  # unit, along the stem out of the chamber


@dataclass(frozen=True, slots=True)
class Closed:
    """The rocker as it stands on the closed valve."""

    angle_rad: float  # of the valve arm about +a, from the direction square to the shaft towards the tip
    sense: float  # +1 where an opening turn is positive about a, -1 where it is negative
    e_v: Array  # unit, shaft axis to contact centre
    e_p: Array  # unit, shaft axis to cup's ball centre
    Q: Array  # [mm] contact centre
    U: Array  # [mm] cup's ball centre


@dataclass(frozen=True, slots=True)
class Lash:
    """The play of a solid lifter's train, with what it does to the valve when there is none."""

    lash_mm: float  # negative: the pushrod is that much too long, measured where the lash is measured
    held_mm: float  # [mm] by how much the rocker holds the valve off its seat; 0 where there is play


def points(mapping: Mapping[str, object], train: str) -> Points:
    """Return the raw vectors of a train, all in the cylinder frame.

    Returns:
        The seven vectors, with cuts, sink and lowered seat applied.
    """
    deck = _stack(mapping, train, "case_deck")
    gasket_face = (
        deck
        - _stack(mapping, train, "case_cut", 0.0)
        + _stack(mapping, train, "base_gasket")
        + _stack(mapping, train, "cylinder")
        + _stack(mapping, train, "head_gasket")
        - _stack(mapping, train, "head_cut", 0.0)
    )
    u = _lean(mapping, f"{train}.lifter.lean")
    n = _lean(mapping, f"{train}.valve.lean")
    up = np.array([0.0, 0.0, 1.0])
    seat = deck * up + _point(mapping, f"{train}.lifter.seat")
    shaft = gasket_face * up + _point(mapping, f"{train}.rocker.shaft")
    face = gasket_face * up + _point(mapping, f"{train}.valve.face")
    face = face + _number(mapping, f"{train}.valve.sink", 0.0) * n
    return Points(
        S=seat - _number(mapping, f"{train}.lifter.lowered", 0.0) * u,
        u=u,
        P=shaft,
        a=_unit(_point(mapping, f"{train}.rocker.direction")),
        T=face + _number(mapping, f"{train}.valve.length") * n,
        F=face,
        n=n,
    )


def closed_angle(mapping: Mapping[str, object], train: str) -> Closed:
    """Return the rocker's pose with the valve closed and the contact touching the stem tip.

    Returns:
        Of the two poses that touch, the one with its contact nearest the centre of the tip.

    Raises:
        Unreachable: the contact cannot touch the tip's plane, or opening would lift it off the tip.
    """
    at = points(mapping, train)
    arm, radius = _rocker(mapping, train, "valve_arm"), _rocker(mapping, train, "tip_radius")
    foot = at.P + _rocker(mapping, train, "valve_station") * at.a
    towards_tip = at.T - at.P
    start = _unit(towards_tip - (towards_tip @ at.a) * at.a)

    def contact_centre(angle: Number) -> Array:
        return foot + arm * turned(start, at.a, angle)

    def height(angle: Number) -> Array:
        return (contact_centre(angle) - at.T) @ at.n - radius

    def drop(angle: Number) -> Array:
        return -height(angle)

    what = f"The contact centre of {train} cannot stand tip_radius above its stem tip; change valve_arm"
    touching = [rising_root(height, FULL_TURN, what), rising_root(drop, FULL_TURN, what)]

    def from_tip_centre(angle: float) -> float:
        return _length(contact_centre(angle) - radius * at.n - at.T)

    angle = min(touching, key=from_tip_centre)
    e_v = turned(start, at.a, angle)
    moves = np.cross(at.a, e_v)
    sense = -float(np.sign(moves[2]))
    if sense * (moves @ at.n) >= 0.0:
        msg = f"The valve arm of {train}, turned towards the underside, does not press the stem; change shaft"
        raise Unreachable(msg)
    e_p = turned(e_v, sense * at.a, _rocker(mapping, train, "arm_angle"))
    cup_foot = at.P + _rocker(mapping, train, "pushrod_station") * at.a
    return Closed(
        angle_rad=angle,
        sense=sense,
        e_v=e_v,
        e_p=e_p,
        Q=contact_centre(angle),
        U=cup_foot + _rocker(mapping, train, "pushrod_arm") * e_p,
    )


def length(mapping: Mapping[str, object], train: str) -> float:
    """Return the pushrod length, ball centre to ball centre, that gives the entered preload or lash.

    Returns:
        [mm] centre to centre.

    Raises:
        Unreachable: no closed position, or the rocker cannot turn back by the lash.
    """
    gear = _Gear(mapping, train)
    at, closed = gear.points, gear.closed
    if gear.hydraulic:
        return _length(closed.U - (at.S - _number(mapping, f"{train}.lifter.preload") * at.u))
    lash = _number(mapping, f"{train}.lifter.lash")
    if gear.lash_at_pushrod:
        return _length(closed.U - at.S) - lash

    def too_low(turn: Number) -> Array:
        return lash - gear.rise(turn)

    what = f"The contact of {train} cannot stand {lash:.6g} mm off the stem tip; enter a smaller lash"
    return _length(gear.cup(rising_root(too_low, FULL_TURN, what)) - at.S)


def lift(
    mapping: Mapping[str, object],
    train: str,
    lifter_lift: float,
    length: float,
    *,
    down: float | None = None,
) -> tuple[float, float]:
    """Return the valve lift with the rocker's turn at one lifter lift.

    Returns:
        Valve lift [mm], never below zero, then rocker turn [rad], negative while there is play.

    Raises:
        Unreachable: the loop opens between the base circle and this lift.
    """
    lifts, turns = motion(mapping, train, [lifter_lift], length, down=down)
    return float(lifts[0]), float(turns[0])


def motion(
    mapping: Mapping[str, object],
    train: str,
    lifter_lifts: Sequence[float] | Array,
    length: float,
    *,
    down: float | None = None,
) -> tuple[Array, Array]:
    """Return the valve lifts with the rocker's turns along a list of lifter lifts.

    Returns:
        Valve lifts [mm], never below zero, then rocker turns [rad].

    Raises:
        Unreachable: the loop opens on the way.
    """
    gear = _Gear(mapping, train)
    turns = gear.follow(lifter_lifts, length, gear.settled(length, down))
    return np.maximum(-gear.rise(turns), 0.0), turns


def ratio(
    mapping: Mapping[str, object],
    train: str,
    lifter_lift: float,
    length: float,
    *,
    down: float | None = None,
) -> float:
    """Return the instantaneous ratio: how fast the contact travels along the stem per lifter rise.

    The loop |U(ω) - B(s)| = L is differentiated as it stands: dω/ds is minus the quotient of its two slopes,
    each a seven-point central difference, so no neighbouring pose need exist.

    Returns:
        dh/ds, pure; while there is still play, that of the moving contact, not the 0 of the resting valve.

    Raises:
        Unreachable: the loop opens between the base circle and this lift.
    """
    gear = _Gear(mapping, train)
    depth = gear.settled(length, down)
    turn = float(gear.follow([lifter_lift], length, depth)[0])

    def span_by_turn(angle: float) -> float:
        return float(gear.span(angle, lifter_lift, depth))

    def span_by_lift(height: float) -> float:
        return float(gear.span(turn, height, depth))

    def rise_by_turn(angle: float) -> float:
        return float(gear.rise(angle))

    span_per_lift = _slope(span_by_lift, lifter_lift, LIFT_STENCIL)
    span_per_turn = _slope(span_by_turn, turn, TURN_STENCIL)
    return _slope(rise_by_turn, turn, TURN_STENCIL) * span_per_lift / span_per_turn


def preload(mapping: Mapping[str, object], train: str, length: float) -> float:
    """Return how far a pushrod pushes the plunger of a hydraulic lifter down with the valve closed.

    Returns:
        [mm] below the top stop; negative is slack, more than the plunger's travel holds the valve open.

    Raises:
        Unreachable: no plunger position makes the pushrod fit under the closed rocker.
    """
    return _Gear(mapping, train).depth(length)


def take_up(mapping: Mapping[str, object], train: str, length: float) -> float:
    """Return the lifter lift, plunger at its top stop, at which all play is taken up.

    Returns:
        [mm] above the base circle; negative where there is no play.

    Raises:
        Unreachable: no lifter lift makes the pushrod fit under the closed rocker.
    """
    return -_Gear(mapping, train).depth(length)


def lash(mapping: Mapping[str, object], train: str, length: float) -> Lash:
    """Return the lash that a pushrod gives a solid lifter, where the train's `lash_at` measures it.

    Returns:
        The lash, negative with a held valve where the pushrod is too long.

    Raises:
        Unreachable: the pushrod cannot reach the cup with the lifter on the base circle.
    """
    gear = _Gear(mapping, train)
    gap = _length(gear.closed.U - gear.points.S) - length
    if gear.lash_at_pushrod and gap >= 0.0:
        return Lash(gap, 0.0)
    rise = float(gear.rise(gear.follow([0.0], length, 0.0)[0]))
    return Lash(gap if gear.lash_at_pushrod else rise, max(-rise, 0.0))


def sweep(
    mapping: Mapping[str, object],
    train: str,
    lifter_lifts: Sequence[float] | Array,
    length: float,
    *,
    down: float | None = None,
) -> Array:
    """Return where the contact point lies across the tip at each of a dense list of lifter lifts.

    Returns:
        Offsets from the tip centre [mm] along a × n, square to the stem as to the shaft. While there is play,
        the contact is taken where it touches the closed valve.

    Raises:
        Unreachable: the loop opens on the way.
    """
    gear = _Gear(mapping, train)
    at = gear.points
    turns = np.maximum(gear.follow(lifter_lifts, length, gear.settled(length, down)), 0.0)
    tips = at.T + np.multiply.outer(gear.rise(turns), at.n)
    contacts = gear.contact_centre(turns) - gear.tip_radius * at.n
    offsets: Array = (contacts - tips) @ _unit(np.cross(at.a, at.n))
    return offsets


def turned(vector: Array, axis: Array, angle: Number) -> Array:
    """Return a vector turned about a unit axis by one angle or by each of many.

    Args:
        vector: (3,) what is turned.
        axis: (3,) unit, right-handed.
        angle: () or (m,) [rad].

    Returns:
        (3,) or (m, 3).
    """
    return circle(vector, axis)(angle)


def circle(vector: Array, axis: Array) -> Callable[[Number], Array]:
    """Return the images of a vector turned about a unit axis, see `turned`, by three of them on their circle."""
    quarter, half = Rotation.from_rotvec(np.multiply.outer([np.pi / 2, np.pi], axis)).apply(vector)
    middle = (vector + half) / 2

    def image(angle: Number) -> Array:
        across = np.multiply.outer(np.cos(angle), vector - middle)
        found: Array = middle + across + np.multiply.outer(np.sin(angle), quarter - middle)
        return found

    return image


def rising_root(curve: Callable[[Number], Array], grid: Array, what: str) -> float:
    """Return where a curve with one hill or one valley over the grid comes up through zero.

    A pair of roots that hides between two grid points is found from the crest, or the bottom, between them.

    Args:
        curve: the scalar equation, taking one abscissa or many.
        grid: evenly spaced abscissae that enclose the root.
        what: the sentence that says what cannot be reached.

    Returns:
        The abscissa, to rounding.

    Raises:
        Unreachable: the curve stays on one side of zero; the message carries the least miss.
    """
    values = curve(grid)
    step = float(grid[1] - grid[0])
    comes_up = np.flatnonzero((values[:-1] < 0.0) & (values[1:] >= 0.0))
    if comes_up.size:
        low, high = float(grid[comes_up[0]]), float(grid[comes_up[0] + 1])
    else:
        side = 1.0 if values.min() >= 0.0 else -1.0
        nearest = float(grid[np.argmin(side * values)])
        low, high = nearest - step, nearest + step
        search = {"bounds": (low, high), "method": "bounded", "options": {"xatol": 1e-12}}
        turning = float(minimize_scalar(lambda x: side * float(curve(x)), **search).x)
        miss = side * float(curve(turning))
        if miss > 0.0:
            msg = f"{what}. It misses by {miss:.6g} mm."
            raise Unreachable(msg)
        low, high = (turning, high) if side > 0.0 else (low, turning)
    root: float = brentq(lambda x: float(curve(x)), low, high, xtol=1e-15, rtol=4.0 * np.finfo(float).eps)
    return root


class _Gear:
    """One train with its closed pose found, ready to be turned."""

    def __init__(self, mapping: Mapping[str, object], train: str) -> None:
        self.train = train
        self.points = points(mapping, train)
        self.closed = closed_angle(mapping, train)
        self.tip_radius = _rocker(mapping, train, "tip_radius")
        self.hydraulic = mapping[f"{train}.lifter.kind"] == "hydraulic"
        self.lash_at_pushrod = mapping.get(f"{train}.lifter.lash_at", "valve") == "pushrod"
        self.travel = _number(mapping, f"{train}.lifter.plunger_travel", np.inf)
        at = self.points
        self._valve_foot = at.P + _rocker(mapping, train, "valve_station") * at.a
        self._cup_foot = at.P + _rocker(mapping, train, "pushrod_station") * at.a
        opening_axis = self.closed.sense * at.a
        self._contact = circle(self.closed.Q - self._valve_foot, opening_axis)
        self._cup = circle(self.closed.U - self._cup_foot, opening_axis)

    def contact_centre(self, turn: Number) -> Array:
        """Return Q at a rocker turn."""
        return self._valve_foot + self._contact(turn)

    def cup(self, turn: Number) -> Array:
        """Return U at a rocker turn."""
        return self._cup_foot + self._cup(turn)

    def rise(self, turn: Number) -> Array:
        """Return how far the contact centre has gone out along the stem: minus the signed valve lift."""
        return (self.contact_centre(turn) - self.closed.Q) @ self.points.n

    def span(self, turn: Number, lifter_lift: float, down: float) -> Array:
        """Return |U - B|."""
        ball = self.points.S + (lifter_lift - down) * self.points.u
        return np.asarray(np.linalg.norm(self.cup(turn) - ball, axis=-1))

    def depth(self, length: float) -> float:
        """Return the plunger depth at which the pushrod just fits under the rocker on its closed valve."""
        at, cup = self.points, self.closed.U
        far = length + _length(cup - at.S)

        def too_long(down: Number) -> Array:
            balls = at.S - np.multiply.outer(down, at.u)
            return np.asarray(np.linalg.norm(cup - balls, axis=-1)) - length

        what = f"The pushrod of {self.train}, {length:.4f} mm, fits at no plunger depth; enter a longer one"
        return rising_root(too_long, np.linspace(-far, far, SCAN_POINTS), what)

    def settled(self, length: float, down: float | None) -> float:
        """Return the plunger depth asked for, or else the one the lifter takes with the valve closed."""
        if down is not None:
            return down
        return min(max(self.depth(length), 0.0), self.travel) if self.hydraulic else 0.0

    def follow(self, lifter_lifts: Sequence[float] | Array, length: float, down: float) -> Array:
        """Return the turns along a list of lifts, walked in short strides from the lifter's rest.

        The two poses that close the loop lie on opposite flanks of the span; the engine's is the one on the
        flank where the closed valve stands. They can only change places where they meet, and there the loop
        opens.
        """
        flank = np.sign(_slope(lambda turn: float(self.span(turn, 0.0, down)), 0.0, TURN_STENCIL))
        lifter_lift, turn = 0.0, self._turn(0.0, length, down, flank)
        turns = []
        for wanted in lifter_lifts:
            strides = int(np.ceil(abs(wanted - lifter_lift) / LIFT_STEP))
            for stride in np.linspace(lifter_lift, wanted, strides + 1)[1:]:
                turn = self._turn(float(stride), length, down, flank)
            lifter_lift = float(wanted)
            turns.append(turn)
        return np.array(turns)

    def _turn(self, lifter_lift: float, length: float, down: float, flank: float) -> float:
        def too_far(turn: Number) -> Array:
            return flank * (self.span(turn, lifter_lift, down) - length)

        what = f"The pushrod of {self.train}, {length:.4f} mm, cannot reach at lift {lifter_lift:.4f} mm"
        return rising_root(too_far, FULL_TURN, what)


def _slope(curve: Callable[[float], float], at: float, step: float) -> float:
    """Return a derivative by the central difference over seven points, exact to the sixth power."""
    one, two, three = (curve(at + k * step) - curve(at - k * step) for k in (1, 2, 3))
    return (45.0 * one - 9.0 * two + three) / (60.0 * step)


def _number(mapping: Mapping[str, object], path: str, default: float | None = None) -> float:
    value = mapping.get(path, default)
    if not isinstance(value, int | float):
        msg = f"{path} must be a number, not {value!r}"
        raise TypeError(msg)
    return float(value)


def _stack(mapping: Mapping[str, object], train: str, part: str, default: float | None = None) -> float:
    own = f"{train.split('.')[0]}.stack.{part}"
    return _number(mapping, own if own in mapping else f"stack.{part}", default)


def _rocker(mapping: Mapping[str, object], train: str, part: str) -> float:
    return _number(mapping, f"{train}.rocker.{part}")


def _point(mapping: Mapping[str, object], path: str) -> Array:
    return np.array([_number(mapping, f"{path}.{axis}") for axis in "xyz"])


def _lean(mapping: Mapping[str, object], path: str) -> Array:
    lean_x, lean_y = (_number(mapping, f"{path}.{axis}") for axis in "xy")
    return _unit(np.array([np.tan(lean_x), np.tan(lean_y), 1.0]))


def _length(vector: Array) -> float:
    return float(np.linalg.norm(vector))


def _unit(vector: Array) -> Array:
    return vector / np.linalg.norm(vector)
