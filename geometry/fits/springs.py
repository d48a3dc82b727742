"""The valve's springs: heights, forces, what is left to coil bind and to the seal, and when the valve leaves the cam.

    F(height) = force measured at one height + rate × (that height - height),  or  rate × (free length - height)
    rate      = force / (free length - its height)   or else
                G·d⁴ / (8·D³·n)   from wire d, mean diameter D and active coils n, where it was not measured
    left to coil bind = installed height - lift - solid height;  nested springs each on their own, forces added

A valve sunk since stands its springs as much taller. Of a table read at the valve, lifter and valve dialled at once, s and h'
are those of `at_valve`, wherever the valve was seen to move. The rigid valve gear leaves the cam where its inertia
first outweighs the springs: with the lobe's lift s(cam angle), the valve's h(s) and masses m at the valve, M at
the lifter,

    contact = (M + m·h'²)·s̈ + m·h'·h''·ṡ² + F(h)·h'  ≥ 0,     ṡ = s'·ω,  s̈ = s''·ω²

so ω² is the least of F·h' / -((M + m·h'²)·s'' + m·h'·h''·s'²) wherever that is positive.

Sources: helical spring rate, Shigley, Mechanical Engineering Design; Lagrange's equation of one degree of
freedom. A third of a spring's mass moves with its valve.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ..cam.cam import CamLobe
from ..clearance.valve_lift import ValveLift, valve_lift
from ..core.answer import TRAIN, Figure, Found, Measured, Missing, Refused, Value, answers, spread
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..core.targets import COIL_BIND, RETAINER, SEAT_FORCE, Target, limit_of
from ..engine.engine import train_of
from ..gear.at_valve import SEEN_MM, behind, dialled
from .full_lift import FullLift, full_lift_of, lobe_of, peak_of, valve_lift_of

STEEL_SHEAR = 79300.0  # N/mm², of spring steel wire where none is entered: 11.5 Mpsi, common practice
MOST_SPRINGS = 4
ANGLES = 1441  # of the cam's turn
DERIVED = 1e-3  # mm of lifter lift, for h''
ALIKE = 1e-5  # of a squared speed; h'' is differenced
LIFT = "the valve's lift is not known: see tallstack clearance"
PUMPED = "at full lift with the lifter pumped up: the plunger "
TOP_STOP = f"{PUMPED}at its top stop"
HEAT_UNKNOWN = "less by what heat adds to the preload, which is not known"
RISEN = f"{PUMPED}risen as far as counts (targets.pumped)"


class Spring(NamedTuple):
    """One spring; mm, N."""

    rate: Array
    installed: Array  # height with the valve closed, as it is now
    free: Array  # length without load
    solid: Array | None
    basis: str  # what its rate was worked out from, in words; empty where it was entered
    where: str  # path of its entries

    def force(self, height: Array) -> Array:
        """Return its force at a height [N]."""
        return self.rate * (self.free - height)


def rate(wire: Array, mean_diameter: Array, coils: Array, modulus: Array) -> Array:
    """Return a helical spring's rate [N/mm] from sizes in mm and a shear modulus in N/mm²."""
    stiffness: Array = modulus * wire**4 / (8 * mean_diameter**3 * coils)
    return stiffness


def springs_of(mapping: Flat, train: str) -> tuple[Spring, ...] | Missing:
    """Return a valve's springs, the first entry that is lacking for each named."""
    stems = [f"{train}.spring."]
    there = Reader(mapping, (f"{train}.spring.",))
    if there.has("0"):
        stems = [f"{train}.spring.{index}." for index in range(MOST_SPRINGS) if there.has(str(index))]
    found, missing = [], []
    sunk = Reader(mapping, (f"{train}.",)).find("valve.sink")
    for stem in stems:
        reader = Reader(mapping, (stem,))
        installed = reader.number("installed") + (array(0.0) if sunk is None else sunk)
        stiffness, basis = _rate(reader)
        free = reader.find("free_length")
        if free is None and reader.has("force"):
            free = reader.number("force_at") + reader.number("force") / stiffness
        elif free is None:
            reader.lack("free_length")
            free = array(np.nan)
        missing += reader.missing
        if basis:
            basis = f"{stem.removeprefix(f'{train}.')}rate {basis}"
        found.append(Spring(stiffness, installed, free, reader.find("solid_height"), basis, stem))
    return Missing.of(missing) if missing else tuple(found)


