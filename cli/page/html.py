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
from ..drawing.turning_data import moving_marks, turning_data
from .letters import embedded
from .model import Length, Number, Page, Picture, Row, Sheet, Table, Turn, Words, flat
from .text import shown
from .wording import both_units

MANY = 12  # rows of the first page's tables, from which on its letters are smaller


def html(sheet: Sheet) -> bytes:
    """Return the sheet as the bytes of a page."""
    templates = files("tallstack.cli.page") / "templates"
    style, script = ((templates / name).read_text(encoding="utf-8") for name in ("sheet.css", "turn.js"))
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    for kind in (Length, Words):
        environment.tests[kind.__name__.lower()] = lambda one, kind=kind: isinstance(one, kind)
    every = [block for page in sheet.rest for block in flat(page.blocks)]
    traced = [
        block.name.removeprefix("trace-")
        for block in every
        if isinstance(block, Picture) and block.name.startswith("trace-")
    ]
    turn = next((block for block in every if isinstance(block, Turn)), None)
    template = environment.from_string((templates / "sheet.html.j2").read_text(encoding="utf-8"))
    drawn = cache(lambda picture: Markup(_drawn(picture, turn, traced)))  # noqa: S704  its texts are escaped there
    data = None if turn is None else turning_data(turn, traced)

    def page(style: str) -> str:
        policy = (
            f"default-src 'none'; font-src data:; style-src {_hash(style)}; script-src {_hash(script)}; "
            "base-uri 'none'; form-action 'none'"
        )
        return template.render(
            sheet=sheet,
            flat=flat,
            kind=lambda block: type(block).__name__,
            drawn=lambda picture: drawn(picture),
            column=_column,
            switching=_switching,
            shown=shown,
            number=lambda cell: isinstance(cell, (Length, Number)),
            units=both_units(sheet.units),
            many=_many(sheet.first),
            style=Markup(style),  # noqa: S704  ours
            script=Markup(script),  # noqa: S704
            data=None if data is None else Markup(_embedded(data)),  # noqa: S704
            policy=policy,
            valves=[] if turn is None else list(turn.turning.valves),
            cylinders=[] if turn is None else list(turn.turning.own),
        )

    return page(f"{embedded(page(style))}\n{style}").encode(
        "utf-8", "replace"
    )  # a file's name may be no text


def _drawn(picture: Picture, turn: Turn | None, traced: list[str]) -> str:
    """Return a picture as an element; the engine's parts and a trace's cursor can be moved."""
    if turn is not None and picture is turn.picture:
        view = picture.drawing.views[0]
        still = replace(picture.drawing, views=(replace(view, items=turn.engine.fixed),))
        return inline(still, moving_marks(turn.engine, turn.place, view))
    if picture.name.startswith("trace-"):
        place = traced.index(picture.name.removeprefix("trace-"))
        top = size()[1] - 5.0
        cursor = Line(((across(0.0), top), (across(0.0), 8.0)), Stroke.OUTLINE)
        return inline(picture.drawing, [(f"cursor-{place}", [cursor])])
    return inline(picture.drawing)


def _column(table: Table, place: int) -> str:
    """Return the unit of a column that has its lengths in one unit alone, for the choice of units; else nothing."""
    lengths = [row.cells[place] for row in table.rows if isinstance(row, Row) and place < len(row.cells)]
    units = {one.unit for one in lengths if isinstance(one, Length) and one.alone}
    return next(iter(units)) if len(units) == 1 else ""


def _switching(table: Table) -> str:
    """Return the unit that heads name for lengths which the choice of units turns into the other; else nothing."""
    cells = (cell for row in table.rows if isinstance(row, Row) for cell in row.cells)
    return next((one.unit for one in cells if isinstance(one, Length) and one.bare and not one.alone), "")


def _many(first: Page) -> bool:
    return sum(len(block.rows) for block in first.blocks if isinstance(block, Table)) > MANY


def _embedded(data: dict[str, Any]) -> str:
    """Return data for a script element, with nothing in it that could end one."""
    text = json.dumps(data, separators=(",", ":"), allow_nan=False, ensure_ascii=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _hash(content: str) -> str:
    digest = hashlib.sha256(content.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"
