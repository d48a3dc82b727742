"""How much a least clearance may be less or more because lobes with the same card are not alike.

The least is looked for again over the lobe's greatest lift, and over its least, about the crank angle where it was. Two lobes that a
clearance rests on add up: each was drawn by the same hand from the same kind of card.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from ..cam.lobe import Lobe
from ..cam.shape import CardShape, bounded
from ..core.frames import Array
from .situation import Asked, Placed, Situation, clearance_at, valve_of
from .valve_lift import ValveLift

AROUND = np.radians(np.linspace(-50.0, 50.0, 51))  # crank, about the angle of the least
NONE: Mapping[str, CardShape] = MappingProxyType({})
CLOSER = np.radians(np.linspace(-2.0, 2.0, 21))


class ShapeDoubt(NamedTuple):
    """How far a clearance reaches either way, about 95 % [mm]."""

    entry: str  # what it is called among the parts of a doubt
    below: float
    above: float
    lobes: tuple[str, ...]  # by their names


class Bounds(NamedTuple):
    """A shape, and its lobes of the least and of the greatest lift."""

    shape: CardShape
    least: Lobe
    most: Lobe


def shape_doubt(
    here: Situation,
    one: Asked,
    names: tuple[str, ...],
    instead: Mapping[str, CardShape] = NONE,
    bounds: dict[int, Bounds] | None = None,
) -> ShapeDoubt | None:
    """Return what the shapes of the lobes of cards do to a clearance; None where no lobe is known by a card.

    names   : of its valve gears
    instead : lobe → the shape of a card that says more of the same lobe, in place of its own
    bounds  : of shapes, by their identity, those that are known, and those found here
    """
    cards = {name: card for name in names if (card := here.lifts[name].lobe.card) is not None}
    if not cards:
        return None
    variants: list[dict[str, Lobe]] = [{}]
    for name, card in cards.items():
        known = _bounds(instead.get(here.lifts[name].lobe.name, card), {} if bounds is None else bounds)
        variants += [{name: known.most}, {name: known.least}]
    plain, *ends = _least(here, one, names, variants).tolist()
    below = sum(max(plain - end, 0.0) for end in ends[::2])
    above = sum(max(end - plain, 0.0) for end in ends[1::2])
    lobes = [here.lifts[name].lobe.name for name in cards]
    which = "its card's" if len(lobes) == 1 else "their cards'"
    named = " and ".join(f"lobe.{one}" for one in dict.fromkeys(lobes))
    return ShapeDoubt(
        f"the shape of {named} between {which} numbers", below, above, tuple(dict.fromkeys(lobes))
    )


def _bounds(shape: CardShape, known: dict[int, Bounds]) -> Bounds:
    """Return the bounds of a shape, which is kept with them: so no other has its identity meanwhile."""
    if id(shape) not in known:
        known[id(shape)] = Bounds(shape, *bounded(shape))
    return known[id(shape)]


def _least(
    here: Situation, one: Asked, names: tuple[str, ...], variants: Sequence[Mapping[str, Lobe]]
) -> Array:
    """Return a clearance's least about its crank angle, in each variant with other lobes in place of some, (N,) [mm]."""
    first = np.broadcast_to(one.angle + AROUND, (len(variants), len(AROUND)))
    seen = _along(here, one, names, variants, first)
    at = first[0][seen.argmin(axis=-1)]
    least: Array = _along(here, one, names, variants, at[:, None] + CLOSER).min(axis=-1)
    return least


def _along(
    here: Situation,
    one: Asked,
    names: tuple[str, ...],
    variants: Sequence[Mapping[str, Lobe]],
    angles: Array,
) -> Array:
    """Return a clearance at rows of crank angles, a row to a variant, (N, M) [mm]; infinite where it is not known."""
    placed = []
    for name in names:
        lift = here.lifts[name]
        rows = np.array(
            [
                one.lift_of(_with_lobe(lift, variant.get(name))).at(row)
                for variant, row in zip(variants, angles, strict=True)
            ]
        )
        placed.append(Placed(valve_of(one, here.over, name, lift, here.valves.get(name)), rows))
    values = np.broadcast_to(clearance_at(one, placed, angles, alone=True), angles.shape)
    return np.where(np.isfinite(values), values, np.inf)


def _with_lobe(lift: ValveLift, lobe: Lobe | None) -> ValveLift:
    if lobe is None:
        return lift
    return lift._replace(lobe=lift.lobe._replace(placed=lift.lobe.placed._replace(lobe=lobe)))
