"""A table is judged when it is named, as the answers will read it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tallstack.cli.guide.tables_named import judged, kind_of
from tallstack.cli.job.job import Job
from tallstack.cli.job.loading import load

from ...commands import DEMO, EXAMPLES, tallstack


@pytest.fixture
def twin(tmp_path: Path) -> Job:
    for one in DEMO.parent.glob("*.*"):
        shutil.copy(one, tmp_path)
    return load(tmp_path / "twin.toml")


def test_a_lobe_says_what_tallstack_lobe_says_of_it(twin: Job) -> None:
    found = judged("intake.csv", "lobe.intake.table", twin)
    whole = tallstack("lobe", twin.path.parent / "intake.csv", "--json").json
    assert found.usable
    assert found.told[0].startswith("37 readings at the lifter; peak 0.327 in")
    assert any(
        "196 crank degrees at 0.0500 in" in one or "196 crank degrees at 0.050 in" in one
        for one in found.told
    )
    lines = [int(one.split()[1]) for one in found.suspicious if one.startswith("line ")]
    assert lines == [one["line"] for one in whole["suspicious"]]


def test_a_shelf_and_a_crown_say_how_much_they_hold(twin: Job) -> None:
    shelf = judged("shelf.csv", "shelf", twin)
    assert "kinds of pushrod" in shelf.told[0]
    assert " to " in shelf.told[1]
    (twin.path.parent / "crown.csv").write_text(
        "x,y,height\n" + "".join(f"{x},{y},{0.01 * x}\n" for x in (-1, 0, 1) for y in (-1, 0, 1)),
        encoding="utf-8",
    )
    crown = judged("crown.csv", "piston.crown_table", twin)
    assert crown.usable, crown
    assert crown.told[0] == "9 points"
    assert "the lowest -0.010 in" in crown.told[1]
    assert crown.suspicious == ()


@pytest.mark.parametrize(
    ("name", "entry", "told"),
    [
        ("no-such.csv", "shelf", "no-such.csv"),
        ("../outside.csv", "shelf", "outside the folder"),
        ("shelf.csv", "lobe.intake.table", "angle"),
        ("intake.csv", "piston.crown_table", "x"),
    ],
)
def test_what_cannot_be_used_says_why_and_nothing_else(twin: Job, name: str, entry: str, told: str) -> None:
    found = judged(name, entry, twin)
    assert not found.usable
    assert told in " ".join(found.faults)
    assert found.told == ()


def test_which_table_an_entry_names() -> None:
    assert kind_of("lobe.intake.table") == "lobe"
    assert kind_of("front.piston.crown_table") == kind_of("piston.crown_table") == "crown"
    assert kind_of("stack.cylinder") == ""
    assert EXAMPLES.is_dir()
