"""A drawing as one list of lines and texts, grouped by view.

Everything in a view is in millimetres of the engine, u to the right, v up; the view's placement says
where its origin stands on the page and how much smaller it is drawn. What belongs to the paper, not to
the engine, is in millimetres of paper: the size of letters, of arrows, the weight of a line. Meaning
is in weight and dashes, never in colour.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

Point = tuple[float, float]


class Stroke(Enum):
    """What a line says; its weight and its dashes, both in mm of paper."""

    OUTLINE = (0.45, ())  # a part, by the numbers entered
    FACE = (0.3, ())  # a face that points are counted from
    INDICATED = (0.22, (1.1, 0.7))  # a part whose size no entry gives
    AXIS = (0.15, (5.0, 1.0, 0.8, 1.0))  # the middle of something round
    THIN = (0.15, ())  # dimension lines, extension lines, leaders
    CURVE = (0.5, ())  # of a trace
    CURVE_DASHED = (0.5, (2.4, 1.1))  # of another beside it
    CURVE_DOTTED = (0.4, (0.5, 0.9))
    LIMIT = (0.25, (0.6, 1.0))  # what a trace has to stay above

    @property
    def weight(self) -> float:
        """How heavy, in mm of paper."""
        weight: float = self.value[0]
        return weight

    @property
    def dashes(self) -> tuple[float, ...]:
        """Dash, gap and so on, in mm of paper; empty for a whole line."""
        dashes: tuple[float, ...] = self.value[1]
        return dashes


class Fill(Enum):
    """What a closed line is filled with."""

    NONE = "none"
    BLACK = "black"
    WHITE = "white"
    GREY = "#e4e4e4"  # a body


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points, closed or not."""

    points: tuple[Point, ...]
    stroke: Stroke = Stroke.OUTLINE
    closed: bool = False
    fill: Fill = Fill.NONE


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle."""

    centre: Point
    radius: float
    stroke: Stroke = Stroke.OUTLINE
    fill: Fill = Fill.NONE


class Anchor(Enum):
    """Which part of a text stands at its point; the names are those of SVG."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text, on its baseline."""

    at: Point
    words: str
    size: float  # mm of paper
    anchor: Anchor = Anchor.START
    turn: float = 0.0  # degrees, anticlockwise
    bold: bool = False
    unit: str = ""  # "mm" or "in": that of the lengths in it; empty where there is none
    other: str = ""  # the same words with the lengths in the other unit, for a page that shows either

    def width(self) -> float:
        """Return how wide the text is at most, in mm of paper."""
        return width(self.words, self.size, self.bold)

    def corners(self) -> tuple[Point, ...]:
        """Return the corners of the text's box, where both its point and its size are in mm of paper."""
        wide = self.width()
        left = {Anchor.START: 0.0, Anchor.MIDDLE: -wide / 2, Anchor.END: -wide}[self.anchor]
        low, high = -0.25 * self.size, 0.8 * self.size
        cosine, sine = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        box = ((left, low), (left + wide, low), (left + wide, high), (left, high))
        return tuple((self.at[0] + u * cosine - v * sine, self.at[1] + u * sine + v * cosine) for u, v in box)


OTHER = {"mm": "in", "in": "mm"}


def measured(
    at: Point,
    units: str,
    say: Callable[[str], str],
    size: float,
    anchor: Anchor = Anchor.START,
    bold: bool = False,
) -> Text:
    """Return a text with lengths in it; say : the words, the lengths in "mm" or in "in"."""
    return Text(at, say(units), size, anchor, bold=bold, unit=units, other=say(OTHER[units]))


Mark = Line | Circle | Text


class Way(Enum):
    """How a dimension is laid."""

    ACROSS = "across"  # in a row below or above the view
    UP = "up"  # in a column beside the view
    ALONG = "along"  # beside its two points
    ANGLE = "angle"  # an arc


@dataclass(frozen=True, slots=True)
class Dimension:
    """What one entry measures: from where to where, and which letter stands at it."""

    letter: str
    entry: str  # as in the job file, without the valve gear's name
    value: str  # a length in the job's unit, bare; empty where it is not entered
    other: str  # in the other unit, of a length
    way: Way
    start: Point
    end: Point
    side: float = 1.0  # above or right of the view; -1: below or left of it
    offset: float = 0.0  # ALONG: mm of paper from the points to the line, to the left of start-to-end
    apex: Point = (0.0, 0.0)  # ANGLE: the arc's centre; the arc runs anticlockwise if `side` is positive
    inside: float | None = None  # UP: across, where its line stands within the view instead of beside it
    remark: str = ""  # what is to be said of the value
    marks: tuple[Mark, ...] = ()  # its lines and texts, once it has been placed


