"""The pushrod as a column: what presses it, when it would buckle, how much lift it costs, and its ball in the cup.

    load            (spring + pressure on the valve's head) × ratio, along the pushrod; the pressure above the
                    air's behind the valve, as a gauge reads it
    slenderness     length / √(I/A), changing over at √(2·π²·E/Sy)
    Euler           π²·E·I / L²                         slender, pinned at both ends
    Johnson         A·Sy·(1 - Sy·(L/r)² / (4·π²·E))     stocky
    shortening      load·L / (E·A), and as much lift lost times the ratio
    ball in a cup   a = (3·F·R / (4·E*))^⅓, greatest pressure 3·F / (2·π·a²), 1/R = 1/R₁ - 1/R₂

Sources: Euler's and Johnson's columns, Hertz's contact of spheres, as in machine design textbooks. Hertz is
optimistic for a cup that fits its ball closely.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ..core.answer import TRAIN, Figure, Found, Missing, Value, Values, answers
from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..engine.engine import train_of
from ..engine.materials import MATERIALS
from ..pushrod.pushrods import required
from .full_lift import lift_and_ratios
from .springs import springs_of

POISSON = 0.29  # of steel


def buckling_load(length: Array, outer: Array, inner: Array, modulus: Array, strength: Array) -> Array:
    """Return the load at which a round tube pinned at both ends buckles [N].

    length, outer, inner : mm;  modulus, strength : N/mm²
    """
    area = np.pi / 4 * (outer**2 - inner**2)
    inertia = np.pi / 64 * (outer**4 - inner**4)
    slender = length / np.sqrt(inertia / area)
    euler = np.pi**2 * modulus * inertia / length**2
    johnson = area * strength * (1 - strength * slender**2 / (4 * np.pi**2 * modulus))
    load: Array = np.where(slender > np.sqrt(2 * np.pi**2 * modulus / strength), euler, johnson)
    return load


def contact_pressure(load: Array, ball: Array, cup: Array, modulus: Array, poisson: float = POISSON) -> Array:
    """Return the greatest pressure of a ball in a cup of like material [N/mm²]; radii in mm."""
    effective = modulus / (2 * (1 - poisson**2))
    radius = 1 / (1 / ball - 1 / cup)
    width = np.cbrt(3 * load * radius / (4 * effective))
    pressure: Array = 3 * load / (2 * np.pi * width**2)
    return pressure


class Loads(NamedTuple):
    """What presses a pushrod."""

    figures: Values
    worst: Array  # N


def _loads(
    mapping: Flat,
    train: str,
    peak: ArrayLike | None,
    ratio_at_peak: ArrayLike | None,
    ratio_at_seat: ArrayLike | None,
) -> Loads | Missing:
    """Return a pushrod's loads; peak and ratios as for `column`."""
    springs = springs_of(mapping, train)
    if isinstance(springs, Missing):
        return springs
    if peak is None or ratio_at_peak is None or ratio_at_seat is None:
        return Missing.of((), "the valve's lift and ratio are not known: see tallstack clearance")
    at_seat, at_peak = array(ratio_at_seat), array(ratio_at_peak)
    seat = sum((one.force(one.installed) for one in springs), array(0.0)) * at_seat
    full = sum((one.force(one.installed - array(peak)) for one in springs), array(0.0)) * at_peak
    found = {"load_at_seat": Value(seat), "load_at_full_lift": Value(full)}
    worst = np.maximum(seat, full)
    pressure = Reader(mapping, ("running.",)).find("pressure_at_opening")
    head = Reader(mapping, (f"{train}.",)).find("valve.head_diameter")
    if train.endswith(".exhaust") and pressure is not None and head is not None:
        opening = seat + np.pi / 4 * head**2 * pressure * at_seat
        note = "springs and cylinder pressure, taken as above the air's (gauge); inertia not counted"
        found["load_at_opening"] = Value(opening, note=note)
        worst = np.maximum(worst, opening)
    return Loads(found, worst)


