"""How much a least clearance may be less or more because lobes with the same card are not alike.

The least is looked for again over the lobe's greatest lift, and over its least, about the crank angle where it was. Two lobes that a
clearance rests on add up: each was drawn by the same hand from the same kind of card.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from tallstack.geometry.frames import Array, array
from tallstack.geometry.lobe import Lobe
from tallstack.geometry.lobe_shape import CardShape, bounded

if TYPE_CHECKING:
    from tallstack.geometry.clearance import Situation
    from tallstack.geometry.clearance_doubt import Asked

AROUND = np.radians(np.linspace(-50.0, 50.0, 51))  # crank, about the angle of the least
NONE: Mapping[str, CardShape] = MappingProxyType({})
CLOSER = np.radians(np.linspace(-2.0, 2.0, 21))


class ShapeDoubt(NamedTuple):
    """How far a clearance reaches either way, about 95 % [mm]."""

    entry: str  # what it is called among the parts of a doubt
    below: float
    above: float
    lobes: tuple[str, ...]  # by their names


def shape_doubt(
    here: Situation, one: Asked, names: tuple[str, ...], instead: Mapping[str, CardShape] = NONE
) -> ShapeDoubt | None:
    """Return what the shapes of the lobes of cards do to a clearance; None where no lobe is known by a card.

    names   : of its valve gears
    instead : lobe → the shape of a card that says more of the same lobe, in place of its own
    """
    below, above, lobes = 0.0, 0.0, []
    plain = _least(here, one, names, {})
    for name in names:
        lobe = here.lifts[name].lobe
        if lobe.card is None:
            continue
        least, most = bounded(instead.get(lobe.name, lobe.card))
        ends = [_least(here, one, names, {name: bound}) for bound in (most, least)]
        below += max(plain - ends[0], 0.0)
        above += max(ends[1] - plain, 0.0)
        lobes.append(lobe.name)
    if not lobes:
        return None
    which = "its card's" if len(lobes) == 1 else "their cards'"
    named = " and ".join(f"lobe.{one}" for one in dict.fromkeys(lobes))
    return ShapeDoubt(
        f"the shape of {named} between {which} numbers", below, above, tuple(dict.fromkeys(lobes))
    )


def _least(here: Situation, one: Asked, names: tuple[str, ...], instead: dict[str, Lobe]) -> float:
    """Return a clearance's least about its crank angle, some of its lobes in place of their own [mm]."""
    first = one.angle + AROUND
    at = first[int(np.argmin(_finite(_along(here, one, names, instead, first))))]
    return float(_finite(_along(here, one, names, instead, at + CLOSER)).min())


def _finite(values: Array) -> Array:
    return np.where(np.isfinite(values), values, np.inf)


def _along(
    here: Situation, one: Asked, names: tuple[str, ...], instead: dict[str, Lobe], angles: Array
) -> Array:
    from tallstack.geometry.clearance_doubt import Placed, clearance_at, valve_of

    placed = []
    for name in names:
        lift = here.lifts[name]
        if name in instead:
            place = lift.lobe.placed._replace(lobe=instead[name])
            lift = lift._replace(lobe=lift.lobe._replace(placed=place))
        valve = valve_of(one, here.over, name, lift, here.valves.get(name))
        placed.append(Placed(valve, one.lift_of(lift).at(angles)))
    return np.broadcast_to(clearance_at(one, placed, array(angles)), angles.shape)
