"""Heights of a valve gear that add up to another pushrod than the one that was measured: one of them is a slip."""

from __future__ import annotations

import math
from collections.abc import Iterator

from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.mapping import Flat, Reader, names
from tallstack.geometry.engine.alternatives import stack_height
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.pushrod.pushrods import required

from ..checks.words import in_both_units
from ..contents import Entries
from ..look_again import FAR_MM, LookAgain

DECK, CUP = "lifter.below_deck", "rocker.cup_above_gasket"
ABOVE = (CUP, "rocker.shaft_above_cup", "rocker.shaft_above_tip", "valve.length")
HANGS_MM = 10.0  # from memory: no closed valve's face is further below the head's gasket face,
STANDS_MM = 60.0  # nor further above it


def of_heights(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every valve gear whose heights and measured pushrod cannot both be so.

    The pushrod stands from the lifter's ball to the rocker's: the stack between the two faces, and what either ball lies
    beyond its own. The preload may be counted in the lifter's height or not.
    """
    yield from _of_valves(entries, mapping)
    for name in names(mapping, "trains"):
        read = Reader(mapping, (f"{name}.",))
        below, above = read.find(DECK), read.find(CUP)
        if below is None or above is None or not any(f"{name}.{one}" in entries for one in (DECK, CUP)):
            continue
        train = train_of(mapping, name)
        try:
            needed = required(train)
        except GeometryError:
            continue
        rod = needed.lengths.get("centres")
        stack = stack_height(Reader(mapping, (f"{name.rpartition('.')[0]}.", "")))
        if train.measured is None or rod is None or stack is None:
            continue
        leans = float(rod) * (1.0 - math.cos(float(needed.lean)))
        here = [entries[path] for path in (f"{name}.{DECK}", f"{name}.{CUP}") if path in entries]
        off = sum(one.doubt.half_width for one in here if one.doubt is not None)
        preload = 0.0 if train.lifter.down is None else float(train.lifter.down)
        made = float(below) + float(above) + float(stack)
        apart = abs(made - float(rod))
        if apart > FAR_MM + off + preload + leans:
            included = f", {in_both_units(preload)} of preload included" if preload > 0 else ""
            yield LookAgain(
                f"{name}.{CUP}: with {DECK} and the stack it makes {in_both_units(made)} between the pushrod's balls, the "
                f"pushrod that was read asks for {in_both_units(float(rod))} there on this stack{included}: look at both again",
                f"{name}.{CUP}",
                f"{name}.{DECK}",
                f"{name}.measured_pushrod",
            )


def _of_valves(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for valves that are too long, or too short, to end in their head with the tip where it is."""
    alike: dict[str, list[str]] = {}
    for name in names(mapping, "trains"):
        read = Reader(mapping, (f"{name}.",))
        cup, shaft, tip, valve = (read.find(one) for one in ABOVE)
        own = [f"{name}.{one}" for one in ABOVE if f"{name}.{one}" in entries]
        if cup is None or shaft is None or tip is None or valve is None or not own:
            continue
        lean = read.find("measured_drop.lean")
        high = float(cup) + float(shaft) - float(tip)
        below = float(valve) * (1.0 if lean is None else math.cos(float(lean))) - high
        doubts = (entries[one].doubt for one in own)
        off = sum(one.half_width for one in doubts if one is not None)
        if not -STANDS_MM - off <= below <= HANGS_MM + off:
            where = f"{in_both_units(abs(below))} {'below' if below > 0 else 'above'} the head's gasket face"
            told = (
                f"with its tip {in_both_units(high)} above the gasket, as the rocker's heights have it, the closed valve's face "
                f"would stand {where}: look at {', '.join(ABOVE)}"
            )
            alike.setdefault(told, []).append(name)
    for told, of in alike.items():
        yield LookAgain(f"{', '.join(of)}: {told}", *(f"{name}.{one}" for name in of for one in ABOVE))
