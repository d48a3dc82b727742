"""What poses and builds cost: against root finding, a collision library and the same closed forms in C."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from .compiled import NO_COMPILER, compiled, run
from .jobs import twin
from .of_commands import Setting
from .table import NOT_KNOWN, Table, ratio, seconds
from .timing import Ended, probe
from .trees import Tree

FEW, MANY = 720, 1_000_000  # poses: every degree of the cycle, and a large batch
BUILDS = 30_000  # of which the first ten thousand do not count
OF_ROOTS = 20  # poses in one turn of root finding, five of each of four valves
OF_C = {False: 200_000, True: 5_000}  # builds in C, without pockets and with
LEAST = "drop,gap"


class Job(NamedTuple):
    """An engine whose builds are drawn."""

    called: str
    pockets: bool
    tables: bool


JOBS = (
    Job("plain crown, lobes by a law", False, False),
    Job("plain crown, lobes from tables", False, True),
    Job("pockets, lobes by a law", True, False),
    Job("pockets, lobes from tables", True, True),
)


def found(tree: Tree, name: str, *words: str | Path | int) -> Any:
    """Return what a probe finds in a checkout; nothing where that cannot be asked so."""
    try:
        return probe(name, *words, env=tree.env)
    except Ended:
        return None


def builds(setting: Setting) -> Table:
    """Return how fast builds of a twin with four valves are drawn."""
    program = compiled(setting.folder)
    rows = []
    for one in JOBS:
        folder = setting.folder / one.called.replace(" ", "-")
        folder.mkdir(exist_ok=True)
        job = twin(folder, one.pockets, one.tables)
        of_c = _in_c(setting, program, job, one)
        for kind, names in (("all that `risk` answers", ""), ("the least distances alone", LEAST)):
            turns = [
                ([found(tree, "risk", job, BUILDS, names) for tree in setting.trees], probe("roots", job))
                for _ in range(setting.times)
            ]
            roots = min(seen for _, seen in turns) / OF_ROOTS
            each = [_least([there[place] for there, _ in turns]) for place in range(len(setting.trees))]
            by_roots = [ratio(roots, cost) for cost in each]
            by_c = [ratio(cost, of_c) for cost in each]
            last = NOT_KNOWN if each[-1] is None else f"{1 / each[-1]:,.0f}"
            rows.append([f"{one.called}: {kind}", *by_roots, *by_c, last])
    said = (
        f"Builds of a twin with four valves by coordinates, one more of many on one core, the best of {setting.times}: "
        "how many cost what one pose of one valve costs by root finding (scipy's `brentq`), and how many times what the "
        "least drops of the four valves alone cost in C, their six poses each"
        f"{f' ({NO_COMPILER})' if program is None else ''}."
    )
    heads = [
        "builds",
        *(f"{one}: to a pose by roots" for one in setting.called),
        *(f"{one}: times C" for one in setting.called),
        "a second",
    ]
    return Table("Builds drawn", said, heads, rows)


def _least(each: Sequence[Any]) -> float | None:
    """Return what one more build cost at least, in seconds."""
    return min((one["a build"] for one in each if one is not None and one["answers"]), default=None)


def _in_c(setting: Setting, program: Path | None, job: Path, one: Job) -> float | None:
    """Return the seconds of a build in C; the program knows lobes by a law alone."""
    if program is None or one.tables:
        return None
    told = probe("valves", job)
    return min(run(program, told, OF_C[one.pockets]).seconds for _ in range(setting.times))


class Prices(NamedTuple):
    """What a pose costs in two ways, the least of some turns [ns]; None where it cannot be asked."""

    one: float | None
    other: float | None


def prices(setting: Setting, name: str, *words: int) -> dict[str, list[Prices]]:
    """Return what a probe finds that tells two prices of each thing, in each checkout."""
    turns = [[found(tree, name, *words) for tree in setting.trees] for _ in range(max(setting.times // 2, 1))]
    known = [one for turn in turns for one in turn if one is not None]
    rows: dict[str, list[Prices]] = {}
    for what in known[0] if known else ():
        of_trees = [
            [turn[place][what] for turn in turns if turn[place]] for place in range(len(setting.trees))
        ]
        rows[what] = [
            Prices(*map(min, zip(*each, strict=True))) if each else Prices(None, None) for each in of_trees
        ]
    return rows


def batches(setting: Setting) -> Table:
    """Return what a pose costs in a small batch against a large one."""
    rows = [
        [
            what,
            *(ratio(one.one, one.other) for one in each),
            *(nanoseconds(one.one) for one in each),
            *(nanoseconds(one.other) for one in each),
        ]
        for what, each in prices(setting, "batches", FEW, MANY).items()
    ]
    said = f"A pose in a batch of {FEW}, every degree of the cycle; 1.00 is its price in a batch of {MANY:,}."
    few, many = ([f"{called}: {part}" for called in setting.called] for part in (f"of {FEW}", f"of {MANY:,}"))
    return Table("Small batches", said, ["a pose", *setting.called, *few, *many], rows)


def heads(setting: Setting) -> Table:
    """Return what the distances of heads cost by a collision library against tallstack."""
    rows = [
        [what, *(ratio(one.one, one.other) for one in each), *(nanoseconds(one.other) for one in each)]
        for what, each in prices(setting, "heads").items()
    ]
    said = (
        "How many poses in a batch cost what one costs by a general-purpose collision library (coal), asked from Python "
        "pose by pose; both find the same distances."
    )
    own = [f"{called}: a pose" for called in setting.called]
    return Table("Distances of heads", said, ["distance", *setting.called, *own], rows)


def nanoseconds(one: float | None) -> str:
    """Return a price in ns as a person reads it."""
    return seconds(None if one is None else one * 1e-9)
