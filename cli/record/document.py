"""A record as JSON: what was built beside its plan, what visits found and left, how fast settings drift, and every line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from .as_built import Compared
from .record_words import compared_row, fact_row
from .recordfile import Fact, standing
from .visit_words import rate_row, visit_row
from .visits import Visits


def document(
    path: Path, added: Sequence[Fact], rows: Sequence[Compared], seen: Visits, facts: Sequence[Fact]
) -> dict[str, Any]:
    """Return a record as JSON."""
    counting = {fact.number for fact in standing(facts)}
    return {
        "file": str(path),
        "added": len(added),
        "compared": [compared_row(row) for row in rows],
        "visits": [visit_row(row) for row in seen.rows],
        "rates": [rate_row(rate) for rate in seen.rates],
        "lines": [fact_row(fact, fact.number in counting) for fact in facts],
    }
