"""The page: the views side by side at one scale, the legend beside them, what has to be said beneath.

All heights stand level across the page: a face that is drawn in one view is as high in the others.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from ..job.entries.letters import Lettered, lettered
from . import cylinder, drop_sketch, gear_dimensions, sketch, stack, stack_sketch
from . import gear as gear_lines
from .legend import Row, legend
from .legend import items as legend_items
from .lines import Dimension, Drawing, Item, Line, Point, Stroke, Text, View, width
from .placing import Placed, figure_of, place
from .rows import Box
from .solids import FRONT, SIDE
from .subject import Entered, Gear, Heights, Subject

PAGE = (297.0, 210.0)  # A4, lying
MARGIN, HEADER, BETWEEN = 6.0, 13.0, 3.0
TITLE, TOLD, NOTE = 4.2, 2.8, 2.6  # sizes of text
NOTE_LINE = 3.6
LEGEND = 95.0  # width of a legend at most: three views keep nearly two thirds of the page
BARS = 12.0  # height of the two scale bars
SCALES = (
    1.0,
    1.25,
    1.5,
    1.75,
    2.0,
    2.25,
    2.5,
    2.75,
    3.0,
    3.5,
    4.0,
    5.0,
    6.0,
    8.0,
    10.0,
    12.0,
    15.0,
    20.0,
    30.0,
    40.0,
    50.0,
    80.0,
)
STACK_AT = tuple(1 / one for one in (1.5, 2.0, 2.5, 3.0, 4.0, 5.0))
SKETCH_AT = (0.8, 0.72, 0.66, 0.6, 0.54, 0.48, 0.42, 0.36, 0.3, 0.26)
SHARES = (0.3, 0.36, 0.42, 0.48, 0.54)  # of the room, for what stands beside the pushrod's sketch
STACK_SHARE = 0.4  # of the height, for what stands over another
UNDER_TITLE = 8.0  # a title, with what is left bare beneath it

CAUTION = "Drawn from what was entered, not from the engine: what looks wrong here, measure again."
BLANK = 9 * "_"
SKETCHED = "A sketch shows where a reading is taken, no size."
DASHED = "Grey parts are drawn as entered; of dashed ones no entry gives the size."


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A view before its place on the page is known."""

    name: str
    title: str
    items: tuple[Item, ...]
    to_scale: bool = True


def views(subject: Subject, faces: Heights | None, parts: Gear | None) -> tuple[Unplaced, ...]:
    """Return the views of a valve gear and its stack, nothing placed yet."""
    found: list[Unplaced] = []
    if faces is not None:
        found.append(_stack(subject, faces))
    if parts is None:
        if faces is None:
            items = (*stack_sketch.outline(), *stack_sketch.dimensions(subject))
            found.append(Unplaced("stack sketch", "SKETCH: the stack", items, to_scale=False))
        is_solid = subject.reader.word("lifter.kind") == "solid"
        pushrod = (*sketch.outline(is_solid), *sketch.dimensions(subject))
        found.append(Unplaced("sketch", "SKETCH: reading a pushrod", pushrod, to_scale=False))
        if faces is None or any(subject.was_entered(one) for one in drop_sketch.DROP_ENTRIES):
            drop = (*drop_sketch.outline(), *drop_sketch.dimensions(subject))
            found.append(Unplaced("drop sketch", "SKETCH: reading a drop", drop, to_scale=False))
        return tuple(found)
    for look, title in (
        (FRONT, "FRONT VIEW: x to the right, z up"),
        (SIDE, "SIDE VIEW: y to the right, z up"),
    ):
        items = (
            *gear_lines.outline(subject, parts, look),
            *gear_dimensions.dimensions(subject, parts, look),
        )
        found.append(Unplaced(look.name, title, items))
    return tuple(found)


