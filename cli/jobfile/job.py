"""One job as tallstack understands it: read from its file, varied by --with, checked whole."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError
from pydantic_core import PydanticCustomError
from tallstack.cli.jobfile import checks
from tallstack.cli.jobfile.catalogue import entries_of, kind_at
from tallstack.cli.jobfile.contents import (
    Entries,
    Entry,
    Open,
    copied,
    entries_for,
    is_reading,
    override,
    written,
)
from tallstack.cli.jobfile.faults import Fault, InputFaultsError, Loc, from_model, in_words
from tallstack.cli.jobfile.fields import Kind, Parts, Quantity, did_you_mean
from tallstack.cli.jobfile.model import Job
from tallstack.cli.jobfile.values import Blank, ValueFault
from tallstack.geometry.defaults import Assumed, as_taken, completed
from tallstack.geometry.doubt.budget import Doubt

if TYPE_CHECKING:
    from numpy.typing import ArrayLike
    from pydantic_core import ErrorDetails

LARGEST = 1_000_000  # bytes
DEEPEST = 40  # brackets within brackets
SYNTAX_PLACE = re.compile(r"\s*\(at line (\d+), column (\d+)\)|\s*\(at end of document\)")


@dataclass(frozen=True, slots=True)
class JobFile:
    """One job: its entries, what is open in it, and what is assumed for what is absent."""

    path: Path
    title: str
    units: str  # "mm" or "in"
    entries: Entries
    names: dict[str, tuple[str, ...]]  # "cylinders" and "trains"
    blanks: tuple[Open, ...]
    assumed: tuple[Assumed, ...]
    warnings: tuple[str, ...]

    @property
    def mapping(self) -> dict[str, ArrayLike | str | tuple[str, ...]]:
        """The flat mapping that the geometry builds an engine from, defaults included."""
        written_down = {path: entry.value for path, entry in self.entries.items()}
        full, _ = completed({**self.names, **written_down})
        return full

    @property
    def doubts(self) -> dict[str, Doubt]:
        """Every stated doubt, by the entry it was stated for, and those of assumptions."""
        stated = {
            path: entry.doubt
            for path, entry in self.entries.items()
            if entry.doubt is not None and not entry.follows
        }
        wide = {one.entry: Doubt(one.half_width) for one in self.assumed if one.half_width is not None}
        return {**stated, **wide}

    def quantities(self) -> dict[str, dict[str, float]]:
        """Return every measured quantity: its entry, and all entries that move with it.

        A copy made by like, and what a reading took from the stack it was made on, follow the entry
        they came from; so does every value assumed with a doubt of its own.
        """
        groups: dict[str, dict[str, float]] = {}
        for path, entry in self.entries.items():
            if isinstance(entry.value, float) and is_reading(entry):
                root = entry.follows or path
                groups.setdefault(root, {})[path] = entry.sign
        for one in self.assumed:
            if one.half_width is not None:
                groups[one.entry] = {one.entry: 1.0}
        return groups


def load(path: Path, variations: Sequence[str] = ()) -> JobFile:
    """Return the job of a file, with other values tried in place of some of its own.

    variations : "entry=value", as after --with

    Raises:
        InputFaultsError: with every fault found.
    """
    source = _text(path)
    document = _document(path, source)
    try:
        return _understand(path, document, variations)
    except InputFaultsError as error:
        raise InputFaultsError(path, error.faults, source) from None


def _text(path: Path) -> str:
    try:
        if path.is_dir():
            raise _refused(path, "a folder, not a job file; name the .toml file in it")
        size = path.stat().st_size
        if size > LARGEST:
            raise _refused(path, f"{size:,} bytes; a job file is text of at most {LARGEST:,} bytes")
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise _refused(path, "no such file; `tallstack new FILE --blank` starts one") from None
    except UnicodeDecodeError as error:
        message = f"not text in UTF-8 (byte {error.start + 1}); save it again as UTF-8"
        raise _refused(path, message) from None
    except OSError as error:
        raise _refused(path, f"cannot be read: {error.strerror}") from None


def _refused(path: Path, message: str) -> InputFaultsError:
    return InputFaultsError(path, [Fault((), "", message)])


def _document(path: Path, source: str) -> dict[str, Any]:
    if not source.strip():
        raise _refused(path, "empty; `tallstack new FILE --blank` writes a job file to fill in")
    try:
        return tomllib.loads(source)
    except RecursionError:
        raise _refused(path, f"brackets nested deeper than {DEEPEST}") from None
    except ValueError as error:
        text = str(error)
        place = SYNTAX_PLACE.search(text)
        words = SYNTAX_PLACE.sub("", text)
        words = f"{words[:1].lower()}{words[1:]}"
        line, column = len(source.splitlines()), 1
        if place is not None and place[1]:
            line, column = int(place[1]), int(place[2])
        message = (
            f"not readable as TOML: {words}; text stands in quotes, tables in [brackets], one entry a line"
        )
        raise InputFaultsError(path, [Fault((), "", message, line, column)], source) from None


def _understand(path: Path, document: dict[str, Any], variations: Sequence[str]) -> JobFile:
    job, faults = _validated(document)
    if job is None:
        raise InputFaultsError(path, faults)
    faults += checks.of_names(job)
    entries, blanks = written(job)
    names = {
        "cylinders": tuple(dict.fromkeys(cylinder.name for cylinder in job.cylinder)),
        "trains": tuple(dict.fromkeys(f"{train.cylinder}.{train.port}" for train in job.train)),
    }
    entries, assumed = _with_readings(entries, names)
    for text in variations:
        entries, fault = _varied(entries, text, job)
        faults += [fault] if fault else []
    entries, like_faults = copied(entries, job)
    faults += like_faults
    blanks = [one for one in blanks if one.path not in entries and f"{one.path}.x" not in entries]
    mapping: dict[str, ArrayLike | str | tuple[str, ...]] = {
        **names,
        **{name: entry.value for name, entry in entries.items()},
    }
    full, added = completed(mapping)

    def where(entry: str) -> tuple[Loc, str]:
        return _where(entry, entries, document)

    faults += checks.of_files(entries, path.parent, where)
    faults += checks.of_entries(entries, blanks, full, where)
    if faults:
        raise InputFaultsError(path, [_said_outside(fault, entries) for fault in faults])
    title = job.title if isinstance(job.title, str) else path.stem
    return JobFile(
        path=path,
        title=title,
        units=job.units,
        entries=entries,
        names=names,
        blanks=tuple(blanks),
        assumed=(*assumed, *added),
        warnings=tuple(checks.unlikely(entries, full)),
    )


def _validated(document: dict[str, Any]) -> tuple[Job | None, list[Fault]]:
    """Return the model and every fault of single entries; faulty entries are left out of the model."""
    faults: list[Fault] = []
    units = document.get("units")
    context = units if units in ("mm", "in") else "mm"
    for _ in range(4):
        try:
            return Job.model_validate(document, context=context), faults
        except ValidationError as error:
            errors = error.errors(include_url=False)
            known = {fault.loc for fault in faults}
            faults += [fault for fault in from_model(document, errors) if fault.loc not in known]
            document = _without(document, errors)
    return None, faults


def _without(document: dict[str, Any], errors: Sequence[ErrorDetails]) -> dict[str, Any]:
    """Return a copy of the document in which faulty entries are gone or, where needed, stand in."""
    import copy

    trimmed = copy.deepcopy(document)
    stand_ins: dict[str, object] = {
        "format": 1,
        "units": "mm",
        "name": "unnamed",
        "cylinder": "unnamed",
        "port": "intake",
    }
    for error in sorted(errors, key=lambda one: [str(part).zfill(9) for part in one["loc"]], reverse=True):
        loc = [part for part in error["loc"] if not str(part).startswith("~")]
        holder: Any = trimmed
        for part in loc[:-1]:
            holder = holder[part] if _holds(holder, part) else None
        last = loc[-1]
        if error["type"] == "missing" or (last in stand_ins and len(loc) in (1, 3) and _holds(holder, last)):
            if isinstance(holder, dict) and not isinstance(stand_ins.get(str(last)), type(None)):
                holder[str(last)] = stand_ins[str(last)]
            continue
        if _holds(holder, last):
            del holder[last]
    return trimmed


def _holds(holder: Any, part: str | int) -> bool:
    if isinstance(holder, list):
        return isinstance(part, int) and part < len(holder)
    return isinstance(holder, dict) and part in holder


def _with_readings(entries: Entries, names: dict[str, tuple[str, ...]]) -> tuple[Entries, list[Assumed]]:
    """Return the entries with what each reading took from the engine as the file describes it."""
    ties, assumed = as_taken({**names, **{path: entry.value for path, entry in entries.items()}})
    taken = {
        path: replace(entries[source], origin=f"as {source}", follows=source) for path, source in ties.items()
    }
    return {**entries, **taken}, assumed


def _varied(entries: Entries, text: str, job: Job) -> tuple[Entries, Fault | None]:
    """Return the entries with one of them given another value, or what is wrong with it."""
    path, equals, typed = text.partition("=")
    path = path.strip()
    outside = f"--with {text}"

    def fault(message: str) -> tuple[Entries, Fault]:
        return entries, Fault((), "", message, outside=outside)

    if not equals:
        return fault('write entry=value, for example --with front.intake.lifter.preload="0.050 in"')
    loc, prefix = _place_of(path, job)
    if loc is None:
        return fault(f"no such entry{did_you_mean(path, tuple(entries))}")
    kind = kind_at(loc)
    if kind is None:
        known = entries_of(loc[:-1])
        return fault(f"no such entry{did_you_mean(str(loc[-1]), known) or _listed(known)}")
    component = _component(kind, str(loc[-1]), entries, path)
    try:
        value = _read_typed(component or kind, typed, job.units)
    except ValueFault as error:
        return fault(str(error))
    if isinstance(value, Blank):
        return fault("no value after =")
    own = entries_for(path, component or kind, value, (), f"--with {text}")
    return override(entries, prefix, own), None


def _listed(known: tuple[str, ...]) -> str:
    return f"; the entries here are {', '.join(known)}" if known else ""


def _component(kind: Kind, last: str, entries: Entries, path: str) -> Quantity | None:
    """Return how to read one component of a row (…seat.x), or None for a whole entry."""
    if not isinstance(kind, Parts) or last not in ("x", "y", "z"):
        return None
    stem = path.rpartition(".")[0]
    count = sum(f"{stem}.{axis}" in entries for axis in "xyz") or kind.counts[-1]
    return Quantity(kind.words, kind.dimension_of(count), below=kind.below)


def _place_of(path: str, job: Job) -> tuple[Loc | None, str]:
    """Return a path's place in the document and the prefix before its own name."""
    parts = path.split(".")
    for index, train in enumerate(job.train):
        if parts[:2] == [train.cylinder, train.port] and len(parts) > 2:
            return ("train", index, *parts[2:]), f"{train.cylinder}.{train.port}."
    for index, cylinder in enumerate(job.cylinder):
        if parts[0] == cylinder.name and len(parts) > 1:
            return ("cylinder", index, *parts[1:]), f"{cylinder.name}."
    known = parts[0] in Job.model_fields and parts[0] not in ("train", "cylinder", "format", "units", "title")
    return (tuple(parts), "") if known and len(parts) > 1 else (None, "")


def _read_typed(kind: Kind, typed: str, units: str) -> object:
    """Return a value typed after --with; as in the file, or as bare text where the shell took its quotes.

    Raises:
        ValueFault: where the entry cannot have that value.
    """
    text = typed.strip()
    try:
        raw: object = tomllib.loads(f"value = {text}")["value"]
    except ValueError:
        raw = text
    from types import SimpleNamespace

    info: Any = SimpleNamespace(context=units)
    try:
        return kind.parse(raw, info)
    except PydanticCustomError as error:
        raise ValueFault(str(error)) from None


def _where(entry: str, entries: Entries, document: dict[str, Any]) -> tuple[Loc, str]:
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
    entry = entries.get(fault.entry)
    return (
        replace(fault, outside=entry.origin) if entry is not None and entry.origin.startswith("--") else fault
    )
