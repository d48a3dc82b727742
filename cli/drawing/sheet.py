"""The page: the views side by side at one scale, the legend beside them, what has to be said beneath.

All heights stand level across the page: a face that is drawn in one view is as high in the others.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence, Set
from dataclasses import dataclass
from typing import TypeGuard

from ..job.entries.letters import lettered
from . import cylinder, drop_sketch, gear_dimensions, legend, sketch, stack, stack_sketch
from . import gear as gear_lines
from .lines import Dimension, Drawing, Item, Line, Point, Stroke, Text, View, shifted, width
from .placing import Placed, place
from .solids import FRONT, SIDE
from .subject import NOT_ENTERED, Entered, Gear, Heights, Subject

PAGE = (297.0, 210.0)  # A4, lying
MARGIN, HEADER, BETWEEN = 6.0, 13.0, 3.0
TITLE, TOLD, NOTE = 4.2, 2.8, 2.6  # sizes of text
NOTE_LINE = 3.6
BARS = 12.0  # height of the two scale bars
SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 30.0, 40.0, 50.0, 80.0)
BESIDE_SKETCH = (2.0, 2.5, 3.0, 4.0, 5.0)
SKETCH_SCALES = (0.6, 0.55, 0.5, 0.45, 0.4, 0.35, 0.3, 0.26)
UNDER = (5.0, -250.0)  # mm of the sketch, from how a pushrod is read to how a drop is

CAUTION = "Drawn from what was entered, not from the engine: what looks wrong here, measure again."
BLANK = 9 * "_"
DASHED = "Dashed outlines show parts whose size no entry gives."


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A view before its place on the page is known."""

    name: str
    title: str
    items: tuple[Item, ...]
    label_side: float
    to_scale: bool = True


def views(subject: Subject, faces: Heights | None, parts: Gear | None) -> tuple[Unplaced, ...]:
    """Return the views of a valve gear and its stack, nothing placed yet."""
    found: list[Unplaced] = []
    if faces is not None:
        title = "STACK, piston at its highest" if faces.from_crank and stack.moving(subject) else "STACK"
        items = (*stack.outline(subject, faces), *stack.dimensions(subject, faces))
        found.append(Unplaced("stack", title, items, 1.0))
    if parts is None:
        title = "SKETCH, NOT TO SCALE: reading a pushrod"
        is_solid = subject.reader.word("lifter.kind") == "solid"
        pushrod = (*sketch.outline(is_solid), *sketch.dimensions(subject))
        drop = (*drop_sketch.outline(), *drop_sketch.dimensions(subject))
        if faces is None:
            items = (*stack_sketch.outline(), *stack_sketch.dimensions(subject))
            found.append(Unplaced("stack sketch", "SKETCH: the stack", items, 1.0, to_scale=False))
        if faces is None or any(subject.was_entered(one) for one in drop_sketch.DROP_ENTRIES):
            title = "SKETCHES, NOT TO SCALE: reading a pushrod and a drop"
            pushrod = (*pushrod, *(shifted(one, UNDER) for one in drop))
        found.append(Unplaced("sketch", title, pushrod, -1.0, to_scale=False))
        return tuple(found)
    for look, title, side in (
        (FRONT, "FRONT VIEW: x to the right, z up", gear_dimensions.valve_side(parts)),
        (SIDE, "SIDE VIEW: y to the right, z up", 1.0),
    ):
        items = (
            *gear_lines.outline(subject, parts, look),
            *gear_dimensions.dimensions(subject, parts, look),
        )
        found.append(Unplaced(look.name, title, items, side))
    return tuple(found)


def views_of_cylinder(subject: Entered, faces: Heights) -> tuple[Unplaced, ...]:
    """Return the views of a cylinder with its piston at its lowest, nothing placed yet."""
    known = faces.from_crank and cylinder.lowest(subject)
    title = "CYLINDER, piston at its lowest" if known else "CYLINDER"
    items = (*cylinder.outline(subject, faces), *cylinder.dimensions(subject, faces))
    found = [Unplaced("cylinder", title, items, 1.0)]
    above = cylinder.from_above(subject)
    if above:
        found.append(Unplaced("spigot", "SPIGOT FROM ABOVE: x to the right, y up", above, 1.0))
    return tuple(found)


