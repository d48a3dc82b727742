"""How many builds of a twin with four valves a second draws, in a fresh process on one core, and against root finding.

Figures, measured on two cores with CPython 3.11:

- builds of a twin with four valves in a fresh process on one core, full coordinates, 41 entries in doubt: 5,200
  and 1,100 times as many as root finding; 330 and 70 thousand a second; limit: 4,000 and 800 times
- `tallstack risk` on the demo, 10,000 builds; a million: 0.75 s; 4.7 s in 76 MB; limit: none; 500 MB
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from ..commands import COORDINATES

CAM = """
[lobe.intake]
law = { name = "4-5-6-7", peak = "8.0 +/- 0.05", degrees = 300 }
centreline = "106 +/- 1"
[lobe.exhaust]
law = { name = "4-5-6-7", peak = "8.0 +/- 0.05", degrees = 300 }
centreline = "110 +/- 1"
"""
POCKET = """[train.pocket]
centre = ["{x} +/- 0.1", "0 +/- 0.1"]
lean = ["{lean} +/- 0.5", "0 +/- 0.5"]
diameter = "{across} +/- 0.1"
depth = "4.0 +/- 0.1"
"""
SCRIPT = """
import json, sys, time
from pathlib import Path
import numpy as np
from tallstack.cli.commands.risk import _of_clearances
from tallstack.cli.job.loading import load
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.sure.risk import Needed, Run
from tallstack.geometry.sure.risk_clearance import Assembled

job = load(Path(sys.argv[1])).tabled
found = clearances(job.mapping, job.tables, job.quantities, job.doubts)
asked = [one for one, _ in _of_clearances(job, found, Needed({}, {}, Assembled()), Assembled()) if one.bare.name in ("drop", "gap")]
assert len(asked) == 4
builds = int(sys.argv[2])
run = Run(job.mapping, job.quantities, job.doubts, asked, builds, 1)
run.most = [builds for _ in asked]
started = time.perf_counter()
for number, count in run.blocks():
    run.take(count, run.block(number, count))
taken = time.perf_counter() - started
print(json.dumps(taken))
"""
ROOTS = """
import json, sys, time
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from tallstack.cli.job.loading import load
from tests.oracles import raw_loop

mapping = load(Path(sys.argv[1])).mapping
trains = ("front.intake", "front.exhaust", "rear.intake", "rear.exhaust")
started = time.perf_counter()
for train in trains:
    length = raw_loop.length(mapping, train)
    raw_loop.motion(mapping, train, [1.0, 1.5, 2.0, 2.5, 3.0], length, down=1.1)
print(json.dumps(time.perf_counter() - started))
"""


def twin(folder: Path, pockets: bool) -> Path:
    """Return the twin by coordinates with a cam, and pockets under its valves or none."""
    text = COORDINATES.read_text(encoding="utf-8")
    if pockets:
        parts = text.split("[train.pushrod]\n")
        assert len(parts) == 3
        first, second = POCKET.format(x=-22.5, lean=-22, across=53), POCKET.format(x=22.0, lean=21, across=47)
        text = "[train.pushrod]\n".join([parts[0] + first, parts[1] + second, parts[2]])
        text = text.replace('case_deck = "138.20', 'case_deck = "132.50')  # the valves stand in their pockets
    path = folder / "job.toml"
    path.write_text(text.replace("[[cylinder]]", f"{CAM}\n[[cylinder]]", 1), encoding="utf-8")
    return path


def fresh(script: str, *words: str | Path) -> float:
    """Return the seconds that a script prints, run in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", script, *map(str, words)], check=True, capture_output=True, text=True
    )
    taken: float = json.loads(done.stdout)
    return taken


@pytest.mark.benchmark
@pytest.mark.parametrize(("pockets", "builds", "least"), [(False, 200_000, 4_000), (True, 50_000, 800)])
def test_builds_for_each_that_root_finding_does(
    tmp_path: Path, pockets: bool, builds: int, least: int
) -> None:
    """Five poses of each of four valves by root finding take as long as so many builds drawn; the best of three."""
    job = twin(tmp_path, pockets)
    seconds = min(fresh(SCRIPT, job, builds) for _ in range(3))
    of_one = min(fresh(ROOTS, job, Path(__file__).parents[2]) for _ in range(3))
    ratio = builds / seconds * of_one
    print(
        f"\n{'pockets' if pockets else 'plane'}: {builds / seconds:,.0f} builds a second, {ratio:,.0f} times root finding"
    )
    assert ratio >= least
