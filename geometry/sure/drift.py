"""By how much a setting moved between two visits, how sure that is, and which causes would fit it.

Drift is what is found now less what was left last time; neither the plan nor what was found before counts. What moves
a setting, for a mm of each cause, with m the valve's travel for the lifter's where the valve is closed, c the cosine of
the pushrod's lean to the cylinder's axis, and a that to the lifter's, which is all but 1:

                                       lash at the valve   lash at the pushrod   preload
    the seat sinks, the valve stretches       -1                 -a/m              +1/m
    head and cylinder settle                  -m c/a             -c                +c/a
    stem tip or rocker pad wear               +1                 +a/m              -1/m
    pushrod, cups, lifter, heel wear          +m/a               +1                -1/a

One reading cannot tell four causes apart: what is said here fits, no more. The height of the stem tip over the
spring seat, read at both visits, does tell the first.

Source: the closure of one rocker, differentiated where the valve is closed; JCGM 100:2008, 5.1.2 (independent
contributions add in squares), 6.2.1 (expanded uncertainty) and 3.2.4 (a known effect is corrected for).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import Enum
from typing import NamedTuple

from ..core.errors import GeometryError
from ..core.frames import array, dot, unit
from ..core.mapping import Flat, Reader
from ..doubt.budget import Doubt
from ..doubt.coverage import coverage_factor, effective
from ..engine.defaults import completed
from ..engine.engine import Train, train_of
from ..gear.train import closed, cup_at, motion
from ..pushrod.pushrods import by_coordinates, required

COARSE = 3.0  # times the surer reading's doubt: one no surer than that tells nothing of what moved
MOST_K = 10.0  # between two cold engines, where nobody knows what heat does to the setting
PRELOAD, LASH, AT_PUSHROD = "preload", "lash", "pushrod"


class Cause(Enum):
    """What moves a setting."""

    SINKS = "seat_or_valve"  # the stem tip stands higher
    SETTLES = "head_or_cylinder"  # the stack is lower
    TIP_WEARS = "tip_or_pad"
    GEAR_WEARS = "pushrod_lifter_or_heel"


class Reading(NamedTuple):
    """A setting as it was read at one visit."""

    value: float  # mm
    doubt: Doubt | None  # None: nobody said how sure it is
    heat: float | None = None  # °C of the cold engine; None: not written down
    heat_doubt: Doubt | None = None
    rounding: float = 0.0  # mm, half of the last digit that was written, where nobody said how sure it is


class Moved(NamedTuple):
    """How far a setting moved; mm."""

    drift: float  # found less left, what heat did to it taken off
    standard: float | None  # None: a reading without its doubt
    expanded: float | None
    kelvin: float | None  # how much warmer the engine was; None: a temperature is not written down
    by_heat: float | None  # what that did to the setting and was taken off; None: not known
    is_apart: bool = False  # further than what is sure of both explains, while the rest tells nothing
    by_readings: float | None = None  # expanded, of both readings alone: what heat may have done left out

    @property
    def is_shown(self) -> bool:
        """Whether it moved by more than both readings' doubt explains."""
        return self.expanded is not None and abs(self.drift) > self.expanded

    @property
    def is_hidden_by_heat(self) -> bool:
        """Whether both readings show that it moved, and only what heat may have done could explain it."""
        if self.expanded is None or self.by_readings is None:
            return False
        return self.is_apart and self.by_readings < abs(self.drift) <= self.expanded


def heat_apart(left: Reading, found: Reading) -> float | None:
    """Return how much warmer the engine was when a setting was found, K; None where nobody knows."""
    return None if left.heat is None or found.heat is None else found.heat - left.heat


def moved(left: Reading, found: Reading, per_kelvin: float | None = None) -> Moved | None:
    """Return how far a setting moved, or None where the engine was too much warmer for that to be said.

    per_kelvin : mm of the setting for each K that all of a cold engine is warmer; None where it is not known

    What heat did to it is taken off, and is doubtful by its own size: a half-width. Where a temperature is not
    written down but its effect is known, it may be off by as much as two cold engines are let be apart. A drift that
    both readings show and that this alone could explain is apart: a temperature left out clears nothing.
    """
    apart = heat_apart(left, found)
    if apart is not None and abs(apart) > MOST_K and per_kelvin is None:
        return None
    drift, by_heat = found.value - left.value, None
    both = (left, found)
    parts = []
    if per_kelvin is not None:
        parts += [
            (per_kelvin * one.heat_doubt.standard, one.heat_doubt.freedom)
            for one in both
            if one.heat_doubt is not None
        ]
        if apart is not None:
            by_heat = per_kelvin * apart
            drift -= by_heat
        off = per_kelvin * MOST_K if by_heat is None else by_heat
        parts.append((Doubt(abs(off)).standard, math.inf))
    doubts = [one.doubt for one in both if one.doubt is not None]
    own = [coverage_factor(one.freedom) * one.standard for one in doubts]
    surest = min(own, default=0.0)
    read = [(one.standard, one.freedom) for one in doubts]
    parts += read
    if len(doubts) < len(both):
        heat = math.hypot(*(2.0 * part for part, _ in parts)) if doubts else surest
        is_apart = abs(drift) > max(surest, heat) + left.rounding + found.rounding
        return Moved(drift, None, None, apart, by_heat, is_apart)
    standard = math.hypot(*(part for part, _ in parts))
    whole = coverage_factor(effective(parts)) * standard
    by_readings = coverage_factor(effective(read)) * math.hypot(*(part for part, _ in read))
    is_wide = max(own) > COARSE * surest
    by_heat_alone = per_kelvin is not None and (apart is None or whole > COARSE * by_readings)
    is_apart = abs(drift) <= whole and (
        (is_wide and abs(drift) > surest) or (by_heat_alone and abs(drift) > by_readings)
    )
    return Moved(drift, standard, whole, apart, by_heat, is_apart, by_readings)


