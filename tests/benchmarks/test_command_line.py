"""The whole process of a command on the demo against a typer command that only imports numpy."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

JOB = Path(__file__).parents[2] / "cli" / "demo" / "twin.toml"
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
MOST = {"pushrods": 1.4, "clearance": 1.6}


def cpu_seconds(*words: str) -> float:
    """Return the processor time of one process, user and system."""
    before = os.times()
    subprocess.run([sys.executable, *words], check=True, capture_output=True)
    after = os.times()
    return after.children_user - before.children_user + after.children_system - before.children_system


@pytest.mark.benchmark
@pytest.mark.parametrize("command", MOST)
def test_a_command_takes_little_more_than_importing_numpy(tmp_path: Path, command: str) -> None:
    plain = tmp_path / "plain.py"
    plain.write_text(PLAIN, encoding="utf-8")
    ours = ("-m", "tallstack.cli", command, str(JOB))
    cpu_seconds(str(plain))
    cpu_seconds(*ours)
    started = time.perf_counter()
    ratios = [cpu_seconds(*ours) / cpu_seconds(str(plain)) for _ in range(PAIRS)]
    middle = statistics.median(ratios)
    print(
        f"\n{command}: ratio of processor time, median of {PAIRS} pairs: {middle:.2f} "
        f"({min(ratios):.2f} to {max(ratios):.2f}) in {time.perf_counter() - started:.1f} s"
    )
    assert middle <= MOST[command]
