"""How long one thing takes against another: processor time of a function or of a whole process, the best of several turns.

What else the machine does only ever adds, so that the least counts; what is compared takes turns, so that a slow minute
falls on both.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[2]
PLAIN = """
from pathlib import Path
import typer
app = typer.Typer()
@app.command()
def main(file: Path) -> None:
    import numpy
    print(numpy.pi)
app()
"""  # the typer command that imports numpy, which takes a path, as most do
AS_STARTED = {
    name: one
    for name, one in os.environ.items()
    if name not in ("PYTHONDONTWRITEBYTECODE", "OPENBLAS_NUM_THREADS")
}
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
LONG_ENOUGH_S = 0.02  # that a function is repeated for, between two looks at the clock


class Used(NamedTuple):
    """What one process used."""

    seconds: float  # of the processor, user and system
    memory: float  # MB, the most it held at once
    out: str = ""  # what it printed


class Ended(RuntimeError):
    """A process that ended as it should not have.

    status : with which it ended
    """

    def __init__(self, status: int, said: str) -> None:
        super().__init__(said)
        self.status = status


def process(*words: str | Path, env: Mapping[str, str] = AS_STARTED, fine: Sequence[int] = (0, 1)) -> Used:
    """Run Python with some words, as a person starts it.

    fine : the statuses with which it may end; 1 of a command that answered: a limit is missed
    """
    with subprocess.Popen(
        [sys.executable, *map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env, text=True
    ) as started:
        assert started.stdout is not None
        assert started.stderr is not None
        printed, wrong = started.stdout.read(), started.stderr.read()
        _, status, used = os.wait4(started.pid, 0)
        started.returncode = os.waitstatus_to_exitcode(status)
    if started.returncode not in fine or not printed:
        raise Ended(started.returncode, wrong)
    unit = 1e6 if sys.platform == "darwin" else 1e3  # bytes there, kilobytes elsewhere
    return Used(used.ru_utime + used.ru_stime, used.ru_maxrss / unit, printed)


def probe(
    name: str,
    *words: str | Path | int,
    env: Mapping[str, str] = AS_STARTED,
    threads: Mapping[str, str] = ONE_THREAD,
) -> Any:
    """Return what one of `probes` found in a process of its own, on one core where no other threads are asked for."""
    paths = os.pathsep.join(filter(None, [env.get("PYTHONPATH"), str(ROOT)]))
    asked = {**env, **threads, "PYTHONPATH": paths}
    return json.loads(
        process("-m", "tests.benchmarks.probes", name, *map(str, words), env=asked, fine=(0,)).out
    )


def plain_command(folder: Path) -> Path:
    """Write the typer command that imports numpy, and return where."""
    path = folder / "plain.py"
    path.write_text(PLAIN, encoding="utf-8")
    return path


def in_turns(asked: Sequence[Callable[[], Used]], times: int) -> list[list[Used]]:
    """Return what each of several things took, taking turns so many times."""
    rounds = [[one() for one in asked] for _ in range(times)]
    return [list(one) for one in zip(*rounds, strict=True)]


def least(each: Sequence[Used]) -> Used:
    """Return the one that took the fewest seconds."""
    return min(each, key=lambda one: one.seconds)


def seconds_of(asked: Callable[[], object], times: int) -> float:
    """Return the processor time of one call, the least of so many looks at some of them."""
    asked()
    calls, found = 1, list[float]()
    while len(found) < times:
        started = time.process_time()
        for _ in range(calls):
            asked()
        taken = time.process_time() - started
        if not found and taken < LONG_ENOUGH_S:
            calls = max(2 * calls, int(calls * LONG_ENOUGH_S / max(taken, 1e-6)))
        else:
            found.append(taken / calls)
    return min(found)
