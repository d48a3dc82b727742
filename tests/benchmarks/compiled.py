"""The same closed forms in C: the builds of an engine by a program written for nothing else, where there is a compiler."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

SOURCE = Path(__file__).with_name("peer.c")
COMPILER = "cc"
OPTIONS = ("-O3", "-march=native")
NO_COMPILER = f"not measured: this machine has no C compiler, {COMPILER}"


class Compiled(NamedTuple):
    """What the program in C found."""

    least: list[float]  # mm, the least drop of each valve of the engine as it is entered
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
    """Return what it finds of so many builds; numbers : as `valves_told` tells them."""
    done = subprocess.run([program, str(builds)], input=numbers, check=True, capture_output=True, text=True)
    found = json.loads(done.stdout)
    return Compiled(found["least"], found["seconds"])