def views_of_cylinder(subject: Entered, faces: Heights) -> tuple[Unplaced, ...]:
    """Return the views of a cylinder, its piston at its highest and at its lowest, nothing placed yet."""
    found = [_stack(subject, faces)]
    shown = {one.letter for one in found[0].items if isinstance(one, Dimension)}
    lowest = faces.from_crank and cylinder.lowest(subject) is not None
    title = "CYLINDER, piston at its lowest" if lowest else "CYLINDER"
    own = [one for one in cylinder.dimensions(subject, faces) if one.letter not in shown]
    if lowest or own:
        found.append(Unplaced("cylinder", title, (*cylinder.outline(subject, faces), *own)))
    above = cylinder.from_above(subject)
    if above:
        found.append(Unplaced("spigot", "SPIGOT AND SKIRT FROM ABOVE: x to the right, y up", above))
    return tuple(found)


def _stack(subject: Entered, faces: Heights) -> Unplaced:
    title = "STACK, piston at its highest" if faces.from_crank and stack.moving(subject) else "STACK"
    return Unplaced("stack", title, (*stack.outline(subject, faces), *stack.dimensions(subject, faces)))


def sheet(
    subject: Entered, title: str, told: str, notes: Sequence[str], wanted: Sequence[Unplaced]
) -> Drawing:
    """Return the page.

    title : the job's;  told : which valve gear, in words;  notes : what has to be said, most urgent first
    """
    beside = legend(*_rows(subject, wanted), subject.units, PAGE[1] - 2 * MARGIN - HEADER, LEGEND)
    room = PAGE[0] - 2 * MARGIN - beside.wide - 2 * BETWEEN
    sketched = not all(one.to_scale for one in wanted)
    laid = _in_columns(wanted, room, notes) if sketched else _level(wanted, room, notes)
    found, notes_left, notes_lines = laid.views, laid.notes_left, laid.notes
    said: list[Item] = [
        Text((left, top - 2.5), view.title, TOLD, bold=True)
        for view, (left, top) in zip(found, laid.corners, strict=True)
    ]
    scales = [1 / view.scale for one, view in zip(wanted, found, strict=True) if one.to_scale]
    if scales:
        said += bars((notes_left, MARGIN + len(notes_lines) * NOTE_LINE + 2), scales[0])
    for index, line in enumerate(notes_lines):
        height = MARGIN + (len(notes_lines) - 1 - index) * NOTE_LINE + 1
        said.append(Text((notes_left, height), line, NOTE, bold=line.isupper()))
    shown = shortened(title, PAGE[0] - 2 * MARGIN, TITLE)
    scaled = f"to scale {ratio(scales[0])} on A4" if scales else "not to scale"
    if scales and sketched:
        scaled = f"stack {scaled}, sketches to none"
    below = f"{told}; {scaled}"
    said += [
        Text((MARGIN, PAGE[1] - MARGIN - 4), shown, TITLE, bold=True),
        Text((MARGIN, PAGE[1] - MARGIN - 9.2), below, TOLD),
        Line(((MARGIN, PAGE[1] - MARGIN - 11.5), (PAGE[0] - MARGIN, PAGE[1] - MARGIN - 11.5)), Stroke.FACE),
    ]
    corner = (PAGE[0] - MARGIN - beside.wide, PAGE[1] - MARGIN - HEADER)
    listed = legend_items(beside, subject.units, corner)
    page = View("page", title, tuple(said))
    return Drawing(
        title=f"{title}: {told}",
        description=f"{below}. {' '.join(notes)}",
        width=PAGE[0],
        height=PAGE[1],
        views=(*found, View("legend", "letters", listed), page),
    )


Fitted = list[tuple[float, Placed]]
Page = tuple[float, Fitted, list[str]]  # the scale, the views placed at it, the notes' lines


class Laid(NamedTuple):
    """Views in their places on the page; mm of paper."""

    views: list[View]
    corners: list[Point]  # the upper left corner of each, where its title stands
    notes_left: float
    notes: list[str]  # lines


def _level(wanted: Sequence[Unplaced], room: float, notes: Sequence[str]) -> Laid:
    """Return views to scale side by side, all heights level."""
    _, placed, lines = _fitted(wanted, room, notes)
    left, top = MARGIN, PAGE[1] - MARGIN - HEADER
    spare = max(0.0, room - _total(wanted, placed)) / max(1, len(wanted))
    laid = Laid([], [], 0.0, lines)
    for view, (at, one) in zip(wanted, placed, strict=True):
        wide = max(one.box.wide, _title_width(view))
        across = left + spare / 2 + (wide - one.box.wide) / 2 - one.box.left
        laid.views.append(View(view.name, view.title, one.items, (across, _zero_at(placed)), at))
        laid.corners.append((left + spare / 2, top))
        left += wide + spare + BETWEEN
    return laid._replace(notes_left=_notes_left(wanted, laid.views, placed))


