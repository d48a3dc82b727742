"""What is measured within a process of its own: `python -m tests.benchmarks.probes NAME WORD ...` prints it as JSON."""

from __future__ import annotations

import json
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

LIFTS = (1.0, 1.5, 2.0, 2.5, 3.0)  # mm, at which each valve gear's pose is found by roots


def risk(job: str, builds: str, names: str = "") -> dict[str, float]:
    """Return the processor seconds of so many builds, of one more of them, and how many answers; names : of those alone."""
    from tallstack.cli.commands.risk import every_answer
    from tallstack.cli.job.loading import load
    from tallstack.geometry.sure.risk import Run

    read = load(Path(job)).settled
    kinds, *_ = every_answer(read)
    asked = [one for _, kind in kinds for one in kind if not names or one.bare.name in names.split(",")]
    run = Run(read.mapping, read.quantities, read.doubts, asked, int(builds), 1)
    marks, started = [(0, 0.0)], time.process_time()
    for number, count in run.blocks():
        run.take(count, run.block(number, count))
        marks.append((marks[-1][0] + count, time.process_time() - started))
    (first, begun), (last, ended) = marks[-2 if len(marks) == 2 else 1], marks[-1]
    return {
        "answers": len(asked),
        "whole": ended,
        "a build": (ended - begun) / (last - first),
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3,
    }


def roots(job: str) -> float:
    """Return the seconds of pushrods and poses of four valve gears by root finding."""
    from tallstack.cli.job.loading import load

    from ..oracles import raw_loop

    mapping = load(Path(job)).mapping
    started = time.process_time()
    for train in ("front.intake", "front.exhaust", "rear.intake", "rear.exhaust"):
        length = raw_loop.length(mapping, train)
        raw_loop.motion(mapping, train, LIFTS, length, down=1.1)
    return time.process_time() - started


def batches(few: str, many: str) -> dict[str, tuple[float, float]]:
    """Return what a pose costs in a small batch and in a large one, see `batches`."""
    from .batches import prices

    return prices(int(few), int(many))


def valves(job: str) -> str:
    """Return the valves of a job as the program in C reads them."""
    from .valves_told import valves_told

    return valves_told(Path(job)).numbers


def machine() -> str:
    """Return on what it is measured."""
    from .machine import header

    return header()


def heads() -> dict[str, tuple[float, float]]:
    """Return what a pose costs by a collision library and by tallstack, see `heads`."""
    from .heads import prices

    return prices()


PROBES: dict[str, Callable[..., Any]] = {
    one.__name__: one for one in (risk, roots, batches, valves, machine, heads)
}

if __name__ == "__main__":
    print(json.dumps(PROBES[sys.argv[1]](*sys.argv[2:])))