def _rate(reader: Reader) -> tuple[Array, str]:
    """Return a spring's rate and what it was worked out from: as entered, as read, or else by its wire."""
    entered = reader.find("rate")
    if entered is not None:
        return entered, ""
    free, force, height = (reader.find(one) for one in ("free_length", "force", "force_at"))
    if free is not None and force is not None and height is not None:
        return force / (free - height), "from its free length and the force at one height"
    if not reader.has("wire"):
        return reader.number("rate"), ""
    modulus = reader.find("shear_modulus")
    stiffness = rate(
        reader.number("wire"),
        reader.number("mean_diameter"),
        reader.number("active_coils"),
        array(STEEL_SHEAR) if modulus is None else modulus,
    )
    return stiffness, "from its wire, mean diameter and coils"


@answers(
    TRAIN,
    "SPRINGS, VALVE CLOSED",
    takes=valve_lift_of,
    spring_rate=Figure("rate of its springs together", "n_per_mm", main=False),
    spring_height=Figure(
        "springs' height, valve closed",
        main=False,
        measured=Measured("springs' height with the valve closed", (20, 70)),
    ),
    seat_force=Figure(
        "force on the seat", "n", headline=True, more=("shim for a wanted seat force", (SEAT_FORCE,))
    ),
    shim_for_seat_force=Figure(
        "shim for the seat force wanted",
        refused=Refused("none", "the springs press that hard already, they could stand {} taller"),
        main=False,
    ),
    coil_bind_with_shim=Figure(
        "coil bind that shim would leave",
        least=COIL_BIND,
        below_zero="the coils would meet before full lift",
        left_by="shim_for_seat_force",
        main=False,
    ),
)
def seat(mapping: Flat, train: str, peak: ArrayLike | None = None) -> Found:
    """Return the force on the seat, and the shim for the one that is wanted with what it leaves to coil bind.

    peak : (...) [mm]  the valve's greatest lift; None where it is not known
    """
    springs = springs_of(mapping, train)
    if isinstance(springs, Missing):
        return springs
    stiffness = sum((one.rate for one in springs), array(0.0))
    force = sum((one.force(one.installed) for one in springs), array(0.0))
    found = {
        "spring_rate": Value(stiffness, note="; ".join(one.basis for one in springs if one.basis)),
        "spring_height": Value(springs[0].installed),
        "seat_force": Value(force),
    }
    wanted = Reader(mapping, ("targets.",)).find("seat_force")
    if wanted is not None:
        shim = (wanted - force) / stiffness
        left = None if peak is None or _without_solid(springs) else _left(springs, array(peak)) - shim
        note = "under every spring" + ("; what it leaves to coil bind is not known" if left is None else "")
        found["shim_for_seat_force"] = Value(shim, note=note)
        if left is not None:
            found["coil_bind_with_shim"] = Value(left, note="at full lift")
    return found


def _left(springs: Sequence[Spring], peak: Array) -> Array:
    """Return the least that is left to coil bind of the springs whose solid height is known [mm]."""
    left: Array = np.minimum.reduce(
        [one.installed - peak - one.solid for one in springs if one.solid is not None]
    )
    return left


def _without_solid(springs: Sequence[Spring]) -> tuple[str, ...]:
    """Return the solid heights that are not known: as long as one is, nobody knows which spring binds first."""
    return tuple(f"{one.where}solid_height" for one in springs if one.solid is None)


