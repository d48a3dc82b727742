"""Hydraulic valve gears, one to a seed, of three kinds: as built, leaning every way, and those of these that stand upright."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count, islice
from typing import NamedTuple

import numpy as np

from .oracles.grown_loop import leans
from .oracles.random_trains import TRAIN, Entries, random_mapping
from .random_engines import TRAINS, engines, picked

HOT = {  # part: how hot it may be [deg C]; a lifter is as hot as its case
    "case": (70.0, 100.0),
    "cylinder": (130.0, 200.0),
    "head": (150.0, 230.0),
    "valve": (200.0, 450.0),
    "rocker": (90.0, 130.0),
    "pushrod": (90.0, 150.0),
}
UPRIGHT_RAD = np.radians(6.0)  # most lean of a pushrod, to the cylinder and to its lifter's axis


class Gear(NamedTuple):
    """One valve gear, with what draws all else about it."""

    mapping: Entries
    train: str
    rng: np.random.Generator


def built(start: int) -> Iterator[Gear]:
    """Yield valve gears of `random_engines`, drawn about those of a usual engine."""
    for seed in count():
        rng = np.random.default_rng([start, seed])
        yield Gear(picked(engines(rng, 1, "plain", "hydraulic"), 0), str(rng.choice(TRAINS)), rng)


def leaning(start: int) -> Iterator[Gear]:
    """Yield valve gears of `random_trains`, over more lean than an engine would have."""
    for seed in count():
        rng = np.random.default_rng([start, seed])
        yield Gear(random_mapping(rng, kind="hydraulic"), TRAIN, rng)


def upright(start: int) -> Iterator[Gear]:
    """Yield those of them whose pushrod leans by less than 6 degrees, to the cylinder and to its lifter's axis."""
    return (one for one in leaning(start) if max(leans(one.mapping, one.train)) < UPRIGHT_RAD)


KINDS: dict[str, Callable[[int], Iterator[Gear]]] = {"built": built, "upright": upright, "leaning": leaning}


def some(kind: str, start: int, many: int) -> list[Gear]:
    """Return so many of a kind; two starts have none in common."""
    return list(islice(KINDS[kind](start), many))
