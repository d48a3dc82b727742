"""`overview` hides nothing: what stops the work stands first, as on the sheet, and a status is no better than any command's."""

from __future__ import annotations

from pathlib import Path

import pytest
from tallstack.cli.commands import overview
from tallstack.cli.job.loading import load
from tallstack.cli.sheet import stops
from tallstack.cli.sheet.work import work

from ...commands import BENCH, DEMO, EXAMPLES, screen, tallstack
from ...seeded import few

LOWERING = EXAMPLES / "which_cylinder_first" / "job.toml"
CLOSE = EXAMPLES / "valves_too_close_to_each_other" / "job.toml"
HOT = EXAMPLES / "hot_lash_lost" / "job.toml"
OTHERS = ("pushrods", "clearance", "fits")


@pytest.mark.parametrize("path", few([HOT, CLOSE, LOWERING, DEMO], 1), ids=lambda path: path.parent.name)
def test_what_stops_the_work_stands_first_and_the_status_is_that_of_the_worst(path: Path) -> None:
    told = overview.answer(load(path))
    expected = stops.stops(work(load(path), None, 1000, is_drawn=False))
    assert told.document["stop"] == expected
    at_once = " ".join(told.text.split())
    places = [at_once.index(" ".join(one.split())) for one in expected]
    assert places == sorted(places)
    assert all(
        one < min(at_once.index(head) for head in ("ORDER,", "CLOSEST") if head in at_once) for one in places
    )
    others = [tallstack(command, path).status for command in OTHERS]
    assert told.status == (1 if expected or 1 in others else 0)


@pytest.mark.wide
def test_what_is_short_stands_above_what_is_met() -> None:
    found = screen("overview", CLOSE).out
    rows = found[found.index("CLOSEST") :].split("\n\n")[0].splitlines()[1:]
    short = ["SHORT" in one for one in rows if one.startswith("  ")]
    assert any(short)
    assert short == sorted(short, reverse=True)


@pytest.mark.parametrize("path", few([BENCH, DEMO], 1), ids=lambda path: path.parent.name)
def test_a_twin_stands_on_one_screen(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From its own folder: a long path takes a line more."""
    monkeypatch.chdir(path.parent)
    lines = screen("overview", path.name).out.splitlines()
    assert len(lines) <= 40
    assert all(len(line) <= 80 for line in lines)


def test_nothing_to_work_out_is_said(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('format = 1\nunits = "mm"\n', encoding="utf-8")
    told = tallstack("overview", job)
    assert told.status == 2
    assert "nothing that can be worked out yet" in told.out + told.err


def test_all_of_it_says_what_to_read_next() -> None:
    """The whole of what `risk` says to read, which one screen has in a line."""
    said = " ".join(tallstack("overview", HOT).out.split())
    next_ = " ".join(tallstack("risk", HOT, "--draws", "1000").out.split()).partition("WHAT TO MEASURE NEXT")[
        2
    ]
    first = next_.split(" 2. ")[0].strip()
    assert "1. pushrod, single exhaust, with a checking rod" in first
    assert first in said
