"""Every figure of a part with its doubt and, where a target belongs to it, its verdict.

Entries are varied through the mapping, all in one batch, as for a pushrod's length.

A distance between two parts is SHORT below zero, whatever target it has: they meet. Where nobody names a target
zero is the limit of the parts themselves. What a suggestion would leave is held against the limits in words
alone, since the engine that was entered is not that one.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, Reader
from ..core.verdict import Verdict, judge
from ..doubt.budget import Budget, Doubt, budget
from ..doubt.derivatives import THREE, derivatives
from .part import Figure, Lacking, Part

MOVING = 1e-3  # of a figure's own unit: an entry that could be off by so much without a word moves it
OFF = 0.05  # mm or rad, by which an entry without a doubt may be off
OFF_K = 5.0
OFF_SHARE = 0.01  # of what is neither a length nor an angle
TEMPERATURES = ("running.cold", "running.hot_")
OTHERS = ("running.", "mass", "volume", "_area", "modulus", ".force", ".rate", "expansion")
NOTHING = 1e-9  # a derivative that is rounding
COMMON = {  # common practice; those marked so are from memory
    "squish_least": 0.889,  # 0.035 in
    "skirt": 1.524,  # 0.060 in, from memory
    "across": 1.524,  # 0.060 in, from memory
    "coil_bind": 1.524,  # 0.060 in, from memory
    "retainer": 1.27,  # 0.050 in, from memory
    "stud_diameters": 1.0,  # from memory
}
MEETS = {  # figure → what it means that it is below zero; nothing where the part says it itself
    "squish": "the crown stands past the head's gasket face",
    "squish_at_speed": "the crown would reach past the head's gasket face at that speed",
    "squish_with_gasket_for_ratio": "the crown would stand past the head's gasket face",
    "squish_with_deck_for_ratio": "the crown would stand past the head's gasket face",
    "skirt_to_conrod": "the skirt and the connecting rod meet",
    "skirt_to_counterweight": "the skirt and the counterweight meet",
    "conrod_to_spigot": "the connecting rod and the spigot meet",
    "conrod_to_mouth": "the connecting rod and the case mouth meet",
    "thread_in_nut": "the stud ends before the nut begins",
    "thread_diameters": "the stud ends before the nut begins",
    "tube_to_shortest": "pushed together the tube is still too long for its seats",
    "tube_to_longest": "drawn out the tube does not reach both its seats",
    "tube_room_at_rest": "the pushrod and its tube meet",
    "tube_room": "the pushrod and its tube meet",
    "coil_bind": "the coils meet before full lift",
    "coil_bind_with_shim": "the coils would meet before full lift",
    "coil_bind_pumped": "the coils meet before full lift with the lifter pumped up",
    "retainer_to_seal": "the retainer meets the seal or guide before full lift",
    "retainer_to_seal_pumped": "the retainer meets the seal or guide with the lifter pumped up",
    "hot_lash": "",
    "hot_preload": "",
    "hot_room_to_bottom": "the plunger bottoms when hot",
    "piston": "the piston and the spigot meet",
    "conrod": "the connecting rod and the spigot meet",
    "pistons": "the pistons meet",
}
ZERO_IS_LIMIT = (
    "tube_to_shortest",
    "tube_to_longest",
    "tube_room_at_rest",
    "tube_room",
    "coil_bind_pumped",
    "retainer_to_seal_pumped",
    "hot_room_to_bottom",
)
LEFT_BY = {  # what a suggestion would leave → the suggestion
    "squish_with_gasket_for_ratio": "gasket_for_ratio",
    "squish_with_deck_for_ratio": "deck_for_ratio",
    "coil_bind_with_shim": "shim_for_seat_force",
}


NONE: Mapping[str, Any] = MappingProxyType({})


class Limit(NamedTuple):
    """A target of a figure."""

    name: str  # of [targets]; empty where none is there for it
    value: float
    is_set: bool


class Judged(NamedTuple):
    """One figure of one engine."""

    value: float
    figure: Figure
    budget: Budget
    slopes: Mapping[str, float]
    limits: tuple[Limit, ...]
    verdict: Verdict | None  # None: no target belongs to it
    beside: Mapping[str, tuple[float, Doubt]] = NONE  # what moves it and is no reading → derivative, doubt
    look_again: tuple[str, ...] = ()  # why something that was entered contradicts it

    @property
    def proved(self) -> bool:
        """Whether every entry that moves the figure carries a doubt."""
        return not self.budget.undoubted


IMPOSSIBLE = "as entered the parts cannot be put together, see `tallstack pushrods`"


def judged(
    mapping: Flat,
    part: Part,
    name: str,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
    beside: Mapping[str, Doubt] = NONE,
) -> dict[str, Judged] | Lacking:
    """Return a part's figures with doubts and verdicts, or what it lacks.

    quantities, doubts : as for `ordering.orders`
    beside : entry → its doubt, of what moves a part too and is none of the quantities; 0 where it is not there
    """
    found = part(mapping, name)
    if isinstance(found, Lacking):
        return found
    if any(np.isnan(figure.value).any() for figure in found.values()):
        return Lacking((), IMPOSSIBLE)

    def values(varied: Flat) -> dict[str, Array]:
        there = part(varied, name)
        assert not isinstance(there, Lacking)
        return {key: there[key].value if key in there else array(np.nan) for key in found}

    further = {entry: {entry: 1.0} for entry in beside if entry not in quantities}
    every = {**quantities, **further}
    table = (
        derivatives({**dict.fromkeys(further, 0.0), **mapping}, every, values, THREE)
        if every
        else {key: {} for key in found}
    )
    return {
        key: judge_figure(
            mapping,
            key,
            figure,
            {entry: slope for entry, slope in table[key].items() if entry not in further},
            doubts,
            {entry: (table[key][entry], beside[entry]) for entry in further},
        )
        for key, figure in found.items()
    }


def judge_figure(
    mapping: Flat,
    key: str,
    figure: Figure,
    slopes: dict[str, float],
    doubts: Mapping[str, Doubt],
    beside: Mapping[str, tuple[float, Doubt]] = NONE,
) -> Judged:
    """Return a figure of one engine with its doubt and its verdict.

    slopes : entry → derivative, figure's unit per mm, rad or what the entry counts in
    beside : the same with its doubt, of what is no reading
    """
    moving = {entry: slope for entry, slope in slopes.items() if np.isfinite(slope) and abs(slope) > NOTHING}
    whole = budget(moving, doubts, 0.0)
    matter = (entry for entry in whole.undoubted if abs(moving[entry]) * _off(mapping, entry) > MOVING)
    whole = whole._replace(undoubted=tuple(dict.fromkeys((*figure.unsaid, *matter))))
    beside = {entry: one for entry, one in beside.items() if np.isfinite(one[0]) and abs(one[0]) > NOTHING}
    for slope, doubt in beside.values():
        whole = whole.widened(abs(slope) * doubt.standard)
    value = float(figure.value)
    least, most = limits_of(mapping, key, figure)
    limits = tuple(one for one in (least, most) if one is not None)
    verdict = None
    if falls_short(mapping, key, figure):
        verdict = Verdict.SHORT
    elif limits and key not in LEFT_BY:
        low, high = (None if one is None else one.value for one in (least, most))
        verdict = judge(value, low, high, whole.expanded, not whole.undoubted)
    return Judged(value, figure, whole, moving, limits, verdict, beside)


def falls_short(mapping: Flat, key: str, figure: Figure) -> bool:
    """Say whether a figure of one engine misses a limit, or its parts meet; what a suggestion leaves never counts."""
    if key in LEFT_BY:
        return False
    value = float(figure.value)
    least, most = limits_of(mapping, key, figure)
    missed = (least is not None and value < least.value) or (most is not None and value > most.value)
    return missed or (key in MEETS and value < 0)


def limits_of(mapping: Flat, key: str, figure: Figure) -> tuple[Limit | None, Limit | None]:
    """Return the least and the most that a figure may be, None where nothing says so."""
    least, most = (limit_of(mapping, name) for name in (figure.least, figure.most))
    if least is None and key in ZERO_IS_LIMIT:
        least = Limit(figure.least, 0.0, False)
    return least, most


def _off(mapping: Flat, entry: str) -> float:
    """Return by how much an entry to which nobody gave a doubt may be off."""
    if entry.startswith(TEMPERATURES):
        return OFF_K
    value = mapping.get(entry)
    if any(part in entry for part in OTHERS) and value is not None and not isinstance(value, (str, tuple)):
        return OFF_SHARE * abs(float(array(value)))
    return OFF


def limit_of(mapping: Flat, name: str) -> Limit | None:
    """Return a target, or common practice; None where there is neither."""
    if not name:
        return None
    entered = Reader(mapping, ("targets.",)).find(name)
    if entered is not None:
        return Limit(name, float(entered), True)
    return Limit(name, COMMON[name], False) if name in COMMON else None
