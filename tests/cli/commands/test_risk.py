"""`tallstack risk`: one answer by any number of processes, what it may be asked for, and what a run broken off says."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tallstack.cli.commands import risk as command
from tallstack.cli.job.loading import load
from tallstack.geometry.sure.risk import BLOCK, Run

from ...commands import EXAMPLES, TWIN, tallstack
from ...seeded import few


def test_a_seed_gives_one_answer_by_any_number_of_processes() -> None:
    several = str(BLOCK + 500)
    first = tallstack("risk", TWIN, "--draws", several, "--json").json
    assert first == tallstack("risk", TWIN, "--draws", several, "--cores", "2", "--json").json
    few, other = (
        tallstack("risk", TWIN, "--draws", "200", "--seed", seed, "--json").json for seed in ("1", "7")
    )
    assert other["seed"] == 7
    assert [one["mean_mm"] for one in few["answers"] if "mean_mm" in one] != [
        one["mean_mm"] for one in other["answers"] if "mean_mm" in one
    ]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--draws", "1000000000"), "--draws 1000000000: a whole number from 100 to 1000000"),
        (("--draws", "0"), "--draws 0: a whole number from 100 to 1000000"),
        (("--seed", "-1"), "--seed -1: a whole number from 0 to"),
        (("--cores", "0"), "--cores 0: a whole number from 1 to"),
    ],
)
def test_what_is_asked_for_has_bounds(words: tuple[str, str], told: str) -> None:
    ended = tallstack("risk", TWIN, *words)
    assert ended.status == 2
    assert told in ended.out + ended.err


@pytest.mark.wide
def test_an_interrupted_run_says_what_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = Run.block

    def stopped(self: Run, number: int, builds: int) -> Any:
        if number == 1:
            raise KeyboardInterrupt
        return whole(self, number, builds)

    monkeypatch.setattr(Run, "block", stopped)
    answer = command.answer(load(TWIN), 30_000, 1)
    assert answer.status == 130
    assert "10,000 builds drawn, STOPPED before 30,000 were" in answer.text
    assert answer.document["draws"] == 10_000
    assert answer.document["draws_wanted"] == 30_000
    # Its cams are known by cards: a build with a lobe of its own takes the whole search, and a tenth of them is looked at.
    assert {(one["kind"], one["draws"]) for one in answer.document["answers"]} == {
        ("pushrods", 10_000),
        ("clearances", 3_000),
        ("fits", 10_000),
    }


@pytest.mark.parametrize(
    "path", few(sorted(EXAMPLES.glob("*/job.toml")), 3), ids=lambda path: path.parent.name
)
def test_every_line_fits_the_page_and_every_number_is_one(path: Path) -> None:
    answer = command.answer(load(path), 200, 1)
    if answer.status == 2:
        pytest.skip("nothing to work out in it alone")
    assert all(len(line) <= 80 for line in answer.text.splitlines())
    assert "nan" not in answer.text.lower()
    assert "inf" not in answer.text.lower().replace("info", "")
    assert answer.document["command"] == "risk"
    assert answer.document["answers"]
