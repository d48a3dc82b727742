"""The sheet as one self-contained page: no network, no font or script from elsewhere, whole without its script.

What may run is named by its hash in the page's own policy, so that nothing a person typed can ever run; and what a
person typed is escaped by the template, in drawings, and in the numbers for the script.
"""

from __future__ import annotations

import base64
import hashlib
import json
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from ..drawing.lines import Line, Stroke
from ..drawing.svg import inline
from ..drawing.trace import across, size
from ..page.wording import both_units
from .contents import TOP
from .letters import embedded
from .model import (
    Blanks,
    Boxes,
    CheckLine,
    Heading,
    Length,
    Page,
    Picture,
    Sheet,
    Table,
    Turn,
    Verbatim,
    Words,
)
from .turning_data import moving_marks, turning_data
from .work import Work

KINDS = {
    Table: "table",
    Heading: "heading",
    Words: "words",
    Verbatim: "verbatim",
    Picture: "picture",
    Boxes: "boxes",
    Blanks: "blanks",
    CheckLine: "check_line",
    Turn: "turn",
}
MANY = 12  # rows of the first page's tables, from which on its letters are smaller


def html(sheet: Sheet, work: Work | None) -> bytes:
    """Return the sheet as the bytes of a page; work : what turns on it, if anything does."""
    templates = files("tallstack.cli.sheet") / "templates"
    style, script = ((templates / name).read_text(encoding="utf-8") for name in ("sheet.css", "turn.js"))
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.tests["length"] = lambda cell: isinstance(cell, Length)
    traced = [
        block.name.removeprefix("trace-")
        for page in sheet.rest
        for block in page.blocks
        if isinstance(block, Picture) and block.name.startswith("trace-")
    ]
    turns = [block for page in sheet.rest for block in page.blocks if isinstance(block, Turn)]
    data = _data(work, turns[0], traced) if work is not None and turns else None
    template = environment.from_string((templates / "sheet.html.j2").read_text(encoding="utf-8"))
    drawn = cache(lambda picture: Markup(_drawn(picture, work, traced)))  # noqa: S704  its texts are escaped there

    def page(style: str) -> str:
        policy = (
            f"default-src 'none'; font-src data:; style-src {_hash(style)}; script-src {_hash(script)}; "
            "base-uri 'none'; form-action 'none'"
        )
        return template.render(
            sheet=sheet,
            kind=lambda block: KINDS[type(block)],
            drawn=lambda picture: drawn(picture),
            column=_column,
            units=both_units(sheet.units),
            to_write=lambda table: [place for place, _ in table.to_write],
            many=_many(sheet.first),
            style=Markup(style),  # noqa: S704  ours
            script=Markup(script),  # noqa: S704
            data=None if data is None else Markup(_embedded(data)),  # noqa: S704
            policy=policy,
            valves=[] if work is None or work.turning is None else list(work.turning.valves),
            cylinders=[] if work is None or work.turning is None else list(work.turning.own),
        )

    return page(f"{embedded(page(style))}\n{style}").encode(
        "utf-8", "replace"
    )  # a file's name may be no text


def _data(work: Work, turn: Turn, traced: list[str]) -> dict[str, Any]:
    assert work.turning is not None
    assert work.engine is not None
    return turning_data(work.engine, work.turning, TOP, turn.picture.drawing, traced)


def _drawn(picture: Picture, work: Work | None, traced: list[str]) -> str:
    """Return a picture as an element; the engine's parts and a trace's cursor can be moved."""
    if picture.name == "engine" and work is not None and work.engine is not None and work.turning is not None:
        view = picture.drawing.views[0]
        still = replace(picture.drawing, views=(replace(view, items=work.engine.fixed),))
        return inline(still, moving_marks(work.engine, work.turning, TOP, view))
    if picture.name.startswith("trace-"):
        place = traced.index(picture.name.removeprefix("trace-"))
        top = size()[1] - 5.0
        cursor = Line(((across(0.0), top), (across(0.0), 8.0)), Stroke.OUTLINE)
        return inline(picture.drawing, [(f"cursor-{place}", [cursor])])
    return inline(picture.drawing)


def _column(table: Table, place: int) -> str:
    """Return the unit of a column all of whose lengths are in one unit, for the choice of units; else nothing."""
    units = {row[place].unit for row in table.rows if isinstance(row[place], Length)}  # type: ignore[union-attr]
    return next(iter(units)) if len(units) == 1 else ""


def _many(first: Page) -> bool:
    return sum(len(block.rows) for block in first.blocks if isinstance(block, Table)) > MANY


def _embedded(data: dict[str, Any]) -> str:
    """Return data for a script element, with nothing in it that could end one."""
    text = json.dumps(data, separators=(",", ":"), allow_nan=False, ensure_ascii=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _hash(content: str) -> str:
    digest = hashlib.sha256(content.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"