@answers(
    TRAIN,
    "PUSHROD UNDER LOAD",
    takes=lift_and_ratios,
    load_at_seat=Figure("pushrod's load, valve leaving the seat", "n", main=False),
    load_at_full_lift=Figure("pushrod's load at full lift", "n"),
    load_at_opening=Figure("load, opening against the cylinder", "n", main=False),
    buckling_load=Figure("load at which it would buckle", "n"),
    buckling_margin=Figure("margin against buckling, times", "", main=False),
    pushrod_shortens=Figure("it shortens under load by", main=False),
    lift_lost=Figure("valve lift lost by it", main=False),
)
def column(
    mapping: Flat,
    train: str,
    peak: ArrayLike | None,
    ratio_at_peak: ArrayLike | None,
    ratio_at_seat: ArrayLike | None,
) -> Found:
    """Return a pushrod's loads and what they do to it.

    peak : (...) [mm]  the valve's greatest lift;  ratios : at full lift and off the seat; None where not known
    """
    reader = Reader(mapping, (f"{train}.",))
    loads = _loads(mapping, train, peak, ratio_at_peak, ratio_at_seat)
    outer, wall = reader.number("pushrod.diameter"), reader.number("pushrod.wall")
    material = reader.word("pushrod.material")
    lacks = [*(loads.entries if isinstance(loads, Missing) else ()), *reader.missing]
    if material not in MATERIALS:
        lacks.append(f"{train}.pushrod.material")
    centres = None
    try:
        centres = required(train_of(mapping, train)).lengths.get("centres")
    except GeometryError:
        lacks.append(f"{train}.measured_pushrod.length")
    if lacks:
        return Missing.of(lacks)
    if centres is None:
        return Missing.of((f"{train}.pushrod.ball_diameter_low", f"{train}.pushrod.ball_diameter_high"))
    if isinstance(loads, Missing):
        return loads
    found, worst = dict(loads.figures), loads.worst
    stuff = MATERIALS[material]
    modulus, strength = array(stuff.modulus), array(stuff.strength)
    inner = outer - 2 * wall
    buckles = buckling_load(centres, outer, inner, modulus, strength)
    area = np.pi / 4 * (outer**2 - inner**2)
    shorter = worst * centres / (modulus * area)
    made = f"{material} that yields at {stuff.strength:g} N/mm2, from memory; straight, pinned at both ends"
    found["buckling_load"] = Value(buckles, note=made)
    found["buckling_margin"] = Value(buckles / worst, note="that load over the greatest, no blow counted")
    found["pushrod_shortens"] = Value(shorter)
    assert ratio_at_peak is not None
    found["lift_lost"] = Value(shorter * array(ratio_at_peak))
    return found


@answers(
    TRAIN,
    "BALLS IN THEIR CUPS",
    takes=lift_and_ratios,
    contact_low=Figure("greatest pressure, lower ball in cup", "mpa"),
    contact_high=Figure("greatest pressure, upper ball in cup", "mpa"),
)
def cups(
    mapping: Flat,
    train: str,
    peak: ArrayLike | None,
    ratio_at_peak: ArrayLike | None,
    ratio_at_seat: ArrayLike | None,
) -> Found:
    """Return the pressure of each ball in its cup; peak and ratios as for `column`."""
    reader = Reader(mapping, (f"{train}.",))
    loads = _loads(mapping, train, peak, ratio_at_peak, ratio_at_seat)
    found: Values = {}
    lacks: list[str] = []
    for end in ("low", "high"):
        sizes = f"pushrod.ball_diameter_{end}", f"pushrod.cup_radius_{end}"
        ball, cup = (reader.find(one) for one in sizes)
        if ball is None or cup is None:
            lacks += [f"{train}.{one}" for one in sizes if reader.find(one) is None]
        elif isinstance(loads, Loads):
            pressure = contact_pressure(loads.worst, ball / 2, cup, array(MATERIALS["steel"].modulus))
            found[f"contact_{end}"] = Value(pressure)
    if isinstance(loads, Missing):
        return Missing.of((*loads.entries, *lacks), loads.why)
    if not found:
        return Missing.of(lacks)
    if lacks:
        note = f"the other takes {' and '.join(one.removeprefix(f'{train}.') for one in lacks)}"
        found = {key: figure._replace(note=note) for key, figure in found.items()}
    return found