Item = Line | Circle | Text | Dimension


TEXT_SCALE = 3.0


def extent(marks: Sequence[Item]) -> tuple[float, float, float, float]:
    """Return the least and greatest place across and up that is taken up, texts about as in a drawing at 1:3."""
    places = [one for mark in marks if isinstance(mark, Line) for one in mark.points]
    places += [
        (mark.at[0] + TEXT_SCALE * across, mark.at[1] + TEXT_SCALE * up)
        for mark in marks
        if isinstance(mark, Text)
        for across, up in replace(mark, at=(0.0, 0.0)).corners()
    ]
    places += [
        (mark.centre[0] + a * mark.radius, mark.centre[1] + b * mark.radius)
        for mark in marks
        if isinstance(mark, Circle)
        for a, b in ((1, 1), (-1, -1))
    ]
    across, up = zip(*places, strict=True)
    return min(across), min(up), max(across), max(up)


def thinned(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return a line without the points that lie straight between their neighbours."""
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        turn = (here[0] - before[0]) * (after[1] - here[1]) - (here[1] - before[1]) * (after[0] - here[0])
        if abs(turn) > 1e-9:
            kept.append(here)
    return (*kept, points[-1])


def shifted(item: Mark, by: Point) -> Mark:
    """Return a mark moved across and up."""

    def moved(point: Point) -> Point:
        return (point[0] + by[0], point[1] + by[1])

    if isinstance(item, Line):
        return replace(item, points=tuple(moved(one) for one in item.points))
    if isinstance(item, Circle):
        return replace(item, centre=moved(item.centre))
    return replace(item, at=moved(item.at))


@dataclass(frozen=True, slots=True)
class View:
    """What is seen from one side, in mm of the engine, and where it stands on the page."""

    name: str
    title: str
    items: tuple[Item, ...]
    origin: Point = (0.0, 0.0)  # mm of paper, where (0, 0) of the view stands
    scale: float = 1.0  # mm of paper for a mm of the engine

    def dimensions(self) -> tuple[Dimension, ...]:
        """Return the dimensions among the items."""
        return tuple(one for one in self.items if isinstance(one, Dimension))

    def on_page(self) -> Iterator[Mark]:
        """Yield every line and text in mm of paper, texts last, so that no line runs over one."""
        marks = [
            mark for item in self.items for mark in (item.marks if isinstance(item, Dimension) else (item,))
        ]
        yield from (self._moved(mark) for mark in marks if not isinstance(mark, Text))
        yield from (self._moved(mark) for mark in marks if isinstance(mark, Text))

    def _moved(self, mark: Mark) -> Mark:
        if isinstance(mark, Line):
            return replace(mark, points=tuple(self.place(one) for one in mark.points))
        if isinstance(mark, Circle):
            return replace(mark, centre=self.place(mark.centre), radius=mark.radius * self.scale)
        return replace(mark, at=self.place(mark.at))

    def place(self, point: Point) -> Point:
        """Return a point of the view on the page."""
        return (self.origin[0] + point[0] * self.scale, self.origin[1] + point[1] * self.scale)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A page: width and height in mm, y up from its lower left corner."""

    title: str
    description: str
    width: float
    height: float
    views: tuple[View, ...]

    def on_page(self) -> tuple[Mark, ...]:
        """Return every line and text in mm of paper, in the order in which they are drawn."""
        return tuple(mark for view in self.views for mark in view.on_page())


# Widths in ems of a wide sans-serif face; what stands in no row is as wide as OTHERS says.
EMS = {
    one: ems
    for letters, ems in (
        ("ijl'|", 0.29),
        (" .,:;!I", 0.33),
        ('frt-()[]/"', 0.41),
        ("_", 0.52),
        ("mMW%@", 0.99),
        ("wGNOQ", 0.83),
    )
    for one in letters
}
CAPITAL, OTHERS, WIDEST = 0.72, 0.64, 1.0


def width(words: str, size: float, bold: bool = False) -> float:
    """Return how wide a text is at most in a sans-serif face, in the unit of its size."""
    return size * sum(_ems(one) for one in words) * (1.12 if bold else 1.0)


def _ems(letter: str) -> float:
    if ord(letter) >= 0x2E80:
        return WIDEST
    return EMS.get(letter, CAPITAL if letter.isupper() else OTHERS)
