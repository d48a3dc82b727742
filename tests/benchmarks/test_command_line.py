"""The whole process of a command on a twin by the bench route against a typer command that only imports numpy.

Figures, measured on two cores with CPython 3.11:

- `tallstack pushrods` on a twin by the bench route against a typer command that imports numpy, processor time: 1.33; limit: 1.5
- `tallstack clearance` on it, the same: 1.58; limit: 1.85
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

JOB = Path(__file__).parents[1] / "twin.toml"
PLAIN = """
import typer
app = typer.Typer()
@app.command()
def main() -> None:
    import numpy
    print(numpy.pi)
app()
"""
PAIRS = 15
MOST = {
    "pushrods": 1.5,
    "clearance": 1.85,
}  # its lobes come from cards, whose shapes are looked at too


def cpu_seconds(*words: str) -> float:
    """Return the processor time of one process, user and system."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


@pytest.mark.benchmark
@pytest.mark.parametrize("command", MOST)
def test_a_command_takes_little_more_than_importing_numpy(tmp_path: Path, command: str) -> None:
    plain = tmp_path / "plain.py"
    plain.write_text(PLAIN, encoding="utf-8")
    ours = ("-m", "tallstack.cli", command, str(JOB))
    cpu_seconds(str(plain))
    cpu_seconds(*ours)
    started = time.perf_counter()
    pairs = [(cpu_seconds(*ours), cpu_seconds(str(plain))) for _ in range(PAIRS)]
    least = min(one for one, _ in pairs) / min(other for _, other in pairs)  # what else runs only ever adds
    middle = statistics.median(one / other for one, other in pairs)
    print(
        f"\n{command}: ratio of processor time, least of {PAIRS} each: {least:.2f}, median of pairs {middle:.2f}, "
        f"in {time.perf_counter() - started:.1f} s"
    )
    assert min(least, middle) <= MOST[command]
