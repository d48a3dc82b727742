"""The same closed forms in C: the builds of an engine by a program written for nothing else, where there is a compiler."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.law import Law
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates, over_valve
from tallstack.geometry.core.frames import Array
from tallstack.geometry.engine.engine import build
from tallstack.geometry.piston.cycle import least_drop
from tallstack.geometry.piston.over_piston import over_piston

SOURCE = Path(__file__).with_name("peer.c")
COMPILER = "cc"
OPTIONS = ("-O3", "-march=native")
NO_COMPILER = f"not measured: this machine has no C compiler, {COMPILER}"


class Compiled(NamedTuple):
    """What the program in C found."""

    least: tuple[float, ...]  # mm, the least drop of each valve of the engine as it is entered
    seconds: float  # of the processor, for one build of all its valves


def compiled(folder: Path) -> Path | None:
    """Build the program in a folder and return where it is; None where there is no compiler."""
    compiler = shutil.which(COMPILER)
    if compiler is None:
        return None
    program = folder / "peer"
    subprocess.run([compiler, *OPTIONS, "-o", program, SOURCE, "-lm"], check=True, capture_output=True)
    return program


def run(program: Path, numbers: str, builds: int) -> Compiled:
    """Return what it finds of so many builds; numbers : as `numbers` tells them."""
    done = subprocess.run([program, str(builds)], input=numbers, check=True, capture_output=True, text=True)
    found = json.loads(done.stdout)
    return Compiled(tuple(found["least"]), found["seconds"])


def numbers(job: Path) -> tuple[str, tuple[float, ...]]:
    """Return a job's valves as the program reads them, and the least drop of each by tallstack [mm]."""
    read = load(job).tabled
    lines, least = [], []
    for name in (one.name for one in build(read.mapping).trains):
        cylinder = name.rpartition(".")[0]
        over = over_piston(read.mapping, cylinder, read.tables.crowns)
        here = read.clearances.situations[cylinder].lifts[name]
        valve = over_valve(read.mapping, name, over, here)
        assert isinstance(valve, ByCoordinates)
        assert here.linkage is not None
        lowest = least_drop(valve.below, valve.valve)[0]
        placed, crank = here.lobe.placed, valve.below.crank
        law = placed.lobe.curve
        assert isinstance(law, Law)
        drawn, pockets = here.linkage.drawn, valve.below.crown.pockets
        parts: list[Array | float] = [crank.throw, crank.conrod_length, crank.aside(valve.below.forward)]
        parts += [law.height, law.half, placed.at, lowest.angle, *drawn, here.linkage.down]
        parts += [valve.head.centre, valve.head.stem, valve.head.radius, len(pockets)]
        parts += [part for one in pockets for part in one]
        lines.append(" ".join(_words(parts)))
        least.append(lowest.value)
    return "\n".join(lines), tuple(least)


def _words(parts: list[Array | float]) -> Iterator[str]:
    for part in parts:
        yield from (repr(float(one)) for one in np.ravel(part))
