"""What stands over a piston and under its valves, read from the flat mapping.

The piston's frame has its zero in the crown plane at the piston's highest point; heads of valves come down
from the head's gasket face through the stack.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from ..core.frames import Array, array, point
from ..core.mapping import Flat, Reader, names
from ..crank.crank import crank_of, turns_forward
from ..engine.alternatives import head_face, pocket_centre
from ..engine.defaults import completed, has_coordinates
from .crown import Cap, Crown, Pocket, pocket
from .cycle import Below
from .head import Head
from .in_bore import Bore
from .valves_touch import Touch, Unsure, has_touch, touch_of

if TYPE_CHECKING:
    from .table import Heights

MORE = ("valve.head_diameter", "valve.margin")
TABLE = "piston.crown_table"


class OverPiston(NamedTuple):
    """One cylinder's piston and the heads over it; what lacks an entry is left out and named."""

    below: Below | None
    heads: dict[str, Head]  # by valve gear
    own_pockets: dict[str, int]  # valve gear → which of the crown's pockets lies under it
    crowns_then: dict[str, Crown]  # valve gear → the crown as it was when its drop was measured
    lacks: dict[str, tuple[str, ...]]  # valve gear by coordinates → entries its head still needs
    missing: tuple[str, ...]  # entries the piston, its pockets and the stack still need
    crown_table: str  # entry that names the crown's measured heights, or nothing
    bore: Bore | tuple[str, ...]  # the cylinder that the heads open into, or the entries it lacks
    touch: Touch | Unsure | None = (
        None  # where its two valves can first touch; None: nobody pushed them together
    )


def over_piston(mapping: Flat, cylinder: str, crowns: Mapping[str, Heights]) -> OverPiston:
    """Return what stands over one cylinder's piston.

    mapping : one engine, see `mapping`
    crowns  : entry that names a table of measured heights → its surface; one that is not here is missing
    """
    full, _ = completed(mapping)
    reader = Reader(full, (f"{cylinder}.", ""))
    moving = crank_of(reader)
    face = head_face(reader)
    above = array(0.0) if reader.missing else face - moving.top  # valve to valve needs no piston
    gears = [name for name in names(full, "trains") if name.rpartition(".")[0] == cylinder]
    heads: dict[str, Head] = {}
    own: dict[str, int] = {}
    pockets: list[Pocket] = []
    then: dict[str, Pocket] = {}
    lacks: dict[str, tuple[str, ...]] = {}
    for name in gears:
        train = Reader(full, (f"{name}.",))
        if has_coordinates(train):
            head = _head(train, above)
            lacks[name] = tuple(train.missing)
            if not train.missing:
                heads[name] = head
        if train.has("pocket.centre") or train.has("pocket.deepest"):
            cutter = Reader(full, (f"{name}.",))
            own[name] = len(pockets)
            pockets.append(_pocket(cutter))
            then[name] = _pocket(Reader(full, (f"{name}.measured_drop.", f"{name}.")))
            reader.missing += cutter.missing
        elif train.has("pocket") and has_coordinates(train):
            reader.missing.append(f"{name}.pocket.centre")
    cap = _cap(reader)
    table = reader.path(TABLE) if reader.word(TABLE) else ""
    heights = crowns.get(table)
    if table and heights is None:
        reader.missing.append(table)
    forward = turns_forward(full)
    missing = tuple(dict.fromkeys(reader.missing))
    crown = Crown(tuple(pockets), cap, heights)
    below = None if missing else Below(crown, moving, forward)
    crowns_then = {name: _crown_then(name, crown, own, then) for name in heads}
    bore = _bore(Reader(full, reader.prefixes), above)
    touch = touch_of(full, cylinder) if has_touch(Reader(full, (f"{cylinder}.",))) else None
    return OverPiston(below, heads, own, crowns_then, lacks, missing, table, bore, touch)


def _bore(reader: Reader, above: Array) -> Bore | tuple[str, ...]:
    """Return the cylinder's upper end; a gasket whose bore is not known is taken to end where the cylinder does."""
    across, gasket = reader.number("stack.bore"), reader.number("stack.head_gasket")
    if reader.missing:
        return tuple(reader.missing)
    ring = reader.find("chamber.gasket_bore")
    top = above - gasket + reader.number("stack.head_cut")
    return Bore(across / 2, top, (across if ring is None else ring) / 2, gasket)


def _crown_then(name: str, crown: Crown, own: dict[str, int], then: dict[str, Pocket]) -> Crown:
    """Return the crown with one valve's own pocket as it was when its drop was measured."""
    cuts = (then[name] if own.get(name) == index else one for index, one in enumerate(crown.pockets))
    return crown._replace(pockets=tuple(cuts))


def _head(train: Reader, face_height: Array) -> Head:
    stem = train.lean("valve.lean")
    centre = train.point("valve.face") + train.number("valve.sink")[..., None] * stem
    diameter, margin = (train.number(entry) for entry in MORE)
    return Head(centre + point(0.0, 0.0, face_height), stem, diameter / 2, margin)


def _pocket(train: Reader) -> Pocket:
    return pocket(
        pocket_centre(train),
        train.lean("pocket.lean"),
        train.number("pocket.diameter"),
        train.number("pocket.depth"),
    )


def _cap(cylinder: Reader) -> Cap | None:
    for table, entry, way in (("dome", "height", 1), ("dish", "depth", -1)):
        if cylinder.has(f"piston.{table}.{entry}"):
            height = cylinder.number(f"piston.{table}.{entry}")
            return Cap(way * height, cylinder.number(f"piston.{table}.diameter") / 2)
    return None
