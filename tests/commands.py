"""Runs the command line in this process and returns what it printed and ended with."""

from __future__ import annotations

import contextlib
import io
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tallstack.cli.app import main

TESTS = Path(__file__).parent
FAULTS = TESTS / "faults"
PUBLISHED = TESTS / "published"
DEMO = TESTS.parent / "cli" / "demo" / "twin.toml"
EXAMPLES = TESTS.parent / "worked_examples"
TWIN = TESTS / "twin.toml"  # by the bench route, its cam's card without a +/-
BENCH = EXAMPLES / "taller_twin_by_bench" / "job.toml"
FROM_READINGS = EXAMPLES / "cam_known_from_36_readings"
COORDINATES = EXAMPLES / "taller_twin_by_coordinates" / "job.toml"


@dataclass(frozen=True)
class Ended:
    """What one run of the command line left behind."""

    out: str
    err: str
    status: int

    @property
    def json(self) -> Any:
        """The JSON document on standard output."""
        return json.loads(self.out)


ON_ONE_SCREEN = ("overview", "pushrods", "clearance", "fits", "risk", "swap", "lobe", "record")


def tallstack(*words: str | Path) -> Ended:
    """Run the command line with these words; of a command that answers on one screen, the whole answer."""
    return screen(*words, *(("--full",) if words and words[0] in ON_ONE_SCREEN else ()))


def screen(*words: str | Path) -> Ended:
    """Run the command line with these words as they stand."""
    out, err = io.StringIO(), io.StringIO()
    before = sys.argv
    sys.argv = ["tallstack", *map(str, words)]
    status: object = 0
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main()
    except SystemExit as ended:
        status = ended.code
    finally:
        sys.argv = before
    return Ended(out.getvalue(), err.getvalue(), int(str(status or 0)))


SINGLE = """
format = 1
units = "mm"
[stack]
cylinder = "109.47 +/- 0.05"
[[cylinder]]
name = "single"
[[train]]
cylinder = "single"
port = "intake"
lifter = {{ kind = "hydraulic", preload = "{preload}", plunger_travel = "3.8 +/- 0.1" }}
[train.measured_pushrod]
length = "{length}"
as = "overall"
plunger = "top"
lean = "3 +/- 1"
stack = {{ cylinder = "105.41 +/- 0.05" }}
"""
