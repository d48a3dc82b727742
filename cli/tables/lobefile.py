"""A lobe as read with dial and degree wheel: a CSV table with the columns angle and lift.

A column `direction` says how the crank was turned, "forward" or "backward"; without it a table whose
angles run up and then down again, or down and then up, was read both ways.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from tallstack.geometry.cam.readings import FEWEST, WIDEST, Readings, gaps
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.crank.heels import TURN

from ..job.entries.catalogue import kind_at
from ..job.entries.fields import INCH, Quantity
from ..job.faults import Fault
from ..job.file import JobFile
from ..job.look_again import LookAgain
from ..job.reading.opened import first_bytes
from ..page.wording import length
from .tablefile import Row, TableFile, fault_at, header_at, number_in, read_table

if TYPE_CHECKING:
    from tallstack.geometry.cam.fit import Fit
    from tallstack.geometry.cam.looks import Looks

NEEDED = ("angle", "lift")
DIRECTION = "direction"
WAYS = {"forward": 1.0, "backward": -1.0}
AGREE = 0.1  # mm that two readings at one angle may differ, turned the same way
PEAK_RAD = math.radians(10.0)  # crank: from memory, no nose is missed by more with a dial
LEAST, MOST = 1.0, 25.0  # mm a lobe lifts at lifter or valve


class Told(NamedTuple):
    """What was said of a table, and where it can be said otherwise."""

    crank: bool  # whose degrees it counts
    units: str  # "mm" or "in", of its lifts
    angle_is: str  # how to say the other: "--angle {}"
    units_are: str


class LobeTable(NamedTuple):
    """A lobe's readings with the lines they stand in."""

    readings: Readings
    lines: tuple[int, ...]
    table: TableFile


class _Reading(NamedTuple):
    line: int
    angle: float  # degrees, as in the table
    lift: float  # as in the table
    way: str


def lobe_readings(job: JobFile) -> dict[str, Readings]:
    """Return the readings of every lobe that has a table, by lobe."""
    return {name: one.readings for name, one in lobe_tables(job).items()}


def lobe_tables(job: JobFile) -> dict[str, LobeTable]:
    """Return every lobe's table, by lobe; a faulty one, and one of no lobe, raises InputFaultsError."""
    names = (
        path.split(".")[1] for path in job.entries if path.startswith("lobe.") and path.endswith(".table")
    )
    return {name: _load_lobe(job, name) for name in names}


def _load_lobe(job: JobFile, name: str) -> LobeTable:

    def said(entry: str, default: str) -> str:
        found = job.entries.get(f"lobe.{name}.{entry}")
        return default if found is None else str(found.value)

    told = Told(
        said("angle", "cam") == "crank",
        said("units", job.units),
        f'lobe.{name}.angle = "{{}}"',
        f'lobe.{name}.units = "{{}}"',
    )
    from tallstack.geometry.cam.fit import fit_once

    table = load_table(Path(job.path.parent, said("table", "")), told)
    if said("measured_at", "lifter") == "valve":
        lash = job.entries.get(f"lobe.{name}.lash_read")
        felt = any(job.mapping.get(f"{one}.lifter.kind") != "hydraulic" for one in _moved_by(job, name))
        leaves = felt if lash is None else float(lash.value) > 0
        table = table._replace(readings=table.readings._replace(leaves_by_lash=leaves))
    try:
        found = fit_once(table.readings, job.mapping)
    except GeometryError as error:
        raise table.table.refused([fault_at(1, "", str(error))]) from None
    refuse_no_lobe(found, table, told)
    return table


def load_table(path: Path, told: Told) -> LobeTable:
    """Return the readings of a table; a faulty one raises InputFaultsError."""
    known = (*NEEDED, DIRECTION) if _has_direction(path) else NEEDED
    table = read_table(path, NEEDED, known, "a lobe table")
    faults: list[Fault] = []
    rows = [one for one in (_reading(row, faults) for row in table.rows) if one is not None]
    faults += [] if faults else _slips(rows, told)
    if faults:
        raise table.refused(faults)
    angle = np.radians([one.angle for one in rows]) / (2 if told.crank else 1)
    lift = np.array([one.lift for one in rows]) * _scale(told)
    ways = _ways(rows)
    return LobeTable(
        Readings(angle, lift, None if ways is None else np.array(ways)),
        tuple(one.line for one in rows),
        table,
    )


def _has_direction(path: Path) -> bool:
    """Say whether the header has the third column, so that a table without it is not asked for it."""
    try:
        lines = first_bytes(path, 4096).decode("utf-8-sig", "replace").splitlines()
    except OSError:
        return False
    return bool(lines) and DIRECTION in lines[header_at(lines)].lower()


def _reading(row: Row, faults: list[Fault]) -> _Reading | None:
    numbers = []
    for column in NEEDED:
        try:
            numbers.append(number_in(row, column))
        except ValueError as error:
            faults.append(fault_at(row.line, column, str(error)))
    way = row.cells.get("direction", "")
    if way and way not in WAYS:
        faults.append(fault_at(row.line, "direction", f'"{way}": write forward or backward'))
        return None
    return _Reading(row.line, numbers[0], numbers[1], way) if len(numbers) == len(NEEDED) else None


