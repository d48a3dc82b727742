"""The schema of the job file takes what the program takes and refuses what it refuses."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from tallstack.cli.job.entries.schema import json_schema
from tallstack.cli.job.faults import InputFaultsError

from ....commands import tallstack
from ....job_texts import BENCH, FULL, changed, job
from ....seeded import few


def test_a_pushrod_is_made_of_what_the_other_parts_are_made_of() -> None:
    schema = json_schema()["properties"]
    of_tube = schema["train"]["items"]["properties"]["pushrod"]["properties"]["material"]
    assert of_tube["enum"] == schema["materials"]["properties"]["pushrod"]["enum"]


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    found: dict[str, Any] = tallstack("schema").json
    jsonschema.Draft202012Validator.check_schema(found)
    return found


@pytest.fixture(scope="module")
def valid(schema: dict[str, Any]) -> Any:
    """Return what holds a document against the schema, which itself is held against its own once."""
    return jsonschema.Draft202012Validator(schema)


MORE = """
[lobe.intake]
card = { peak = 7.7, duration = { at = "1.0 mm", degrees = 241 }, seat = { at = "0.4 mm", degrees = 272 } }
measured_at = "lifter"
centreline = 106
[lobe.exhaust]
law = { name = "cycloidal", peak = 7.4, degrees = 276 }
[chamber]
volume = "81.0 cc"
[targets]
wall = "0.050 in"
"""


@pytest.mark.wide
@pytest.mark.parametrize("text", few([BENCH, FULL, FULL + MORE], 1), ids=["bench", "coordinates", "more"])
def test_schema_takes_what_the_program_takes(tmp_path: Path, valid: Any, text: str) -> None:
    job(tmp_path, text)
    valid.validate(tomllib.loads(text))


def test_schema_takes_the_blank_file(tmp_path: Path, valid: Any) -> None:
    path = tmp_path / "job.toml"
    assert tallstack("new", path, "--blank").status == 0
    valid.validate(tomllib.loads(path.read_text()))


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("plunger_travel", "plunger_travl"),
        ('kind = "hydraulic"', 'kind = "hydralic"'),
        ("[stack]", "[stak]"),
        ("format = 1", "format = 2"),
        ('port = "intake"', 'prt = "intake"'),
        ("lean = [1.5, -2.0]", "lean = [1.5, -2.0, 0]"),
    ],
)
def test_schema_refuses_what_the_program_refuses(tmp_path: Path, valid: Any, right: str, wrong: str) -> None:
    text = changed(BENCH, (right, wrong))
    with pytest.raises(InputFaultsError):
        job(tmp_path, text)
    with pytest.raises(jsonschema.ValidationError):
        valid.validate(tomllib.loads(text))


def test_schema_explains_every_entry(schema: dict[str, Any]) -> None:
    stroke = schema["properties"]["crank"]["properties"]["stroke"]
    one = {"type": ["number", "string"]}
    several = {"type": "array", "items": one, "minItems": 2}
    by_instrument = stroke["anyOf"][2]
    assert stroke == {"description": "stroke, twice the throw", "anyOf": [one, several, by_instrument]}
    assert by_instrument["required"] == ["read", "by"]
