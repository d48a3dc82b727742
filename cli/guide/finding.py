"""Any entry of a job, found by words, by its path or by its letter: the way to everything that is not asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from tallstack.geometry.engine.before import BEFORE

from ..job.entries.catalogue import kind_at
from ..job.entries.fields import Kind
from ..job.entries.tables import Either
from ..job.faults import Loc
from .blank import letter_at
from .needs import path_of
from .questions import tables_of


class Match(NamedTuple):
    """One entry that was found."""

    loc: Loc
    path: str  # as it is told
    words: str


def matches(job: Mapping[str, Any], typed: str) -> tuple[Match, ...]:
    """Return the entries that hold every word that was typed, in path, meaning or letter; those named just so alone.

    job : the document as it stands
    """
    wanted = typed.lower().replace("_", " ").replace(".", " ").split()
    was = BEFORE in job or BEFORE in wanted
    every = [(one, *_seen(one)) for one in _entries(job) if was or one.loc[0] != BEFORE]
    by_letter = [one for one, letter, _, _ in every if len(wanted) == 1 and letter.lower() == wanted[0]]
    named = [one for one, _, path, _ in every if f" {path}".endswith(f" {' '.join(wanted)}") and wanted]
    held = [one for one, _, _, text in every if all(word in text for word in wanted)]
    return tuple(by_letter or named or held)


def _seen(one: Match) -> tuple[str, str, str]:
    path = one.path.lower().replace("_", " ").replace(".", " ")
    return letter_at(one.loc), path, f"{path} {one.words.lower()}"


def _entries(job: Mapping[str, Any]) -> Iterator[Match]:
    for loc, table, _ in tables_of(job, laid_over=True):
        for name, part in table.parts.items():
            kind = part.other if isinstance(part, Either) else part
            if isinstance(kind, Kind) and kind_at((*loc, name)) is not None:
                yield Match((*loc, name), path_of((*loc, name), job), kind.words)
