"""The valve's springs: heights, forces, what is left to coil bind and to the seal, and when the valve leaves the cam.

    F(height) = force measured at one height + rate × (that height - height),  or  rate × (free length - height)
    rate      = force / (free length - its height)   or else
                G·d⁴ / (8·D³·n)   from wire d, mean diameter D and active coils n, where it was not measured
    left to coil bind = installed height - lift - solid height;  nested springs each on their own, forces added

A valve sunk since stands its springs as much taller. The rigid valve gear leaves the cam where its inertia
first outweighs the springs: with the lobe's lift s(cam angle), the valve's h(s) and masses m at the valve, M at
the lifter,

    contact = (M + m·h'²)·s̈ + m·h'·h''·ṡ² + F(h)·h'  ≥ 0,     ṡ = s'·ω,  s̈ = s''·ω²

so ω² is the least of F·h' / -((M + m·h'²)·s'' + m·h'·h''·s'²) wherever that is positive.

Sources: helical spring rate, Shigley, Mechanical Engineering Design; Lagrange's equation of one degree of
freedom. A third of a spring's mass moves with its valve.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from tallstack.geometry.cam import CamLobe
from tallstack.geometry.engine import train_of
from tallstack.geometry.fits.part import Figure, Figures, Lacking, spread
from tallstack.geometry.frames import Array, array
from tallstack.geometry.mapping import Flat, Reader
from tallstack.geometry.valve_lift import ValveLift, valve_lift

STEEL_SHEAR = 79300.0  # N/mm², of spring steel wire where none is entered: 11.5 Mpsi, common practice
MOST_SPRINGS = 4
ANGLES = 1441  # of the cam's turn
DERIVED = 1e-3  # mm of lifter lift, for h''


class Spring(NamedTuple):
    """One spring; mm, N."""

    rate: Array
    installed: Array  # height with the valve closed, as it is now
    free: Array  # length without load
    solid: Array | None
    basis: str  # what its rate was worked out from, in words; empty where it was entered

    def force(self, height: Array) -> Array:
        """Return its force at a height [N]."""
        return self.rate * (self.free - height)


def rate(wire: Array, mean_diameter: Array, coils: Array, modulus: Array) -> Array:
    """Return a helical spring's rate [N/mm] from sizes in mm and a shear modulus in N/mm²."""
    stiffness: Array = modulus * wire**4 / (8 * mean_diameter**3 * coils)
    return stiffness


def springs_of(mapping: Flat, train: str) -> tuple[Spring, ...] | Lacking:
    """Return a valve's springs, the first entry that is lacking for each named."""
    stems = [f"{train}.spring."]
    if any(path.startswith(f"{train}.spring.0.") for path in mapping):
        stems = [f"{train}.spring.{index}." for index in range(MOST_SPRINGS)]
        stems = [stem for stem in stems if any(path.startswith(stem) for path in mapping)]
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
        found.append(Spring(stiffness, installed, free, reader.find("solid_height"), basis))
    return Lacking(tuple(missing)) if missing else tuple(found)


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


def seat(mapping: Flat, train: str, peak: float = math.nan) -> Figures | Lacking:
    """Return the force on the seat, and the shim for the one that is wanted with what it leaves to coil bind.

    peak : mm, the valve's greatest lift; NaN where it is not known
    """
    springs = springs_of(mapping, train)
    if isinstance(springs, Lacking):
        return springs
    stiffness = sum((one.rate for one in springs), array(0.0))
    force = sum((one.force(one.installed) for one in springs), array(0.0))
    found = {
        "spring_rate": Figure(
            stiffness, "n_per_mm", note="; ".join(one.basis for one in springs if one.basis)
        ),
        "spring_height": Figure(springs[0].installed, "mm"),
        "seat_force": Figure(force, "n"),
    }
    wanted = Reader(mapping, ("targets.",)).find("seat_force")
    if wanted is not None:
        shim, left = (wanted - force) / stiffness, _left(springs, peak)
        note = (
            "under every spring" if left else "under every spring; what it leaves to coil bind is not known"
        )
        found["shim_for_seat_force"] = Figure(shim, "mm", note=note)
        if left:
            bound = np.minimum.reduce(left) - shim
            found["coil_bind_with_shim"] = Figure(bound, "mm", least="coil_bind", note="at full lift")
    return found


def _left(springs: tuple[Spring, ...], peak: float) -> list[Array]:
    """Return what is left to coil bind of every spring whose solid height is known; none without a lift."""
    if not np.isfinite(peak):
        return []
    return [one.installed - peak - one.solid for one in springs if one.solid is not None]


