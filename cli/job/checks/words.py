"""What checks of every kind say alike: what is missing, a length in both units."""

from __future__ import annotations

import re

from ..contents import Entries, Entry
from ..entries.fields import INCH
from ..faults import Fault, Where

OVER_PISTON = ("piston.", ".valve.", ".pocket.", ".measured_drop.")


def stands_over_piston(entries: Entries) -> bool:
    """Say whether a job says anything about pistons, valves or pockets."""
    return any(part in path for path in entries for part in OVER_PISTON)


def missing(table: str, entry: str, message: str, where: Where) -> Fault:
    """Return the fault of an entry that a table lacks, at the table's line."""
    loc, words = where(table)
    return Fault((*loc, entry) if loc else loc, f"{words}.{entry}", message)


def in_both_units(length: object, inches_first: bool = False) -> str:
    """Return a length as mm and inches."""
    number = float(length)  # type: ignore[arg-type]
    if inches_first:
        return f"{number / INCH:.4f} in ({number:.3f} mm)"
    return f"{number:.3f} mm ({number / INCH:.4f} in)"


def in_mm(entry: Entry) -> bool:
    """Say whether a length was typed as so many mm: with that unit, or without one in a file of mm."""
    found = re.match(r"\s*[+-]?(\d+\.?\d*|\.\d+)(?![\d.]*\s*/)", entry.typed)
    typed = None if found is None else round(float(found[0]), 6)
    return isinstance(entry.value, float) and typed == round(entry.value, 6)
