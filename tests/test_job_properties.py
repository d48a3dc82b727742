"""What must hold of every job file: one engine in either unit, entry by entry, and `mirror` as x reversed by hand.

Each job is a twin drawn at random (`random_jobs`), hydraulic or solid, its gears by coordinates and half of them by
a measured pushrod too, most entries with doubts. In the plain run, and in the study, `-m study`:

    either unit: every entry, doubt and length      15 jobs    300
    mirror = true against x reversed by hand        20         200

What holds of clearances, fits and JSON is told of whole jobs: `each_against_each`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.loading import load

from .commands import tallstack
from .random_engines import mirrored
from .random_jobs import drawn_job, job_text

LAST_DIGIT = 2e-6  # of JSON, where a value may fall to either side of a rounding
FLAT_DEG = (
    0.05  # a place on a curve's flat bottom is known no better, nor what follows from it than to so much
)
OF_PLACE = 1e-3
BY_UNIT = ("typed", "remedies")  # as it stands in the file; in steps of the job's unit


def seeds(plain: int, study: int) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return a decorator: as many seeds in the plain run, and as many in a study."""
    larger = pytest.param(range(plain, study), marks=pytest.mark.study, id="study")
    return pytest.mark.parametrize("drawn", [pytest.param(range(plain), id="plain"), larger])


def written(folder: Path, seed: int) -> list[Path]:
    """Write one drawn job in millimetres and in inches, some lengths in the other unit."""
    rng = np.random.default_rng([seed, 8])
    job, paths = drawn_job(rng), [folder / f"{units}.toml" for units in ("mm", "in")]
    for path in paths:
        path.write_text(job_text(job, path.stem, rng, 0.3), encoding="utf-8")
    return paths


def answered(command: str, path: Path, units: str = "") -> Any:
    more = ["one.intake"] if command == "explain" else []
    ended = tallstack(command, path, *more, "--json")
    assert ended.status in (0, 1), (command, units, ended.err)
    return ended.json


def unlike(one: Any, other: Any, path: str = "") -> Iterator[str]:
    """Yield where two documents differ, but for what the unit of the file decides."""
    if isinstance(one, dict) and isinstance(other, dict):
        if one.keys() != other.keys():
            yield f"{path}: {set(one) ^ set(other)}"
            return
        for key in one.keys() - set(BY_UNIT):
            yield from unlike(one[key], other[key], f"{path}.{key}")
    elif isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other):
            yield f"{path}: {len(one)} and {len(other)}"
            return
        for index, pair in enumerate(zip(_in_order(one, path), _in_order(other, path), strict=True)):
            yield from unlike(*pair, f"{path}[{index}]")
    elif isinstance(one, float) and isinstance(other, float):
        within = FLAT_DEG if path.endswith("_deg") else LAST_DIGIT
        within += OF_PLACE * abs(one) if "doubt" in path else 0.0
        if abs(one - other) > within:
            yield f"{path}: {one} and {other}"
    elif one != other:
        yield f"{path}: {one} and {other}"


def _in_order(rows: list[Any], path: str) -> list[Any]:
    """Return what moves an answer by name: entries that move it alike stand in either order."""
    return sorted(rows, key=lambda row: str(row["entry"])) if path.endswith("moves") else rows


@pytest.mark.wide
@seeds(15, 300)
def test_one_engine_in_inches_and_in_millimetres(drawn: Sequence[int], tmp_path: Path) -> None:
    for seed in drawn:
        paths = written(tmp_path, seed)
        first, other = (load(path) for path in paths)
        assert first.units != other.units
        assert first.mapping.keys() == other.mapping.keys()
        for entry, value in first.mapping.items():
            close = isinstance(value, float)
            assert other.mapping[entry] == (pytest.approx(value, rel=1e-13, abs=1e-14) if close else value), (
                entry
            )
        assert first.doubts.keys() == other.doubts.keys()
        for entry, doubt in first.doubts.items():
            assert other.doubts[entry].standard == pytest.approx(doubt.standard, rel=1e-12), entry
        for command in ("pushrods", "explain"):
            assert list(unlike(*(answered(command, path) for path in paths))) == [], (seed, command)


@seeds(20, 200)
def test_mirror_in_a_job_is_x_reversed(drawn: Sequence[int], tmp_path: Path) -> None:
    like = '[[train]]\ncylinder = "two"\nport = "intake"\nlike = "one.intake"\nmirror = true\n'
    path = tmp_path / "job.toml"
    for seed in drawn:
        rng = np.random.default_rng([seed, 9])
        job = {entry: said for entry, said in drawn_job(rng).items() if ".measured_pushrod." not in entry}
        path.write_text(job_text(job, "mm", rng) + like, encoding="utf-8")
        mapping = load(path).mapping
        front = {entry: value for entry, value in mapping.items() if entry.startswith("one.intake.")}
        rear = {
            entry.replace("two.", "one.", 1): value
            for entry, value in mapping.items()
            if "two.intake." in entry
        }
        expected = {entry: np.asarray(value).item() for entry, value in mirrored(dict(front)).items()}
        assert rear == expected
        rows = {row["train"]: row for row in answered("pushrods", path)["pushrods"]}
        one, two = (
            {key: value for key, value in rows[f"{cylinder}.intake"].items() if key.endswith("_mm")}
            for cylinder in ("one", "two")
        )
        assert "centres_mm" in one
        assert list(unlike(one, two)) == []
