"""One job on disk, entry by entry: what is asked for and what a page writes goes through here, and nothing else does.

Every change takes the lock, reads what the disk holds now, changes that, understands the whole of it, and writes it or
leaves it as it was. So what somebody else wrote meanwhile, in an editor or in another session, is never lost: what
merges is the entry, not the file. The same entry is a conflict, and it is told. Remarks and order stay.

What stood before the first change of this run is kept beside it, with `.bak` at its end.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple, Protocol, TypeVar

from ..files import OutputRefusedError, free, write
from ..locking import locked_beside
from .editing import Edited
from .entries.catalogue import ROWS, TYING
from .faults import Fault, InputFaultsError, Loc
from .job import Job
from .loading import understood
from .reading.opened import text_of

T = TypeVar("T")
UNDONE_MOST = 500  # changes that can be taken back


class _Any:
    """Whatever stands there now."""


ANY = _Any()


class ConflictError(Exception):
    """Somebody else has changed the same entry; nothing is written."""


class ContradictedError(Exception):
    """A change that something else in the job contradicts; nothing is written.

    faults : everything that would be wrong then and was not before
    """

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        first = self.faults[0]
        super().__init__(f"{first.entry}: {first.message}" if first.entry else first.message)


class Leaf(NamedTuple):
    """One entry of a document."""

    value: object  # as it stands, plain


class Change(NamedTuple):
    """What one change did to the file."""

    before: str
    after: str
    entries: Mapping[Loc, tuple[Leaf | None, Leaf | None]]  # before and after; None: not there


class Store(Protocol):
    """Where the text of a job is kept."""

    def held(self) -> contextlib.AbstractContextManager[str]:
        """Keep everybody else from writing; yields what there is to say where that cannot be."""

    def read(self) -> str | None:
        """Return the text as it is now, None where there is none yet."""

    def write(self, text: str) -> None:
        """Put a text in its place, whole."""


class Kept:
    """A text that is on no disk."""

    def __init__(self, text: str | None = None) -> None:
        self.text = text

    @contextlib.contextmanager
    def held(self) -> Generator[str]:
        """Nobody else knows of it."""
        yield ""

    def read(self) -> str | None:
        """Return the text."""
        return self.text

    def write(self, text: str) -> None:
        """Put another in its place."""
        self.text = text


class Disk:
    """A job file; what stood in it before this run goes beside it at the first change.

    force : what is no job may stand there, and is written over
    """

    def __init__(self, path: Path, force: bool = False) -> None:
        self.path = path
        self.force = force
        self.begun = False
        if force or os.path.islink(path) or not os.path.isfile(path):
            free(path, force)

    @contextlib.contextmanager
    def held(self) -> Generator[str]:
        """Hold the lock that is beside the file.

        Raises:
            OutputRefusedError: where the folder cannot be written.
        """
        try:
            with locked_beside(self.path) as warning:
                yield warning
        except OSError as error:
            message = f"{self.path}: cannot be written: {error.strerror}"
            raise OutputRefusedError(message) from None

    def read(self) -> str | None:
        """Return what the file holds now.

        Raises:
            OutputRefusedError: where a link has taken its place.
        """
        if self.force and not self.begun:
            return None
        if os.path.islink(self.path):
            message = f"{self.path}: a link; name the file that it points to"
            raise OutputRefusedError(message)
        return text_of(self.path) if os.path.isfile(self.path) else None

    def write(self, text: str) -> None:
        """Write the whole file, at the first time with what stood there beside it."""
        there = os.path.isfile(self.path)
        if there and not self.begun:
            write(self.path.with_name(f"{self.path.name}.bak"), self.path.read_bytes(), force=True)
        write(self.path, text.encode(), force=there)
        self.begun = True


class Document:
    """A job, changed entry by entry; the store is what counts, whoever writes to it."""

    def __init__(self, path: Path, store: Store, begin: str = "") -> None:
        """Read a job, or begin one with a text that is written with the first change.

        A file that is no TOML raises InputFaultsError.
        """
        self.path = path
        self.store = store
        self.known = store.read()
        self.done: list[Change] = []
        self.warning = ""  # of the lock
        self._understood: tuple[str, Job | InputFaultsError] | None = None  # by the text it was understood of
        self.edited = self._parsed(begin if self.known is None else self.known)

    @property
    def text(self) -> str:
        """The text as it was last read or written."""
        return self.edited.text

    def job(self) -> Job | InputFaultsError:
        """Return the job as it is understood, or what is wrong with it."""
        text = self.text
        if self._understood is None or self._understood[0] != text:
            try:
                self._understood = text, understood(self.path, text)
            except InputFaultsError as faults:
                self._understood = text, faults
        return self._understood[1]

    def get(self, loc: Loc) -> Any:
        """Return what stands at a place, plain; None where nothing does."""
        return plain(self.edited.get(loc))

    def refresh(self) -> tuple[Loc, ...]:
        """Read what is there now; return the places that have changed. What cannot be read raises InputFaultsError."""
        before = self.edited.plain
        self._read()
        return tuple(_changed(before, self.edited.plain))

    def put(self, loc: Loc, value: object, was: object = ANY, meaning: str = "") -> Change:
        """Set one entry.

        was : what stood there when the value was typed, None for nothing; raises as `change` does
        """
        change, _ = self.change(lambda edited: edited.put(loc, value, meaning), {loc: was})
        return change

    def blank(self, loc: Loc, was: object = ANY) -> Change:
        """Leave an entry open; its line stays. Raises as `change` does."""
        return self.put(loc, "", was)

    def change(
        self, operation: Callable[[Edited], T], was: Mapping[Loc, object] | None = None
    ) -> tuple[Change, T]:
        """Change what the file holds now by an operation, whole or not at all; what the operation raises leaves it as it is.

        was : entry → what stood there as far as whoever asks for it knows

        Where something is wrong with the job then that was not before it raises ContradictedError, and OutputRefusedError where
        the file cannot be written.

        Raises:
            ConflictError: where one of those has changed, or rows came or went.
        """
        with self.store.held() as self.warning:
            self._read(rows_stay=True)
            for loc, shown in (was or {}).items():
                if shown is not ANY and not _same(self.get(loc), shown):
                    raise ConflictError(_conflict(self.get(loc)))
            before, there = self.text, self.edited.plain
            faults = _faults(self.job())
            try:
                result = operation(self.edited)
                text = self.text
                _refuse_new(faults, self.job())
                if text != self.known:
                    self.store.write(text)
            except BaseException:
                self.edited = Edited(before)
                raise
            self.known = text
            change = Change(before, text, _changed(there, self.edited.plain))
            if change.entries or before != text:
                self.done = [*self.done, change][-UNDONE_MOST:]
            return change, result

    def undo(self) -> Change | None:
        """Take the last change of this run back, where nobody has changed its entries since; None where there is none.

        Raises as `change` does.
        """
        if not self.done:
            return None
        last, was_there = self.done[-1], Edited(self.done[-1].before)

        def back(edited: Edited) -> None:
            if edited.text == last.after:
                self.edited = was_there
                return
            for loc, (leaf, _) in last.entries.items():
                if leaf is None:
                    _drop_with_its_table(edited, loc, was_there)
                else:
                    edited.put(loc, leaf.value, _behind(was_there, loc))

        kept = self.done[:-1]
        put = [loc for loc, (_, after) in last.entries.items() if after is not None]
        was = {
            loc: None if after is None else after.value
            for loc, (_, after) in last.entries.items()
            if not any(one[: len(loc)] == loc and one != loc for one in put)  # a table took its place
        }
        change, _ = self.change(back, was)
        self.done = kept
        return change

    def _read(self, rows_stay: bool = False) -> None:
        """Take over what the store holds, where that is not what is known.

        Raises:
            ConflictError: where rows came, went or changed places, so that what is asked for may be of another.
        """
        now = self.store.read()
        if now == self.known or now is None:
            return
        before = _rows(self.edited)
        self.edited, self.known = self._parsed(now), now
        if rows_stay and _rows(self.edited) != before:
            message = "cylinders or valve gears were added, taken out or moved in the file meanwhile; look, and answer again"
            raise ConflictError(message)

    def _parsed(self, text: str) -> Edited:
        """Return a text entry by entry; one that is no TOML raises InputFaultsError, in the reader's own words."""
        with contextlib.suppress(ValueError):  # as all that tomlkit raises
            return Edited(text)
        understood(self.path, text)
        return Edited(text)


