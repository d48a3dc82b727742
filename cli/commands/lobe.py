"""`tallstack lobe`: what cam is this, from readings of dial and degree wheel."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np

from ..files import ending, free, write
from ..job.reading.values import Blank, Dimension, ValueFault, read
from ..lobe_found import Found, Under, accelerations, at_overlap, centre_level, durations_known, examined
from ..lobe_leads import AS_READ, Asked, led_by
from ..page.answer import UNUSABLE, Answer
from ..page.lobe_words import brief, page


def answer(path: Path, asked: Asked) -> Answer:
    """Return what cam a table of readings is of; a picture is written where one is asked for."""
    said = _slip(asked)
    led = AS_READ
    try:
        led = AS_READ if said is not None else led_by(asked)
    except ValueFault as error:
        said = str(error)
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
    found = examined(path, asked, checks, led)
    if asked.plot is not None:
        from ..drawing.plots import lobe as lobe_plot

        write(asked.plot, lobe_plot.written(found, asked.plot.suffix.lower()), asked.force, [path])
    return Answer(lambda: page(found), document(found), brief=brief(found))


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
    if asked.lash_at not in ("valve", "pushrod"):
        return f"--lash-at {asked.lash_at}: write valve or pushrod"
    if asked.measured_at == "valve" and not asked.ratio and not asked.dialled:
        return "--measured-at valve: add the rocker's ratio, --ratio 1.6 for example"
    if asked.ratio and asked.dialled:
        return "--dialled tells the ratio itself, and --ratio another; leave one of them out"
    for option, given in (("--dialled", asked.dialled), ("--lash", asked.lash), ("--ratio", asked.ratio)):
        if given and asked.measured_at == "lifter":
            return f"{option} belongs to lifts read at the valve; add --measured-at valve or leave it out"
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


def _under(under: Under) -> dict[str, Any]:
    return {
        "base_radius_mm": under.riding.base,
        "read_with_radius_mm": under.riding.read.radius,
        "read_offset_mm": under.riding.read.offset,
        "follower_radius_mm": under.riding.run.radius,
        "follower_offset_mm": under.riding.run.offset,
        "peak_as_read_mm": under.peak_as_read,
        "durations_as_read_deg": [
            {"check_mm": one.check, "duration_deg": one.opens + one.closes} for one in under.as_read
        ],
        "rests_on_two_places_at_cam_deg": [math.degrees(one) for one in under.carried.folds],
    }


def document(found: Found) -> dict[str, Any]:
    """Return the answer for a program, in mm and degrees."""
    fitted, asked = found.fit, found.asked
    degree = math.pi / 180
    angles = np.radians(np.arange(0.0, 360.0, 0.25))
    velocity = found.lobe.velocity(angles) * degree
    acceleration = accelerations(found, angles) * degree**2
    readings = found.table.readings
    opening = None if found.placed is None else found.placed.opening(centre_level(found))
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
                "duration_doubt_deg": one.lasts,
            }
            for one in found.events
        ],
        "without_doubt": list(found.bare),
        "unlikely": list(found.unlikely),
        "checks_above_peak_mm": list(found.too_high),
        "checks_not_seen_mm": list(found.unseen),
        "durations_known": durations_known(found),
        "area_mm_deg": math.degrees(found.lobe.area()) * 2,
        "velocity_most_mm_per_cam_deg": float(velocity.max()),
        "velocity_least_mm_per_cam_deg": float(velocity.min()),
        "acceleration_most_mm_per_cam_deg2": float(acceleration.max()),
        "acceleration_least_mm_per_cam_deg2": float(acceleration.min()),
        "closing_flank_longer_deg": 2 * math.degrees(found.lobe.asymmetry()),
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
        "beside_the_seat": [
            {"line": found.table.lines[row], "off_mm": float(fitted.off[row])} for row in fitted.corner
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
        "under_another_follower": None if found.under is None else _under(found.under),
        "centreline_deg": asked.centreline,
        "lift_at_overlap_mm": None if found.placed is None else at_overlap(found),
        "opening_deg": None if opening is None else [math.degrees(one) for one in opening],
        "top_centre_on_wheel_deg": None if found.top_centre is None else math.degrees(found.top_centre.at),
    }
