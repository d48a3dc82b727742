"""How many builds of a twin with four valves a second draws, in a fresh process on one core, and against root finding.

What it is now, and against the same in C: the page of `figures`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from .jobs import twin
from .of_poses import LEAST
from .timing import probe

TIMES = 3


@pytest.mark.benchmark
@pytest.mark.parametrize(("pockets", "builds", "least"), [(False, 200_000, 3_000), (True, 50_000, 800)])
def test_builds_for_each_that_root_finding_does(
    tmp_path: Path, pockets: bool, builds: int, least: int
) -> None:
    """Five poses of each of four valves by root finding take as long as so many builds drawn, the best of some."""
    job = twin(tmp_path, pockets)
    turns = [(probe("risk", job, builds, LEAST), probe("roots", job)) for _ in range(TIMES)]
    assert {drawn["answers"] for drawn, _ in turns} == {4}
    seconds, of_one = min(drawn["whole"] for drawn, _ in turns), min(roots for _, roots in turns)
    ratio = builds / seconds * of_one
    kind = "pockets" if pockets else "plane"
    print(f"\n{kind}: {builds / seconds:,.0f} builds a second, {ratio:,.0f} times root finding")
    assert ratio >= least
