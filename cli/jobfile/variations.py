"""Other values tried in place of a job's own: what stands after --with."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence

from tallstack.cli.jobfile.catalogue import entries_of, kind_at
from tallstack.cli.jobfile.contents import Entries, entries_for, override
from tallstack.cli.jobfile.faults import Fault, Loc
from tallstack.cli.jobfile.fields import Kind, Parts, Quantity, did_you_mean
from tallstack.cli.jobfile.model import JOB
from tallstack.cli.jobfile.reading import Reading
from tallstack.cli.jobfile.values import Blank, Typed, ValueFault

EXAMPLE = 'front.intake.lifter.preload="0.050 in"'


def varied(entries: Entries, text: str, reading: Reading) -> tuple[Entries, list[Fault]]:
    """Return the entries with one of them given another value, or what is wrong with it.

    text : "entry=value"
    """
    path, equals, typed = (part.strip() for part in text.partition("="))
    outside = f"--with {text}"
    if not equals or not path:
        return entries, [_fault(outside, f"write entry=value, for example --with {EXAMPLE}")]
    loc, prefix = _place_of(path, reading)
    kind = kind_at(loc) if loc else None
    if kind is None:
        return entries, [_fault(outside, _unknown(path, loc, entries))]
    component = _component(kind, str(loc[-1]), entries, path)
    try:
        value = _read(component or kind, typed, reading.units)
    except ValueFault as fault:
        return entries, [_fault(outside, str(fault))]
    if isinstance(value, Blank):
        return entries, [_fault(outside, "no value after =")]
    own = entries_for(path, component or kind, value, (), outside)
    return override(entries, prefix, own), []


def _fault(outside: str, message: str) -> Fault:
    return Fault((), "", message, outside=outside)


def _unknown(path: str, loc: Loc, entries: Entries) -> str:
    near = did_you_mean(path, entries)
    if near or not loc:
        return f"no such entry{near or '; `tallstack check FILE` shows the entries of a job by their paths'}"
    known = entries_of(loc)
    if known:
        return f"a table, not an entry; the entries in it are {', '.join(known)}"
    known = entries_of(loc[:-1])
    listed = f"; the entries there are {', '.join(known)}" if known else ""
    return f"no such entry{did_you_mean(str(loc[-1]), known) or listed}"


def _place_of(path: str, reading: Reading) -> tuple[Loc, str]:
    """Return a path's place in the document, empty where there is none, and the prefix before its own name."""
    parts = path.split(".")
    for gear in reading.gears:
        if parts[:2] == [gear.cylinder, gear.port] and len(parts) > 2:
            return ("train", gear.row, *parts[2:]), f"{gear.name}."
    for index, (name, _) in enumerate(reading.cylinders):
        if parts[0] == name and len(parts) > 1:
            return ("cylinder", index, *parts[1:]), f"{name}."
    known = parts[0] in JOB.parts and parts[0] not in ("train", "cylinder")
    return (tuple(parts), "") if known and len(parts) > 1 else ((), "")


def _component(kind: Kind, last: str, entries: Entries, path: str) -> Quantity | None:
    """Return how to read one component of a row (…seat.x), or None for a whole entry."""
    if not isinstance(kind, Parts) or last not in ("x", "y", "z"):
        return None
    stem = path.rpartition(".")[0]
    count = sum(f"{stem}.{axis}" in entries for axis in "xyz") or kind.counts[-1]
    return Quantity(kind.words, kind.dimension_of(count), below=kind.below)


def _read(kind: Kind, typed: str, units: str) -> object:
    """Return a value as in the file, or as bare text where the shell took its quotes."""
    try:
        raw: object = tomllib.loads(f"value = {typed}", parse_float=Typed.of)["value"]
    except ValueError:
        raw = typed
    return kind.parse(raw, units)


def all_varied(entries: Entries, variations: Sequence[str], reading: Reading) -> tuple[Entries, list[Fault]]:
    """Return the entries with every variation carried out in turn, and what is wrong with them."""
    faults: list[Fault] = []
    for text in variations:
        entries, found = varied(entries, text, reading)
        faults += found
    return entries, faults
