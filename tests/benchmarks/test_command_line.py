"""The whole process of a command on the demo, and on a twin by the bench route, against a typer command that imports numpy.

The typer command takes a path, as most do. Every process runs as a person starts it: its modules compiled before, and nothing
in the environment that says how many threads multiply. The least of each is compared, and the median of pairs.

Figures, measured on two cores with CPython 3.11 and typer 0.29:

- `tallstack pushrods` on the demo against a typer command that imports numpy, processor time: 0.80; limit: 1.0
- `tallstack pushrods` on a twin without checks by readings, the same: 0.64; limit: 0.9
- `tallstack clearance` on it, the same: 0.87; limit: 1.05
- `tallstack clearance` on the demo, whose readings move entries and whose first valve is to be mended: 1.25; limit: 1.5

With one thread to multiply for the typer command too, on idle cores: 1.02, 0.83, 1.12 and 1.60.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

from ..commands import DEMO, TWIN

PLAIN = """
from pathlib import Path
import typer
app = typer.Typer()
@app.command()
def main(file: Path) -> None:
    import numpy
    print(numpy.pi)
app()
"""
PAIRS = 15
MOST = {
    ("pushrods", DEMO): 1.0,
    ("pushrods", TWIN): 0.9,
    ("clearance", TWIN): 1.05,  # its lobes come from cards, whose shapes are looked at too
    ("clearance", DEMO): 1.5,
}
AS_STARTED = {
    name: one
    for name, one in os.environ.items()
    if name not in ("PYTHONDONTWRITEBYTECODE", "OPENBLAS_NUM_THREADS")
}


def cpu_seconds(*words: str) -> float:
    """Return the processor time of one process, user and system."""
    with subprocess.Popen(
        [sys.executable, *words], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=AS_STARTED
    ) as started:
        _, status, used = os.wait4(started.pid, 0)
        started.returncode = os.waitstatus_to_exitcode(status)
        assert started.stderr is not None
        assert started.returncode in (0, 1), started.stderr.read()  # 1: a limit is missed
    return used.ru_utime + used.ru_stime


@pytest.mark.benchmark
@pytest.mark.parametrize(("command", "job"), MOST, ids=lambda one: getattr(one, "stem", one))
def test_a_command_takes_little_more_than_importing_numpy(tmp_path: Path, command: str, job: Path) -> None:
    plain = tmp_path / "plain.py"
    plain.write_text(PLAIN, encoding="utf-8")
    ours, theirs = ("-m", "tallstack.cli", command, str(job)), (str(plain), str(job))
    cpu_seconds(*theirs)
    cpu_seconds(*ours)
    started = time.perf_counter()
    pairs = [(cpu_seconds(*ours), cpu_seconds(*theirs)) for _ in range(PAIRS)]
    least = min(one for one, _ in pairs) / min(other for _, other in pairs)  # what else runs only ever adds
    middle = statistics.median(one / other for one, other in pairs)
    print(
        f"\n{command} {job.parent.name}/{job.name}: ratio of processor time, least of {PAIRS} each: {least:.2f}, "
        f"median of pairs {middle:.2f}, in {time.perf_counter() - started:.1f} s"
    )
    assert min(least, middle) <= MOST[command, job]
