"""`tallstack schema`: what it takes and what it refuses."""

from __future__ import annotations

import tomllib

import jsonschema

from ...commands import BENCH, COORDINATES, tallstack


def test_the_schema_takes_good_jobs_and_refuses_a_misspelling() -> None:
    schema = tallstack("schema").json
    jsonschema.Draft202012Validator.check_schema(schema)
    checker = jsonschema.Draft202012Validator(schema)
    for job in (BENCH, COORDINATES):
        document = tomllib.loads(job.read_text(encoding="utf-8"))
        assert not list(checker.iter_errors(document))
        document["stack"]["cilinder"] = 3
        assert list(checker.iter_errors(document))
