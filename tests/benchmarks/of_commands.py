"""What whole commands take, as a person starts them, against a typer command that imports numpy."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

from ..commands import DEMO, EXAMPLES, TWIN
from ..growth_jobs import cylinders
from .table import NOT_KNOWN, Table, ratio, seconds
from .timing import Ended, Used, in_turns, least, plain_command, process
from .trees import Tree

COMMAND = ("-m", "tallstack.cli")
STARTS = [(name, job) for job in (DEMO, TWIN) for name in ("pushrods", "clearance")]
COUNTS = (1, 2, 4, 8, 12)
DRAWS = (1_000, 10_000, 100_000)
LONG_S = 30.0  # after a command that took so long, what grows is not asked for more
NOTHING_TOLD = 2  # the status of a command where nothing of what was asked can be worked out yet
NONE = Used(math.nan, math.nan)  # of a command that a checkout does not know
PLAIN_IS = "1.00 is a typer command that takes a path and imports numpy"


class Setting(NamedTuple):
    """What every table is measured with."""

    trees: Sequence[Tree]
    folder: Path  # for what is written
    times: int  # turns that each thing takes

    @property
    def called(self) -> list[str]:
        """What the checkouts are called."""
        return [one.called for one in self.trees]


def asked(tree: Tree, words: Sequence[str | Path], written: Path | None = None) -> Used:
    """Return what a command of a checkout uses, NONE where it cannot answer.

    written : a file that it writes, and that is not there before
    """
    if written is not None:
        written.unlink(missing_ok=True)
    try:
        return process(*COMMAND, *words, env=tree.env)
    except Ended:
        return NONE


def answers(tree: Tree, words: Sequence[str | Path]) -> bool:
    """Say whether a job holds what a command answers."""
    try:
        process(*COMMAND, *words, env=tree.env)
    except Ended as ended:
        return ended.status != NOTHING_TOLD
    return True


def known(one: float) -> float | None:
    """Return a number, or nothing for one that is not known."""
    return None if math.isnan(one) else one


def against_plain(
    setting: Setting, commands: Mapping[str, Sequence[str | Path]], times: int
) -> list[list[str]]:
    """Return a row of each command: times the plain one in every checkout, processor time and memory of the last."""
    plain = plain_command(setting.folder)
    words = (plain, DEMO)
    process(*words)
    rows = []
    for name, command in commands.items():
        written = setting.folder / "written.pdf" if "-o" in command else None
        turns = [
            partial(process, *words),
            *(partial(asked, tree, command, written) for tree in setting.trees),
        ]
        theirs, *ours = map(least, in_turns(turns, times))
        memory = known(ours[-1].memory)
        rows.append(
            [
                name,
                *(ratio(known(one.seconds), theirs.seconds) for one in ours),
                seconds(known(ours[-1].seconds)),
                NOT_KNOWN if memory is None else f"{memory:.0f} MB",
                ratio(memory, theirs.memory),
            ]
        )
    return rows


def heads(setting: Setting, first: str) -> list[str]:
    """Return the heads of such a table."""
    return [first, *setting.called, "processor time", "most memory", "times its memory"]


def starts(setting: Setting) -> Table:
    """Return how commands start and work on demo and twin."""
    commands = {f"`{name}`, {job.parent.name}/{job.name}": (name, job) for name, job in STARTS}
    said = f"Start and work of a command, the best of {2 * setting.times}. {PLAIN_IS}."
    return Table(
        "Commands", said, heads(setting, "command"), against_plain(setting, commands, 2 * setting.times)
    )


def examples(setting: Setting) -> Table:
    """Return what clearance and sheet take on every worked example."""
    commands: dict[str, Sequence[str | Path]] = {}
    for job in [DEMO, *sorted(EXAMPLES.glob("*/job.toml"))]:
        if answers(setting.trees[-1], ("clearance", job)):
            commands[f"`clearance`, {job.parent.name}"] = ("clearance", job)
        commands[f"`sheet`, {job.parent.name}"] = ("sheet", job, "-o", setting.folder / "written.pdf")
    times = max(setting.times // 2, 1)
    said = f"Clearances with their remedies, and the sheet as a PDF, the best of {times}; without a clearance that a job tells, the sheet alone. {PLAIN_IS}."
    return Table("Worked examples", said, heads(setting, "command"), against_plain(setting, commands, times))


def growth(setting: Setting) -> Table:
    """Return how the fits grow with the cylinders, and risk with its draws."""
    rows: list[list[str]] = []
    fits = {f"`fits`, cylinders: {one}": ("fits", _of_cylinders(setting.folder, one)) for one in COUNTS}
    draws = {f"`risk`, {one:,} builds of the demo": ("risk", DEMO, "--draws", str(one)) for one in DRAWS}
    for commands in (fits, draws):
        rows += _growing(setting, commands)
    said = (
        f"Once each. 1.00 is the first of its kind; after one that took {LONG_S:.0f} s no more are asked for."
    )
    return Table("Growth", said, ["command", *setting.called, "processor time", "most memory"], rows)


def _of_cylinders(folder: Path, count: int) -> Path:
    """Write a job of so many cylinders, each with a spigot of its own, and return its path."""
    path = folder / f"{count}.toml"
    path.write_text(cylinders(count, spigots=True), encoding="utf-8")
    return path


def _growing(setting: Setting, commands: Mapping[str, Sequence[str | Path]]) -> list[list[str]]:
    """Return a row of each command, times the first one in the same checkout."""
    first: dict[str, float] = {}
    rows, stopped = [], set()
    for name, command in commands.items():
        words, used = [], NONE
        for tree in setting.trees:
            used = NONE if tree.called in stopped else asked(tree, command)
            if used.seconds > LONG_S:
                stopped.add(tree.called)
            words.append(ratio(known(used.seconds), first.setdefault(tree.called, used.seconds)))
        memory = known(used.memory)
        rows.append(
            [name, *words, seconds(known(used.seconds)), NOT_KNOWN if memory is None else f"{memory:.0f} MB"]
        )
    return rows