def at_full_lift(mapping: Flat, train: str, peak: float) -> Figures | Lacking:
    """Return the force at full lift and what is left to coil bind.

    peak : mm, the valve's greatest lift
    """
    springs = springs_of(mapping, train)
    if isinstance(springs, Lacking):
        return springs
    if not np.isfinite(peak):
        return Lacking((), "the valve's lift is not known: see tallstack clearance")
    force = sum((one.force(one.installed - peak) for one in springs), array(0.0))
    found = {"open_force": Figure(force, "n", note="at full lift")}
    left = _left(springs, peak)
    if left:
        note = "at full lift" if len(left) == len(springs) else "at full lift, of those with a solid_height"
        found["coil_bind"] = Figure(np.minimum.reduce(left), "mm", least="coil_bind", note=note)
    return found


def retainer(mapping: Flat, train: str, peak: float) -> Figures | Lacking:
    """Return what is left between retainer and seal or guide at full lift."""
    reader = Reader(mapping, (f"{train}.",))
    measured, sunk = reader.number("valve.retainer_to_seal"), reader.find("valve.sink")
    if reader.missing:
        return Lacking(tuple(reader.missing))
    if not np.isfinite(peak):
        return Lacking((), "the valve's lift is not known: see tallstack clearance")
    room = measured - peak + (array(0.0) if sunk is None else sunk)
    return {"retainer_to_seal": Figure(room, "mm", least="retainer", note="at full lift")}


class Masses(NamedTuple):
    """What moves with valve and lifter, kg."""

    at_valve: Array
    at_lifter: Array


def masses_of(mapping: Flat, train: str) -> Masses | Lacking:
    """Return the moving masses of a valve gear."""
    reader = Reader(mapping, (f"{train}.masses.",))
    valve, springs = reader.number("valve"), reader.number("springs")
    rocker, pushrod, lifter = (reader.number(one) for one in ("rocker", "pushrod", "lifter"))
    if reader.missing:
        return Lacking(tuple(reader.missing))
    return Masses(valve + springs / 3 + rocker, pushrod + lifter)


def leaves_the_cam(mapping: Flat, train: str, lobe: CamLobe | None) -> Figures | Lacking:
    """Return the crank speed at which the rigid valve gear first leaves the cam, and where in the cycle."""
    wide = spread(mapping)
    springs, masses = springs_of(wide, train), masses_of(wide, train)
    lacks = [entry for one in (springs, masses) if isinstance(one, Lacking) for entry in one.entries]
    lift = None if lobe is None or lobe.at_valve else valve_lift(train_of(wide, train), lobe)
    if lobe is None:
        return Lacking(tuple(lacks), "" if lacks else "the lobe is not known")
    if lobe.at_valve:
        return Lacking(tuple(lacks), "the lobe was read at the valve; its lift at the lifter is needed")
    if lift is not None and not isinstance(lift, ValveLift):
        lacks += lift
    if (
        lacks
        or isinstance(springs, Lacking)
        or isinstance(masses, Lacking)
        or not isinstance(lift, ValveLift)
    ):
        return Lacking(tuple(dict.fromkeys(lacks)))
    turn = np.linspace(0.0, 2 * np.pi, ANGLES)[:-1]
    risen = np.maximum(lobe.placed.lobe.lift(turn), 0.0)
    slope, bend = lobe.placed.lobe.velocity(turn), lobe.placed.lobe.acceleration(turn)
    ahead, behind = lift.at_lobe(risen + DERIVED), lift.at_lobe(np.maximum(risen - DERIVED, 0.0))
    height = lift.at_lobe(risen)
    step = risen + DERIVED - np.maximum(risen - DERIVED, 0.0)
    first = (ahead - behind) / step
    second = np.where(risen > 2 * DERIVED, (ahead - 2 * height + behind) / DERIVED**2, 0.0)
    moving = height > 1e-6
    force = sum((one.force(one.installed - height) for one in springs), array(0.0))
    inertia = (
        masses.at_lifter + masses.at_valve * first**2
    ) * bend + masses.at_valve * first * second * slope**2
    # Lifts are in mm: kg·mm·(rad/s)² is a thousandth of a newton.
    leaving = moving & (inertia < 0)
    if not bool(np.any(leaving)):
        return Lacking((), "no part of the lobe would let the valve go")
    squared = np.where(leaving, force * first * 1000.0 / np.where(leaving, -inertia, 1.0), np.inf)
    at = squared.argmin(axis=-1)
    speed = np.sqrt(np.maximum(squared.min(axis=-1), 0.0)) * 2 * 60 / (2 * np.pi)
    crank = lobe.placed.at + 2 * (turn[at] - lobe.placed.middle)
    note = "a rigid valve gear, springs that do not surge: it leaves sooner; not a speed to run at"
    return {"leaves_the_cam": Figure(speed, "rpm", at=array(crank), note=note)}
