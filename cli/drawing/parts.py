"""Parts of a drawing that move: each is carried by two of its points, and those by a few numbers.

A point moves along straight ways, each as far as one number says: a piston's pin along its axis by its height, a
rocker's end by the cosine and the sine of its turn. A part goes with its two points as a whole, turned and, where
it is seen at a slant, shortened. A page that is looked at moves them by the same rule.

    (z' - a') = (z - a)·(b' - a')/(b - a)      points of the page as complex numbers

By cosine and sine the page's script needs no trigonometry of its own, only numbers that were computed. Seen at a
slant a part keeps its two points exactly and its shape nearly.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from .lines import Circle, Line, Mark, Point, Text

Numbers = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Moved:
    """A point that moves."""

    at: Point
    ways: tuple[tuple[str, Point], ...] = ()  # name of a number → what each of it adds

    def where(self, numbers: Numbers) -> Point:
        """Return where it stands."""
        return (
            self.at[0] + sum(numbers[name] * way[0] for name, way in self.ways),
            self.at[1] + sum(numbers[name] * way[1] for name, way in self.ways),
        )


@dataclass(frozen=True, slots=True)
class Part:
    """One rigid part, drawn where both its points stand as `reference` says."""

    name: str
    marks: tuple[Mark, ...]
    start: Moved
    end: Moved
    reference: tuple[Point, Point]

    def posed(self, numbers: Numbers) -> tuple[Mark, ...]:
        """Return its lines where the numbers put it."""
        first, second = (complex(*one) for one in self.reference)
        start, end = complex(*self.start.where(numbers)), complex(*self.end.where(numbers))
        turn = (end - start) / (second - first)

        def place(point: Point) -> Point:
            there = start + turn * (complex(*point) - first)
            return (there.real, there.imag)

        return tuple(_placed(mark, place, abs(turn)) for mark in self.marks)


def slides(name: str, marks: tuple[Mark, ...], number: str, way: Point) -> Part:
    """Return a part that is carried along one way and does not turn."""
    start, end = (0.0, 0.0), (0.0, 1.0)
    ways = ((number, way),)
    return Part(name, marks, Moved(start, ways), Moved(end, ways), (start, end))


def _placed(mark: Mark, place: Callable[[Point], Point], size: float) -> Mark:
    if isinstance(mark, Line):
        return replace(mark, points=tuple(place(one) for one in mark.points))
    if isinstance(mark, Circle):
        return replace(mark, centre=place(mark.centre), radius=mark.radius * size)
    assert isinstance(mark, Text)
    return replace(mark, at=place(mark.at))
