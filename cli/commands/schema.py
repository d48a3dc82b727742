"""`tallstack schema`: the JSON Schema of the job file."""

from __future__ import annotations

from ..job.entries.schema import json_schema
from ..page.answer import Answer


def answer() -> Answer:
    """Return the schema, for editor completion with a first line `#:schema FILE`."""
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "tallstack job file",
        **json_schema(),
    }
    return Answer("", schema)
