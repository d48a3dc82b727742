"""Which cylinder can go on, and which two cannot in either order."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.cli.page.across_words import (
    AS_FAR_AS,
    HOLD,
    across_rows,
    crossing_blocks,
    drop_rows,
    never_lowered,
)
from tallstack.cli.page.text import text

from ...commands import EXAMPLES


@pytest.fixture(scope="module")
def job() -> Job:
    return load(EXAMPLES / "which_cylinder_first" / "job.toml")


def one(fitted: str, lowered: str, windows: tuple[int, ...]) -> Any:
    return SimpleNamespace(fitted=fitted, lowered=lowered, windows=windows)


def test_one_way_is_enough_and_none_is_said() -> None:
    ways = [one("a", "b", ()), one("b", "a", (1,)), one("c", "d", ()), one("d", "c", ())]
    (told,) = never_lowered(SimpleNamespace(drop_on=ways))  # type: ignore[arg-type]
    assert told.startswith("CANNOT BE ASSEMBLED: neither of c and d")


def test_a_window_comes_with_its_cautions_and_is_that_of_json(job: Job) -> None:
    crossing = job.fits.crossing
    said = " ".join(text(crossing_blocks(job, crossing)).split())
    assert HOLD in said
    assert AS_FAR_AS in said
    for row in drop_rows(crossing):
        assert f"{row['fitted']} fitted, {row['lowered']} lowered" in said
        assert row["not_looked_at"] == ["spigot to spigot"]
    assert {(each["piston"], each["spigot"]) for each in across_rows(crossing)} == {
        ("front", "rear"),
        ("rear", "front"),
    }
