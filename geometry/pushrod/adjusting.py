"""How far to turn a valve gear's own adjuster from zero lash, and what a turn and a flat are worth.

By coordinates the closed loop is solved again after every turn. By a measured pushrod alone the
first-order factors stand in: pitch for a screw in line with the pushrod, pitch × (1 + 1/ratio) for a nut
at the pivot, pitch / ratio for a screw at the valve.

What is counted from zero lash rests on no length: zero lash is felt. Counted from fully closed it has the doubt of
the pushrod's length. A plan in whole flats is as near as half a flat.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from ..core.frames import Array, array
from ..engine.engine import Train
from ..gear.adjusters import (
    Adjuster,
    lash_after,
    length_after,
    lengths_taken,
    preload_after,
    takes_up,
    turns_to,
)
from ..gear.train import Drawn
from .pushrods import Required

ECCENTRIC = "eccentric shaft"
DEGREE = 1.0 / 360.0  # of a turn


class Setting(NamedTuple):
    """One adjuster's setting with the pushrod that is ordered; None where not known."""

    kind: str
    exact: bool  # by coordinates; else to first order
    per_turn: (
        float | None
    )  # mm at the lifter, or of lash where it is measured, for one turn in; none of an eccentric
    per_flat: float | None
    turns: float | None  # in from zero lash to the wish; negative: back out
    flats: int | None  # the nearest whole number of flats, in all
    whole_flats: float | None  # mm of preload or lash that they give
    shortest: float | None  # mm between ball centres, the pushrod it still takes up
    longest: float | None
    lacks: tuple[str, ...]  # entries without which it is not known
    per_degree: float | None = None  # of an eccentric shaft, mm for the next degree from zero lash
    about: float = 1.0  # of an eccentric shaft: 1 where turning about its direction takes up lash, else -1
    flats_turned: float | None = None  # the turns in flats, not rounded to whole ones; none of an eccentric

    @property
    def is_thread(self) -> bool:
        """Whether it goes by a thread, every turn alike."""
        return self.kind != ECCENTRIC


def setting(train: Train, needed: Required) -> Setting | None:
    """Return how the valve gear's own adjuster is set, or None where it has none."""
    adjuster = train.adjuster
    if adjuster is None:
        return None
    lacks = _lacks(train, adjuster)
    if lacks:
        return Setting(adjuster.kind, False, None, None, None, None, None, None, None, lacks)
    centres = needed.lengths.get("centres")
    if train.drawn is not None and train.measured is None and centres is not None:
        return _by_coordinates(train, adjuster, centres)
    return _first_order(train, adjuster, centres)


def _lacks(train: Train, adjuster: Adjuster) -> tuple[str, ...]:
    where = f"{train.name}.rocker.adjuster"
    if adjuster.kind == ECCENTRIC:
        lacking = [] if adjuster.eccentricity is not None else [f"{where}.eccentricity"]
        lacking += [] if adjuster.eccentric_at is not None else [f"{where}.eccentric_at"]
        if train.drawn is None or train.measured is not None:
            lacking.append("the valve gear by coordinates alone")
        return tuple(lacking)
    if adjuster.pitch is None:
        return (f"{where}.threads_per_inch",)
    by_ratio = train.drawn is None or train.measured is not None
    if by_ratio and train.ratio is None and adjuster.kind in ("pivot nut", "valve screw"):
        return (f"{train.name}.rocker.ratio",)
    return ()


