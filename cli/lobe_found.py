"""What the readings of one lobe's table say, before it is put into words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from tallstack.geometry.cam.fit import Fit, fit_once
from tallstack.geometry.cam.follower import Carried
from tallstack.geometry.cam.lobe import CENTRE_LIFT_MM, Lobe, Placed
from tallstack.geometry.cam.looks import Looks, looks
from tallstack.geometry.cam.read import Riding, carried_doubt, lobe_as_run
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.crank.degree_wheel import TopCentre, by_positive_stop
from tallstack.geometry.gear.at_valve import SEEN_MM, AtValve

from .lobe_leads import AS_READ, Asked, Led
from .tables.lobefile import LobeTable, Told, load_table, refuse_no_lobe
from .tables.tablefile import fault_at

USUAL_CHECKS = (0.1524, 0.508, 1.0, 1.27)  # mm: 0.006, 0.020 in, 1 mm, 0.050 in


COVERAGE = 2.0  # standard uncertainties to either side


class Event(NamedTuple):
    """One check lift, and where the lobe passes it; crank degrees about the centreline."""

    check: float  # mm
    opens: float  # before the centreline, positive
    closes: float  # after it
    doubt: float  # of either one, coverage factor 2
    lasts: float  # doubt of the time between them
    level: float  # mm, where the curve of the table has that lift


class Under(NamedTuple):
    """A lobe carried over from the follower that read it to the engine's."""

    riding: Riding
    carried: Carried
    as_read: tuple[Event, ...]
    peak_as_read: float  # mm


class Found(NamedTuple):
    """Everything the readings say of a lobe."""

    path: Path
    asked: Asked
    table: LobeTable
    fit: Fit
    lobe: Lobe  # as the engine's follower has it
    at_valve: AtValve | None  # where it was read there, and what leads from there to the lobe is known
    unseen: tuple[float, ...]  # mm, check lifts at which the valve stands still
    under: Under | None  # where another one read it
    looks: Looks
    middle: float  # cam rad
    peak: tuple[float, float]  # cam rad, mm
    events: tuple[Event, ...]
    too_high: tuple[float, ...]  # mm, check lifts the lobe does not reach
    placed: Placed | None  # in its place on the crank, where the centreline is said
    top_centre: TopCentre | None
    bare: tuple[str, ...] = ()  # options of what leads to the lobe that were typed without a +/-
    unlikely: tuple[str, ...] = ()  # what was typed of it and is unusual, in words


def examined(path: Path, asked: Asked, checks: Sequence[float], led: Led = AS_READ) -> Found:
    """Return everything the readings of a table say; a faulty table raises InputFaultsError."""
    told = Told(asked.angle == "crank", asked.units, "--angle {}", "--units {}")
    table = load_table(path, told)
    followers, at_valve = led.leads
    if at_valve is not None and (float(at_valve.lash) > 0 or not asked.lash):
        table = table._replace(readings=table.readings._replace(leaves_by_lash=True))
    try:
        gain = 1.0 if at_valve is None else 1 / float(at_valve.alpha)
        fitted = fit_once(table.readings, None, gain)
    except GeometryError as error:
        raise table.table.refused([fault_at(1, "", str(error))]) from None
    refuse_no_lobe(fitted, table, told)
    try:
        lobe, carried = lobe_as_run(fitted, followers)
    except GeometryError as error:
        raise table.table.refused([fault_at(1, "", str(error))]) from None
    wanted = sorted({round(one, 9) for one in (*USUAL_CHECKS, *checks)})
    at, peak = lobe.peak()
    unseen: tuple[float, ...] = ()
    if at_valve is not None:
        peak = float(at_valve.lobe(array(peak * gain)))
        unseen = tuple(one for one in wanted if float(at_valve.valve(array(one))) <= SEEN_MM)
    reached = [one for one in wanted if one < peak and one not in unseen]
    passed = _passed(lobe, at_valve, gain, reached)
    shifts = []
    for ends in led.varied:
        up, down = (_passed(lobe_as_run(fitted, one.riding)[0], one.at_valve, gain, reached) for one in ends)
        shifts.append(((up.opens - down.opens) / 2, (up.closes - down.closes) / 2))
    bare_fit = fitted.lobe
    return Found(
        path=path,
        asked=asked,
        table=table,
        fit=fitted,
        lobe=lobe,
        at_valve=at_valve,
        unseen=unseen,
        under=None
        if followers is None or carried is None
        else Under(
            followers,
            carried,
            _events(fitted, bare_fit, None, _passed(bare_fit, None, 1.0, reached), reached, ()),
            bare_fit.peak()[1],
        ),
        looks=looks(lobe),
        middle=passed.middle,
        peak=(at, peak),
        events=_events(fitted, lobe, carried, passed, reached, shifts),
        too_high=tuple(one for one in wanted if one >= peak),
        placed=None
        if asked.centreline is None
        else Placed(lobe, asked.port, math.radians(asked.centreline), 0.0, passed.middle),
        top_centre=None
        if asked.stop is None
        else by_positive_stop(*(math.radians(one) for one in asked.stop)),
        bare=led.bare,
        unlikely=led.unlikely,
    )


