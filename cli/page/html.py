"""The sheet as one self-contained page: no network, no font or script from elsewhere, whole without its script.

What may run is named by its hash in the page's own policy, so that nothing a person typed can ever run; and what a
person typed is escaped by the template, in drawings, and in the numbers for the script.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup, escape

from ..drawing.close_up import drawn as near_drawn
from ..drawing.svg import inline
from ..drawing.trace import OnScreen
from ..drawing.turning_data import Beside, beside, moving_marks, turning_data
from ..job.entries.fields import INCH
from .letters import embedded
from .model import Length, Number, Picture, Row, Sheet, Span, Table, Turn, Words, flat
from .text import shown
from .wording import both_units, steady

FIGURE = r"[+-]?\d[\d.]*(?: to [+-]?\d[\d.]*)?"
PAIR = re.compile(  # as `wording` writes a length in both units, and an entry with its doubt
    rf"(?<![\w.+-])({FIGURE}) (mm|in)( \(|, | = )({FIGURE}) (?!\2)(mm|in)\b(\))?(?: \+/- ([\d.]+) (mm|in)\b(?! \())?"
)
SWITCHED = Markup(
    '<span class="u-{0}">{1} {0}</span><span class="u-{2}"><span class="both">{3}</span>{4} {2}<span class="both">{5}</span></span>'
)
DOUBTED = Markup(' +/- <span class="u-{0}">{1} {0}</span><span class="u-{2} other">{3} {2}</span>')
STYLE, POLICY = "(style)", "(policy)"  # where they go, once the page is known
OFF_MM = 0.06  # by which two figures of one length may differ in what rounding left of them


def html(sheet: Sheet) -> bytes:
    """Return the sheet as the bytes of a page."""
    templates = files("tallstack.cli.page") / "templates"
    style, script = ((templates / name).read_text(encoding="utf-8") for name in ("sheet.css", "turn.js"))
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.tests["length"] = lambda one: isinstance(one, Length)
    environment.tests["words"] = lambda one: isinstance(one, Words)
    environment.tests["switching"] = _is_switching
    every = [block for page in sheet.rest for block in flat(page.blocks)]
    turn = next((block for block in every if isinstance(block, Turn)), None)
    template = environment.from_string((templates / "sheet.html.j2").read_text(encoding="utf-8"))
    drawn = cache(lambda picture: Markup(_drawn(picture, turn)))  # noqa: S704  its texts are escaped there

    data, turned = None, dict[str, Any]()
    if turn is not None:
        there = beside(turn, sheet.units)
        data, turned = turning_data(turn, there, sheet.units), _turned(turn, there)

    page = template.render(
        sheet=sheet,
        flat=flat,
        kind=lambda block: type(block).__name__,
        drawn=lambda picture: drawn(picture),
        alone_in=_alone_in,
        labelled=_labels,
        switched=switched,
        switching=_switching,
        named_in=_named_in,
        shown=shown,
        number=lambda cell: isinstance(cell, (Length, Number, Span)),
        units=both_units(sheet.units),
        style=STYLE,
        script=Markup(script),  # noqa: S704  ours
        data=None if data is None else Markup(_embedded(data)),  # noqa: S704
        policy=POLICY,
        **turned,
    )
    return _styled(page, f"{embedded(page + style)}\n{style}", script).encode(
        "utf-8", "replace"
    )  # a file's name may be no text


def _styled(page: str, style: str, script: str) -> str:
    """Return a page with its style and its policy, which stand before everything that was typed."""
    policy = (
        f"default-src 'none'; font-src data:; style-src {_hash(style)}; script-src {_hash(script)}; "
        "base-uri 'none'; form-action 'none'"
    )
    return page.replace(POLICY, escape(policy), 1).replace(STYLE, style, 1)


def _drawn(picture: Picture, turn: Turn | None) -> str:
    """Return a picture as an element; the engine's parts can be moved."""
    if turn is not None and picture is turn.picture:
        view = picture.drawing.views[0]
        still = replace(picture.drawing, views=(replace(view, items=turn.engine.fixed),))
        return inline(still, moving_marks(turn.engine, turn.place, view))
    return inline(picture.drawing)


