"""The tables below the valve gear: names that tables have are no cylinder's, and a stack then is the stack now."""

from __future__ import annotations

import pytest
from tallstack.cli.job.entries.engine_tables import CYLINDER, MATERIALS, RUNNING, STACK, THEN_STACK, TOP
from tallstack.cli.job.entries.fields import Choice, Name
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.reading.values import ValueFault
from tallstack.geometry.engine.defaults import HEATED
from tallstack.geometry.engine.materials import MATERIALS as STUFF


def test_a_cylinder_cannot_be_called_as_a_table_is() -> None:
    assert set(TOP) == set(JOB.parts)
    name = CYLINDER.parts["name"]
    assert isinstance(name, Name)
    for one in TOP:
        with pytest.raises(ValueFault, match="name of a table"):
            name.parse(one, "mm")


def test_a_stack_then_is_made_of_entries_of_the_stack_now() -> None:
    for name, part in THEN_STACK.parts.items():
        assert type(part) is type(STACK.parts[name]), name


def test_every_part_that_is_heated_has_its_temperature_and_its_stuff() -> None:
    assert {f"hot_{one}" for one in HEATED} <= set(RUNNING.parts)
    of_stuff = [part for part in MATERIALS.parts.values() if isinstance(part, Choice)]
    assert len(of_stuff) >= 4
    for part in of_stuff:
        assert set(part.options) <= set(STUFF)