class Passed(NamedTuple):
    """Where a lobe passes check lifts, (n)."""

    middle: float  # cam rad
    opens: Array  # cam rad before that
    closes: Array  # after it
    levels: Array  # mm, where the curve of the table has those lifts


def _passed(lobe: Lobe, at_valve: AtValve | None, gain: float, checks: Sequence[float]) -> Passed:
    """Return where a lobe, or that behind a table of a valve's lift, passes check lifts."""

    def level(check: float) -> float:
        return check if at_valve is None else float(at_valve.valve(array(check))) / gain

    levels, centre = array([level(one) for one in checks]), level(CENTRE_LIFT_MM)
    middle = lobe.middle(centre) if centre > 0 else lobe.middle()
    found = lobe.crossings(levels)
    return Passed(middle, middle - found.opens, found.closes - middle, levels)


def _events(
    fitted: Fit,
    lobe: Lobe,
    carried: Carried | None,
    passed: Passed,
    checks: Sequence[float],
    shifts: Sequence[tuple[Array, Array]],
) -> tuple[Event, ...]:
    """Return where a lobe passes check lifts.

    shifts : cam rad, by how much both events of each lift move apart with the standard uncertainty of what leads to the lobe
    """
    noise = np.maximum(
        *(
            carried_doubt(fitted, carried, angle) / np.maximum(np.abs(lobe.velocity(angle)), 1e-9)
            for angle in (passed.middle - passed.opens, passed.middle + passed.closes)
        )
    )
    either, lasts = noise**2, 2 * noise**2
    for opens, closes in shifts:
        either = either + np.maximum(np.abs(opens), np.abs(closes)) ** 2
        lasts = lasts + (opens + closes) ** 2
    rows = zip(
        checks,
        _crank_degrees(passed.opens),
        _crank_degrees(passed.closes),
        COVERAGE * _crank_degrees(np.sqrt(either)),
        COVERAGE * _crank_degrees(np.sqrt(lasts)),
        passed.levels,
        strict=True,
    )
    return tuple(Event(*(float(one) for one in row)) for row in rows)


def _crank_degrees(cam: Array) -> Array:
    return np.degrees(2 * cam)


def centre_level(found: Found) -> float:
    """Return where the curve of the table has the lift at which a centreline is halved [mm]."""
    if found.at_valve is None:
        return CENTRE_LIFT_MM
    return float(found.at_valve.valve(array(CENTRE_LIFT_MM)) * found.at_valve.alpha)


def at_overlap(found: Found) -> float:
    """Return how far the lifter has risen at overlap top centre, of a lobe in its place [mm]."""
    assert found.placed is not None
    lift = float(found.placed.lift(array(0.0)))
    return lift if found.at_valve is None else float(found.at_valve.lobe(array(lift / found.at_valve.alpha)))


def durations_known(found: Found) -> bool:
    """Say whether the lash is known that a table at the valve was read with."""
    return found.at_valve is None or bool(found.asked.lash)


def accelerations(found: Found, angles: Array) -> Array:
    """Return the acceleration at cam angles (n) [mm per rad squared], without those where a follower rests twice."""
    clear = np.ones(len(angles), dtype=bool) if found.under is None else found.under.carried.steady(angles)
    return found.lobe.acceleration(angles[clear])