def _turned(turn: Turn, shown: Beside) -> dict[str, Any]:
    """Return what the template shows of an engine that turns."""
    cylinders = list(turn.turning.own)
    rests = [one.cylinder for one in turn.stations if one.heel is not None]
    return {
        "valves": list(turn.turning.valves),
        "cylinders": cylinders,
        "sets": [(place, name) for place, name in enumerate(cylinders) if name in rests],
        "traces": [
            (name, Markup(_trace(place, one)))  # noqa: S704  its texts are escaped there
            for place, (name, one) in enumerate(shown.traces.items())
        ],
        "near": Markup(inline(*near_drawn(shown.near))),  # noqa: S704
    }


def _trace(place: int, one: OnScreen) -> str:
    return inline(one.drawing, [(f"trace-{place}-{name}", marks) for name, marks in one.groups])


def switched(words: str) -> Markup:
    """Return words escaped, a length in both units so that the choice of units leaves the one that was chosen."""
    found, at = Markup(), 0
    for pair in PAIR.finditer(words):
        first, unit, apart, second, other, ended, doubt, doubt_unit = pair.groups()
        ended = ended or ""
        if (apart == " (") != bool(ended) or not _same(first, unit, second, other):
            continue
        found += words[at : pair.start()]
        found += SWITCHED.format(unit, first, other, apart, second, ended)
        at = pair.end()
        if doubt is not None and apart == " = " and doubt_unit == unit:
            found += DOUBTED.format(
                unit, doubt, other, f"{steady(float(doubt) * _size(unit) / _size(other)):.5f}".rstrip("0")
            )
        elif doubt is not None:
            found += f" +/- {doubt} {doubt_unit}"
    return found + words[at:]


def _size(unit: str) -> float:
    return INCH if unit == "in" else 1.0


def _same(first: str, unit: str, second: str, other: str) -> bool:
    """Say whether two figures are one length, not two that stand beside each other."""
    both = [
        [float(one) * _size(of) for one in text.split(" to ")]
        for text, of in ((first, unit), (second, other))
    ]
    return all(abs(a - b) < OFF_MM for a, b in zip(*both, strict=False)) and len(both[0]) == len(both[1])


def _labels(table: Table) -> list[Markup]:
    """Return what a cell of each column is called where a table is set as cards, in either unit."""
    unit = _switching(table)
    found = []
    for head in table.heads:
        own = " ".join(head.split())
        told = Markup(' data-label="{}"').format(own) if own else Markup()
        if unit and own.endswith(f" {unit}"):
            for one in ("mm", "in"):
                told += Markup(' data-{}="{}"').format(one, f"{own[: -len(unit)]}{one}")
        found.append(told)
    return found


def _alone_in(table: Table) -> list[str]:
    """Return the unit of every column that has its lengths in one unit alone, for the choice of units; else nothing."""
    units: list[set[str]] = [set() for _ in table.columns]
    for row in table.rows:
        for of, one in zip(units, row.cells if isinstance(row, Row) else (), strict=False):
            if isinstance(one, Length) and one.alone:
                of.add(one.unit)
    return [next(iter(one)) if len(one) == 1 else "" for one in units]


def _is_switching(cell: object) -> bool:
    return isinstance(cell, Span) or (isinstance(cell, Length) and not cell.alone)


def _named_in(row: Row) -> str:
    """Return the unit that ends a row's name, where the choice of units turns its lengths into the other; else nothing."""
    units = {one.unit for one in row.cells if isinstance(one, (Length, Span)) and _is_switching(one)}
    first = row.cells[0]
    return next((one for one in units if isinstance(first, str) and first.endswith(f", {one}")), "")


def _switching(table: Table) -> str:
    """Return the unit that heads name for lengths which the choice of units turns into the other; else nothing."""
    rows = [row.cells for row in table.rows if isinstance(row, Row)]
    cells = (cell for row in rows for cell in row)
    unit = next((one.unit for one in cells if isinstance(one, Length) and one.bare and not one.alone), "")
    if unit:
        return unit
    empty = [
        head
        for place, head in enumerate(table.heads)
        if all(row[place : place + 1] in ((), ("",)) for row in rows)
    ]
    return next((head[-2:] for head in empty if head.endswith((" mm", " in"))), "")


def _embedded(data: dict[str, Any]) -> str:
    """Return data for a script element, with nothing in it that could end one."""
    text = json.dumps(data, separators=(",", ":"), allow_nan=False, ensure_ascii=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _hash(content: str) -> str:
    digest = hashlib.sha256(content.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"
