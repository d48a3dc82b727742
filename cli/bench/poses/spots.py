"""How a value stands in a pose: its dimension where it is measured, its label beside the drawing, and where one taps for it.

Labels stand in two columns, in the order of what they measure from the top, never nearer than a tap's height; so
no value, however long, reaches another. What is known of a value is told by more than colour: typed upright,
worked out italic, assumed on a dotted line, lacking in a dotted outline, faulty in a hatched and heavy one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from markupsafe import Markup

from ...drawing.lines import Point, width
from ...drawing.svg import text
from ...job.entries.letters import lettered
from .marks import BODY, INK, PAPER, Strokes, number, path

WIDE, COLUMN = 360.0, 106.0  # of the pose, and of a column of labels
ROW, TAP = 49.0, 48.0  # from a label to the next, and where it is tapped
SIZE, INSET = 14.0, 7.0
LONGEST = 24  # letters of a value; what is longer is cut
DOTS = "1 3"


class Spot(NamedTuple):
    """A value of the page, where it stands in the pose."""

    key: str  # of its field
    letter: str  # of its entry, may be empty
    shown: str  # in a few letters; empty where there is none
    state: str  # "typed", "reckoned", "assumed", "lacking" or "faulty"


Spots = Mapping[str, Spot]  # by entry within the screen's own owner


class Pose(NamedTuple):
    """A drawing and what it shows."""

    svg: Markup
    caption: str


class Place(NamedTuple):
    """Where an entry is measured in a pose."""

    side: int  # -1: its label stands in the left column, 1: in the right one
    at: Point  # where the leader of its label ends
    lines: Strokes = ()
    parts: Strokes = ()  # outlines of what it measures
    word: str = ""  # said of an entry that has no letter


def opened(name: str, high: float) -> str:
    """Return how a pose begins: its size, its ink, and the hatch of what is faulty."""
    return (
        f'<svg class="pose" aria-hidden="true" focusable="false" viewBox="0 0 {number(WIDE)} {number(high)}" fill="none" '
        f'stroke="{INK}" stroke-linejoin="round"><defs><pattern id="hatch-{name}" width="5" height="5" '
        f'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V5" stroke="{INK}" stroke-width="1.1"/>'
        "</pattern></defs>"
    )


def words(
    at: Point,
    said: str,
    room: float,
    anchor: str = "start",
    bold: bool = False,
    italic: bool = False,
    size: float = SIZE,
    named: str = "",
    on_body: bool = False,
) -> str:
    """Return words that take no more than their room; named : their class; on_body : no paper is left around them."""
    said = " ".join(said.split())
    said = said if len(said) <= 2 * LONGEST else said[: 2 * LONGEST - 1] + "…"
    look = f' class="{named}"' if named else ""
    look += f' x="{number(at[0])}" y="{number(at[1])}" font-size="{number(size)}"'
    look += f' text-anchor="{anchor}"' if anchor != "start" else ""
    look += ' font-weight="bold"' if bold else ""
    look += ' font-style="italic"' if italic else ""
    look += _squeezed(said, size, room, bold)
    halo = ' stroke="none"' if on_body else f' stroke="{PAPER}" stroke-width="3" paint-order="stroke"'
    return f'<text{look} fill="{INK}"{halo}>{text(said)}</text>'


def _squeezed(said: str, size: float, room: float, bold: bool) -> str:
    if width(said, size, bold) <= room:
        return ""
    return f' textLength="{number(room)}" lengthAdjust="spacingAndGlyphs"'


def spread(wished: Sequence[float], low: float, high: float, apart: float = ROW) -> list[float]:
    """Return heights in their order, each near its wish, so far apart, between two limits that hold them all."""
    found: list[float] = []
    for wish in wished:
        found.append(max(wish, low + apart / 2) if not found else max(wish, found[-1] + apart))
    floor = high - apart / 2
    for place in range(len(found) - 1, -1, -1):
        found[place] = min(found[place], floor)
        floor = found[place] - apart
    return found


def drawn(
    name: str,
    body: str,
    places: Mapping[str, Place],
    spots: Spots,
    high: float,
    above: float = 0.0,
    below: float = 0.0,
    said: Iterable[tuple[Point, str, str, bool]] = (),
) -> Markup:
    """Return a pose: its bodies, and each of its spots at its place.

    high  : of the bodies;  above, below : kept free of labels over and under them
    said  : further words, each with its place, its anchor and whether it is bold; a place below nought counts from the foot
    """
    there = [(_named(entry, one), spots[entry]) for entry, one in places.items() if entry in spots]
    sides = [
        sorted((one for one in there if one[0].side == side), key=lambda each: each[0].at[1])
        for side in (-1, 1)
    ]
    rows = max(len(one) for one in sides)
    inner = max(high, rows * ROW)
    lower = above + (inner - high) / 2
    tall = above + inner + below
    found = [opened(name, tall), f'<g transform="translate(0 {number(lower)})">{body}</g>']
    for side in sides:
        levels = spread([one.at[1] + lower for one, _ in side], above, above + inner)
        found += [
            _spot(name, one, spot, level, lower) for (one, spot), level in zip(side, levels, strict=True)
        ]
    for at, one, anchor, bold in said:
        place = (at[0], at[1] if at[1] >= 0 else tall + at[1])
        room = WIDE - 8 if anchor == "middle" else WIDE / 2 - 10
        found.append(words(place, one, room, anchor, bold))
    return Markup("".join([*found, "</svg>"]))


def _named(entry: str, one: Place) -> Place:
    """Return a place with what its entry is called, where it says nothing of its own."""
    called = lettered().get(entry.removeprefix("before."))
    return one if one.word or called is None else one._replace(word=called.called)


def _spot(name: str, one: Place, spot: Spot, level: float, lower: float) -> str:
    """Return one spot; level : of its label; lower : how much lower than in its template its dimension stands."""
    left, edge, inward = (0.0, COLUMN, 1.0) if one.side < 0 else (WIDE - COLUMN, WIDE - COLUMN, -1.0)
    heavy, hatch = spot.state == "faulty", f' fill="url(#hatch-{name})"'
    dots = (
        f' stroke-dasharray="{DOTS}" stroke-linecap="round"' if spot.state in ("assumed", "lacking") else ""
    )
    weight = ' stroke-width="3"' if heavy else ' stroke-width="1.2"'
    found = [f'<g class="spot {spot.state}" data-for="{text(spot.key)}">']
    if one.parts:
        outline = "".join(path(each, True, lower) for each in one.parts)
        filled = hatch if heavy else "" if spot.state == "lacking" else f' fill="{BODY}"'
        found.append(f'<path class="dim" d="{outline}"{filled}{weight}{dots}/>')
    leader = ((edge, level), (one.at[0], one.at[1] + lower))
    lines = path(leader) + "".join(path(each, lower=lower) for each in one.lines)
    found.append(f'<path class="dim" d="{lines}"{weight}{dots}/>')
    found.append(_box(spot.state, left, level, hatch))
    text_at = left + INSET if one.side > 0 else left + COLUMN - INSET
    anchor, room = "start" if one.side > 0 else "end", COLUMN - 2 * INSET
    shown = spot.shown if len(spot.shown) <= LONGEST else spot.shown[: LONGEST - 1] + "…"
    found.append(words((text_at, level - 5), spot.letter or one.word, room, anchor, bold=True, named="say"))
    if shown:
        italic = spot.state == "reckoned"
        found.append(words((text_at, level + 13), shown, room, anchor, italic=italic, named="say"))
    tip = (edge + 9 * inward, level)
    mark = ((edge, level - 7), tip, (edge, level + 7))
    found.append(f'<path class="mark" d="{path(mark, True)}" fill="{INK}"/>')
    found.append(
        f'<rect class="tap" x="{number(left)}" y="{number(level - TAP / 2)}" width="{number(COLUMN)}" height="{number(TAP)}" '
        'fill="none" stroke="none" pointer-events="all"/></g>'
    )
    return "".join(found)


def _box(state: str, left: float, level: float, hatch: str) -> str:
    """Return what a label's state puts around it."""
    if state == "assumed":
        line = path(((left + INSET, level + 19), (left + COLUMN - INSET, level + 19)))
        return f'<path d="{line}" stroke-width="1.6" stroke-dasharray="{DOTS}" stroke-linecap="round"/>'
    if state not in ("lacking", "faulty"):
        return ""
    low, high, right = level + 21.5, level - 21.5, left + COLUMN - 2
    around = path(((left + 2, low), (left + 2, high), (right, high), (right, low)), True)
    if state == "lacking":
        return f'<path d="{around}" stroke-width="1.6" stroke-dasharray="{DOTS}" stroke-linecap="round"/>'
    return f'<path d="{around}" stroke-width="3"{hatch}/>'
