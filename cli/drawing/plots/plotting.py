"""What every plot has in common: its letters, its file, an axis in both units.

Line style and mark carry the meaning, never colour; the same plot is the same bytes each time.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from functools import partial
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ...job.entries.fields import INCH

SETTINGS: Any = {
    "font.family": "DejaVu Sans",  # comes with matplotlib, the same on every machine
    "font.size": 9,
    "pdf.fonttype": 42,
    "svg.fonttype": "path",
    "svg.hashsalt": "tallstack",  # so that names inside the file are the same each time
    "path.simplify": False,
    "axes.spines.top": False,
    "text.parse_math": False,
}
METADATA: dict[str, dict[str, Any]] = {
    ".svg": {"Date": None, "Creator": None},
    ".png": {"Software": None},
    ".pdf": {"Creator": None, "Producer": None, "CreationDate": None},
}
DPI = 150


def file_bytes(draw: Callable[[], Figure], kind: str) -> bytes:
    """Return a plot as the bytes of a file, its kind one of the keys of METADATA."""
    stream = io.BytesIO()
    with mpl.rc_context(SETTINGS):
        figure = draw()
        figure.savefig(stream, format=kind[1:], dpi=DPI, facecolor="white", metadata=METADATA[kind])
    return _named(stream.getvalue()) if kind == ".svg" else stream.getvalue()


def _named(written: bytes) -> bytes:
    """Return an SVG without the last digits of its numbers, which lie in the names of its parts, too.

    Its parts are named in the order they come in. Letters are scaled exactly.
    """
    text = written.decode("utf-8")
    names = dict.fromkeys(re.findall(r'id="([^"]*[0-9a-f]{10})"', text))
    for place, name in enumerate(names):
        text = text.replace(f'"{name}"', f'"part_{place}"').replace(f"#{name}", f"#part_{place}")

    def shorter(found: re.Match[str]) -> str:
        return found[0] if found[0].startswith("scale") else f"{round(float(found[0]), 3) + 0.0:g}"

    return re.sub(r"scale\([^)]*\)|-?\d+\.\d{4,}", shorter, text).encode("utf-8")


def scale_of(inches: bool) -> float:
    """Return the mm in one of a picture's first unit."""
    return INCH if inches else 1.0


def both_units(axes: Axes, what: str, more: str, inches: bool) -> None:
    """Name an axis in one unit on the left, in the other on the right."""
    first, second = ("in", "mm") if inches else ("mm", "in")
    tail = f" {more}" if more.startswith("per") else ""
    head = what if tail or not more else f"{what}\n({more})"
    axes.set_ylabel(f"{head}\n{first}{tail}")
    factor = INCH if inches else 1 / INCH
    other = axes.secondary_yaxis(
        "right", functions=(partial(np.multiply, factor), partial(np.multiply, 1 / factor))
    )
    other.set_ylabel(f"{second}{tail}")
    axes.grid(linewidth=0.3, color="0.75")
    axes.margins(x=0)


def showable(words: str) -> str:
    """Return words with a question mark for what cannot be printed."""
    return "".join(one if one.isprintable() else "?" for one in words)
