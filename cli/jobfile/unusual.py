"""Values that most engines do not have: possibly a slip, possibly a rare engine, never a fault."""

from __future__ import annotations

import math
from collections.abc import Iterator

from tallstack.cli.jobfile.checks import INCH, in_both_units
from tallstack.cli.jobfile.contents import Entries, Entry
from tallstack.cli.jobfile.fields import SHOWN_UNIT, Quantity
from tallstack.cli.jobfile.values import Dimension
from tallstack.geometry.mapping import Flat, Reader, names


def unlikely(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every value that is unusual: possibly a slip, possibly a rare engine."""
    for path, entry in entries.items():
        kind = entry.kind
        if entry.origin or not isinstance(kind, Quantity) or kind.usual is None:
            continue
        if isinstance(entry.value, float) and entry.value != 0:
            yield from _unusual(path, entry, kind, kind.shown(entry.value))
    for cylinder in ("", *(f"{name}." for name in names(mapping, "cylinders"))):
        reader = Reader(mapping, (cylinder,))
        bore, stroke = reader.find("stack.bore"), Reader(mapping, ("",)).find("crank.stroke")
        if bore is not None and stroke is not None and not 0.6 <= bore / stroke <= 1.7:
            yield (
                f"{cylinder}stack.bore {in_both_units(bore)} and crank.stroke {in_both_units(stroke)} make an unusual pair: "
                "look at the units of both"
            )
        heads = [reader.find(f"{port}.valve.head_diameter") for port in ("intake", "exhaust")]
        if cylinder and heads[0] is not None and heads[1] is not None and heads[1] > heads[0]:
            yield (
                f"{cylinder}exhaust.valve.head_diameter {in_both_units(heads[1])} is larger than the intake's "
                f"{in_both_units(heads[0])}: are the two ports swapped?"
            )


def _unusual(path: str, entry: Entry, kind: Quantity, number: float) -> Iterator[str]:
    low, high = kind.usual or (-math.inf, math.inf)
    if low <= number <= high:
        return
    unit = SHOWN_UNIT[kind.dimension]
    shown = f"{path} = {entry.typed} reads as {number:g}{unit}"
    if kind.dimension is Dimension.LENGTH:
        shown += f" ({number / INCH:.4g} in)"
        for factor, other in ((INCH, "inches"), (1 / INCH, "millimetres")):
            if low <= number * factor <= high:
                yield f"{shown}; {number * factor:.4g} mm would be usual: was it typed in {other}?"
                return
    yield f"{shown}; most engines lie between {low:g} and {high:g}{unit}"
