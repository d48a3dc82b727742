"""How a quantity is shown: in which units, the job's first, and with how many digits."""

from __future__ import annotations

from collections.abc import Sequence

from ..job.entries.fields import INCH
from ..job.file import JobFile
from .model import Length, Number
from .wording import decimals

LBF = 4.4482216152605
PSI = 6894.757293168361e-6  # N/mm²
Unit = tuple[str, float, int]  # how a quantity is shown: name, size in it, decimals
SHOWN: dict[str, tuple[Unit, ...]] = {
    "mm": (("mm", 1.0, 2), ("in", INCH, 3)),
    "cc": (("cc", 1.0, 1), ("cu in", 16.387064, 2)),
    "deg": (("deg", 1.0, 2),),
    "n": (("N", 1.0, 0), ("lbf", LBF, 0)),
    "n_per_mm": (("N/mm", 1.0, 2), ("lbf/in", LBF / INCH, 0)),
    "mpa": (("MPa", 1.0, 0), ("psi", PSI, 0)),
    "rpm": (("rpm", 1.0, 0),),
    "k": (("K", 1.0, 0), ("deg F", 5 / 9, 0)),
    "kpa": (("kPa", 1.0, 0), ("psi", PSI * 1000, 0)),
    "g": (("g", 1.0, 1), ("oz", 28.349523125, 2)),
    "": (("", 1.0, 3),),
}


def units_of(job: JobFile, unit: str) -> Sequence[Unit]:
    """Return how a quantity is shown, the job's way first."""
    return SHOWN[unit][::-1] if job.units == "in" else SHOWN[unit]


def cell(
    value: float, unit: Unit, doubt: float = 0.0, way: float = 0.0, bare: bool = False, finer: int = 0
) -> Length | Number:
    """Return a quantity in a unit, with no more digits than its doubt supports.

    way  : 1.0 to round up, -1.0 to round down, in place of to the nearest
    bare : its unit is named elsewhere
    finer : digits more than other quantities of the unit have
    """
    name, size, places = unit
    places = decimals(doubt / size, places + finer)
    nudged = value / size + way * (0.5 - 1e-4) * 10.0**-places
    if name in ("mm", "in"):
        return Length(nudged * size, doubt, name, alone=True, bare=bare, finer=finer)
    return Number(nudged, places, "" if bare else name)


def shown_as(job: JobFile, value: float, unit: str, doubt: float = 0.0, finer: int = 0) -> str:
    """Return a quantity in the job's unit, with the other beside it."""
    first, *rest = (cell(value, one, doubt, finer=finer).shown() for one in units_of(job, unit))
    return f"{first} ({rest[0]})" if rest else first