def _in_columns(wanted: Sequence[Unplaced], room: float, notes: Sequence[str]) -> Laid:
    """Return sketches each as large as it can be: the pushrod's in a column of its own, the others beside it."""
    lines = wrapped(notes, room, NOTE)
    top = PAGE[1] - MARGIN - HEADER
    high = top - MARGIN - _below(lines)
    sized = cache(lambda name, at: place(next(one.items for one in wanted if one.name == name), at))
    tall = [one for one in wanted if one.name == "sketch"]
    beside = [one for one in wanted if one.name != "sketch"]

    def largest(view: Unplaced, wide: float, high: float) -> tuple[float, Placed]:
        def fits(box: Box) -> bool:
            return max(box.wide, _title_width(view)) <= wide and box.high - box.low + UNDER_TITLE <= high

        sizes = STACK_AT if view.to_scale else SKETCH_AT
        for at in sizes:
            if fits(figure_of(view.items, at)) and fits(sized(view.name, at).box):
                return at, sized(view.name, at)
        return sizes[-1], sized(view.name, sizes[-1])

    best: tuple[float, dict[str, tuple[float, Placed]], float] | None = None
    for share in SHARES if beside else (0.0,):
        wide = share * (room - BETWEEN)
        chosen = {one.name: largest(one, room - BETWEEN - wide, high) for one in tall}
        left = high
        for index, one in enumerate(beside):
            most = left if index == len(beside) - 1 else STACK_SHARE * high
            chosen[one.name] = largest(one, wide, most)
            left -= chosen[one.name][1].box.high - chosen[one.name][1].box.low + UNDER_TITLE
        worth = math.prod(at for at, _ in chosen.values())
        if best is None or worth > best[0] + 1e-9:
            best = worth, chosen, wide
    assert best is not None
    _, chosen, wide = best
    laid = Laid([], [], MARGIN, lines)
    down = top
    for view in wanted:
        at, placed = chosen[view.name]
        box, mine = placed.box, view.name != "sketch"
        left, room_of = (MARGIN, wide) if mine else (MARGIN + wide + BETWEEN, room - wide - BETWEEN)
        start = down if mine else top
        across = left + max(0.0, room_of - box.wide) / 2 - box.left
        up = start - UNDER_TITLE + 2.0 - box.high
        laid.views.append(View(view.name, view.title, placed.items, (across, up), at))
        laid.corners.append((left, start))
        if mine:
            down -= box.high - box.low + UNDER_TITLE + 2.0
    return laid


def _rows(subject: Entered, wanted: Sequence[Unplaced]) -> tuple[list[Row], list[Row]]:
    """Return the legend's rows: of what is drawn, and of what else was entered."""
    shown = {one.letter: one for view in wanted for one in view.items if isinstance(one, Dimension)}
    entered = {row.letter: value for row, value in subject.lettered()}
    drawn, rest = list[Row](), list[Row]()
    for row in lettered().values():
        dimension = shown.get(row.letter)
        if dimension is not None:
            value = (dimension.value or BLANK, dimension.other)
            drawn.append(_row(row, dimension.remark, *value))
        elif row.letter in entered:
            rest.append(_row(row, "", *entered[row.letter]))
    return drawn, rest


def _row(row: Lettered, remark: str, value: str, other: str) -> Row:
    name = f"{row.called}, {remark}" if remark else row.called
    return Row(row.letter, name, value, other, row.entry.partition(".")[0])