def _scale(told: Told) -> float:
    return INCH if told.units == "in" else 1.0


def _slips(rows: Sequence[_Reading], told: Told) -> list[Fault]:
    """Return what contradicts itself in readings that are numbers."""
    turn = 720.0 if told.crank else 360.0
    angles, lifts = [one.angle for one in rows], [one.lift for one in rows]
    first, top = rows[0].line, rows[int(np.argmax(lifts))].line
    distinct = len({round(one % turn, 6) for one in angles})
    if distinct < FEWEST:
        return [fault_at(1, "", f"{distinct} readings; a lobe needs at least {FEWEST}")]
    span, lifted = max(angles) - min(angles), max(lifts) - min(lifts)
    if lifted == 0:
        return [fault_at(first, "lift", f"{lifts[0]:g} at every angle; a lobe lifts, look at the dial")]
    if lifted > 100 and span < 40:
        return [fault_at(first, "", "these lifts look like angles; are the two columns exchanged?")]
    if span > turn + 1e-6:
        whose, other = ("crank", "two turns") if told.crank else ("cam", "one turn")
        remedy = "" if told.crank else f"; if they are the crank's, say {told.angle_is.format('crank')}"
        return [
            fault_at(
                first,
                "angle",
                f"{span:g} degrees from first to last; a lobe is over after {other}, {turn:g} degrees of the {whose}{remedy}",
            )
        ]
    return (
        _doubled(rows, turn, _scale(told), told.units) or _implausible(lifted, top, told) or _gaps(rows, turn)
    )


def _implausible(lifted: float, line: int, told: Told) -> list[Fault]:
    """Return the fault of a lift that only fits another unit."""
    size = lifted * _scale(told)
    if LEAST <= size <= MOST:
        return []
    other, scale = ("mm", 1.0) if told.units == "in" else ("in", INCH)
    fits = LEAST <= lifted * scale <= MOST
    remedy = (
        f"; if it is {other}, say {told.units_are.format(other)}" if fits else "; look at the column again"
    )
    too = "more than any lobe lifts" if size > MOST else "less than any lobe lifts"
    return [fault_at(line, "lift", f"rises by {lifted:g} {told.units}, {too}{remedy}")]


def _doubled(rows: Sequence[_Reading], turn: float, scale: float, units: str) -> list[Fault]:
    """Return the faults of angles read twice, the same way, with lifts that do not agree."""
    ways, seen = _ways(rows), dict[tuple[float, float], _Reading]()
    faults = []
    for index, one in enumerate(rows):
        key = round(one.angle % turn, 6), 0.0 if ways is None else ways[index]
        before = seen.setdefault(key, one)
        if abs(one.lift - before.lift) * scale > AGREE:
            message = (
                f"{one.angle:g} degrees is there twice, with {before.lift:g} {units} (line {before.line}) "
                f"and {one.lift:g} {units} here; keep the right one"
            )
            faults.append(fault_at(one.line, "angle", message))
    return faults


def _ways(rows: Sequence[_Reading]) -> list[float] | None:
    """Return how the crank was turned at each reading, +1 or -1, or None where all were read one way."""
    if any(one.way for one in rows):
        said = [WAYS.get(one.way, 1.0) for one in rows]
        return said if len(set(said)) > 1 else None
    steps = [after.angle - one.angle for one, after in pairwise(rows) if after.angle != one.angle]
    turns = [index for index, (one, after) in enumerate(pairwise(steps)) if one * after < 0]
    if len(turns) != 1 or min(turns[0] + 1, len(steps) - turns[0] - 1) < FEWEST - 1:
        return None
    top = (max if steps[0] > 0 else min)(rows, key=lambda one: one.angle).angle
    back = next(index for index, one in enumerate(rows) if one.angle == top) + 1
    first = 1.0 if steps[0] > 0 else -1.0
    return [first if index < back else -first for index in range(len(rows))]


def _gaps(rows: Sequence[_Reading], turn: float) -> list[Fault]:
    """Return the faults of stretches without readings that are not wholly on the heel."""
    angle = np.array([one.angle for one in rows]) * TURN / turn
    widest = float(np.degrees(WIDEST)) * turn / 360
    faults = []
    for gap in gaps(angle, np.array([one.lift for one in rows])):
        if not gap.at_rest:
            message = (
                f"no reading over {gap.width * turn / TURN:g} degrees from {rows[gap.row].angle:g} on; a gap is "
                f"less than {widest:g}, or lies wholly where the lifter rests"
            )
            faults.append(fault_at(rows[gap.row].line, "angle", message))
    return faults


