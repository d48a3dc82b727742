"""How the price of an answer grows: doubling what a job holds at most doubles it, and no limit of a file costs more than 5 s.

All in processor time of a fresh process. Doubled are draws, rows of a lobe's table, heights of
a crown's, readings, pushrods on a shelf, cylinders, and pairs of cylinders whose parts are held against each other.

Figures, measured on two cores with CPython 3.11:

- price of twice as many draws, rows of a lobe's table, heights of a crown, readings, pushrods on a shelf, cylinders, pairs
  of cylinders, the greatest of all: 2.2 times; limit: 2.3 times
- a file at its limit, the dearest, four cylinders whose spigots are held against each other: 4.2 s; limit: 5 s
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.reading.document import MOST_ROWS
from tallstack.cli.tables.crownfile import MOST_POINTS
from tallstack.cli.tables.shelf import MOST_RODS
from tallstack.cli.tables.tablefile import MOST_ROWS as MOST_LINES
from tallstack.geometry.fits.across import MOST_CYLINDERS

from ..commands import BENCH
from ..growth_jobs import cylinders, shelf, with_crown, with_lobes
from .timing import AS_STARTED

MOST_GROWTH = 2.3  # times as much for twice as much
MOST_S = 5.0  # at a limit, where `reference` takes REFERENCE_S
REFERENCE_S = 0.25
TIMES = 3
EVERY_CYLINDER, EVERY_READING = MOST_ROWS["cylinder"], MOST_ROWS["reading"]

SCRIPT = """
import io, json, sys, time
from contextlib import redirect_stderr, redirect_stdout
from tallstack.cli.app import main

found = []
for words in json.loads(sys.argv[1]):
    sys.argv = ["tallstack", *words]
    started = time.process_time()
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        try:
            main()
        except SystemExit as ended:
            assert ended.code in (None, 0, 1), (words, ended.code)  # 1: a limit is missed
    found.append(time.process_time() - started)
print(json.dumps(found))
"""

Asked = Callable[[Path, int], tuple[str | Path, ...]]


def written(folder: Path, text: str) -> Path:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def of_cylinders(command: str, spigots: bool = False) -> Asked:
    return lambda folder, count: (command, written(folder, cylinders(count, spigots)))


def of_readings(command: str) -> Asked:
    return lambda folder, count: (command, written(folder, cylinders(2, readings=count)))


def of_shelf(gears: int) -> Asked:
    return lambda folder, count: (
        "pushrods",
        written(folder, cylinders(gears)),
        "--shelf",
        shelf(folder, count),
    )


def of_draws(_: Path, count: int) -> tuple[str | Path, ...]:
    return ("risk", BENCH, "--draws", str(count))


def of_cylinders_drawn(folder: Path, count: int) -> tuple[str | Path, ...]:
    return (*of_cylinders("risk")(folder, count), "--draws", "1000")


def of_lobes(folder: Path, count: int) -> tuple[str | Path, ...]:
    return ("clearance", with_lobes(folder, count))


def of_crown(folder: Path, count: int) -> tuple[str | Path, ...]:
    return ("clearance", with_crown(folder, count))


def seconds(*commands: tuple[str | Path, ...]) -> list[float]:
    """Return the processor time of commands one after another in one fresh process."""
    every = json.dumps([[*map(str, one)] for one in commands])
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, every], check=True, capture_output=True, text=True, env=AS_STARTED
    )
    found: list[float] = json.loads(done.stdout)
    return found


def growth(less: tuple[str | Path, ...], more: tuple[str | Path, ...], times: int = TIMES) -> float:
    """Return how many times as long one command takes as another, the least of each; what they load is loaded before."""
    found = seconds(less, *(less, more) * times)[1:]
    low, high = min(found[::2]), min(found[1::2])
    print(f"\n{less[0]}: {low:.2f} s and {high:.2f} s, {high / low:.2f} times")
    return high / low


@cache
def slowness() -> float:
    """Return how many times as long as where MOST_S was set this processor takes for the same, at least once."""

    def reference() -> float:
        started = time.process_time()
        grid = np.linspace(0.1, 3.0, 5760).reshape(60, 96)
        for _ in range(1000):
            np.where(np.hypot(np.cos(grid), grid) < 1.0, grid, np.sqrt(grid)).min(axis=-1)
        return time.process_time() - started

    return max(1.0, min(reference() for _ in range(TIMES)) / REFERENCE_S)


@pytest.mark.benchmark
@pytest.mark.parametrize(
    ("asked", "count"),
    [
        pytest.param(of_draws, 40_000, id="draws"),
        pytest.param(of_lobes, 5_000, id="rows of a lobe's table"),
        pytest.param(of_crown, 400, id="heights of a crown"),
        pytest.param(of_readings("check"), 100, id="readings"),
        pytest.param(of_shelf(12), 250, id="pushrods on a shelf"),
        pytest.param(of_cylinders("check"), 6, id="cylinders, check"),
        pytest.param(of_cylinders("pushrods"), 6, id="cylinders, pushrods"),
        pytest.param(of_cylinders("clearance"), 6, id="cylinders, clearance"),
        pytest.param(of_cylinders("fits"), 6, id="cylinders, fits"),
        pytest.param(of_cylinders("measure"), 6, id="cylinders, measure"),
        pytest.param(of_cylinders_drawn, 4, id="cylinders, risk"),
    ],
)
def test_twice_as_much_takes_at_most_twice_as_long(tmp_path: Path, asked: Asked, count: int) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    for folder in (one, other):
        folder.mkdir()
    assert growth(asked(one, count), asked(other, 2 * count)) <= MOST_GROWTH


@pytest.mark.benchmark
def test_twice_as_many_pairs_take_at_most_twice_as_long(tmp_path: Path) -> None:
    """Three cylinders are six pairs, four are twelve."""
    three, four = tmp_path / "three", tmp_path / "four"
    for folder in (three, four):
        folder.mkdir()
    asked = of_cylinders("fits", spigots=True)
    assert growth(asked(three, 3), asked(four, 4), times=1) <= MOST_GROWTH


@pytest.mark.benchmark
@pytest.mark.parametrize(
    ("asked", "count"),
    [
        pytest.param(of_lobes, MOST_LINES - 1, id="rows of a lobe's table"),
        pytest.param(of_crown, MOST_POINTS, id="heights of a crown"),
        pytest.param(of_readings("check"), EVERY_READING, id="readings, check"),
        pytest.param(of_readings("measure"), EVERY_READING, id="readings, measure"),
        pytest.param(of_shelf(EVERY_CYLINDER), MOST_RODS, id="pushrods on a shelf"),
        pytest.param(of_cylinders("check"), EVERY_CYLINDER, id="cylinders, check"),
        pytest.param(of_cylinders("pushrods"), EVERY_CYLINDER, id="cylinders, pushrods"),
        pytest.param(of_cylinders("clearance"), EVERY_CYLINDER, id="cylinders, clearance"),
        pytest.param(of_cylinders("fits"), EVERY_CYLINDER, id="cylinders, fits"),
        pytest.param(of_cylinders("measure"), EVERY_CYLINDER, id="cylinders, measure"),
        pytest.param(of_cylinders("fits", spigots=True), MOST_CYLINDERS, id="cylinders against each other"),
    ],
)
def test_a_file_at_its_limit_is_answered_within_five_seconds(
    tmp_path: Path, asked: Asked, count: int
) -> None:
    words = asked(tmp_path, count)
    (taken,) = seconds(words)
    print(f"\n{words[0]}: {count:,}: {taken:.2f} s, at most {MOST_S * slowness():.2f} s here")
    assert taken <= MOST_S * slowness()
