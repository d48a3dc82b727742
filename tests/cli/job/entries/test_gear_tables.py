"""The tables of a valve gear: its conventions of length are the geometry's, and what ties it to a cylinder is there."""

from __future__ import annotations

from tallstack.cli.job.entries.fields import Choice
from tallstack.cli.job.entries.gear_tables import CONVENTIONS, TRAIN
from tallstack.cli.job.entries.tables import Table
from tallstack.geometry.core import lengths


def test_a_length_is_read_in_the_conventions_of_the_geometry() -> None:
    assert set(CONVENTIONS) == set(lengths.CONVENTIONS)
    rod = TRAIN.parts["measured_pushrod"]
    assert isinstance(rod, Table)
    convention = rod.parts["as"]
    assert isinstance(convention, Choice)
    assert convention.options == CONVENTIONS


def test_both_ends_of_a_pushrod_can_be_entered_alike() -> None:
    for table in ("pushrod", "measured_pushrod"):
        part = TRAIN.parts[table]
        assert isinstance(part, Table)
        low = {name.removesuffix("_low") for name in part.parts if name.endswith("_low")}
        high = {name.removesuffix("_high") for name in part.parts if name.endswith("_high")}
        assert low == high
        assert {"ball_diameter", "hole"} <= low


def test_what_ties_a_gear_to_its_cylinder_cannot_be_left_out() -> None:
    assert set(TRAIN.needs) == {"cylinder", "port"}
