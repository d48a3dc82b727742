"""A drawing of a job, as a program and a notebook take it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from ..drawing.lines import Drawing
from ..drawing.pages import MOST_DEG, drawing, of_engine, of_name, sketches, written

if TYPE_CHECKING:
    from ..job.job import Job

ENGINE = "engine"


@dataclass(frozen=True, eq=False, repr=False)
class Picture:
    """One page: a valve gear with its stack, a cylinder, or the whole engine."""

    page: Drawing

    def __repr__(self) -> str:
        """Return what is on it."""
        return f"<Picture {self.page.description!r}>"

    @cached_property
    def svg(self) -> str:
        """The page as SVG, the same text for the same job."""
        return written(self.page, ".svg").decode("utf-8")

    def save(self, path: str | Path) -> None:
        """Write the page to a file; its ending says how: .svg, .png or .pdf. One that is there is not overwritten.

        Raises:
            ValueError: for another ending.
            TypeError: for what is no path.
        """
        if not isinstance(path, (str, Path)):
            message = f"path={path!r}: give the path of a file as a text or a Path"
            raise TypeError(message)
        kind = Path(path).suffix.lower()
        if kind not in (".svg", ".png", ".pdf"):
            message = f"{path}: a drawing is written as .svg, .png or .pdf"
            raise ValueError(message)
        with Path(path).open("xb") as file:
            file.write(written(self.page, kind))

    def _repr_svg_(self) -> str:
        return self.svg


def picture(job: Job, of: str | None, at: float) -> Picture:
    """Return the drawing of a valve gear, a cylinder or the engine of a job.

    of : its name, or "engine"; None: the first valve gear
    at : of the engine, crank degrees from the first cylinder's overlap top centre

    Raises:
        ValueError: where there is nothing of that name, or nothing is entered to draw of it.
    """
    if not (isinstance(at, (float, int)) and abs(at) <= MOST_DEG):
        message = f"at={at!r}: crank degrees from -{MOST_DEG:g} to {MOST_DEG:g}; a cycle is 720"
        raise ValueError(message)
    job = job.at_hand
    gears = {order.train.name: order for order in job.orders}
    name = of or next(iter(gears), ENGINE)
    if at and name != ENGINE:
        message = f"at={at!r}: only the engine is drawn at a crank angle"
        raise ValueError(message)
    if name in gears:
        return Picture(drawing(job, gears[name]))
    others = [*job.names["cylinders"], *sketches(job)]
    if name not in others and name != ENGINE:
        message = f"{name}: no such valve gear or cylinder; there are {', '.join([*gears, *others, ENGINE])}"
        raise ValueError(message)
    page = of_engine(job, at) if name == ENGINE else of_name(job, name)
    if page is None:
        lacks = "crank.stroke and crank.conrod_length" if name == ENGINE else "stack.cylinder"
        message = f"{name}: nothing to draw without {lacks}"
        raise ValueError(message)
    return Picture(page)
