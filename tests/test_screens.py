"""Every command answers on one screen, hides nothing that stops the work, and says the rest with --full."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from .commands import DEMO, EXAMPLES, ON_ONE_SCREEN, screen, tallstack
from .seeded import few

SINGLE, TWIN = 24, 40  # lines of one screen
BAND = 3  # of them for what stops the work; what more there is to say of it is not cut
JOBS = [*sorted(EXAMPLES.glob("*/job.toml")), DEMO]
COMMANDS = ("overview", "pushrods", "clearance", "fits", "risk", "record")


def words(told: str) -> str:
    """Return what was printed on one line."""
    return " ".join(told.split())


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("path", few(JOBS, 2), ids=lambda path: path.parent.name)
def test_one_screen_holds_the_answer(command: str, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(path.parent)
    told = screen(command, path.name)
    if told.status == 2:
        return
    lines = told.out.splitlines()
    band = lines[: lines.index("") if "" in lines else BAND]
    cylinders = path.read_text(encoding="utf-8").count("[[cylinder]]")
    most = SINGLE if cylinders == 1 else TWIN
    assert len(lines) <= most + max(0, len(band) - BAND)
    assert all(len(line) <= 80 for line in lines)
    assert told.status == tallstack(command, path.name).status


@pytest.mark.parametrize("path", few(JOBS, 1), ids=lambda path: path.parent.name)
def test_the_whole_answer_says_all_that_one_screen_says_of_what_stops(path: Path) -> None:
    for command in COMMANDS:
        brief, whole = screen(command, path).out, words(tallstack(command, path).out)
        for band in re.findall(r"^(?:STOP|WATCH).*(?:\n .*)*", brief, re.MULTILINE):
            assert words(band) in whole, (command, band)


def test_every_command_that_answers_has_both(monkeypatch: pytest.MonkeyPatch) -> None:
    for command in ON_ONE_SCREEN:
        assert "--full" in screen(command, "--help").out
