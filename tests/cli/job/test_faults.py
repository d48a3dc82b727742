"""Every fault a job file can have ends in one clear message: file, line, column, entry, remedy.

`faults/NAME.toml` is the faulty file, byte for byte; `faults/NAME.txt` is the exact text that must
come out on standard error when the command is run in that folder.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from itertools import chain
from pathlib import Path

import pytest

from ...commands import FAULTS
from ...job_texts import refused
from ...seeded import few

CASES = sorted(path.stem for path in FAULTS.glob("*.toml"))
WITHOUT_LINE = {
    "table-of-numbers",
    "words-alone",
    "empty",
    "only-blank-lines",
    "only-comments",
    "utf-16",
    "utf-16-without-a-mark",
}
PLACED = re.compile(r"^[\w-]+\.toml:(\d+):(\d+): \S", re.MULTILINE)


@pytest.fixture
def among_faults(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FAULTS)


def listing() -> list[str]:
    return sorted(f"{folder}/{one}" for folder, *names in os.walk(".") for one in chain(*names))


def test_there_are_enough_faults() -> None:
    assert len(CASES) >= 265
    assert {path.stem for path in FAULTS.glob("*.txt")} == set(CASES)


@pytest.mark.usefixtures("among_faults")
@pytest.mark.parametrize("commands", few([("pushrods", "check --json"), ("check", "pushrods --json")], 1))
@pytest.mark.parametrize("name", CASES)
def test_fault_is_told_exactly(name: str, commands: tuple[str, ...]) -> None:
    expected = (FAULTS / f"{name}.txt").read_bytes().decode()
    before = listing()
    for command in (one.split() for one in commands):
        assert refused(command[0], f"{name}.toml", *command[1:]) == expected
    assert listing() == before
    if name not in WITHOUT_LINE:
        assert PLACED.match(expected)


@pytest.mark.parametrize("name", CASES)
def test_faults_come_in_the_order_of_the_file(name: str) -> None:
    told = (FAULTS / f"{name}.txt").read_text(encoding="utf-8")
    places = [(int(line), int(column)) for line, column in PLACED.findall(told)]
    assert places == sorted(places)
    assert len(set(re.findall(r"^[\w-]+\.toml.*", told, re.MULTILINE))) == told.count(f"{name}.toml")


@pytest.mark.parametrize("name", [case for case in CASES if case not in WITHOUT_LINE])
def test_mark_stands_under_the_column_that_is_named(name: str) -> None:
    told = (FAULTS / f"{name}.txt").read_text(encoding="utf-8").split("\n")
    source = (FAULTS / f"{name}.toml").read_bytes().decode("utf-8-sig", errors="replace").split("\n")
    for index, line in enumerate(told):
        place = PLACED.match(line)
        if place is None:
            continue
        row, column = int(place[1]), int(place[2])
        at = source[row - 1][column - 1 : column]
        mark = told[index + 2].index("^")
        shown = told[index + 1][mark : mark + 1]
        if at.isprintable() and at != "\ufffd":
            assert shown == at


@pytest.mark.parametrize("name", few(["many-at-once", "latin-1", "tabs", "no-quotes", "empty"], 2))
def test_fault_is_told_by_the_installed_command(name: str) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "tallstack.cli", "pushrods", f"{name}.toml"],
        cwd=FAULTS,
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        check=False,
    )
    assert ran.returncode == 2
    assert ran.stdout == b""
    assert ran.stderr.replace(b"\r\n", b"\n") == (FAULTS / f"{name}.txt").read_bytes()


# Faults of the file itself.


def test_no_more_slips_are_told_than_one_reads(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text("format = 1\n" + "[crank\n" * 100)
    assert refused("pushrods", path).count("job.toml") == 25


# Faults of what stands after --with.


# Output that is refused.


# Unusual but possible: told, not refused.
