"""What the worked examples gave when it was last looked at: regression values, not expected ones.

They prove nothing but that a number has moved; what a number should be is tested elsewhere. After a change that is meant
to move some, `python -m tests.regression` writes them anew: read the difference, and say in the commit why they moved.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from tests.commands import EXAMPLES, tallstack

HERE = Path(__file__).parent
BLANK = HERE / "blank.toml"  # every entry with its meaning and the range in which most engines lie
DEMO = Path(__file__).parents[2] / "cli" / "demo" / "twin.toml"
JOBS = {"demo": DEMO, **{one.parent.name: one for one in sorted(EXAMPLES.glob("*/job.toml"))}}
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("check",),
    ("pushrods",),
    ("clearance", "--timing", "2"),
    ("fits",),
    ("risk", "--draws", "300"),
)


def numbers(job: Path) -> Iterator[tuple[str, float]]:
    """Yield every number of every answer to a job, each with its place; nothing where there is no answer."""
    for first, *rest in COMMANDS:
        ended = tallstack(first, job, *rest, "--json")
        if ended.status != 2:
            yield from _inside(ended.json, first)


def _inside(found: object, place: str) -> Iterator[tuple[str, float]]:
    if isinstance(found, dict):
        for key, value in found.items():
            yield from _inside(value, f"{place}.{key}")
    elif isinstance(found, list):
        for index, value in enumerate(found):
            yield from _inside(value, f"{place}.{index}")
    elif isinstance(found, (int, float)) and not isinstance(found, bool):
        yield place, float(found)


def written(job: Path) -> str:
    """Return a job's regression values as a file holds them: a line for each command, numbers alone."""
    rows: dict[str, list[str]] = {}
    for place, value in numbers(job):
        rows.setdefault(place.partition(".")[0], []).append(f"{value:.9g}")
    return "".join(f"{command} {' '.join(values)}\n" for command, values in rows.items())