@answers(
    TRAIN,
    "SPRINGS AT FULL LIFT",
    takes=valve_lift_of,
    open_force=Figure("force at full lift", "n", headline=True),
)
def at_full_lift(mapping: Flat, train: str, peak: ArrayLike | None) -> Found:
    """Return the force at full lift.

    peak : (...) [mm]  the valve's greatest lift; None where it is not known
    """
    springs = springs_of(mapping, train)
    if isinstance(springs, Missing):
        return springs
    if peak is None:
        return Missing.of((), LIFT)
    force = sum((one.force(one.installed - array(peak)) for one in springs), array(0.0))
    return {"open_force": Value(force, note="at full lift")}


@answers(
    TRAIN,
    "COIL BIND",
    takes=valve_lift_of,
    coil_bind=Figure(
        "left to coil bind",
        least=COIL_BIND,
        below_zero="the coils meet before full lift",
        measured=Measured("left between the coils at full lift, all of it together", (0.3, 15)),
    ),
)
def coil_bind(mapping: Flat, train: str, peak: ArrayLike | None) -> Found:
    """Return what is left to coil bind at full lift, of the spring that has least.

    Of nested springs one without a solid height may bind first: then it is told only that the others miss their
    limit, where they do. Nothing where springs or lift are not known, which is told of the force at full lift, but where
    a job sets a limit for it.

    peak : (...) [mm]  the valve's greatest lift; None where it is not known
    """
    return _bind(mapping, train, peak, "coil_bind", COIL_BIND, "at full lift")


@answers(
    TRAIN,
    "COIL BIND, LIFTERS PUMPED UP",
    takes=full_lift_of,
    coil_bind_pumped=Figure(
        "left to coil bind, lifter pumped up",
        below_zero="the coils meet before full lift with the lifter pumped up",
        at_nought="THE COILS MEET",
        zero=True,
        pumped=True,
    ),
)
def coil_bind_pumped(mapping: Flat, train: str, gear: FullLift) -> Found:
    """Return what is left to coil bind with a hydraulic lifter pumped up; nothing of a solid one, or of no springs."""
    if not gear.pumps or not isinstance(springs_of(mapping, train), tuple):
        return {}
    if gear.no_pumped:
        return Missing.of(gear.no_pumped)
    found = _bind(mapping, train, gear.pumped, "coil_bind_pumped", None, _risen(mapping, train))
    return _as_heat_is_known(found, gear)


def _risen(mapping: Flat, train: str) -> str:
    return TOP_STOP if train_of(mapping, train).lifter.pumped_rise is None else RISEN


def _as_heat_is_known(found: Found, gear: FullLift) -> Found:
    """Return what is left with a lifter pumped up, not proved where nobody knows what heat adds to its preload."""
    if isinstance(found, Missing) or not gear.pumped_lacks:
        return found
    return {
        key: one._replace(note=f"{one.note}; {HEAT_UNKNOWN}", unsaid=gear.pumped_lacks)
        for key, one in found.items()
    }


def _bind(
    mapping: Flat, train: str, peak: ArrayLike | None, key: str, target: Target | None, note: str
) -> Found:
    springs = springs_of(mapping, train)
    if isinstance(springs, Missing) or peak is None:
        if target is None or target.set_in(mapping) is None:
            return {}
        return springs if isinstance(springs, Missing) else Missing.of((), LIFT)
    lacks = _without_solid(springs)
    if len(lacks) == len(springs):
        return Missing.of(lacks)
    left = _left(springs, array(peak))
    if lacks:
        limit = limit_of(mapping, target)
        if not np.any(left < (0.0 if limit is None else limit.value)):
            return Missing.of(lacks, "another of the nested springs may bind first")
        note += ", of those with a solid_height"
    return {key: Value(left, note=note)}