def _fitted(wanted: Sequence[Unplaced], room: float, notes: Sequence[str]) -> Page:
    """Return the largest scale at which the views fit the page, the views so placed and the notes' lines."""
    tall = PAGE[1] - 2 * MARGIN - HEADER - 6
    for scale in SCALES:
        alone = [(1 / scale, Placed((), figure_of(one.items, 1 / scale))) for one in wanted]
        too_large = _total(wanted, alone) > room or _height(wanted, alone, ()) > tall
        if too_large and scale != SCALES[-1]:
            continue
        placed = [(1 / scale, place(one.items, 1 / scale)) for one in wanted]
        lines = wrapped(notes, max(60.0, _notes_room(wanted, placed, room)), NOTE)
        if _total(wanted, placed) <= room and _height(wanted, placed, lines) <= tall:
            break
    return scale, placed, lines


def _total(wanted: Sequence[Unplaced], placed: Fitted) -> float:
    wide = [max(one.box.wide, _title_width(view)) for view, (_, one) in zip(wanted, placed, strict=True)]
    return sum(wide) + BETWEEN * (len(wide) - 1)


def _title_width(view: Unplaced) -> float:
    return width(view.title, TOLD, bold=True)


def _beneath(wanted: Sequence[Unplaced]) -> Sequence[int]:
    """Return which views have the notes beneath them: all but the stack, which reaches further down."""
    others = [index for index, view in enumerate(wanted) if view.name != "stack"]
    return others or [0]


def _notes_room(wanted: Sequence[Unplaced], placed: Fitted, room: float) -> float:
    beneath = _beneath(wanted)
    wide = [max(placed[index][1].box.wide, _title_width(wanted[index])) for index in beneath]
    spare = max(0.0, room - _total(wanted, placed)) / len(wanted)
    return sum(wide) + (BETWEEN + spare) * (len(wide) - 1) + spare


def _notes_left(wanted: Sequence[Unplaced], found: Sequence[View], placed: Fitted) -> float:
    first = _beneath(wanted)[0]
    box = placed[first][1].box
    more = max(0.0, _title_width(wanted[first]) - box.wide) / 2
    return found[first].origin[0] + box.left - more


def _below(lines: Sequence[str]) -> float:
    return len(lines) * NOTE_LINE + BARS + 4


def _height(wanted: Sequence[Unplaced], placed: Fitted, lines: Sequence[str]) -> float:
    """Return how much of the page's height is taken up."""
    highest = max(one.box.high for _, one in placed)
    beneath = _beneath(wanted)
    lowest = min(
        one.box.low - (_below(lines) if place in beneath else 0.0) for place, (_, one) in enumerate(placed)
    )
    return highest - lowest


def _zero_at(placed: Fitted) -> float:
    """Return the height on the page of the zero that all views share."""
    return PAGE[1] - MARGIN - HEADER - 5 - max(one.box.high for _, one in placed)


def bars(at: Point, scale: float) -> list[Item]:
    """Return a scale bar of 100 mm and one of 4 in, each half black."""
    marks: list[Item] = []
    for index, (long, said) in enumerate(((100.0, "100 mm of the engine"), (101.6, "4 in of the engine"))):
        u, v = at[0], at[1] + (1 - index) * 5.5
        end = u + long / scale
        marks += [
            Line(((u, v), (end, v)), Stroke.FACE),
            Line(((u, v), ((u + end) / 2, v)), Stroke.OUTLINE),
        ]
        marks += [Line(((x, v - 1), (x, v + 1)), Stroke.FACE) for x in (u, (u + end) / 2, end)]
        marks.append(Text((end + 1.5, v - 0.9), said, NOTE))
    return marks


def ratio(scale: float) -> str:
    """Return a scale as it is written on a drawing."""
    return f"1:{scale:g}"


def wrapped(notes: Sequence[str], wide: float, size: float) -> list[str]:
    """Return notes as lines of at most a width, in mm of paper."""
    lines: list[str] = []
    for note in notes:
        line = ""
        for word in note.split():
            longer = f"{line} {word}".strip()
            if line and width(longer, size) > wide:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line if width(line, size) <= wide else shortened(line, wide, size))
    return lines


def shortened(words: str, wide: float, size: float) -> str:
    """Return a text cut to a width, with dots where something is missing."""
    if width(words, size, bold=True) <= wide:
        return words
    while words and width(f"{words}...", size, bold=True) > wide:
        words = words[:-1]
    return f"{words}..."
