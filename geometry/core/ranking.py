"""The largest first, the same on every processor: what is equal but for rounding keeps the order it came in."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

SAME = 1e-4  # of the larger one: sizes nearer than this to each other are equal
T = TypeVar("T")


def ranked(items: Iterable[T], *sizes: Callable[[T], float]) -> list[T]:
    """Return things by size, the largest first; of equal ones by the next size, then in the order they came in.

    sizes : thing → size, not negative
    """
    placed = list(enumerate(items))
    return [one for _, one in _ranked(placed, sizes)]


def _ranked(placed: list[tuple[int, T]], sizes: tuple[Callable[[T], float], ...]) -> list[tuple[int, T]]:
    if not sizes or len(placed) < 2:
        return sorted(placed, key=lambda each: each[0])
    size = {place: sizes[0](one) for place, one in placed}
    rows: list[list[tuple[int, T]]] = []
    for each in sorted(placed, key=lambda each: -size[each[0]]):
        if not rows or size[each[0]] < (1.0 - SAME) * size[rows[-1][0][0]]:
            rows.append([])
        rows[-1].append(each)
    return [each for row in rows for each in _ranked(row, sizes[1:])]
