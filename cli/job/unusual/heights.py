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


def of_heights(entries: Entries, mapping: Flat) -> Iterator[str]:
    """Yield a sentence for every valve gear whose heights and measured pushrod cannot both be so.

    The pushrod stands from the lifter's ball to the rocker's: the stack between the two faces, and what either ball lies
    beyond its own. The preload may be counted in the lifter's height or not.
    """
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
            )
