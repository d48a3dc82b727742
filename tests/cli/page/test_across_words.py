"""Which cylinder can go on, and which two cannot in either order."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load
from tallstack.cli.page.across_words import (
    AS_FAR_AS,
    AS_SOLID,
    HOLD,
    NO_SPIGOTS_RELIEF,
    THEN_THE_RING,
    across_rows,
    crossing_blocks,
    drop_rows,
    lowering_words,
    never_lowered,
    one_way,
    spigot_rows,
)
from tallstack.cli.page.text import text

from ...commands import EXAMPLES


@pytest.fixture(scope="module")
def job() -> Job:
    return load(EXAMPLES / "which_cylinder_first" / "job.toml")


def one(fitted: str, lowered: str, windows: tuple[int, ...], blocked: bool = False) -> Any:
    return SimpleNamespace(fitted=fitted, lowered=lowered, windows=windows, blocked=blocked)


def said_of(job: Job) -> str:
    return " ".join(text(crossing_blocks(job, job.fits.crossing)).split())


def test_one_way_is_enough_and_none_is_said() -> None:
    ways = [one("a", "b", ()), one("b", "a", (1,)), one("c", "d", ()), one("d", "c", ())]
    (told,) = never_lowered(SimpleNamespace(drop_on=ways))  # type: ignore[arg-type]
    assert told == "CANNOT BE ASSEMBLED: neither of c and d can be lowered past the other's piston"
    ways = [one("c", "d", (), True), one("d", "c", (), True)]
    (told,) = never_lowered(SimpleNamespace(drop_on=ways))  # type: ignore[arg-type]
    assert told == "CANNOT BE ASSEMBLED: neither of c and d can be lowered past the other's spigot"


def test_a_window_comes_with_its_cautions_and_is_that_of_json(job: Job) -> None:
    crossing = job.fits.crossing
    said = " ".join(text(crossing_blocks(job, crossing)).split())
    assert HOLD in said
    assert AS_FAR_AS not in said
    assert "its spigot passes that of front by 0.37 mm" in said
    for row in drop_rows(crossing):
        assert f"{row['fitted']} fitted, {row['lowered']} lowered" in said
        assert row["not_looked_at"] == []
        assert row["past_spigot_mm"] == pytest.approx(0.372, abs=5e-4)
    assert {(each["piston"], each["spigot"]) for each in across_rows(crossing)} == {
        ("front", "rear"),
        ("rear", "front"),
    }


def test_two_spigots_are_told_with_their_doubt(job: Job) -> None:
    said = said_of(job)
    where = "at 180 degrees around the bore of front and at 0 degrees around the bore of rear"
    assert f"spigot of front to the spigot of rear: 0.37 mm (0.015 in), {where}: TIGHT; +/- 0.37 mm" in said
    (row,) = spigot_rows(job.fits.crossing)
    assert row["spigots"] == ["front", "rear"]
    assert (row["looked_at"], row["meet"], row["verdict"]) == (True, False, "tight")
    assert row["gap_mm"] == pytest.approx(0.37202, abs=1e-5)
    assert row["reliefs"] is None
    assert one_way(job.fits.crossing) == [
        "FIT rear FIRST: front goes on past it, rear never goes on past front"
    ]
    assert AS_SOLID in said


@pytest.mark.wide
def test_a_skirt_with_an_arch_is_not_taken_as_solid(job: Job) -> None:
    arched = load(job.path, ["piston.arch_width=38 +/- 0.5 mm", "piston.arch_height=9 +/- 0.5 mm"])
    assert AS_SOLID not in said_of(arched)
    assert [each["skirt_taken_as_solid"] for each in across_rows(arched.fits.crossing)] == [False, False]


def test_spigots_that_meet_are_never_told_a_distance(job: Job) -> None:
    long = load(job.path, ["front.spigot.length=44 mm"])
    said = said_of(long)
    assert "spigot of front to the spigot of rear: they MEET, at " in said
    assert (
        "cut both, for 1.52 mm (0.060 in) between them: front: a relief at 180 degrees around the bore"
        in said
    )
    assert THEN_THE_RING in said
    assert "its spigot meets that of front on the way down, whatever the angle" in said
    (row,) = spigot_rows(long.fits.crossing)
    assert row["meet"]
    assert row["gap_mm"] is None
    assert set(row["reliefs"]) == {"front", "rear"}
    assert row["reliefs_for_mm"] == pytest.approx(1.524)
    for drop in drop_rows(long.fits.crossing):
        assert (drop["spigots_meet"], drop["past_spigot_mm"], drop["windows_deg"]) == (True, None, [])
    assert [one for one in lowering_words(long, long.fits.crossing) if "NEVER, the spigots meet" in one]


@pytest.mark.wide
def test_no_relief_is_told_where_it_would_reach_the_case_deck(job: Job) -> None:
    short = load(job.path, ["front.spigot.length=44 mm", "rear.spigot.length=100 mm"])
    assert NO_SPIGOTS_RELIEF not in said_of(short)
    close = load(job.path, ["front.spigot.length=8 mm", "rear.spigot.length=100 mm", "stack.case_deck=90 mm"])
    assert NO_SPIGOTS_RELIEF in said_of(close)


@pytest.mark.wide
def test_a_spigot_that_was_not_measured_is_said_not_to_be_looked_at(tmp_path: Path, job: Job) -> None:
    path = tmp_path / "job.toml"
    written = job.path.read_text(encoding="utf-8").replace(', outer_diameter = "104.0 +/- 0.1" }', " }", 1)
    path.write_text(written, encoding="utf-8")
    bare = load(path)
    said = said_of(bare)
    assert "spigot of front against spigot of rear: NOT LOOKED AT" in said
    assert spigot_rows(bare.fits.crossing) == [{"spigots": ["front", "rear"], "looked_at": False}]
    (row,) = drop_rows(bare.fits.crossing)
    assert row["not_looked_at"] == ["spigot to spigot"]
    assert row["past_spigot_mm"] is None
    assert any("NOT LOOKED AT" in one for one in one_way(bare.fits.crossing))


@pytest.mark.wide
def test_a_piston_that_meets_a_spigot_is_told_no_depth(job: Job) -> None:
    long = load(job.path, ["piston.skirt_below_pin=34 mm"])
    row = next(one for one in across_rows(long.fits.crossing) if one["spigot"] == "rear")
    assert (row["gap_mm"], row["verdict"]) == (0.0, "short")
    assert "piston of front to the spigot of rear: they meet, " in said_of(long)