@answers(
    TRAIN,
    "RETAINERS",
    takes=valve_lift_of,
    retainer_to_seal=Figure(
        "left from retainer to seal or guide",
        least=RETAINER,
        below_zero="the retainer meets the seal or guide before full lift",
        measured=Measured("left between retainer and seal or guide at full lift", (0.3, 15)),
    ),
)
def retainer(mapping: Flat, train: str, peak: ArrayLike | None) -> Found:
    """Return what is left between retainer and seal or guide at full lift.

    peak : (...) [mm]  the valve's greatest lift; None where it is not known
    """
    return _to_seal(mapping, train, peak, "retainer_to_seal", "at full lift", plain=True)


@answers(
    TRAIN,
    "RETAINERS, LIFTERS PUMPED UP",
    takes=full_lift_of,
    retainer_to_seal_pumped=Figure(
        "left from retainer to seal, lifter pumped up",
        below_zero="the retainer meets the seal or guide with the lifter pumped up",
        at_nought="RETAINER AND SEAL OR GUIDE MEET",
        zero=True,
        pumped=True,
    ),
)
def retainer_pumped(mapping: Flat, train: str, gear: FullLift) -> Found:
    """Return what is left between retainer and seal with a hydraulic lifter pumped up; nothing of a solid one."""
    if not gear.pumps or gear.valve_lift is None:
        return {}
    if gear.no_pumped:
        return (
            {}
            if Reader(mapping, (f"{train}.",)).find("valve.retainer_to_seal") is None
            else Missing.of(gear.no_pumped)
        )
    note = _risen(mapping, train)
    found = _to_seal(mapping, train, gear.pumped, "retainer_to_seal_pumped", note, plain=False)
    return _as_heat_is_known(found, gear)


def _to_seal(mapping: Flat, train: str, peak: ArrayLike | None, key: str, note: str, plain: bool) -> Found:
    reader = Reader(mapping, (f"{train}.",))
    measured, sunk = reader.number("valve.retainer_to_seal"), reader.find("valve.sink")
    if reader.missing:
        return Missing.of(reader.missing) if plain else {}
    if peak is None:
        return Missing.of((), LIFT)
    room = measured - array(peak) + (array(0.0) if sunk is None else sunk)
    return {key: Value(room, note=note)}


class Masses(NamedTuple):
    """What moves with valve and lifter, kg."""

    at_valve: Array
    at_lifter: Array


def masses_of(mapping: Flat, train: str) -> Masses | Missing:
    """Return the moving masses of a valve gear."""
    reader = Reader(mapping, (f"{train}.masses.",))
    valve, springs = reader.number("valve"), reader.number("springs")
    rocker, pushrod, lifter = (reader.number(one) for one in ("rocker", "pushrod", "lifter"))
    if reader.missing:
        return Missing.of(reader.missing)
    return Masses(valve + springs / 3 + rocker, pushrod + lifter)


def _not_dialled(mapping: Flat, train: str, lobe: CamLobe) -> tuple[str, ...]:
    """Return what leads from a table of the valve's lift to its lobe, and is not there."""
    job = Reader(mapping, ("",))
    lash = lobe.lash is None and job.word(f"{train}.lifter.kind") != "hydraulic"
    places = (
        ()
        if dialled(job, lobe.name)
        else tuple(f"lobe.{lobe.name}.dialled.{one}" for one in ("lifter", "valve"))
    )
    return (*places, *((lobe.lash_entry,) if lash else ()))


