"""`tallstack lobe`: what cam is this, from readings of dial and degree wheel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from tallstack.cli.answer import UNUSABLE, Answer
from tallstack.cli.files import ending, free, write
from tallstack.cli.jobfile.values import Blank, Dimension, ValueFault, read
from tallstack.cli.lobe_words import text
from tallstack.cli.lobefile import LobeTable, Told, load_table, refuse_no_lobe
from tallstack.cli.tablefile import fault_at
from tallstack.geometry.degree_wheel import TopCentre, by_positive_stop
from tallstack.geometry.errors import GeometryError
from tallstack.geometry.frames import Array, array
from tallstack.geometry.lobe import CENTRE_LIFT_MM, Placed, placed
from tallstack.geometry.lobe_fit import Fit, fit_once
from tallstack.geometry.lobe_looks import Looks, looks

USUAL_CHECKS = (0.1524, 0.508, 1.0, 1.27)  # mm: 0.006, 0.020 in, 1 mm, 0.050 in
MOST_RATIO = 3.0
COVERAGE = 2.0  # standard uncertainties to either side


class Asked(NamedTuple):
    """What was asked on the command line, as typed."""

    angle: str = "cam"
    measured_at: str = "lifter"
    ratio: float | None = None
    units: str = "in"
    checks: Sequence[str] = ()
    stop: tuple[float, float] | None = None
    centreline: float | None = None
    port: str = "intake"
    plot: Path | None = None
    force: bool = False


class Event(NamedTuple):
    """One check lift, and where the lobe passes it; crank degrees about the centreline."""

    check: float  # mm
    opens: float  # before the centreline, positive
    closes: float  # after it
    doubt: float  # of either one, coverage factor 2


class Found(NamedTuple):
    """Everything the readings say of a lobe."""

    path: Path
    asked: Asked
    table: LobeTable
    fit: Fit
    looks: Looks
    middle: float  # cam rad
    peak: tuple[float, float]  # cam rad, mm
    events: tuple[Event, ...]
    too_high: tuple[float, ...]  # mm, check lifts the lobe does not reach
    placed: Placed | None  # in its place on the crank, where the centreline is said
    top_centre: TopCentre | None


def answer(path: Path, asked: Asked) -> Answer:
    """Return what cam a table of readings is of; a picture is written where one is asked for."""
    said = _slip(asked)
    checks: list[float] = []
    for typed in asked.checks if said is None else ():
        try:
            checks.append(_check(typed, asked.units))
        except ValueFault as error:
            said = f"--check {error}"
            break
    if said is not None:
        return Answer(said, {}, UNUSABLE)
    if asked.plot is not None:
        ending(asked.plot)
        free(asked.plot, asked.force, [path])
    found = examined(path, asked, checks)
    if asked.plot is not None:
        from tallstack.cli import lobe_plot

        write(asked.plot, lobe_plot.written(found, asked.plot.suffix.lower()), asked.force, [path])
    return Answer(text(found), document(found))


def examined(path: Path, asked: Asked, checks: Sequence[float]) -> Found:
    """Return everything the readings of a table say; a faulty table raises InputFaultsError."""
    told = Told(asked.angle == "crank", asked.units, "--angle {}", "--units {}")
    table = load_table(path, told)
    try:
        fitted = fit_once(table.readings, asked.ratio or 1.0)
    except GeometryError as error:
        raise table.table.refused([fault_at(1, "", str(error))]) from None
    refuse_no_lobe(fitted, table, told)
    middle, peak = fitted.lobe.middle(), fitted.lobe.peak()
    wanted = sorted({round(one, 9) for one in (*USUAL_CHECKS, *checks)})
    reached = [one for one in wanted if one < peak[1]]
    return Found(
        path=path,
        asked=asked,
        table=table,
        fit=fitted,
        looks=looks(fitted.lobe),
        middle=middle,
        peak=peak,
        events=_events(fitted, middle, reached),
        too_high=tuple(one for one in wanted if one >= peak[1]),
        placed=None
        if asked.centreline is None
        else placed(fitted.lobe, asked.port, math.radians(asked.centreline)),
        top_centre=None
        if asked.stop is None
        else by_positive_stop(*(math.radians(one) for one in asked.stop)),
    )


def _events(fitted: Fit, middle: float, checks: Sequence[float]) -> tuple[Event, ...]:
    found = fitted.lobe.crossings(array(checks))
    doubt = np.maximum(fitted.angle_doubt(found.opens), fitted.angle_doubt(found.closes))
    rows = zip(
        checks,
        _crank_degrees(middle - found.opens),
        _crank_degrees(found.closes - middle),
        COVERAGE * _crank_degrees(doubt),
        strict=True,
    )
    return tuple(Event(*(float(one) for one in row)) for row in rows)


def _crank_degrees(cam: Array) -> Array:
    return np.degrees(2 * cam)


def _slip(asked: Asked) -> str | None:
    """Return what is wrong with the words of the command line, or None."""
    for option, word, words in (
        ("--angle", asked.angle, ("cam", "crank")),
        ("--measured-at", asked.measured_at, ("lifter", "valve")),
        ("--units", asked.units, ("mm", "in")),
        ("--port", asked.port, ("intake", "exhaust")),
    ):
        if word not in words:
            return f"{option} {word}: write {words[0]} or {words[1]}"
    if asked.measured_at == "valve" and asked.ratio is None:
        return "--measured-at valve: add the rocker's ratio, --ratio 1.6 for example"
    if asked.ratio is not None and asked.measured_at == "lifter":
        return "--ratio belongs to lifts read at the valve; add --measured-at valve or leave it out"
    if asked.ratio is not None and not 0.5 <= asked.ratio <= MOST_RATIO:
        return f"--ratio {asked.ratio:g}: a rocker's ratio lies between 0.5 and {MOST_RATIO:g}"
    if asked.centreline is not None and not 0 < asked.centreline < 360:
        return (
            f"--centreline {asked.centreline:g}: write the crank degrees between overlap top centre and the "
            "lobe's middle, 106 for example"
        )
    if asked.stop is not None and not all(abs(one) <= 720 for one in asked.stop):
        return f"--stop {asked.stop[0]:g} {asked.stop[1]:g}: write two readings of the wheel in degrees"
    return None


def _check(typed: str, units: str) -> float:
    """Return a check lift in mm.

    Raises:
        ValueFault: where it is no length above zero.
    """
    found = read(typed, Dimension.LENGTH, units)
    if isinstance(found, Blank) or not found.number > 0:
        message = f'"{typed}": a check lift is a length above zero, "0.050 in" for example'
        raise ValueFault(message)
    return float(found.number)


def document(found: Found) -> dict[str, Any]:
    """Return the answer for a program, in mm and degrees."""
    fitted, asked = found.fit, found.asked
    degree = math.pi / 180
    angles = np.radians(np.arange(0.0, 360.0, 0.25))
    velocity = fitted.lobe.velocity(angles) * degree
    acceleration = fitted.lobe.acceleration(angles) * degree**2
    readings = found.table.readings
    opening = None if found.placed is None else found.placed.opening(CENTRE_LIFT_MM)
    return {
        "format": 1,
        "command": "lobe",
        "table": str(found.path),
        "readings": len(readings.angle),
        "peak_mm": found.peak[1],
        "peak_at_cam_deg": math.degrees(found.peak[0]),
        "middle_at_cam_deg": math.degrees(found.middle),
        "events": [
            {
                "check_mm": one.check,
                "opens_before_centreline_deg": one.opens,
                "closes_after_centreline_deg": one.closes,
                "duration_deg": one.opens + one.closes,
                "doubt_deg": one.doubt,
            }
            for one in found.events
        ],
        "checks_above_peak_mm": list(found.too_high),
        "area_mm_deg": math.degrees(fitted.lobe.area()) * 2,
        "velocity_most_mm_per_cam_deg": float(velocity.max()),
        "velocity_least_mm_per_cam_deg": float(velocity.min()),
        "acceleration_most_mm_per_cam_deg2": float(acceleration.max()),
        "acceleration_least_mm_per_cam_deg2": float(acceleration.min()),
        "closing_flank_longer_deg": 2 * math.degrees(fitted.lobe.asymmetry()),
        "noise_mm": fitted.noise,
        "heel_cam_deg": None if fitted.heel is None else [math.degrees(one) for one in fitted.heel],
        "runout_mm": fitted.rest.runout,
        "play_deg": None if fitted.play is None else 2 * math.degrees(fitted.play),
        "bridged": fitted.bridged,
        "rests_apart_mm": fitted.higher,
        "open_for_deg": math.degrees(found.looks.open_for),
        "open_for_by_the_other_degrees_deg": math.degrees(found.looks.open_for)
        * (0.5 if asked.angle == "cam" else 2.0),
        "ramps_deg": [math.degrees(one) for one in found.looks.ramps],
        "nose_deg": math.degrees(found.looks.nose),
        "shape_kept": [
            {"lines": sorted(found.table.lines[row] for row in run.rows), "off_mm": run.off}
            for run in fitted.runs
        ],
        "suspicious": [
            {
                "line": found.table.lines[one.row],
                "angle_cam_deg": math.degrees(float(readings.angle[one.row])),
                "off_mm": one.off,
                "sigmas": one.sigmas,
            }
            for one in fitted.suspects
        ],
        "centreline_deg": asked.centreline,
        "lift_at_overlap_mm": None if found.placed is None else float(found.placed.lift(array(0.0))),
        "opening_deg": None if opening is None else [math.degrees(one) for one in opening],
        "top_centre_on_wheel_deg": None if found.top_centre is None else math.degrees(found.top_centre.at),
    }
