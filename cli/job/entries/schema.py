"""The JSON Schema of the job file, for completion in an editor."""

from __future__ import annotations

from typing import Any

from .fields import Kind
from .model import JOB
from .tables import Named, Part, Rows, Table


def json_schema() -> dict[str, Any]:
    """Return the schema of a whole job file."""
    return _table(JOB)


def _table(table: Table) -> dict[str, Any]:
    schema = {
        "type": "object",
        "description": table.words,
        "properties": {name: _part(part) for name, part in table.parts.items()},
        "additionalProperties": False,
    }
    return {**schema, "required": list(table.needs)} if table.needs else schema


def _part(part: Part) -> dict[str, Any]:
    if isinstance(part, Kind):
        return {"description": part.words, **part.shape()}
    if isinstance(part, Table):
        return _table(part)
    if isinstance(part, Rows):
        return {"type": "array", "items": _table(part.table)}
    if isinstance(part, Named):
        return {"type": "object", "additionalProperties": _part(part.part)}
    return {"anyOf": [_table(part.table), _part(part.other)]}
