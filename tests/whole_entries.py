"""Which entries and words of the catalogue whole jobs say, and the seeds of jobs that say all of them together.

python -m tests.whole_entries          finds such seeds anew, after the catalogue or the generator changed, and writes them here
"""

from __future__ import annotations

import tempfile
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tallstack.cli.job.entries.fields import Choice, Kind, Several, Ways, YesNo
from tallstack.cli.job.entries.model import JOB
from tallstack.cli.job.entries.tables import Either, Named, Part, Rows
from tallstack.cli.job.entries.wanted import WANTED
from tallstack.cli.job.faults import InputFaultsError
from tallstack.cli.job.loading import load

from .whole_jobs import Said, whole_job, written

Entry = tuple[
    str, str
]  # its path, rows and names as # and NAME; a word that it takes, or another way to say it

CYLINDERS = 2
SEARCHED = 6000
SOME = 100  # entries that a job costs whatever it says
COVERING = """\
158 215 806 837 855 943 1474 1568 1809 1927 2040 2061 2197 2322 2333 2433 2494 2576 2617 2788 2899
3323 4082 4093 4217 4252 4379 4450 4548 4688 4871 5030 5047 5391 5549 5626 5647 5651 5692 5714 5757
"""


def every(part: Part, path: str = "") -> Iterator[Entry]:
    """Yield every entry of the catalogue, and every word that one takes."""
    if isinstance(part, Kind):
        yield path, ""
        words = part.options if isinstance(part, Choice) else ()
        words = (
            tuple(WANTED)
            if isinstance(part, Several)
            else ("true", "false")
            if isinstance(part, YesNo)
            else words
        )
        yield from ((path, word) for word in words)
        if getattr(part, "nothing", ""):
            yield path, str(part.nothing)  # type: ignore[attr-defined]
        for way in part.ways if isinstance(part, Ways) else ():
            words = way.kind.options if isinstance(way.kind, Choice) else ("another way",)
            yield from ((path, word) for word in words)
    elif isinstance(part, Rows):
        yield from every(part.table, f"{path}.#")
    elif isinstance(part, Named):
        yield from every(part.part, f"{path}.NAME")
    elif isinstance(part, Either):
        yield from every(part.table, path)
        yield from every(part.other, path)
    else:
        for name, inner in part.parts.items():
            yield from every(inner, f"{path}.{name}".lstrip("."))


def said(part: Any, path: str = "") -> Iterator[Entry]:
    """Yield every entry of a job, and the words that it says."""
    if isinstance(part, dict):
        if part.keys() == {"read", "by"}:
            yield path, ""
            return
        for name, one in part.items():
            named = path.removeprefix("before.") == "lobe" or path.endswith(".points")
            yield from said(one, f"{path}.{'NAME' if named else name}".lstrip("."))
    elif isinstance(part, list) and part and isinstance(part[0], dict):
        for one in part:
            yield from said(one, f"{path}.#")
    else:
        yield path, ""
        if isinstance(part, Said) and part.form != "{}":
            yield path, "another way"
        for word in part if isinstance(part, list) else [part]:
            if isinstance(word, (str, bool)):
                yield path, str(word).lower() if isinstance(word, bool) else word


def covering() -> list[int]:
    """Return the seeds of jobs that say every entry and every word, each the one that says most of what is left for its size."""
    wanted = set(every(JOB))
    says = {seed: frozenset(said(whole_job(seed, CYLINDERS).document)) for seed in range(SEARCHED)}
    found = []
    with tempfile.TemporaryDirectory() as folder:
        while wanted:
            seed = max(says, key=lambda one: len(says[one] & wanted) / (len(says[one]) + SOME))
            if not says[seed] & wanted:
                message = f"no job of the first {SEARCHED} says {sorted(wanted)}"
                raise AssertionError(message)
            says_now = says.pop(seed)
            try:
                load(written(whole_job(seed, CYLINDERS), Path(folder), seed=seed))
            except InputFaultsError:
                continue
            wanted -= says_now
            found.append(seed)
    return sorted(found)


if __name__ == "__main__":
    room = Path(__file__)
    head, opens, rest = room.read_text(encoding="utf-8").partition('COVERING = """\\\n')
    _, closes, rest = rest.partition('"""\n')
    seeds = textwrap.fill(" ".join(map(str, covering())), 100)
    room.write_text(f"{head}{opens}{seeds}\n{closes}{rest}", encoding="utf-8")
