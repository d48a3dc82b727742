"""Heads against each other and against a plain crown: a general-purpose collision library pose by pose, tallstack in a batch."""

from __future__ import annotations

import coal  # type: ignore[import-untyped, unused-ignore]
import numpy as np
from tallstack.geometry.core.frames import array, from_lean, point
from tallstack.geometry.piston.crown import Crown
from tallstack.geometry.piston.gap import gap
from tallstack.geometry.piston.head import Head
from tallstack.geometry.piston.pair import between

from ..oracles.collision import distance, placed
from .timing import seconds_of

POSES, TIMES = 400, 5
CLOSE_MM = 1e-6  # that the two agree to


def pair() -> tuple[Head, Head]:
    """Return two heads as they stand at poses about overlap, the one opening and the other closing."""
    lift = np.linspace(0.0, 8.0, POSES)
    found = []
    for side, opened in ((-1.0, lift), (1.0, lift[::-1])):
        stem = from_lean(np.radians(side * 22.0), np.radians(2.0))
        centre = point(side * 24.0, side, 9.0) - opened[:, None] * stem
        found.append(Head(centre, stem, array(20.0), array(1.4)))
    return found[0], found[1]


def each(head: Head) -> list[Head]:
    """Return the poses of a head, one by one."""
    return [head._replace(centre=centre) for centre in head.centre]


def to_crown(head: Head) -> float:
    """Return the library's distance of a head from a plain crown, the half space below it [mm]."""
    shape, at = placed(head)
    crown = coal.Halfspace(np.array([0.0, 0.0, 1.0]), 0.0)
    found = coal.distance(shape, at, crown, coal.Transform3s(), coal.DistanceRequest(), coal.DistanceResult())
    return float(found)


def prices() -> dict[str, tuple[float, float]]:
    """Return what a pose costs by the library and by tallstack, processor ns; both find the same."""
    first, second = pair()
    singly = list(zip(each(first), each(second), strict=True))
    plain = Crown((), None)
    apart = np.array([distance(*one) for one in singly])
    assert np.abs(apart - between(first, second))[apart > 0].max() < CLOSE_MM
    above = np.array([to_crown(one) for one, _ in singly])
    assert np.abs(above - gap(plain, first))[above > 0].max() < CLOSE_MM
    return {
        "two heads": (
            seconds_of(lambda: [distance(*one) for one in singly], TIMES) / POSES * 1e9,
            seconds_of(lambda: between(first, second), TIMES) / POSES * 1e9,
        ),
        "a head and a plain crown": (
            seconds_of(lambda: [to_crown(one) for one, _ in singly], TIMES) / POSES * 1e9,
            seconds_of(lambda: gap(plain, first), TIMES) / POSES * 1e9,
        ),
    }
