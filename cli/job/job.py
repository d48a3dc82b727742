"""One job as tallstack understands it: read from its file, varied by --with, checked whole."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tallstack.geometry.core.mapping import Frozen
from tallstack.geometry.doubt.budget import Budget, Doubt
from tallstack.geometry.engine.defaults import Assumed, as_taken, completed

from .checks import checks
from .contents import Entries, Entry, Open, copied, is_nothing, is_reading, written
from .entries.catalogue import ROWS
from .entries.fields import FileName
from .faults import Fault, InputFaultsError, Loc, in_words
from .look_again import LookAgain
from .reading.document import Reading, read_document
from .reading.opened import START, text_of, too_much
from .reading.values import Typed
from .unusual.unusual import unlikely
from .variations import all_varied

if TYPE_CHECKING:
    from tallstack.geometry.doubt.readings import Tied

    from .reading.slips import Slip


@dataclass(frozen=True, eq=False)
class JobFile:
    """One job: its entries, what is open in it, and what is assumed for what is absent; it keeps what it worked out."""

    path: Path
    title: str
    units: str  # "mm" or "in"
    entries: Entries
    names: dict[str, tuple[str, ...]]  # "cylinders" and "trains"
    blanks: tuple[Open, ...]
    assumed: tuple[Assumed, ...]
    warnings: tuple[str, ...]
    variations: tuple[str, ...]  # what --with tried in place of the file's own
    moves: Mapping[str, float] = field(default_factory=dict)  # entry → by how much readings move it
    written_for: str = ""  # the version of tallstack that it was written for; nothing: before that was said
    tied: Tied | None = None  # how readings tie the doubts together
    memory: dict[Hashable, Any] = field(default_factory=dict)  # what its mappings keep, see `mapping.Frozen`

    @property
    def files(self) -> tuple[Path, ...]:
        """The files that it is: its own, and the tables that it names."""
        named = [str(entry.value) for entry in self.entries.values() if isinstance(entry.kind, FileName)]
        return (self.path, *(self.path.parent / one for one in named))

    def _replace(self, **more: Any) -> JobFile:
        """Return the job with other fields."""
        return replace(self, **more)

    @cached_property
    def mapping(self) -> Frozen:
        """The flat mapping that the geometry builds an engine from, defaults included, as readings leave it."""
        written_down = {path: entry.value for path, entry in self.entries.items()}
        full, _ = completed(Frozen({**self.names, **written_down}, self.memory))
        moved = {
            path: full[path] + by for path, by in self.moves.items() if isinstance(full.get(path), float)
        }
        moved |= {
            path: by for path, by in self.moves.items() if path not in full
        }  # the shape of a card's lobe
        return full.with_(moved) if moved else full

    def lacks_of(self, budgets: Iterable[Budget | None]) -> tuple[str, ...]:
        """Return the entries that move answers and are not entered at all, so that the answers are told too large.

        The lash that a lift was read with is one: it only takes away.
        """
        unsaid = dict.fromkeys(entry for one in budgets if one is not None for entry in one.undoubted)
        known = self.mapping if unsaid else {}
        return tuple(entry for entry in unsaid if entry not in known)

    def moved(self, moves: Mapping[str, float]) -> JobFile:
        """Return the job with entries moved by so much."""
        return self._replace(moves=moves)

    @cached_property
    def doubts(self) -> Mapping[str, Doubt]:
        """Every stated doubt, by the entry it was stated for, and those of assumptions.

        A length of exactly 0 says that something is not there (no cut, no hole, no gasket): it has none. Where
        readings tie them together the mapping says how, see `geometry.doubt.readings`.
        """
        stated = {
            path: entry.doubt
            for path, entry in self.entries.items()
            if entry.doubt is not None and (not entry.follows or not is_reading(entry))
        }  # a wish that was copied is set anew for each
        wide = {one.entry: Doubt(one.half_width) for one in self.assumed if one.half_width is not None}
        none = {path: Doubt(0.0) for path, entry in self.entries.items() if is_nothing(entry)}
        common = {f"instrument.{name}.zero": Doubt(zero) for name, zero in self.instruments.items()}
        every = {**none, **stated, **wide, **common}
        if self.tied is None:
            return every
        from tallstack.geometry.doubt.readings import Doubts

        return Doubts(every, self.tied)

    @property
    def instruments(self) -> dict[str, float]:
        """How far the zero of each instrument may be off [mm], by its name."""
        found: dict[str, float] = {}
        for path, entry in self.entries.items():
            if not path.startswith("instrument."):
                continue
            zero = self.entries.get(f"{path.removesuffix('.name')}.zero")
            if path.endswith(".name") and zero is not None:
                found[str(entry.value)] = float(zero.value)
        return found

    def quantities(self) -> dict[str, dict[str, float]]:
        """Return every measured quantity: its entry, and all entries that move with it.

        A copy made by like, and what a reading took from the stack it was made on, follow the entry
        they came from; so does every value assumed with a doubt of its own.
        """
        groups: dict[str, dict[str, float]] = {}
        instruments = self.instruments
        for path, entry in self.entries.items():
            if isinstance(entry.value, float) and is_reading(entry):
                root = entry.follows or path
                groups.setdefault(root, {})[path] = entry.sign
            if isinstance(entry.value, float) and is_reading(entry) and entry.by in instruments:
                groups.setdefault(f"instrument.{entry.by}.zero", {})[path] = entry.sign
        for one in self.assumed:
            if one.half_width is not None:
                groups[one.entry] = {one.entry: 1.0}
        return groups


def load(path: Path, variations: Sequence[str] = ()) -> JobFile:
    """Return the job of a file, with other values tried in place of some of its own.

    variations : "entry=value", as after --with

    A faulty one raises InputFaultsError with every fault found.
    """
    return understood(path, text_of(path), variations)


def understood(path: Path, source: str, variations: Sequence[str] = ()) -> JobFile:
    """Return the job of a text that stands, or is to stand, in a file; see `load`.

    Raises:
        InputFaultsError: with every fault found.
    """
    document, text, slips = _document(source)
    faults = _of_slips(slips, document, text)
    if document is not None and not document and not faults:
        faults = [Fault((), "", f"no entries in it; {START}")]
    if not document:
        raise InputFaultsError(path, faults, source, text)
    if much := too_much(document):
        raise InputFaultsError(path, [Fault((), "", much)])
    reading = read_document(document, (name for slip in slips for name in slip.names))
    job, found = _understood(path, reading, variations)
    faults += [*reading.faults, *found]
    if faults:
        raise InputFaultsError(path, faults, source, text)
    return job


def _document(source: str) -> tuple[dict[str, Any] | None, str, tuple[Slip, ...]]:
    """Return the document of a text, the text that was read for it, and the slips in the one that stands."""
    try:
        document = tomllib.loads(source, parse_float=Typed.of)
    except (ValueError, RecursionError):
        document = None
    if document is not None and not any(isinstance(document.get(row), dict) for row in ROWS):
        return document, source, ()
    from .reading.slips import parse

    return parse(source)


def _of_slips(slips: Sequence[Slip], document: dict[str, Any] | None, text: str) -> list[Fault]:
    """Return slips of the pen as faults, their entries in words where the rest of the file gives them."""
    entries = [slip.entry for slip in slips]
    if document and any(entries):
        from .reading.locate import Places

        places = Places(text)
        entries = [in_words(document, places.in_line(one.line)) if one.entry else "" for one in slips]
    return [
        Fault((), entry, one.message, one.line, one.column) for entry, one in zip(entries, slips, strict=True)
    ]


def _understood(path: Path, reading: Reading, variations: Sequence[str]) -> tuple[JobFile, list[Fault]]:
    """Return the job that was read, and what is wrong with its entries together."""
    faults = [*checks.of_names(reading)]
    entries, blanks = written(reading.leaves)
    names = {
        "cylinders": tuple(dict.fromkeys(name for name, _ in reading.cylinders)),
        "trains": tuple(dict.fromkeys(gear.name for gear in reading.gears)),
    }
    entries, assumed = _with_readings(entries, names)
    unsaid = [one.entry for one in assumed if one.entry.startswith("stack.")]
    before = entries
    entries, found = all_varied(entries, variations, reading)
    entries = _parted(before, entries)
    faults += found
    faults += [
        _nothing_to_change(entries[path]) for path in unsaid if path in entries and not reading.unsure(path)
    ]
    entries, found = copied(entries, reading.gears)
    faults += [fault for fault in found if "like" not in reading.misnamed or fault.loc[-1] == "like"]
    blanks = [one for one in blanks if not _filled(one, entries)]
    memory: dict[Hashable, Any] = {}
    still = Frozen({**names, **{path: entry.value for path, entry in entries.items()}}, memory)
    full, added = completed(still)

    def where(entry: str) -> tuple[Loc, str]:
        return _where(entry, entries, reading.document)

    together = [*checks.of_files(entries, path.parent, where)]
    together += checks.of_entries(entries, full, where, _open(blanks, reading))
    faults += [_said_outside(fault, entries) for fault in together]
    job = JobFile(
        path=path,
        title=reading.title or "".join(one if one.isprintable() else "?" for one in path.stem),
        units=reading.units,
        written_for=reading.written_for,
        entries=entries,
        names=names,
        blanks=tuple(blanks),
        assumed=(*assumed, *added),
        warnings=(*unlikely(entries, full), *_taken_for_blank(blanks, entries)),
        variations=tuple(variations),
        memory=memory,
    )
    return job, faults


def _nothing_to_change(entry: Entry) -> Fault:
    """Return that a part of the stack cannot be varied while the one that a reading was taken on is not known."""
    message = "the file does not say what is in place now; write that under [stack] first, then try another"
    return Fault((), "", message, outside=entry.origin)


def _filled(blank: Open, entries: Entries) -> bool:
    """Say whether something else gave a value to what was left blank; what a reading takes from the job does not."""
    if f"{blank.path}.x" in entries:
        return True
    found = entries.get(blank.path)
    return found is not None and not found.is_taken


def _taken_for_blank(blanks: Sequence[Open], entries: Entries) -> Iterator[LookAgain]:
    """Yield which parts of the stack that a reading was taken on are left blank, and count as they are now."""
    for one in blanks:
        found, (reading, apart, _) = entries.get(one.path), one.path.partition(".stack.")
        if apart and found is not None and found.is_taken:
            yield LookAgain(
                f"{one.path} is left blank, and counts as {found.source} is now: "
                "enter what it was when the reading was taken",
                reading,
            )


def _open(blanks: Sequence[Open], reading: Reading) -> Callable[[str], bool]:
    """Return whether an entry is not to be called missing: it is blank, or could not be read."""
    paths = {one.path for one in blanks}
    return lambda path: path in paths or reading.unsure(path)


def _with_readings(entries: Entries, names: dict[str, tuple[str, ...]]) -> tuple[Entries, list[Assumed]]:
    """Return the entries with what each reading took from the engine as the file describes it."""
    ties, assumed = as_taken({**names, **{path: entry.value for path, entry in entries.items()}})
    taken = {path: entries[source].taken_from(source) for path, source in ties.items()}
    return {**entries, **taken}, assumed


def _parted(before: Entries, entries: Entries) -> Entries:
    """Return the entries with what a reading was taken on left as it was where another part is tried.

    Two readings that were taken on the same part stay readings on one part. The same number with another
    doubt is the same part.
    """
    parted, first = dict(entries), dict[str, str]()
    for path, entry in entries.items():
        source = entry.follows
        if source not in before or (source in entries and before[source].value == entries[source].value):
            continue
        if entry.value == before[source].value and entry.origin == entry.taken_from(source).origin:
            root = first.setdefault(source, path)
            follows = "" if root == path else root
            parted[path] = entry.taken_from(source, " in the file")._replace(follows=follows)
    return parted


def _where(entry: str, entries: Entries, document: Mapping[str, object]) -> tuple[Loc, str]:
    """Return an entry's place and its name in words, from the entry itself or from one inside it."""
    found = entries.get(entry) or next(
        (entries[path] for path in entries if path.startswith(f"{entry}.") and entries[path].loc), None
    )
    if found is None or not found.loc:
        return (), entry
    loc = found.loc
    named = loc[:-1] if isinstance(loc[-1], int) else loc
    if found is not entries.get(entry) and entry.count(".") < len(loc):
        depth = len(loc) - (len(_path_of(found, entries).split(".")) - len(entry.split(".")))
        loc = named = loc[: max(depth, 1)]
    return loc, in_words(document, named)


def _path_of(entry: Entry, entries: Entries) -> str:
    return next(path for path, one in entries.items() if one is entry)


def _said_outside(fault: Fault, entries: Entries) -> Fault:
    """Return a fault of a value given by --with marked so, in place of a line it does not have."""
    if fault.outside or fault.loc:
        return fault
    entry = checks.entry_at(fault.entry, entries)
    if entry is None:  # something is missing beside what was given
        beside = f"{fault.entry.rpartition('.')[0]}."
        entry = next((one for path, one in entries.items() if path.startswith(beside) and not one.loc), None)
    given = entry is not None and entry.origin.startswith("--")
    return fault._replace(outside=entry.origin) if entry is not None and given else fault
