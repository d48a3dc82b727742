"""Values that most engines do not have: possibly a slip, possibly a rare engine, never a fault."""

from __future__ import annotations

import re
from collections.abc import Iterator

from tallstack.cli.jobfile.checks import INCH, in_both_units
from tallstack.cli.jobfile.contents import Entries, Entry
from tallstack.cli.jobfile.fields import SHOWN_SCALE, SHOWN_UNIT, Parts, Quantity
from tallstack.cli.jobfile.values import Dimension
from tallstack.geometry.mapping import Flat, Reader, names

PARTS = ("base_gasket", "cylinder", "head_gasket")  # cuts are no sign of a slip
MOST_LOST_MM = 1.0
MOST_GROWN_MM = 15.0


def unlikely(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every value that is unusual: possibly a slip, possibly a rare engine."""
    for path, entry in entries.items():
        copied = entry.origin and not entry.origin.startswith("--")
        if not copied and isinstance(entry.value, float) and entry.value != 0:
            yield from _unusual(path, entry, entry.value)
    yield from _of_readings(entries, mapping)
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


def _unusual(path: str, entry: Entry, value: float) -> Iterator[str]:
    kind = entry.kind
    if not isinstance(kind, (Quantity, Parts)) or kind.usual is None:
        return
    number = value / SHOWN_SCALE[kind.dimension]
    low, high = kind.usual
    if low <= (number if isinstance(kind, Quantity) else abs(number)) <= high:
        return
    unit = SHOWN_UNIT[kind.dimension]
    shown = f"{path} = {entry.typed} reads as {number:g}{unit}"
    if kind.dimension is Dimension.LENGTH:
        shown += f" ({number / INCH:.4g} in)"
        in_mm = _leading(entry.typed) == round(number, 6)
        for factor, other in ((INCH, "inches"),) if in_mm else ((1 / INCH, "millimetres"),):
            if low <= number * factor <= high:
                yield f"{shown}; {number * factor:.4g} mm would be usual: was it typed in {other}?"
                return
    yield f"{shown}; most engines lie between {low:g} and {high:g}{unit}"


def _leading(typed: str) -> float | None:
    """Return the decimal number with which a value as typed begins."""
    found = re.match(r"\s*[+-]?(\d+\.?\d*|\.\d+)(?![\d.]*\s*/)", typed)
    return None if found is None else round(float(found[0]), 6)


def _of_readings(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield what is odd about the stacks on which pushrods were measured."""
    read, own = [], set()
    for name in names(mapping, "trains"):
        train = Reader(mapping, (f"{name}.",))
        if not train.has("measured_pushrod.length") and not train.has("measured_pushrod.checking_rod"):
            continue
        read.append(name)
        stack = f"{name}.measured_pushrod.stack."
        if any(path.startswith(stack) and not one.origin.startswith("as ") for path, one in entries.items()):
            own.add(name)
        grown = _growth(train, Reader(mapping, (f"{name.rpartition('.')[0]}.", "")))
        if grown < -MOST_LOST_MM:
            yield (
                f"the stack of {name} is now {in_both_units(-grown)} lower than when its pushrod was measured: "
                "are then and now swapped?"
            )
        elif grown > MOST_GROWN_MM:
            yield (
                f"the stack of {name} is now {in_both_units(grown)} taller than when its pushrod was measured: "
                "look at both"
            )
    for name in read:
        if own and name not in own:
            yield f"{name}'s reading gives no stack, but {_named(read, own)} does: is it forgotten?"


def _named(read: list[str], own: set[str]) -> str:
    return f"that of {next(one for one in read if one in own)}"


def _growth(train: Reader, cylinder: Reader) -> float:
    """Return how much taller gaskets and cylinder are now than when a pushrod was measured [mm]."""
    grown = 0.0
    for part in PARTS:
        now, before = cylinder.find(f"stack.{part}"), train.find(f"measured_pushrod.stack.{part}")
        if now is not None and before is not None:
            grown += float(now) - float(before)
    return grown
