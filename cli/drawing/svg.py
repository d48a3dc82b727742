"""A drawing as SVG: plain text, the same bytes for the same drawing.

The page is in mm, black on white. What a person typed is escaped, and what XML cannot hold is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

from .lines import Circle, Drawing, Fill, Mark, Stroke, Text, View

FONT = "sans-serif"


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
    yield f'<rect width="{wide}" height="{high}" fill="white"/>'
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
        f'<rect width="{wide}" height="{high}" fill="white"/>',
    ]
    for view in drawing.views:
        lines.append('<g fill="none" stroke="black" stroke-linejoin="round">')
        lines += [_mark(mark, drawing.height) for mark in view.on_page()]
        for name, marks in moving:
            lines += [f'<g id="{name}">', *(_mark(mark, drawing.height) for mark in marks), "</g>"]
        moving = ()
        lines.append("</g>")
    return "\n".join([*lines, "</svg>"])


def _view(view: View, height: float) -> Iterator[str]:
    yield f'<g id="{view.name}" fill="none" stroke="black" stroke-linejoin="round">'
    yield f"<title>{text(view.title)}</title>"
    for mark in view.on_page():
        yield _mark(mark, height)
    yield "</g>"


def _mark(mark: Mark, height: float) -> str:
    if isinstance(mark, Text):
        return _text(mark, height)
    drawn = f"{_stroke(mark.stroke)}{_fill(mark.fill)}"
    if isinstance(mark, Circle):
        across, down = _number(mark.centre[0]), _number(height - mark.centre[1])
        return f'<circle cx="{across}" cy="{down}" r="{_number(mark.radius)}"{drawn}/>'
    points = " ".join(f"{_number(u)},{_number(height - v)}" for u, v in mark.points)
    shape = "polygon" if mark.closed else "polyline"
    return f'<{shape} points="{points}"{drawn}/>'


def _text(mark: Text, height: float) -> str:
    across, down = _number(mark.at[0]), _number(height - mark.at[1])
    turn = f' transform="rotate({_number(-mark.turn)} {across} {down})"' if mark.turn else ""
    bold = ' font-weight="bold"' if mark.bold else ""
    anchor = f' text-anchor="{mark.anchor.value}"'
    halo = ' stroke="white" stroke-width="0.9" paint-order="stroke"'
    return (
        f'<text x="{across}" y="{down}" font-size="{_number(mark.size)}"{anchor}{bold} fill="black"{halo}{turn}>'
        f"{text(mark.words)}</text>"
    )


def _stroke(stroke: Stroke) -> str:
    dashes = f' stroke-dasharray="{" ".join(_number(one) for one in stroke.dashes)}"' if stroke.dashes else ""
    return f' stroke-width="{_number(stroke.weight)}"{dashes}'


def _fill(fill: Fill) -> str:
    return "" if fill is Fill.NONE else f' fill="{fill.value}"'


def _number(value: float) -> str:
    """Return a number with three decimals at most, a micrometre of paper; never "-0"."""
    shown = f"{round(value, 9):.3f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def text(words: str) -> str:
    """Return words escaped for XML, without the characters that XML cannot hold."""
    kept = "".join(one for one in " ".join(words.split()) if one.isprintable())
    return escape(kept, {'"': "&quot;", "'": "&#39;"})
