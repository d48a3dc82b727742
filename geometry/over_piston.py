"""What stands over a piston and under its valves, read from the flat mapping.

The piston's frame has its zero in the crown plane at the piston's highest point; heads of valves come down
from the head's gasket face through the stack.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from tallstack.geometry.alternatives import case_deck, pocket_centre, valve_length
from tallstack.geometry.crank import Crank
from tallstack.geometry.crown import Cap, Crown, Pocket, pocket
from tallstack.geometry.cycle import Below
from tallstack.geometry.defaults import STACK, completed, signed
from tallstack.geometry.frames import Array, array, point
from tallstack.geometry.mapping import Flat, Reader, names
from tallstack.geometry.valvehead import Head

MORE = ("valve.head_diameter", "valve.margin")


class OverPiston(NamedTuple):
    """One cylinder's piston and the heads over it; what lacks an entry is left out and named."""

    below: Below | None
    heads: dict[str, Head]  # by valve gear
    own_pockets: dict[str, int]  # valve gear → which of the crown's pockets lies under it
    lacks: tuple[str, ...]


def over_piston(mapping: Flat, cylinder: str) -> OverPiston:
    """Return what stands over one cylinder's piston.

    mapping : one engine, see `mapping`
    """
    full, _ = completed(mapping)
    reader = Reader(full, (f"{cylinder}.", ""))
    moving = crank_of(reader)
    head_face = case_deck(reader) + sum(signed(part) * reader.number(f"stack.{part}") for part in STACK)
    gears = [name for name in names(full, "trains") if name.rpartition(".")[0] == cylinder]
    heads: dict[str, Head] = {}
    own: dict[str, int] = {}
    pockets: list[Pocket] = []
    lacks: list[str] = []
    for name in gears:
        train = Reader(full, (f"{name}.",))
        if not train.has("valve.face"):
            continue
        heads[name] = _head(train, head_face - moving.top)
        if train.has("pocket.depth"):
            own[name] = len(pockets)
            pockets.append(_pocket(train))
        lacks += train.missing
    lacks += reader.missing
    crown = Crown(tuple(pockets), _cap(reader))
    forward = Reader(full, ("",)).word("crank.turns", "forward") == "forward"
    below = None if reader.missing else Below(crown, moving, forward)
    sound = {name: head for name, head in heads.items() if not np.isnan(head.radius + head.centre.sum())}
    return OverPiston(below, sound, own, tuple(dict.fromkeys(lacks)))


def crank_of(cylinder: Reader) -> Crank:
    """Return the moving parts under a cylinder's crown; what is absent is noted and NaN."""
    offset = cylinder.find("piston.pin_offset")
    return Crank(
        throw=cylinder.number("crank.stroke") / 2,
        conrod_length=cylinder.number("crank.conrod_length"),
        compression_height=cylinder.number("piston.compression_height"),
        pin_offset=array(0.0) if offset is None else offset,
    )


def _head(train: Reader, face_height: Array) -> Head:
    stem = train.lean("valve.lean")
    valve_length(train)  # noted as missing where neither way to say it is there: the tip belongs to the valve
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
