"""A page of the bench as HTML: whole, or the pieces of it that may have changed.

Everything is escaped by the templates; drawings and blocks come as markup from those that escape them.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from ..page.model import Words
from ..page.text import shown
from .poses.drawn import picture_of

TEMPLATES = files("tallstack.cli.bench") / "templates"


@cache
def environment() -> Environment:
    """Return what sets pages."""
    made = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=FunctionLoader(lambda name: (TEMPLATES / name).read_text(encoding="utf-8")),
    )
    made.filters["json"] = lambda value: json.dumps(value, separators=(",", ":"))
    made.filters["key"] = lambda loc: "-".join(map(str, loc))
    made.globals["kind"] = lambda block: type(block).__name__
    made.globals["shown"] = shown
    made.globals["picture"] = _picture
    made.tests["words"] = lambda one: isinstance(one, Words)
    return made


def _picture(loc: Sequence[str | int], word: str) -> Markup:
    """Return what an option of a question looks like, nothing where words alone say it."""
    question = "lifter.kind" if tuple(loc[-2:]) == ("lifter", "kind") or loc == ("lifter",) else str(loc[-1])
    return picture_of(question, word) or Markup()


def page(template: str, /, **what: Any) -> str:
    """Return a whole page."""
    return environment().get_template(f"{template}.html.j2").render(**what)


def piece(name: str, of: str = "pieces", /, **what: Any) -> Markup:
    """Return one piece of a page; of : the file that holds it."""
    found: Markup = _macro(name, of)(**what)
    return found


@cache
def _macro(name: str, of: str) -> Any:
    return getattr(environment().get_template(f"{of}.html.j2").module, name)
