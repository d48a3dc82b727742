"""Where words stand in a drawing: beside what they name, on no line and on no other words.

Each is tried where it would best stand, then further off with a leader. All in mm of paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
from tallstack.geometry.core.frames import Array

from .arrows import ARROW
from .lines import Anchor, Circle, Line, Mark, Point, Stroke, Text, width

CLEAR = 0.55  # left bare around words
ALONG = (0.5, 0.35, 0.65, 0.2, 0.8, 0.08, 0.92)  # of a dimension line, where its letter may stand
AWAY = (4.5, 6.5, 9.0, 12.0, 16.0, 21.0, 27.0)  # from a target to words with a leader
WAYS = 16  # in which they are looked for
CHORDS = 24  # by which a circle is kept clear
LOW, HIGH = 0.25, 0.8  # of a letter's size, below and above its baseline
SAME = 4  # decimals of a mm in which places are compared, so that rounding chooses nothing


class Label(NamedTuple):
    """Words that are to stand in a drawing."""

    words: str
    size: float
    bold: bool
    spots: tuple[Point, ...]  # where their middle may stand, best first
    target: Point | None = None  # what a leader would point to; None: they have none


def half_of(words: str, size: float, bold: bool) -> Point:
    """Return half the width and half the height of words."""
    return width(words, size, bold) / 2, (LOW + HIGH) / 2 * size


def beside(start: Point, end: Point, half: Point) -> tuple[Point, ...]:
    """Return where words may stand along a line, to either side of it, and past its ends."""
    away = math.dist(start, end)
    if away < 1e-9:
        return around(start, half)
    along = ((end[0] - start[0]) / away, (end[1] - start[1]) / away)
    square = (-along[1], along[0])
    if (square[1], -square[0]) < (
        0.0,
        0.0,
    ):  # above it, and of an upright line to its left, before the other side
        square = (-square[0], -square[1])
    off, on = _reach(square, half) + CLEAR, _reach(along, half) + CLEAR
    found = [
        (
            start[0] + share * away * along[0] + side * off * square[0],
            start[1] + share * away * along[1] + side * off * square[1],
        )
        for side in (1.0, -1.0)
        for share in ALONG
    ]
    out = on + (2 * ARROW if away < 2.5 * ARROW else 0.0)
    found += [
        (end[0] + out * along[0], end[1] + out * along[1]),
        (start[0] - out * along[0], start[1] - out * along[1]),
    ]
    return tuple(found[-2:] + found[:-2] if away < 2.5 * ARROW else found)


def around(middle: Point, half: Point, off: float = 1.0) -> tuple[Point, ...]:
    """Return where words may stand around a point."""
    ways = [(math.cos(math.pi * step / 8), math.sin(math.pi * step / 8)) for step in range(WAYS)]
    return tuple(
        (middle[0] + (_reach(one, half) + off) * one[0], middle[1] + (_reach(one, half) + off) * one[1])
        for one in ways
    )


def _reach(way: Point, half: Point) -> float:
    return abs(way[0]) * half[0] + abs(way[1]) * half[1]


class Ground:
    """What is drawn already, and what words stand on it."""

    def __init__(self, marks: Iterable[Mark]) -> None:
        ends = [pair for mark in marks for pair in _segments(mark)]
        self.segments = np.round(np.array(ends, dtype=float).reshape(-1, 4), SAME)
        self.boxes: list[tuple[float, float, float, float]] = []  # middle, half width, half height

    def stand(self, label: Label) -> list[Mark]:
        """Return words in their place, with a leader where they stand off."""
        half = half_of(label.words, label.size, label.bold)
        for spot in label.spots:
            if self._is_free(spot, half):
                return [self._set(label, spot, half)]
        target = label.spots[0] if label.target is None else label.target
        for off in AWAY:
            for spot in around(target, half, off):
                start = _rim(spot, half, target)
                if self._is_free(spot, half) and not self._meets_words(start, target):
                    words = self._set(label, spot, half)
                    if label.target is None:
                        return [words]
                    self.segments = np.vstack([self.segments, np.round([[*start, *target]], SAME)])
                    return [Line((start, target), Stroke.THIN), words]
        return [self._set(label, label.spots[0], half)]

    def _set(self, label: Label, spot: Point, half: Point) -> Text:
        self.boxes.append((*spot, *half))
        at = (spot[0], spot[1] - (HIGH - LOW) / 2 * label.size)
        return Text(at, label.words, label.size, Anchor.MIDDLE, bold=label.bold)

    def _is_free(self, spot: Point, half: Point) -> bool:
        wide, high = half[0] + CLEAR * 0.7, half[1] + CLEAR * 0.5
        if any(
            abs(spot[0] - u) < wide + a + CLEAR and abs(spot[1] - v) < high + b for u, v, a, b in self.boxes
        ):
            return False
        return not bool(np.any(crossing(self.segments, spot, (wide, high))))

    def _meets_words(self, start: Point, end: Point) -> bool:
        way = np.array([[*start, *end]])
        return any(bool(crossing(way, (u, v), (a, b))[0]) for u, v, a, b in self.boxes)


def crossing(segments: Array, middle: Point, half: Point) -> Array:
    """Say which segments (n, 4) touch a box."""
    u = (segments[:, 0] + segments[:, 2]) / 2 - middle[0]
    v = (segments[:, 1] + segments[:, 3]) / 2 - middle[1]
    du, dv = (segments[:, 2] - segments[:, 0]) / 2, (segments[:, 3] - segments[:, 1]) / 2
    return np.asarray(
        (np.abs(u) <= half[0] + np.abs(du))
        & (np.abs(v) <= half[1] + np.abs(dv))
        & (np.abs(u * dv - v * du) <= half[0] * np.abs(dv) + half[1] * np.abs(du))
    )


def _rim(spot: Point, half: Point, target: Point) -> Point:
    """Return where a leader to a target leaves the box of words."""
    du, dv = target[0] - spot[0], target[1] - spot[1]
    shares = [(half[0] + 0.3) / abs(du) if du else 1.0, (half[1] + 0.2) / abs(dv) if dv else 1.0]
    share = min(1.0, *shares)
    return (spot[0] + share * du, spot[1] + share * dv)


def _segments(mark: Mark) -> Iterator[tuple[float, float, float, float]]:
    if isinstance(mark, Text):
        return
    if isinstance(mark, Circle):
        turns = [2 * math.pi * step / CHORDS for step in range(CHORDS)]
        points = [
            (mark.centre[0] + mark.radius * math.cos(one), mark.centre[1] + mark.radius * math.sin(one))
            for one in turns
        ]
        closed = True
    else:
        points, closed = list(mark.points), mark.closed
    for first, second in zip(points, points[1:] + points[:1] * closed, strict=False):
        yield (*first, *second)
