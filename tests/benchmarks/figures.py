"""One page of figures, each a ratio within one run.

python -m tests.benchmarks.figures [OUT.md] [--against CHECKOUT] [--only TABLE ...]

This process itself loads no numpy, as a child's memory counts from its parent's.
With a checkout to hold it against, what is measured there in the same run, in turns, stands before what is measured here.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from .of_commands import Setting, examples, growth, starts
from .of_poses import batches, builds, heads
from .table import Table
from .timing import ROOT, probe
from .trees import trees

TIMES = 4
TABLES: dict[str, Callable[[Setting], Table]] = {
    "commands": starts,
    "builds": builds,
    "batches": batches,
    "heads": heads,
    "growth": growth,
    "examples": examples,
}


def page(tables: Sequence[Table], machine: str, taken: float) -> str:
    """Return the page; machine, taken : on what it was measured, and in how many seconds."""
    first = (
        "What tallstack costs, as ratios within one run: processor time, user and system, the best of several turns, in "
        "which all that is compared comes up one after the other; a whole command as a person starts it, all else on one core."
    )
    parts = [
        "# Figures",
        first,
        f"Measured in {taken / 60:.1f} minutes on: {machine}.",
        *(one.text() for one in tables),
    ]
    return "\n\n".join(parts) + "\n"


def measured(names: Sequence[str], against: Path | None, times: int = TIMES) -> str:
    """Return the page of some of the tables; against : the checkout that this one is held against."""
    started = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        setting = Setting(trees(ROOT, against, Path(folder)), Path(folder), times)
        tables = [TABLES[name](setting) for name in names]
    return page(tables, probe("machine", threads={}), time.monotonic() - started)


def main(words: Sequence[str] | None = None) -> None:
    """Print the page, or write it."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.figures", description=__doc__)
    parser.add_argument("out", nargs="?", type=Path, help="a file to write the page to; none: it is printed")
    parser.add_argument("--against", type=Path, metavar="CHECKOUT", help="another checkout of the project")
    parser.add_argument("--only", nargs="+", choices=list(TABLES), default=list(TABLES), help="these tables")
    asked = parser.parse_args(words)
    told = measured(asked.only, asked.against)
    if asked.out is None:
        print(told, end="")
    else:
        asked.out.write_text(told, encoding="utf-8")


if __name__ == "__main__":
    main()
