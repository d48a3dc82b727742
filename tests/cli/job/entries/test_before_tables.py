"""What stood before has the engine's own tables, and its parts in a person's word are read off entries that there are."""

from __future__ import annotations

import pytest
from tallstack.cli.job.entries.before_tables import BEFORE, PARTS
from tallstack.cli.job.entries.catalogue import meaning_at, steps, table_at
from tallstack.cli.job.entries.letters import letter_of
from tallstack.cli.job.entries.model import JOB, NOW
from tallstack.cli.job.entries.schema import json_schema


def test_its_tables_are_those_of_the_engine_not_copies_of_them() -> None:
    own = {name: part for name, part in BEFORE.parts.items() if name != "same"}
    assert all(part is JOB.parts[name] or type(part) is type(JOB.parts[name]) for name, part in own.items())
    assert meaning_at(("before", "stack", "cylinder")) is meaning_at(("stack", "cylinder"))
    assert "before" in JOB.parts
    assert "before" not in NOW.parts
    assert letter_of("before.stack.cylinder") == ""


@pytest.mark.parametrize("part", sorted(PARTS))
def test_a_part_in_a_word_is_read_off_entries_that_there_are(part: str) -> None:
    for entry in PARTS[part]:
        places = ((), ("train", 0), ("cylinder", 0))
        locs = [("before", *place, *steps(entry.split("."))) for place in places]
        known = [loc for loc in locs if meaning_at(loc) is not None or table_at(loc) is not None]
        assert known or entry == "points", entry
        assert not entry.endswith("_cut")


def test_an_editor_completes_it_too() -> None:
    properties = json_schema()["properties"]["before"]["properties"]
    assert properties["same"]["type"] == "array"
    assert "stroke" in properties["crank"]["properties"]