def _by_coordinates(train: Train, adjuster: Adjuster, length: Array) -> Setting:
    drawn, lifter = train.drawn, train.lifter
    assert drawn is not None
    lash_at = lifter.lash_at if lifter.kind == "solid" else None

    def after(turns: float) -> float:
        if lash_at is None:
            return float(preload_after(drawn, adjuster, length, array(turns)))
        return float(lash_after(drawn, adjuster, length, array(turns), lash_at))

    wish = lifter.lash if lash_at is not None else lifter.preload
    assert wish is not None
    way = float(takes_up(drawn, adjuster, length, lash_at))
    wanted = array([0.0, float(wish)])
    zero, there = (way * float(one) for one in turns_to(drawn, adjuster, length, wanted, lash_at))
    flats = _flats(adjuster)
    whole = None if flats is None or math.isnan(there - zero) else round((there - zero) * flats)
    is_thread = adjuster.kind != ECCENTRIC
    from_where = 0.0 if is_thread else zero

    def gives(turns: float) -> float | None:
        return _known(after(way * (from_where + turns)) - after(way * from_where))

    shortest, longest = _ends(train, adjuster, drawn, way)
    return Setting(
        kind=adjuster.kind,
        exact=True,
        per_turn=gives(1.0) if is_thread else None,
        per_flat=None if flats is None else gives(1.0 / flats),
        turns=_known(there - zero),
        flats=whole,
        whole_flats=None if whole is None or flats is None else _known(after(way * (zero + whole / flats))),
        shortest=shortest,
        longest=longest,
        lacks=(),
        per_degree=None if is_thread else gives(DEGREE),
        about=way,
        flats_turned=None if flats is None or not is_thread else _known((there - zero) * flats),
    )


def _ends(train: Train, adjuster: Adjuster, drawn: Drawn, way: float) -> tuple[float | None, float | None]:
    """Return the shortest and the longest pushrod that an adjuster still takes up [mm]; None where nobody said how far.

    way : of the turns that take up lash
    """
    lifter = train.lifter
    lash_at = lifter.lash_at if lifter.kind == "solid" else None
    down = array(0.0) if lifter.down is None else lifter.down
    at_valve = lifter.lash if lash_at == "valve" and lifter.lash is not None else array(0.0)
    at_pushrod = float(lifter.lash) if lash_at == "pushrod" and lifter.lash is not None else 0.0
    inwards, outwards = adjuster.turns_in, adjuster.turns_out
    if adjuster.kind == ECCENTRIC:
        left = [0.5 if one is None else min(float(one), 0.5) for one in (outwards, inwards)]
        turns = (-left[0], left[1]) if way > 0 else (-left[1], left[0])
        found = lengths_taken(drawn, adjuster, down, at_valve, turns)
        shortest, longest = (float(one) - at_pushrod for one in found)
        return _known(shortest), _known(longest)
    ends = [
        None
        if turns is None
        else _known(float(length_after(drawn, adjuster, sign * turns, down, at_valve)) - at_pushrod)
        for sign, turns in ((1.0, inwards), (-1.0, outwards))
    ]
    return ends[0], ends[1]


def _first_order(train: Train, adjuster: Adjuster, centres: Array | None) -> Setting:
    """Return a setting by the factors; centres : of the pushrod that is asked for with the adjuster where it stands."""
    lifter = train.lifter
    assert adjuster.pitch is not None
    ratio = 1.0 if train.ratio is None else float(train.ratio)
    factor = {"pivot nut": 1.0 + 1.0 / ratio, "valve screw": 1.0 / ratio}.get(adjuster.kind, 1.0)
    per_turn = at_pushrod = float(adjuster.pitch) * factor
    wish = lifter.preload
    if lifter.kind == "solid":
        wish = lifter.lash
        per_turn *= -1.0 if lifter.lash_at == "pushrod" else -ratio
    assert wish is not None
    turns, flats = float(wish) / per_turn, _flats(adjuster)
    whole = None if flats is None else round(turns * flats)
    return Setting(
        kind=adjuster.kind,
        exact=False,
        per_turn=per_turn,
        per_flat=None if flats is None else per_turn / flats,
        turns=turns,
        flats=whole,
        whole_flats=None if whole is None or flats is None else whole / flats * per_turn,
        shortest=_taken_up(centres, adjuster.turns_in, -at_pushrod),
        longest=_taken_up(centres, adjuster.turns_out, at_pushrod),
        lacks=(),
        flats_turned=None if flats is None else turns * flats,
    )


def _taken_up(centres: Array | None, turns: Array | None, per_turn: float) -> float | None:
    """Return the pushrod that is taken up with an adjuster turned as far as it goes [mm]."""
    return None if centres is None or turns is None else float(centres) + float(turns) * per_turn


def _flats(adjuster: Adjuster) -> float | None:
    return None if adjuster.flats is None else float(adjuster.flats)


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value
