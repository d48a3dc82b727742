"""A job from its file: read, varied by --with, checked whole."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tallstack.geometry.core.mapping import Frozen
from tallstack.geometry.engine.before import SAME, STEM, engine_before, stripped
from tallstack.geometry.engine.defaults import Assumed, as_taken, completed

from . import block, stood
from .checks import checks
from .contents import OTHER_KIND, SWITCH, Entries, Entry, Open, copied, written
from .entries.catalogue import ROWS
from .faults import Fault, InputFaultsError, Loc, in_words
from .job import Job
from .look_again import LookAgain
from .reading.document import Reading, read_document
from .reading.opened import START, no_job, text_of, too_much
from .reading.values import Typed
from .unusual.stacks import of_stacks
from .unusual.unusual import unlikely
from .variations import all_varied

THEN_PLUNGER = "measured_pushrod.plunger"

if TYPE_CHECKING:
    from .reading.slips import Slip


def load(path: Path, variations: Sequence[str] = ()) -> Job:
    """Return the job of a file, with other values tried in place of some of its own.

    variations : "entry=value", as after --with

    A faulty one raises InputFaultsError with every fault found.
    """
    return understood(path, text_of(path), variations)


def understood(path: Path, source: str, variations: Sequence[str] = ()) -> Job:
    """Return the job of a text that stands, or is to stand, in a file; see `load`.

    Raises:
        InputFaultsError: with every fault found.
    """
    if wrong := no_job(source):
        raise InputFaultsError(path, [Fault((), "", wrong)])
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
    return job._replace(source=source)


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


def _understood(path: Path, reading: Reading, variations: Sequence[str]) -> tuple[Job, list[Fault]]:
    """Return the job that was read, and what is wrong with its entries together."""
    faults = [*checks.of_names(reading)]
    faults += block.of_block(reading)
    entries, blanks = written(block.spelled_out(reading.leaves))
    names = {
        "cylinders": tuple(dict.fromkeys(name for name, _ in reading.cylinders)),
        "trains": tuple(dict.fromkeys(gear.name for gear in reading.gears)),
    }
    before_faults: list[Fault] = []
    if reading.same is not None:
        names[SAME], before_faults = stood.of_same(reading, entries, names)
        before_faults += stood.of_names(reading)
        entries = stood.with_same(entries, copied(entries, reading.gears)[0], names)
    faults += before_faults
    entries, assumed, follow = _with_readings(entries, names)
    unsaid = [one.entry for one in assumed if one.entry.startswith("stack.")]
    before = entries
    entries, found = all_varied(entries, variations, reading)
    entries = _parted(before, entries)
    for ties in follow:
        entries = stood.following(entries, ties)
    faults += found
    faults += [
        _nothing_to_change(entries[path]) for path in unsaid if path in entries and not reading.unsure(path)
    ]
    entries, found = copied(entries, [*reading.gears, *reading.was_gears])
    if reading.same is not None:
        entries = stood.following(entries, stood.readings_there(entries, names))
    faults += [fault for fault in found if "like" not in reading.misnamed or fault.loc[-1] == "like"]
    blanks = [one for one in blanks if not _filled(one, entries) and not _of_other_kind(one, entries)]
    memory: dict[Hashable, Any] = {}
    still = Frozen({**names, **{path: entry.value for path, entry in entries.items()}}, memory)
    full, added = completed(still)
    was_full, was_added = completed(engine_before(still)) if reading.same is not None else (full, [])

    def where(entry: str) -> tuple[Loc, str]:
        return _where(entry, entries, reading.document)

    was_warnings: tuple[str, ...] = ()
    together = [*checks.of_files(entries, path.parent, where)]
    together += checks.of_entries(entries, full, where, _open(blanks, reading))
    was = stripped(entries)
    if was:
        from .unusual.unusual import unlikely_together

        def there(entry: str) -> tuple[Loc, str]:
            loc, words = _where(f"{STEM}{entry}", entries, reading.document)
            return loc, words if loc else f"{STEM}{entry}".replace(f"{STEM}{STEM}", STEM)

        is_open = _open(blanks, reading)
        together += checks.of_entries(
            was,
            was_full,
            there,
            lambda path: is_open(f"{STEM}{path}") or (stood.is_same_part(path, names) and is_open(path)),
        )
        was_warnings = (*stood.taken_otherwise(was_added, entries), *unlikely_together(was, was_full))
    faults += dict.fromkeys(
        _said_outside(fault, entries) for fault in together
    )  # what was copied is told once
    job = Job(
        path=path,
        title=reading.title or "".join(one if one.isprintable() else "?" for one in path.stem),
        units=reading.units,
        written_for=reading.written_for,
        wanted=reading.wanted,
        entries=entries,
        names=names,
        blanks=tuple(blanks),
        assumed=(*assumed, *added),
        warnings=(
            *unlikely(entries, full),
            *_taken_for_blank(blanks, entries),
            *stood.other_gear(entries, names),
            *stood.not_said_to_be_the_same(entries, names),
            *of_stacks(entries, names, (one.path for one in blanks)),
        ),
        variations=tuple(variations),
        memory=memory,
        assumed_before=tuple(was_added),
        warnings_before=was_warnings,
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


def _of_other_kind(blank: Open, entries: Entries) -> bool:
    """Say whether a blank belongs to the other kind of lifter: a solid one has no preload and no plunger."""
    gear, own = ".".join(blank.path.split(".")[:2]), blank.path.split(".", 2)[-1]
    kind = entries.get(f"{gear}.{SWITCH}")
    if kind is None:
        return False
    return own in OTHER_KIND.get(str(kind.value), ()) or (kind.value == "solid" and own == THEN_PLUNGER)


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


Ties = dict[str, str]  # entry → the one that it follows


def _with_readings(
    entries: Entries, names: dict[str, tuple[str, ...]]
) -> tuple[Entries, list[Assumed], list[Ties]]:
    """Return the entries with what each reading took from the engine as the file describes it, and what that assumes.

    The last are entries that follow others whatever is tried: what a reading took from what stood before, and what is a
    reading of both engines.
    """

    def flat(some: Entries) -> dict[str, Any]:
        return {**names, **{path: entry.value for path, entry in some.items()}}

    ties, assumed = as_taken(flat(entries))
    taken = {path: entries[source].taken_from(source) for path, source in ties.items()}
    entries = {**entries, **taken}
    if SAME not in names:
        return entries, assumed, []
    there = {path: source for path, source in ties.items() if source.startswith(STEM)}
    both = stood.readings_same(entries, names)
    entries = stood.following(stood.following(entries, there), both)
    own, _ = as_taken(engine_before(flat(entries)))
    own = {f"{STEM}{path}": f"{STEM}{source}" for path, source in own.items()}
    return stood.following(entries, own), assumed, [there, both, own]


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
        was = before[source].value
        if entry.is_taken and entry.value == (entry.sign * was + 0.0 if isinstance(was, float) else was):
            root = first.setdefault(source, path)
            follows = "" if root == path else root
            parted[path] = entry._replace(origin=f"{entry.origin} in the file", follows=follows)
    return parted


def _where(entry: str, entries: Entries, document: Mapping[str, object]) -> tuple[Loc, str]:
    """Return an entry's place and its name in words, from the entry itself or from one inside it."""
    found = entries.get(entry) or next(
        (entries[path] for path in entries if path.startswith(f"{entry}.") and entries[path].loc), None
    )
    if found is None or not found.loc:  # given by --with, or copied from what was
        return (), found.follows if found is not None and found.follows and not found.is_taken else entry
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
