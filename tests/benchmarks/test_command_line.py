"""The whole process of a command on the demo, and on a twin by the bench route, against a typer command that imports numpy.

Every process runs as a person starts it: its modules compiled before, and nothing in the environment that says how many
threads multiply. The least of each is compared, and the median of pairs. What they take now: the page of `figures`.
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path

import pytest

from ..commands import DEMO, TWIN
from .of_commands import COMMAND
from .timing import in_turns, least, plain_command, process

PAIRS = 15
MOST = {
    ("pushrods", DEMO): 1.0,
    ("pushrods", TWIN): 0.9,
    ("clearance", TWIN): 1.05,  # its lobes come from cards, whose shapes are looked at too
    ("clearance", DEMO): 1.5,  # its readings move entries, and its first valve is to be mended
}


@pytest.mark.benchmark
@pytest.mark.parametrize(("command", "job"), MOST, ids=lambda one: getattr(one, "stem", one))
def test_a_command_takes_little_more_than_importing_numpy(tmp_path: Path, command: str, job: Path) -> None:
    plain = plain_command(tmp_path)
    turns = [lambda: process(*COMMAND, command, job), lambda: process(plain, job)]
    in_turns(turns, 1)
    started = time.perf_counter()
    ours, theirs = in_turns(turns, PAIRS)
    found = least(ours).seconds / least(theirs).seconds
    middle = statistics.median(one.seconds / other.seconds for one, other in zip(ours, theirs, strict=True))
    print(
        f"\n{command} {job.parent.name}/{job.name}: ratio of processor time, least of {PAIRS} each: {found:.2f}, "
        f"median of pairs {middle:.2f}, in {time.perf_counter() - started:.1f} s"
    )
    assert min(found, middle) <= MOST[command, job]