def sheet(
    subject: Entered, title: str, told: str, notes: Sequence[str], wanted: Sequence[Unplaced]
) -> Drawing:
    """Return the page.

    title : the job's;  told : which valve gear, in words;  notes : what has to be said, most urgent first
    """
    rows, fitted = _with_legend(subject, wanted, notes)
    scale, placed, notes_lines = fitted
    beside = legend.width_of(rows)
    room = _room(rows)
    origin_v, floor = _zero_at(wanted, placed), MARGIN
    left = MARGIN
    found: list[View] = []
    spare = max(0.0, room - _total(wanted, placed)) / max(1, len(wanted))
    said: list[Item] = []
    for view, (at, one) in zip(wanted, placed, strict=True):
        wide = max(one.box.wide, _title_width(view))
        origin = (left + spare / 2 + (wide - one.box.wide) / 2 - one.box.left, origin_v)
        if not view.to_scale:
            origin = (origin[0], PAGE[1] - MARGIN - HEADER - 7 - one.box.high)
        found.append(View(view.name, view.title, one.items, origin, at))
        said.append(Text((left + spare / 2, PAGE[1] - MARGIN - HEADER - 2.5), view.title, TOLD, bold=True))
        left += wide + spare + BETWEEN
    notes_left = _notes_left(wanted, found, placed)
    if any(one.to_scale for one in wanted):
        said += bars((notes_left, floor + len(notes_lines) * NOTE_LINE + 2), scale)
    for index, line in enumerate(notes_lines):
        height = floor + (len(notes_lines) - 1 - index) * NOTE_LINE + 1
        said.append(Text((notes_left, height), line, NOTE, bold=line.isupper()))
    shown = shortened(title, PAGE[0] - 2 * MARGIN, TITLE)
    sketched = not all(one.to_scale for one in wanted)
    scaled = f"{'stack ' if sketched else ''}to scale {ratio(scale)} on A4"
    if not any(one.to_scale for one in wanted):
        scaled = "not to scale"
    first, other = ("mm", "inches") if subject.units == "mm" else ("inches", "mm")
    below = f"{told}; {scaled}; lengths in {first}, {other} beside them"
    said += [
        Text((MARGIN, PAGE[1] - MARGIN - 4), shown, TITLE, bold=True),
        Text((MARGIN, PAGE[1] - MARGIN - 9.2), below, TOLD),
        Line(((MARGIN, PAGE[1] - MARGIN - 11.5), (PAGE[0] - MARGIN, PAGE[1] - MARGIN - 11.5)), Stroke.FACE),
    ]
    bare = "" if any(" (" in value for _, value in rows) else f", {subject.units}"
    listed = legend.items(rows, bare, (PAGE[0] - MARGIN - beside, PAGE[1] - MARGIN - HEADER), MARGIN)
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


def _room(rows: legend.Rows) -> float:
    """Return how wide the views may be in all."""
    return PAGE[0] - 2 * MARGIN - legend.width_of(rows) - 2 * BETWEEN


def _with_legend(
    subject: Entered, wanted: Sequence[Unplaced], notes: Sequence[str]
) -> tuple[legend.Rows, Page]:
    """Return the legend in both units where that costs no scale, else in the job's, and the page so fitted."""
    shown = {item.entry for view in wanted for item in view.items if _is_blank(item)}
    full, short = (_with_blanks(subject.lettered(both), shown) for both in (True, False))
    wide, narrow = _fitted(wanted, _room(full), notes), _fitted(wanted, _room(short), notes)
    sketched = not all(one.to_scale for one in wanted)
    return (full, wide) if sketched or wide[0] <= narrow[0] else (short, narrow)


def _is_blank(item: Item) -> TypeGuard[Dimension]:
    return isinstance(item, Dimension) and item.value == NOT_ENTERED


def _with_blanks(rows: legend.Rows, shown: Set[str]) -> legend.Rows:
    """Return the legend's rows with those of the dimensions that stand there to be entered."""
    known = {row.letter for row, _ in rows}
    blanks = [(row, BLANK) for row in lettered().values() if row.entry in shown and row.letter not in known]
    order = {row.letter: place for place, row in enumerate(lettered().values())}
    return sorted((*rows, *blanks), key=lambda one: order[one[0].letter])


def _fitted(wanted: Sequence[Unplaced], room: float, notes: Sequence[str]) -> Page:
    """Return the largest scale at which the views fit the page, the views so placed and the notes' lines."""
    tall = PAGE[1] - 2 * MARGIN - HEADER - 6
    tries = [(1.0, scale) for scale in SCALES]
    if not all(one.to_scale for one in wanted):
        tries = [
            *itertools.product(SKETCH_SCALES, BESIDE_SKETCH),
            *((SKETCH_SCALES[-1], one) for one in SCALES),
        ]
    for sketched, scale in tries:
        scales = [1 / scale if one.to_scale else sketched for one in wanted]
        placed = [(at, place(one.items, at, one.label_side)) for at, one in zip(scales, wanted, strict=True)]
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
    level = [(view, one) for view, (_, one) in zip(wanted, placed, strict=True) if view.to_scale]
    loose = [
        one.box.high - one.box.low for view, (_, one) in zip(wanted, placed, strict=True) if not view.to_scale
    ]
    heights = [one + _below(lines) for one in loose]
    if level:
        highest = max(one.box.high for _, one in level)
        lowest = min(one.box.low - (0.0 if view.name == "stack" else _below(lines)) for view, one in level)
        heights.append(highest - lowest)
    return max(heights)


def _zero_at(wanted: Sequence[Unplaced], placed: Fitted) -> float:
    """Return the height on the page of the zero that all views to scale share."""
    level = [one.box.high for view, (_, one) in zip(wanted, placed, strict=True) if view.to_scale]
    return PAGE[1] - MARGIN - HEADER - 5 - max(level, default=0.0)


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
