"""Which shelf and which record belong to a job: named on the command line, by the job file, or by the record itself.

The command line goes over the job's `shelf`, and that over what a record says its pushrods were taken from; where one
goes over another that names something else, it is said. A job without `record` has the one beside it under its own name.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from ..job.file import JobFile

if TYPE_CHECKING:
    from ..job.job import Job
    from .recordfile import Fact

J = TypeVar("J", bound=JobFile)
K = TypeVar("K", bound="Job")
SHELF, RECORD = "shelf", "record"  # entries at the top of the job file


class Shelved(NamedTuple):
    """The shelf that a job's pushrods are chosen from."""

    path: Path | None  # None: of none
    told: tuple[str, ...] = ()  # that it goes over another, in sentences
    warned: tuple[str, ...] = ()  # what is to be watched of that


def record_of(job: JobFile) -> Path:
    """Return where the record of a job stands."""
    from .recordfile import record_path

    return _named(job, RECORD) or record_path(Path(job.path))


def unread_record(job: JobFile) -> tuple[str, ...]:
    """Return that a record stands under the job's own name and another is read, in a sentence, or nothing."""
    from .recordfile import record_path

    read, beside = record_of(job), record_path(Path(job.path))
    if _same(read, beside) or not beside.is_file():
        return ()
    return (
        f"{beside.name} is there too and is not read: the job names {_shown(read, job)} as its record; "
        "write down in one of them alone",
    )


def shelf_of(job: JobFile, given: Path | None = None, facts: Sequence[Fact] = ()) -> Shelved:
    """Return the shelf of a job; given : on the command line; facts : of its record, where that counts too."""
    named = _named(job, SHELF)
    recorded, why = _recorded(job, facts)
    if given is not None:
        over = [(named, "the job names")] if named is not None else [(recorded, "the record names")]
        told = (
            f"--shelf {given} goes over {_shown(one, job)}, which {who}"
            for one, who in over
            if one is not None and not _same(given, one)
        )
        return Shelved(given, tuple(told))
    if named is None:
        return Shelved(recorded, (), (why,) if why else ())
    if recorded is None or _same(named, recorded):
        return Shelved(named)
    warned = (
        f"the record says that the pushrods were taken from {_shown(recorded, job)}; the job names "
        f"{_shown(named, job)}, which counts here"
    )
    return Shelved(named, (), (warned,))


def with_its_rods(job: K) -> K:
    """Return a job as its readings leave it with the pushrods of its shelf in it; a faulty one raises InputFaultsError."""
    from ..job.fitted import from_its_shelf

    record = record_of(job)
    facts: Sequence[Fact] = ()
    if record.is_file():
        from .recordfile import read

        facts = read(record)
    return from_its_shelf(job, shelf_of(job, None, facts).path)


def _recorded(job: JobFile, facts: Sequence[Fact]) -> tuple[Path | None, str]:
    """Return the shelf that a record names, and why it cannot be read; loaded where there is a record alone."""
    if not facts:
        return None, ""
    from .recordfile import recorded_shelf

    return recorded_shelf(Path(job.path), facts)


def with_shelf(job: J, found: Shelved) -> J:
    """Return the job, saying of its shelf what there is to say."""
    return job.saying(*found.told)._replace(warnings=(*job.warnings, *found.warned))


def _named(job: JobFile, entry: str) -> Path | None:
    """Return the file that an entry of the job names."""
    found = job.entries.get(entry)
    return None if found is None else Path(job.path).parent / str(found.value)


def _same(one: Path, other: Path) -> bool:
    try:
        return os.path.samefile(one, other)
    except OSError:
        return os.path.abspath(one) == os.path.abspath(other)


def _shown(path: Path, job: JobFile) -> str:
    """Return a file as it is named from the job's folder."""
    try:
        return os.path.relpath(path, Path(job.path).parent).replace(os.sep, "/")
    except ValueError:  # on another drive
        return str(path)
