"""A drawing as PNG or PDF, by matplotlib's figure and a file backend.

Loaded only when such a file is asked for, since matplotlib is.
"""

from __future__ import annotations

import io
from typing import Any, Literal

import matplotlib as mpl
from matplotlib import font_manager
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle as Disc
from matplotlib.patches import Polygon

from ..lines import Anchor, Circle, Drawing, Mark, Stroke, Text

POINT = 72 / 25.4  # points for a mm
DPI = 200
FONT = "DejaVu Sans"  # comes with matplotlib, the same on every machine
BARE = 0.15  # mm of paper left bare around a text
ALIGNED: dict[Anchor, Literal["left", "center", "right"]] = {
    Anchor.START: "left",
    Anchor.MIDDLE: "center",
    Anchor.END: "right",
}
SETTINGS: Any = {"lines.scale_dashes": False, "pdf.fonttype": 42, "font.family": FONT, "path.simplify": False}


def png(drawing: Drawing) -> bytes:
    """Return the drawing as a PNG file."""
    with mpl.rc_context(SETTINGS):
        figure = _figure(drawing)
        FigureCanvasAgg(figure)
        return _saved(figure, "png", {"Software": None})


def pdf(drawing: Drawing) -> bytes:
    """Return the drawing as a PDF file, its letters embedded."""
    with mpl.rc_context(SETTINGS):
        figure = _figure(drawing)
        FigureCanvasPdf(figure)
        title = _showable(drawing.title)
        return _saved(
            figure, "pdf", {"Title": title, "Creator": None, "Producer": None, "CreationDate": None}
        )


def _saved(figure: Figure, kind: str, metadata: dict[str, Any]) -> bytes:
    stream = io.BytesIO()
    figure.savefig(stream, format=kind, dpi=DPI, facecolor="white", metadata=metadata)
    return stream.getvalue()


def _figure(drawing: Drawing) -> Figure:
    figure = Figure(figsize=(drawing.width / 25.4, drawing.height / 25.4))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, drawing.width)
    axes.set_ylim(0, drawing.height)
    axes.set_axis_off()
    for layer, mark in enumerate(drawing.on_page()):
        axes.add_artist(artist(mark, layer))
    return figure


def artist(mark: Mark, layer: int) -> Any:
    """Return a line or a text as matplotlib draws it; layer : later ones lie over earlier ones."""
    if isinstance(mark, Text):
        return _text(mark, layer)
    style = _style(mark.stroke)
    if isinstance(mark, Circle):
        return Disc(
            mark.centre, mark.radius, edgecolor="black", facecolor=mark.fill.value, zorder=layer, **style
        )
    if mark.closed:
        return Polygon(
            mark.points, closed=True, edgecolor="black", facecolor=mark.fill.value, zorder=layer, **style
        )
    across, up = zip(*mark.points, strict=True)
    return Line2D(across, up, color="black", solid_capstyle="round", zorder=layer, **style)


def _text(mark: Text, layer: int) -> Any:
    from matplotlib.text import Text as Lettering

    return Lettering(
        mark.at[0],
        mark.at[1],
        _showable(mark.words),
        fontsize=mark.size * POINT,
        fontweight="bold" if mark.bold else "normal",
        horizontalalignment=ALIGNED[mark.anchor],
        verticalalignment="baseline",
        rotation=mark.turn,
        rotation_mode="anchor",
        parse_math=False,
        zorder=layer,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": BARE * POINT},
    )


def _style(stroke: Stroke) -> dict[str, Any]:
    dashes = tuple(one * POINT for one in stroke.dashes)
    return {"linewidth": stroke.weight * POINT, "linestyle": (0, dashes) if dashes else "-"}


def _showable(words: str) -> str:
    """Return words with a question mark for every letter that the font does not have."""
    font = font_manager.get_font(font_manager.findfont(FONT))
    return "".join(
        one if one.isprintable() and font.get_char_index(ord(one)) else "?" for one in " ".join(words.split())
    )