class Seat(NamedTuple):
    """How a valve gear stands with its valve closed."""

    ratio: float | None  # the valve's travel for the lifter's, there; None where it is not known
    cosine: float | None  # of the pushrod's lean to the cylinder's axis
    nominal: bool = False  # the ratio is one number for all of the lift
    along: float = 1.0  # cosine of the pushrod's lean to the lifter's axis


def seat(mapping: Flat, train: str) -> Seat:
    """Return how a valve gear stands with its valve closed: by coordinates, else by what was entered of its ratio."""
    full, _ = completed(mapping)
    gear = train_of(full, train)
    ratio = Reader(full, (f"{train}.",)).find("rocker.ratio_at_seat")
    nominal = f"{train}.rocker.ratio_at_seat" not in mapping
    ratio = gear.ratio if ratio is None else ratio
    cosine, along = None, 1.0
    try:
        cosine = float(required(gear).growth_per_stack)
        if gear.drawn is not None:
            own, along = _drawn(gear)
            ratio, nominal = array(own), False
    except GeometryError:
        pass
    return Seat(None if ratio is None else float(ratio), cosine, nominal and ratio is not None, along)


def _drawn(gear: Train) -> tuple[float, float]:
    """Return the ratio of a drawn valve gear with its valve closed, and the cosine of its pushrod to the lifter's axis."""
    drawn, lifter = gear.drawn, gear.lifter
    assert drawn is not None
    pose = closed(drawn)
    length = by_coordinates(gear, pose).lengths["centres"]
    down = array(0.0) if lifter.down is None else lifter.down
    there = motion(drawn, pose, length, array(0.0), down)
    ball = drawn.seat - down[..., None] * drawn.lift_axis
    rod = unit(cup_at(drawn, pose, there.cosine, there.sine) - ball)
    return float(there.ratio), float(dot(rod, drawn.lift_axis))


def levers(setting: str, lash_at: str, there: Seat) -> dict[Cause, float | None]:
    """Return how much a setting moves for a mm of each cause; None where ratio or lean are not known.

    setting : PRELOAD or LASH;  lash_at : AT_PUSHROD or anything else: at the valve
    """
    ratio, cosine, along = there.ratio, there.cosine, there.along
    settles = None if cosine is None else -cosine
    sinks = None if ratio is None else -along / ratio
    wears: float | None = 1.0
    if setting == LASH and lash_at != AT_PUSHROD:
        settles = None if settles is None or ratio is None else settles * ratio / along
        sinks, wears = -1.0, None if ratio is None else ratio / along
    if setting == PRELOAD:
        settles = None if settles is None else settles / along
        sinks, wears = None if sinks is None else sinks / along, 1.0 / along
    sign = -1.0 if setting == PRELOAD else 1.0

    def signed(value: float | None, way: float = 1.0) -> float | None:
        return None if value is None else sign * way * value

    return {
        Cause.SINKS: signed(sinks),
        Cause.SETTLES: signed(settles),
        Cause.TIP_WEARS: signed(sinks, -1.0),
        Cause.GEAR_WEARS: signed(wears),
    }


def closes(setting: str, drift: float) -> bool:
    """Say whether a drift took room out of a valve gear: less lash, more preload."""
    return drift > 0 if setting == PRELOAD else drift < 0


def at_pushrod(setting: str, lash_at: str, there: Seat) -> float | None:
    """Return by what a drift is multiplied to be the pushrod's movement, positive closing; None where not known."""
    if setting == PRELOAD:
        return there.along
    if lash_at == AT_PUSHROD:
        return -1.0
    return None if there.ratio is None else -there.along / there.ratio


class Own(NamedTuple):
    """What one valve has alone of a movement; mm at the pushrod, positive closes."""

    rest: float
    expanded: float

    @property
    def is_shown(self) -> bool:
        """Whether that is more than the readings' doubt explains."""
        return abs(self.rest) > self.expanded


class Shared(NamedTuple):
    """What the valves of one cylinder have in common of their movement, and what each has alone; mm at the pushrod."""

    common: float  # positive closes; nought: nothing that these readings show
    own: dict[str, Own]

    @property
    def is_alike(self) -> bool:
        """Whether nothing is left that one has alone."""
        return self.common != 0.0 and not any(one.is_shown for one in self.own.values())


def shared(movements: Mapping[str, tuple[float, float]]) -> Shared:
    """Return what movements have in common: where all are shown and go the same way, the smallest of them.

    movements : valve gear → how far the pushrod's end moved, positive closing, and its standard uncertainty [mm]
    """
    shown = [move for move, standard in movements.values() if abs(move) > 2.0 * standard]
    common, of = 0.0, 0.0
    if len(movements) > 1 and len(shown) == len(movements) and len({move > 0 for move in shown}) == 1:
        common, of = min(movements.values(), key=lambda one: abs(one[0]))
    own = {
        name: Own(move - common, 2.0 * (math.hypot(standard, of) if move != common else standard))
        for name, (move, standard) in movements.items()
    }
    return Shared(common, own)
