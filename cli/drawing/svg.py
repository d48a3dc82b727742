"""A drawing as SVG: plain text, the same bytes for the same drawing.

The page is in mm. A file is black on white; within a page the page's own style says what ink, paper and bodies look
like, and which unit a length shows. What a person typed is escaped, and what XML cannot hold is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple
from xml.sax.saxutils import escape

from .lines import OTHER, Circle, Drawing, Fill, Mark, Stroke, Text, View

FONT = "sans-serif"


class Look(NamedTuple):
    """What ink and fills look like, and whether lengths carry their other unit."""

    fills: Mapping[Fill, str]
    switches: bool

    @property
    def ink(self) -> str:
        """The colour of lines and letters."""
        return self.fills[Fill.BLACK]


IN_FILE = Look({one: one.value for one in Fill}, switches=False)
IN_PAGE = Look(
    {
        Fill.BLACK: "var(--ink, black)",
        Fill.WHITE: "var(--paper, white)",
        Fill.GREY: f"var(--body, {Fill.GREY.value})",
    },
    switches=True,
)


def svg(drawing: Drawing) -> bytes:
    """Return the drawing as an SVG file."""
    return ("\n".join(_lines(drawing)) + "\n").encode("utf-8")


def _lines(drawing: Drawing) -> Iterator[str]:
    wide, high = _number(drawing.width), _number(drawing.height)
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" '
        f'viewBox="0 0 {wide} {high}" role="img" aria-labelledby="title desc" font-family="{FONT}">'
    )
    yield f'<title id="title">{text(drawing.title)}</title>'
    yield f'<desc id="desc">{text(drawing.description)}</desc>'
    yield f'<rect width="{wide}" height="{high}" fill="{IN_FILE.fills[Fill.WHITE]}"/>'
    for view in drawing.views:
        yield from _view(view, drawing.height)
    yield "</svg>"


def inline(drawing: Drawing, moving: Sequence[tuple[str, Sequence[Mark]]] = ()) -> str:
    """Return the drawing as an element of a page, as wide as it is let; what is typed is escaped.

    moving : groups of lines in mm of paper that can be moved on their own, each with the name of its element
    """
    wide, high = _number(drawing.width), _number(drawing.height)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}" role="img" '
        f'aria-label="{text(drawing.description)}">',
        f'<rect width="{wide}" height="{high}" fill="{IN_PAGE.fills[Fill.WHITE]}"/>',
    ]
    for view in drawing.views:
        lines.append(f'<g fill="none" stroke="{IN_PAGE.ink}" stroke-linejoin="round">')
        lines += [_mark(mark, drawing.height, IN_PAGE) for mark in view.on_page()]
        for name, marks in moving:
            lines += [f'<g id="{name}">', *(_mark(mark, drawing.height, IN_PAGE) for mark in marks), "</g>"]
        moving = ()
        lines.append("</g>")
    return "\n".join([*lines, "</svg>"])


def _view(view: View, height: float) -> Iterator[str]:
    yield f'<g id="{view.name}" fill="none" stroke="{IN_FILE.ink}" stroke-linejoin="round">'
    yield f"<title>{text(view.title)}</title>"
    for mark in view.on_page():
        yield _mark(mark, height, IN_FILE)
    yield "</g>"


def _mark(mark: Mark, height: float, look: Look) -> str:
    if isinstance(mark, Text):
        return _text(mark, height, look)
    fill = "" if mark.fill is Fill.NONE else f' fill="{look.fills[mark.fill]}"'
    drawn = f"{_stroke(mark.stroke)}{fill}"
    if isinstance(mark, Circle):
        across, down = _number(mark.centre[0]), _number(height - mark.centre[1])
        return f'<circle cx="{across}" cy="{down}" r="{_number(mark.radius)}"{drawn}/>'
    points = " ".join(f"{_number(u)},{_number(height - v)}" for u, v in mark.points)
    shape = "polygon" if mark.closed else "polyline"
    return f'<{shape} points="{points}"{drawn}/>'


def _text(mark: Text, height: float, look: Look) -> str:
    across, down = _number(mark.at[0]), _number(height - mark.at[1])
    turn = f' transform="rotate({_number(-mark.turn)} {across} {down})"' if mark.turn else ""
    bold = ' font-weight="bold"' if mark.bold else ""
    anchor = f' text-anchor="{mark.anchor.value}"'
    halo = f' stroke="{look.fills[Fill.WHITE]}" stroke-width="0.9" paint-order="stroke"'
    words = text(mark.words)
    if look.switches and mark.other:
        words = (
            f'<tspan class="u-{mark.unit}">{words}</tspan>'
            f'<tspan class="u-{OTHER[mark.unit]} other">{text(mark.other)}</tspan>'
        )
    return (
        f'<text x="{across}" y="{down}" font-size="{_number(mark.size)}"{anchor}{bold} fill="{look.ink}"{halo}{turn}>'
        f"{words}</text>"
    )


def _stroke(stroke: Stroke) -> str:
    dashes = f' stroke-dasharray="{" ".join(_number(one) for one in stroke.dashes)}"' if stroke.dashes else ""
    return f' stroke-width="{_number(stroke.weight)}"{dashes}'


def _number(value: float) -> str:
    """Return a number with three decimals at most, a micrometre of paper; never "-0"."""
    shown = f"{round(value, 9):.3f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def text(words: str) -> str:
    """Return words escaped for XML, without the characters that XML cannot hold."""
    kept = "".join(one for one in " ".join(words.split()) if one.isprintable())
    return escape(kept, {'"': "&quot;", "'": "&#39;"})
