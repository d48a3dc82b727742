"""`tallstack overview FOLDER`: every job of a folder with its state, the worst first.

A job is a plain file, no link, whose name ends in .toml and that has entries of one. One that cannot be read is listed
with its first fault and ends nothing; other .toml files are named as what they are not.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from ..files import OutputRefusedError, quoted
from ..job.contradicted import LOOK_AGAIN
from ..job.entries.model import JOB
from ..job.faults import InputFaultsError
from ..job.job import Job
from ..job.loading import understood
from ..job.reading.opened import text_of
from ..page.answer import UNUSABLE, Answer, caution
from ..page.model import Block, Column, Form, Heading, Part, Row, Table, Tag, Words
from . import overview

STOP, BROKEN, NOTHING, UNKNOWN = "STOP", "CANNOT BE READ", "NOTHING YET", "NOT KNOWN"
WORDS = (STOP, BROKEN, NOTHING, UNKNOWN, *(one for one in overview.WORDS if one not in ("SHORT", LOOK_AGAIN)))
OWN = tuple(
    one for one in JOB.parts if one not in ("title", "format", "record")
)  # what other files do not begin with
DRAWS = 100  # the words rest on no draw


class State(NamedTuple):
    """One job of a folder."""

    name: str  # of its file
    title: str
    word: str  # of WORDS
    status: int
    open: tuple[str, ...]  # entries that are blank or that a pushrod lacks
    told: tuple[str, ...]  # why it stands so, the worst first


def alone(folder: Path, shelf: Path | None, variations: Sequence[str]) -> Path:
    """Return a folder, asked for without what is of one job.

    Raises:
        OutputRefusedError: where something of one job was given.
    """
    for name, given in (("--shelf", shelf), ("--with", variations)):
        if given:
            message = f"{name}: is of one job, and {folder} is a folder; name the job's file"
            raise OutputRefusedError(message)
    return folder


def answer(folder: Path, strict: bool = False) -> Answer:
    """Return the jobs of a folder; the status is the worst of theirs."""
    found, others = listed(folder, strict)
    if not found:
        beside = f"; {', '.join(others)}: no job" if others else ""
        start = f"`tallstack new {quoted(folder / 'job.toml')}` begins one"
        return Answer(f"{folder}: no job in it{beside}; {start}", {}, UNUSABLE)
    found.sort(key=lambda one: (WORDS.index(one.word), one.name))
    document = {
        "format": 1,
        "command": "overview",
        "folder": str(folder),
        "jobs": [_row(one) for one in found],
        "no_jobs": others,
    }
    ends = [caution()]
    page = [*_page(folder, found, others, is_full=True), *ends]
    return Answer(
        page,
        document,
        max(one.status for one in found),
        [*_page(folder, found, others, is_full=False), *ends],
    )


def jobs(folder: Path) -> tuple[list[Path], list[str]]:
    """Return the jobs of a folder by name, and the names of .toml files that are none."""
    found: list[Path] = []
    others: list[str] = []
    for path in sorted(folder.iterdir()):
        if path.suffix != ".toml" or path.is_symlink() or not path.is_file():
            continue
        try:
            known = is_job(text_of(path))
        except (InputFaultsError, OutputRefusedError):
            known = True
        if known:
            found.append(path)
        else:
            others.append(path.name)
    return found, others


def listed(folder: Path, strict: bool) -> tuple[list[State], list[str]]:
    """Return the jobs of a folder with their state, and the names of .toml files that are none."""
    found, others = jobs(folder)
    return [state(path, strict) for path in found], others


def state(path: Path, strict: bool = False) -> State:
    """Return how a job of a folder stands; one that cannot be read says why."""
    try:
        return _state(understood(path, text_of(path)), strict)
    except (InputFaultsError, OutputRefusedError) as error:
        said = error.report() if isinstance(error, InputFaultsError) else str(error)
        first = said.splitlines()[0].removeprefix(f"{path.parent}{_separator(path.parent)}")
        return State(path.name, "", BROKEN, UNUSABLE, (), (first,))


def _separator(folder: Path) -> str:
    return str(folder / "x").removeprefix(str(folder))[:-1]


def is_job(source: str) -> bool:
    """Say whether a text has entries of a job, whole or broken."""
    try:
        return not tomllib.loads(source).keys().isdisjoint(OWN)
    except (ValueError, RecursionError):
        return re.search(rf"(?m)^\s*\[*\s*({'|'.join(OWN)})\s*[=.\]]", source) is not None


def _state(job: Job, strict: bool) -> State:
    answered = overview.answer(job, None, strict, DRAWS)
    still = _open(job)
    if answered.status == UNUSABLE:
        return State(job.path.name, job.title, NOTHING, UNUSABLE, still, ())
    document = answered.document
    judged = {one["verdict"] for one in (*document["order"], *document["answers"])} - {None}
    words = [word for word in WORDS if word.lower() in judged]
    lacks = any(one["verdict"] is None and one["length_mm"] is None for one in document["order"])
    if document["stop"]:
        word = STOP
    elif lacks or document["clearances_not_known"] or not words:
        word = UNKNOWN
    else:
        word = words[0]
    estimate = any(one["estimate"] for one in document["order"])
    if estimate and word in ("TIGHT", "OK"):
        word = "UNPROVED"
    elif answered.status and word == "OK":
        word = UNKNOWN
    told = document["stop"] if word == STOP else [] if word == "OK" else document["watch"]
    return State(job.path.name, job.title, word, answered.status, still, tuple(told))


def _open(job: Job) -> tuple[str, ...]:
    """Return the entries that are blank, and those that a pushrod that is not known lacks by its shortest way."""
    lacks = [one.path for one in job.blanks]
    for order in job.at_hand.orders:
        if order.required is None and order.missing:
            ways = sorted((len(way), tuple(way)) for way in order.missing.values())
            lacks += ways[0][1]
    return tuple(dict.fromkeys(lacks))


def _row(one: State) -> dict[str, Any]:
    return {
        "file": one.name,
        "title": one.title or None,
        "state": one.word.lower(),
        "status": one.status,
        "open": len(one.open),
        "open_entries": list(one.open),
        "told": list(one.told),
    }


def _page(folder: Path, found: Sequence[State], others: Sequence[str], is_full: bool) -> list[Block]:
    """Return the list; is_full : with everything that is told of each, not the first of it."""
    count = "1 job" if len(found) == 1 else f"{len(found)} jobs"
    blocks: list[Block] = [
        Part(Tag.HEAD, (Heading(f"OVERVIEW: {count}, the worst first"), Words(f"in {folder}", 1)))
    ]
    rows: list[Row | Words] = []
    for one in found:
        still = f"{len(one.open)} open" if one.open else ""
        rows.append(Row((one.word, still, f"{one.name}: {one.title}" if one.title else one.name), 0))
        rows += [Words(each, 4, Form.ITEM) for each in (one.told if is_full else one.told[:1])]
        if not is_full and len(one.told) > 1:
            rows.append(Words(f"and {len(one.told) - 1} more", 4, Form.ITEM))
    columns = (Column(room=15, strong=True), Column(room=8), Column(wide=True))
    blocks.append(Table(columns, tuple(rows), 0))
    if others:
        blocks.append(Words(f"no job: {', '.join(others)}"))
    worst = quoted(folder / found[0].name)
    return [
        *blocks,
        Words(f"`tallstack overview {worst}` says more of one, `tallstack check` what is open in it."),
    ]