def _drop_with_its_table(edited: Edited, loc: Loc, before: Edited) -> None:
    """Take an entry out, and the tables that were not there before and are empty without it."""
    edited.drop(loc)
    for above in (loc[:count] for count in range(len(loc) - 1, 0, -1)):
        if edited.get(above) or before.get(above) is not None:
            return
        edited.drop(above)


def plain(found: Any) -> Any:
    """Return what stands in a document without its layout."""
    return found.unwrap() if hasattr(found, "unwrap") else found


def leaves(found: Any, loc: Loc = ()) -> Iterator[tuple[Loc, object]]:
    """Yield every entry of a plain document, with its place."""
    if isinstance(found, Mapping) and (found or not loc):
        for key, value in found.items():
            yield from leaves(value, (*loc, str(key)))
    elif isinstance(found, list) and found and isinstance(found[0], Mapping):
        for index, row in enumerate(found):
            yield from leaves(row, (*loc, index))
    else:
        yield loc, found


def _changed(
    before: Mapping[str, Any], after: Mapping[str, Any]
) -> dict[Loc, tuple[Leaf | None, Leaf | None]]:
    """Return which entries changed."""
    one, other = dict(leaves(before)), dict(leaves(after))
    return {
        loc: (Leaf(one[loc]) if loc in one else None, Leaf(other[loc]) if loc in other else None)
        for loc in dict.fromkeys((*one, *other))
        if (loc in one) != (loc in other) or not _same(one[loc], other[loc])
    }


def _behind(edited: Edited, loc: Loc) -> str:
    """Return the remark behind an entry."""
    return str(getattr(getattr(edited.get(loc), "trivia", None), "comment", "")).lstrip("# ")


def _same(one: object, other: object) -> bool:
    return type(plain(one)) is type(plain(other)) and plain(one) == plain(other)


def _rows(edited: Edited) -> list[tuple[object, ...]]:
    """Return which rows there are, each by what ties it to others."""
    found = {name: edited.plain.get(name) for name in ROWS}
    return [
        (name, *(row.get(key) for key in TYING[:3]))
        for name, rows in found.items()
        for row in (rows if isinstance(rows, list) else ())
        if isinstance(row, Mapping)
    ]


def _conflict(now: object) -> str:
    if now is None:
        return "the file holds nothing here any more; once more writes yours"
    return f"the file now says {now} here; once more writes yours over it"


def _faults(job: Job | InputFaultsError) -> set[tuple[Loc, str]]:
    return set() if isinstance(job, Job) else {(one.loc, one.message) for one in job.faults}


def _refuse_new(known: set[tuple[Loc, str]], job: Job | InputFaultsError) -> None:
    """Let nothing be wrong that was not before.

    Raises:
        ContradictedError: in the words of a job file's fault.
    """
    faults: Sequence[Fault] = () if isinstance(job, Job) else job.faults
    new = [fault for fault in faults if (fault.loc, fault.message) not in known]
    if new:
        raise ContradictedError(new)
