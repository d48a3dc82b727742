"""An entry left out, or a wider ±, makes no answer look better: no verdict, and no lower end of an interval.

Figures, measured on two cores with CPython 3.11:

- each entry of nine jobs left out, each ± doubled, `-m study`, over half an hour (the tenth of the study did not
  end in time): one find mended: lowering past a spigot that was not measured; one left: without the pin's offset
  a counterweight's room is 0.0003 mm more, and `fits` does not say that the pin was taken as central; limit:
  nothing better
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from .clearance_jobs import by_coordinates
from .commands import EXAMPLES, TWIN
from .flattery import better
from .random_jobs import drawn_job, job_text

WISHES = (
    "targets",
    "lifter.preload",
    "lifter.lash",
)  # what is asked for: without it another question is answered
NAMES = (
    "pushrods_from_the_shelf",
    "valves_too_close_to_each_other",
    "sheet_for_the_job_folder",
    "cam_known_from_36_readings",
    "pocket_to_be_cut_deeper",
    "hot_lash_lost",
    "which_cylinder_first",
)


def told(path: Path, only: slice = slice(None)) -> int:
    """Hold a job against what it says with less known of it; return how many ways were tried."""
    found, tried = better(path, only)
    flatters = [one for one in found if not any(wish in ".".join(map(str, one.loc)) for wish in WISHES)]
    assert not flatters, "\n".join(map(str, flatters[:5]))
    return tried


@pytest.mark.wide
def test_nothing_flatters_in_a_job_by_coordinates(tmp_path: Path) -> None:
    assert told(by_coordinates(tmp_path), slice(0, None, 26)) >= 4


def test_nothing_flatters_in_a_twin() -> None:
    assert told(TWIN, slice(3, None, 16)) >= 5


@pytest.mark.study
@pytest.mark.parametrize("name", NAMES)
def test_nothing_flatters_in_the_worked_examples(name: str) -> None:
    assert told(EXAMPLES / name / "job.toml") > 0


@pytest.mark.study
@pytest.mark.parametrize("seed", [None, 1, 2])
def test_nothing_flatters_in_full_jobs(seed: int | None, tmp_path: Path) -> None:
    path = by_coordinates(tmp_path)
    if seed is not None:
        rng = np.random.default_rng(seed)
        path.write_text(job_text(drawn_job(rng), "mm", rng), encoding="utf-8")
    assert told(path) > 50