def doubtful_lobes(job: JobFile, tables: Mapping[str, LobeTable]) -> tuple[str, ...]:
    """Return what to look at again in a job's tables of lobes, in words."""
    if not tables:
        return ()
    from tallstack.geometry.cam.fit import fit_once
    from tallstack.geometry.cam.looks import looks

    from ..page.lobe_tables_words import by_other_degrees, two_rests

    found: list[str] = []
    for name, table in tables.items():
        fitted = fit_once(table.readings, job.mapping)
        entry = f"lobe.{name}.table"
        said = f"{entry}: {table.table.path.name}"
        gears = _moved_by(job, name)
        if fitted.higher:
            found.append(LookAgain(f"{said}: {two_rests(fitted, job.units)}", *gears))
        counted, seen = job.entries.get(f"lobe.{name}.angle"), looks(fitted.lobe)
        if counted is None and seen.would_be(0.5):
            asked = f'{by_other_degrees(seen.open_for, False)}. Say lobe.{name}.angle = "cam" or "crank"'
            found.append(LookAgain(f"{said} does not say whose degrees it counts: {asked}", *gears))
        found += [LookAgain(f"{said}: {why}", *gears) for why in _zero_elsewhere(job, name, fitted, seen)]
        found += _under_other_followers(job, name, fitted)
        if fitted.suspects:
            lines = ", ".join(str(table.lines[one.row]) for one in fitted.suspects)
            off = length(max(abs(one.off) for one in fitted.suspects), job.units)
            few = len(fitted.suspects) == 1
            stand = "line {} stands" if few else "lines {} stand"
            found.append(
                f"{said}, {stand.format(lines)} off the curve through the others, by {off}{'' if few else ' at most'}; left "
                f"out, read {'it' if few else 'them'} again"
            )
    return tuple(found)


def _zero_elsewhere(job: JobFile, lobe: str, fitted: Fit, seen: Looks) -> Iterator[str]:
    """Yield that a table's 0 does not stand where `zero` says, in words."""
    zero, places = job.entries.get(f"lobe.{lobe}.zero"), (fitted.lobe.middle(), fitted.lobe.peak()[0])
    if zero is None or math.isnan(places[0]):
        return
    middle, nose = (2 * (one - math.tau * round(one / math.tau)) for one in places)
    at = math.degrees(middle)
    if zero.value == "peak":
        if min(abs(middle), abs(nose)) > max(PEAK_RAD, seen.nose / 2):
            yield (
                f'zero = "peak", and its peak stands {abs(at):.0f} deg of the crank from the table\'s 0: count its angles '
                "from the peak, or leave zero out where it only has a scale of its own"
            )
        return
    kind = kind_at(("lobe", lobe, "centreline"))
    assert isinstance(kind, Quantity)
    assert kind.usual is not None
    low, high = kind.usual
    for port in dict.fromkeys(one.rpartition(".")[2] for one in _moved_by(job, lobe)):
        after, way = (at, "after") if port == "intake" else (-at, "before")
        if not low <= after <= high:
            yield (
                f'zero = "top centre", and its peak stands {after:.0f} deg of the crank {way} that, where a centreline of the '
                f"{port} lies between {low:g} and {high:g}: is 0 overlap top centre, do the angles run the engine's way?"
            )


def _under_other_followers(job: JobFile, lobe: str, fitted: Fit) -> list[str]:
    """Return what a lobe that was read with another follower than the engine's tells against itself, in words."""
    from tallstack.geometry.cam.read import Riding, riding, under_the_engine

    from ..page.lobe_tables_words import carried_over

    found: list[str] = []
    for train in _moved_by(job, lobe):
        followers = riding(Reader(job.mapping, ("",)), train, lobe)
        if isinstance(followers, Riding):
            try:
                told = carried_over(under_the_engine(fitted, followers, job.mapping), job.units)
            except GeometryError:
                continue  # said where the clearances are
            found += [
                LookAgain(f"lobe.{lobe}: {why}", train) if wrong else f"lobe.{lobe}, {train}: {why}"
                for why, wrong in told
            ]
    return found


def _moved_by(job: JobFile, lobe: str) -> list[str]:
    """Return the valve gears that a lobe moves."""
    trains = job.names["trains"]
    return [one for one in trains if job.mapping.get(f"{one}.lobe", one.rpartition(".")[2]) == lobe]


def refuse_no_lobe(fitted: Fit, table: LobeTable, told: Told) -> None:
    """Refuse a lobe that is open for twice or half as long as any, at the line of its highest reading."""
    from tallstack.geometry.cam.looks import looks

    found = looks(fitted.lobe)
    line = table.lines[int(np.argmax(table.readings.lift))]
    if math.isnan(found.open_for):
        message = "the lift never comes back to the heel; read a whole turn of the cam"
        raise table.table.refused([fault_at(line, "lift", message)])
    if found.is_a_lobe:
        return
    other, factor = ("cam", 2.0) if told.crank else ("crank", 0.5)
    halved = f"as degrees of the {other} it would be {factor * math.degrees(found.open_for):.0f}"
    remedy = f"{halved}: say {told.angle_is.format(other)} if they are"
    if not found.would_be(factor):
        remedy = f"look at the column again; {halved}"
    message = (
        f"open for {math.degrees(found.open_for):.0f} degrees of the crank at {found.check / INCH:.3f} in, which "
        f"no lobe is; {remedy}"
    )
    raise table.table.refused([fault_at(line, "angle", message)])
