"""How numbers, names and verdicts are written for a person.

Lengths show 0.001 in and 0.01 mm at the finest, and never more digits than their doubt supports
(two digits of it). Everything here is plain ASCII, so that any terminal can show it.
"""

from __future__ import annotations

import math

from tallstack.geometry.core.targets import Limit, Source
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.engine.defaults import Assumed

from ..job.contents import Entry
from ..job.entries.fields import INCH, SHOWN_SCALE, SHOWN_UNIT, Parts, Quantity
from ..job.reading.values import Dimension

VERDICTS = {
    Verdict.OK: "OK",
    Verdict.TIGHT: "TIGHT",
    Verdict.SHORT: "SHORT",
    Verdict.UNPROVED: "UNPROVED",
}
ESTIMATE = "ESTIMATE, NOT FOR ORDERING"  # heads a length that rests on coordinates alone
MEET = "they meet"  # where by how much is no length
CAUTION = (
    "Valve springs and pressurised lifters hurt people: take the load off before loosening a rocker, keep "
    "fingers clear, and turn the engine by hand with a wrench, twice and slowly, before anything else turns "
    "it. These figures are computed from what was entered; the engine maker's manual, local rules and "
    "qualified practice come first."
)
IN_SHORT = (
    "Springs and filled lifters hurt: unload first, turn by wrench, twice, slowly. "
    "Maker's manual and qualified practice first; nothing here says it may run."
)

YOURS = "yours"  # who set a limit
SET_YOUR_OWN = "set your own"
COMMON_PRACTICE = f"common practice, {SET_YOUR_OWN}"
PARTS_OWN = "the parts' own limit"
WHOSE = {
    Source.SET: YOURS,
    Source.COMMON: COMMON_PRACTICE,
    Source.MEMORY: f"common practice, from memory, {SET_YOUR_OWN}",
}
DECIDED = "TO BE DECIDED, nothing to measure"  # above every wish that is open


def whose(limit: Limit) -> str:
    """Return who set a limit, in words."""
    if limit.source is Source.PARTS:
        return PARTS_OWN + (f", {SET_YOUR_OWN}" if limit.target is not None else "")
    return WHOSE[limit.source]


def train_name(name: str) -> str:
    """Return a valve gear's name in words."""
    return f"valve gear, {name.replace('.', ' ')}"


def number(value: float, unit: str, doubt: float = 0.0, finer: int = 0) -> str:
    """Return a length in mm as a number in one unit, with no more digits than its doubt supports.

    value, doubt : mm;  unit : "mm" or "in";  finer : digits more than other lengths have, of what is read so
    """
    scale, finest = (1.0, 2 + finer) if unit == "mm" else (INCH, 3 + finer)
    return f"{steady(value / scale):z.{decimals(doubt / scale, finest)}f}"


def in_one(value: float, unit: str, doubt: float = 0.0) -> str:
    """Return a length in mm in one unit, with its unit; as for `number`."""
    return f"{number(value, unit, doubt)} {unit}"


def steady(value: float) -> float:
    """Return a number to nine decimals, so that what lies between two digits to show goes the same way everywhere."""
    return round(value, 9) + 0.0


def decimals(doubt: float, finest: int) -> int:
    """Return how many decimals a doubt supports, two digits of it, and no more than the finest."""
    return max(0, min(finest, 1 - math.floor(steady(math.log10(doubt))))) if doubt > 0 else finest


def both_units(units: str) -> tuple[str, str]:
    """Return a job's unit of length, then the other."""
    return ("in", "mm") if units == "in" else ("mm", "in")


def length(value: float, units: str, doubt: float = 0.0) -> str:
    """Return a length in mm in the job's unit, with the other beside it."""
    first, second = both_units(units)
    return f"{number(value, first, doubt)} {first} ({number(value, second, doubt)} {second})"


def at_top_centre(degrees: float) -> str:
    """Return a crank angle from a top centre, -180 to 180 degrees, in words."""
    if abs(degrees) < 0.05:
        return "at top centre"
    if abs(abs(degrees) - 180.0) < 0.05:
        return "at bottom centre"
    return f"{steady(abs(degrees)):.1f} degrees {'after' if degrees > 0 else 'before'} top centre"


def degrees(radians: float) -> str:
    """Return an angle."""
    return f"{steady(math.degrees(radians)):z.2f} deg"


def entry_value(entry: Entry, units: str) -> str:
    """Return an entry as understood, with its doubt."""
    if isinstance(entry.value, str):
        return entry.value
    return _understood(entry.value, dimension_of(entry), units, entry.doubt)


def assumed_value(assumed: Assumed, units: str) -> str:
    """Return an assumed value, with its doubt."""
    if isinstance(assumed.value, str):
        return assumed.value
    dimension = {"length": Dimension.LENGTH, "angle": Dimension.ANGLE}.get(assumed.kind, Dimension.NUMBER)
    doubt = None if assumed.half_width is None else Doubt(assumed.half_width)
    return _understood(assumed.value, dimension, units, doubt)


def dimension_of(entry: Entry) -> Dimension:
    """Return what an entry measures."""
    if isinstance(entry.kind, Quantity):
        return entry.kind.dimension
    if isinstance(entry.kind, Parts):
        return entry.kind.dimension_of(2 if entry.kind.counts == (2,) else 3)
    return Dimension.NUMBER


def _understood(value: float, dimension: Dimension, units: str, doubt: Doubt | None) -> str:
    """Return a value as read from the file: all its digits, whatever its doubt."""
    if dimension is Dimension.LENGTH:
        scales = ((1.0, "mm", 4), (INCH, "in", 5))
        first, second = scales if units == "mm" else scales[::-1]
        text = f"{_digits(value / first[0], first[2])} {first[1]} = {_digits(value / second[0], second[2])} {second[1]}"
        return text + _stated(doubt, first[0], f" {first[1]}")
    unit = SHOWN_UNIT[dimension]
    scale = SHOWN_SCALE[dimension]
    return f"{_digits(value / scale, 4)}{unit}{_stated(doubt, scale, unit)}"


def _stated(doubt: Doubt | None, scale: float, unit: str) -> str:
    if doubt is None:
        return ""
    free = (
        ""
        if math.isinf(doubt.freedom)
        else f", {doubt.freedom:g} degree{'' if doubt.freedom == 1 else 's'} of freedom"
    )
    sigma = "" if doubt.sigmas is None else f" ({doubt.sigmas:g} sigma{free})"
    return f" +/- {_digits(doubt.half_width / scale, 5)}{unit}{sigma}"


def _digits(value: float, places: int) -> str:
    text = f"{value:z.{places}f}"
    return text.rstrip("0").rstrip(".") if places else text
