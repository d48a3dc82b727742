"""A table of figures, and how a page says it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

NOT_KNOWN = "-"


class Table(NamedTuple):
    """Figures of one kind."""

    title: str
    said: str  # what is measured, and what 1.00 is
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]

    def text(self) -> str:
        """Return the table in Markdown."""
        ruled = ["---", *("--:" for _ in self.heads[1:])]
        lines = [" | ".join(one) for one in (self.heads, ruled, *self.rows)]
        return "\n".join([f"## {self.title}", "", self.said, "", *(f"| {line} |" for line in lines)])


def ratio(one: float | None, other: float | None) -> str:
    """Return how many times another one is, to three digits; what is not known as a stroke."""
    if one is None or other is None or other <= 0:
        return NOT_KNOWN
    found = one / other
    return f"{found:.2f}" if found < 10 else f"{found:.1f}" if found < 100 else f"{found:,.0f}"


def seconds(one: float | None) -> str:
    """Return seconds as a person reads them."""
    if one is None:
        return NOT_KNOWN
    for size, unit in ((1.0, "s"), (1e-3, "ms"), (1e-6, "us")):
        if one >= size:
            return f"{one / size:.3g} {unit}"
    return f"{one / 1e-9:.3g} ns"
