"""A crown as it was measured: a CSV table with the columns x, y and height, in the job's units.

Places count from the cylinder's axis, heights from the crown plane, up positive. The last column may be
called z. A table stands for every cylinder whose piston names it.

A crown measured once is mirrored for a cylinder whose valve gears are mirrored copies, and shown as assumed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple, TypeVar

import numpy as np
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine.defaults import Assumed
from tallstack.geometry.piston.over_piston import TABLE, over_piston
from tallstack.geometry.piston.table import FEWEST, NARROW_MM, Heights, breadth, heights, widest_hole

from ..job.checks.clearance import crown_across
from ..job.entries.fields import INCH
from ..job.faults import Fault
from ..job.file import JobFile
from ..job.look_again import LookAgain
from ..job.reading.opened import first_bytes
from ..page.wording import length, number
from .tablefile import Row, fault_at, header_at, number_in, read_table

PLACES = ("x", "y")
MOST_POINTS = 1500
AGREE_MM = 0.1  # that two heights at one place may differ
BESIDE_MM = 1.0  # that a point may lie off the piston
HIGHEST_MM = 40.0  # of any crown, above its plane or below
SMALLEST_MM = 10.0  # across, of a part of a crown worth a table
HOLE_MM = 15.0  # between points under a valve's head, less than which is bridged without a word
MIRROR = array([-1.0, 1.0, 1.0])
PLANE_MM = 1.0  # within which of the crown plane some point of a table is expected


class _Point(NamedTuple):
    line: int
    x: float  # as in the table, the others too
    y: float
    height: float


class _Told(NamedTuple):
    """What is known of a table before it is read."""

    units: str  # "mm" or "in"
    column: str  # "height" or "z"
    across: tuple[float, str] | None  # mm, of the smallest crown it is of, and the entry that says so

    @property
    def scale(self) -> float:
        return INCH if self.units == "in" else 1.0


J = TypeVar("J", bound=JobFile)


def crown_heights(job: JobFile) -> dict[str, Heights]:
    """Return the surface of every table of heights, by the entry that names it; a faulty one raises InputFaultsError."""
    return {
        path: load_crown(Path(job.path.parent, str(entry.value)), job, path)
        for path, entry in job.entries.items()
        if path.endswith(TABLE)
    }


def load_crown(path: Path, job: JobFile, named_by: str) -> Heights:
    """Return the surface of one table; a faulty one raises InputFaultsError.

    named_by : the entry that names it
    """
    column = _height_column(path)
    needed = (*PLACES, column)
    table = read_table(path, needed, needed, "a table of heights")
    told = _Told(job.units, column, _across(job, named_by))
    faults: list[Fault] = []
    points = [one for one in (_point(row, column, faults) for row in table.rows) if one is not None]
    faults += [] if faults else _slips(points, told)
    if faults:
        raise table.refused(faults)
    return heights(_in_mm(points, told))


def doubtful(job: JobFile, crowns: Mapping[str, Heights]) -> tuple[str, ...]:
    """Return what to look at again in tables of heights, in words."""
    found = []
    for path, ground in crowns.items():
        name = str(job.entries[path].value)
        measured = ground.vertices[: ground.measured, 2]
        if float(np.abs(measured).min()) > PLANE_MM:
            nearest = length(float(measured[np.abs(measured).argmin()]), job.units)
            why = (
                f"{path}: no height of {name} is nearer to the crown plane than {nearest}; heights count from the "
                "plane that compression_height reaches to, up positive"
            )
            gears = [
                one
                for one in job.names["trains"]
                if path == TABLE or one.startswith(path.removesuffix(TABLE))
            ]
            found.append(LookAgain(why, *gears))
    for cylinder in job.names["cylinders"]:
        over = over_piston(job.mapping, cylinder, crowns)
        if over.below is None or not over.crown_table:
            continue
        name = str(job.entries[over.crown_table].value)
        for train, head in over.heads.items():
            foot = head.centre - head.centre[2] / head.stem[2] * head.stem
            wide, place = widest_hole(crowns[over.crown_table], foot[:2], float(head.radius))
            if wide > HOLE_MM:
                at = ", ".join(number(float(one), job.units) for one in place)
                why = (
                    f"{over.crown_table}: {name} has a hole under the valve of {train.replace('.', ' ')}, "
                    f"{length(wide, job.units)} wide about [{at}] {job.units}, which is taken as flat; measure there"
                )
                found.append(LookAgain(why, train))
    return tuple(found)


def mirrored(job: J, crowns: Mapping[str, Heights]) -> tuple[J, dict[str, Heights]]:
    """Return a job, and its surfaces, in which a cylinder of mirrored valve gears has the engine's crown mirrored."""
    found, entries, assumed = dict(crowns), dict(job.entries), list(job.assumed)
    for cylinder in job.names["cylinders"] if TABLE in crowns else ():
        own = f"{cylinder}.{TABLE}"
        ways = {
            entry.sign
            for path, entry in job.entries.items()
            if path.startswith(f"{cylinder}.") and path.endswith((".valve.face.x", ".pocket.centre.x"))
        }
        if own in entries or ways != {-1.0}:
            continue
        ground = crowns[TABLE]
        found[own] = heights(ground.vertices[: ground.measured] * MIRROR)
        entries[own] = entries[TABLE].taken_from(TABLE, ", mirrored")
        why = "its valve gears are mirrored, and so is the crown; a table of its own says better"
        assumed.append(Assumed(own, f"{TABLE}, mirrored", "word", why))
    return job._replace(entries=entries, assumed=tuple(assumed)), found