@answers(
    TRAIN,
    "VALVE LEAVING THE CAM",
    takes=lobe_of,
    searched=True,
    leaves_the_cam=Figure("valve first leaves the cam", "rpm", headline=True),
    speed_to_spare=Figure(
        "left before its valve leaves the cam",
        "rpm",
        zero=True,
        at_nought="NOT HELD TO THE CAM",
        below_zero="at that speed these springs no longer hold the valve to its cam",
        main=False,
    ),
)
def leaves_the_cam(mapping: Flat, train: str, lobe: CamLobe | None) -> Found:
    """Return the crank speed at which the rigid valve gear first leaves the cam, and where in the cycle."""
    wide = spread(mapping)
    springs, masses = springs_of(wide, train), masses_of(wide, train)
    lacks = [entry for one in (springs, masses) if isinstance(one, Missing) for entry in one.entries]
    lift = None if lobe is None else valve_lift(train_of(wide, train), lobe)
    if lobe is None:
        return Missing.of(lacks, "" if lacks else "the lobe is not known")
    if lobe.at_valve and lobe.gear is None:
        return Missing.of(
            (*lacks, *_not_dialled(wide, train, lobe)),
            "the lobe was read at the valve, and how the lifter goes with it is not known",
        )
    if lobe.card is not None:
        return Missing.of(
            lacks, "a timing card does not tell how sharply its lobe bends; a table of readings would"
        )
    if lift is not None and not isinstance(lift, ValveLift):
        lacks += lift
    if (
        lacks
        or isinstance(springs, Missing)
        or isinstance(masses, Missing)
        or not isinstance(lift, ValveLift)
    ):
        return Missing.of(lacks)
    turn = np.linspace(0.0, 2 * np.pi, ANGLES)[:-1]
    higher = peak_of(wide, lobe) / lobe.peak[1]  # of the same shape
    risen = np.maximum(lobe.placed.lobe.lift(turn), 0.0) * higher
    slope, bend = lobe.placed.lobe.velocity(turn) * higher, lobe.placed.lobe.acceleration(turn) * higher
    height = lift.at_lobe(risen)
    gear = None if lobe.gear is None else behind(Reader(wide, ("",)), lobe.name, lobe.lash is None)
    if gear is None:
        ahead, back = lift.at_lobe(risen + DERIVED), lift.at_lobe(np.maximum(risen - DERIVED, 0.0))
        first = (ahead - back) / (risen + DERIVED - np.maximum(risen - DERIVED, 0.0))
        second = np.where(risen > 2 * DERIVED, (ahead - 2 * height + back) / DERIVED**2, 0.0)
        moving = height > 1e-6
    else:  # what was read is the valve's, and the lobe is worked out from it
        by = gear.slope(risen)
        first, second = 1 / by, -2 * gear.beta / by**3
        slope, bend = by * slope, by * bend + 2 * gear.beta * slope**2
        moving = (height > 1e-6) & (risen > SEEN_MM)
    force = sum((one.force(one.installed - height) for one in springs), array(0.0))
    inertia = (
        masses.at_lifter + masses.at_valve * first**2
    ) * bend + masses.at_valve * first * second * slope**2
    # Lifts are in mm: kg·mm·(rad/s)² is a thousandth of a newton.
    leaving = moving & (inertia < 0)
    if lobe.carried is not None:
        leaving = leaving & lobe.carried.steady(turn)
    if not bool(np.any(leaving)):
        return Missing.of((), "no part of the lobe would let the valve go")
    squared = np.where(leaving, force * first * 1000.0 / np.where(leaving, -inertia, 1.0), np.inf)
    # Of places alike but for rounding, as on both flanks of a symmetric lobe, the first.
    lowest = (squared <= np.roll(squared, 1, axis=-1)) & (squared <= np.roll(squared, -1, axis=-1))
    alike = squared <= squared.min(axis=-1, keepdims=True) * (1.0 + ALIKE)
    at = np.argmax(lowest & alike, axis=-1)
    speed = np.sqrt(np.maximum(squared.min(axis=-1), 0.0)) * 2 * 60 / (2 * np.pi)
    crank = lobe.placed.at + 2 * (turn[at] - lobe.placed.middle)
    note = "a rigid valve gear, springs that do not surge: it leaves sooner; not a speed to run at"
    found = {"leaves_the_cam": Value(speed, at=array(crank), note=note)}
    wanted = Reader(mapping, ("running.",)).find("speed")
    if wanted is not None:
        found["speed_to_spare"] = Value(speed - wanted * 60 / (2 * np.pi), note=f"at running.speed; {note}")
    return found