def _height_column(path: Path) -> str:
    """Return what the header calls the heights, so that it is asked for one name."""
    try:
        lines = first_bytes(path, 4096).decode("utf-8-sig", "replace").lower().splitlines()
    except OSError:
        return "height"
    header = lines[header_at(lines)] if lines else ""
    return "z" if "z" in header and "height" not in header else "height"


def _across(job: JobFile, named_by: str) -> tuple[float, str] | None:
    """Return how wide the smallest crown is that a table is of."""
    readers = [Reader(job.mapping, (f"{cylinder}.", "")) for cylinder in job.names["cylinders"]]
    found = [crown_across(one) for one in readers if one.path(TABLE) == named_by]
    return min((one for one in found if one is not None), default=None)


def _point(row: Row, column: str, faults: list[Fault]) -> _Point | None:
    numbers = []
    for name in (*PLACES, column):
        try:
            numbers.append(number_in(row, name))
        except ValueError as error:
            faults.append(fault_at(row.line, name, str(error)))
    return _Point(row.line, *numbers) if len(numbers) == len(_Point._fields) - 1 else None


def _in_mm(points: Sequence[_Point], told: _Told) -> Array:
    return array([one[1:] for one in points]) * told.scale


def _slips(points: Sequence[_Point], told: _Told) -> list[Fault]:
    """Return what contradicts itself in heights that are numbers."""
    first = points[0].line
    if len(points) > MOST_POINTS:
        message = (
            f"{len(points):,} heights; a table has at most {MOST_POINTS:,}: leave out where the crown is flat"
        )
        return [fault_at(points[MOST_POINTS].line, "", message)]
    faults = _of_another_unit(points, told) or _off_the_piston(points, told) or _twice(points, told)
    if faults:
        return faults
    distinct = len({(one.x, one.y) for one in points})
    if distinct < FEWEST:
        message = f"heights at {distinct} place{'s' * (distinct > 1)}; a table needs at least {FEWEST}"
        return [fault_at(first, "", message)]
    if breadth(_in_mm(points, told)) < NARROW_MM:
        return [fault_at(first, "", "all points lie on one line; measure to both sides of it too")]
    return []


def _of_another_unit(points: Sequence[_Point], told: _Told) -> list[Fault]:
    """Return the faults of heights and places that only fit another unit than the job's."""
    high = max(points, key=lambda one: abs(one.height))
    flat = _in_mm(points, told)[:, :2]
    across = float(np.hypot(*np.ptp(flat, axis=0)))
    counted = f"; a table counts in the job's units, {told.units}"
    if abs(high.height) * told.scale > HIGHEST_MM:
        message = f"{high.height:g} {told.units} off the crown plane, more than any crown{_meant(high.height, told)}"
        return [fault_at(high.line, told.column, message + counted)]
    if across < SMALLEST_MM and len({(one.x, one.y) for one in points}) >= FEWEST:
        message = f"all points lie within {across / told.scale:.3g} {told.units}, less than a crown is worth measuring"
        fits = "; are these inches?" if told.units == "mm" and across * INCH > SMALLEST_MM else ""
        return [fault_at(points[0].line, "x", message + fits + counted)]
    return []


def _meant(height: float, told: _Told) -> str:
    """Return which other units a height may be in, as a question."""
    others = {"mm": 1.0, "thousandths of an inch": INCH / 1000, "hundredths of a millimetre": 0.01}
    near = [
        name for name, scale in others.items() if name != told.units and abs(height) * scale <= HIGHEST_MM
    ]
    return f"; are these {' or '.join(near)}?" if near else ""


def _off_the_piston(points: Sequence[_Point], told: _Told) -> list[Fault]:
    """Return the faults of points beside the piston."""
    if told.across is None:
        return []
    across, entry = told.across
    faults = []
    for one in points:
        off = math.hypot(one.x, one.y)
        if off * told.scale > across / 2 + BESIDE_MM:
            message = (
                f"[{one.x:g}, {one.y:g}] {told.units} lies {off:.4g} {told.units} off the piston's axis, beside a crown "
                f"{across / told.scale:.4g} {told.units} across ({entry}); places count from the axis, in the job's units"
            )
            faults.append(fault_at(one.line, "x", message))
    return faults


def _twice(points: Sequence[_Point], told: _Told) -> list[Fault]:
    """Return the faults of places measured twice with heights that do not agree."""
    seen: dict[tuple[float, float], _Point] = {}
    faults = []
    for one in points:
        before = seen.setdefault((one.x, one.y), one)
        if abs(one.height - before.height) * told.scale > AGREE_MM:
            message = (
                f"[{one.x:g}, {one.y:g}] is there twice, with {before.height:g} {told.units} (line {before.line}) "
                f"and {one.height:g} {told.units} here; keep the right one"
            )
            faults.append(fault_at(one.line, told.column, message))
    return faults
