"""Other values tried in place of a job's own: what stands after --with.

Rows of tables within a table ([[train.spring]], reliefs) are counted from 0 in the order of the file, as in every
path that tallstack prints: front.intake.spring.1.rate is the second spring's. A spring that stands alone has no number.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence

from tallstack.geometry.engine.before import BEFORE, STEM

from .block import path_of
from .contents import SWITCH, Entries, Entry, entries_for, tried, without_plunger
from .entries.catalogue import (
    OF_A_READING,
    ROWS,
    TYING,
    entries_of,
    kind_at,
    meaning_at,
    steps,
    table_at,
    within,
)
from .entries.fields import Kind, Parts, Quantity, Ways, nearest_names
from .entries.model import JOB
from .entries.tables import Either, Rows
from .faults import Fault, Loc
from .reading.document import Gear, Reading
from .reading.values import Blank, Typed, Value, ValueFault

MOST_SAME = 4  # entries of one name that are suggested
EXAMPLE = 'front.intake.lifter.preload="0.050 in"'
OF_THE_FILE = ("format", "title", "written_for", "units")
BY_WIRE = ("wire", "mean_diameter", "active_coils", "shear_modulus")
BY_FORCE = ("force", "force_at")


def varied(entries: Entries, text: str, reading: Reading) -> tuple[Entries, list[Fault]]:
    """Return the entries with one of them given another value, or what is wrong with it.

    text : "entry=value"; a table in braces sets every entry in it
    """
    path, equals, typed = (part.strip() for part in text.partition("="))
    outside = f"--with {text}"
    if not equals or not path:
        return entries, [_fault(outside, f"write entry=value, for example --with {EXAMPLE}")]
    if wrong := _block_wrong(path, entries):
        return entries, [_fault(outside, wrong)]
    path = path_of(path)
    raw = _raw(typed)
    faults: list[Fault] = []
    for one, value in _leaves(path, raw):
        entries, problem = _with(entries, one, value, reading, outside)
        if problem:
            faults.append(_fault(outside, problem if one == path else f"{one}: {problem}"))
    return entries, faults


def _leaves(path: str, raw: object) -> Iterator[tuple[str, object]]:
    """Yield every entry of a table in braces with its value; anything else is one entry."""
    if not isinstance(raw, dict) or not raw or raw.keys() & {"read", "by"}:  # by an instrument: one reading
        yield path, raw
        return
    for name, value in raw.items():
        yield from _leaves(f"{path}.{name}", value)


def _with(entries: Entries, path: str, raw: object, reading: Reading, outside: str) -> tuple[Entries, str]:
    """Return the entries with another value for one of them, or what is wrong with it."""
    loc, prefix = _place_of(path, reading)
    problem = _never_tried(loc) or _number_wrong(path, loc, reading)
    if path.startswith(STEM) and reading.same is None:
        problem = (
            "the file says nothing of what stood before; write that under [before] first, then try another"
        )
    if problem:
        return entries, problem
    if loc and loc[0] == "reading":
        problem = _reading_wrong(path, loc, entries)
        if problem:
            return entries, problem
    kind = kind_at(loc) if loc else None
    whole = kind_at(loc[:-1]) if len(loc) > 1 else None
    if isinstance(whole, Ways) and whole.way(str(loc[-1])) is not None:
        entry, _, _ = path.rpartition(".")
        return (
            entries,
            f"another way to write {entry}, for example --with '{entry}={whole.example(str(loc[-1]))}'",
        )
    if isinstance(raw, str) and raw.startswith("{") and table_at(loc) is not None:
        name = next(iter(re.findall(r"\{\s*([\w.-]+)\s*=", raw)), entries_of(loc)[0])
        return entries, (
            "no table that can be read; give each entry a --with of its own, for example "
            f'--with {path}.{name}="..."'
        )
    if kind is None:
        return entries, _unknown(path, loc, entries, reading)
    component = _component(kind, str(loc[-1]), entries, path)
    try:
        value = (component or kind).parse(raw, reading.units)
    except ValueFault as fault:
        return entries, str(fault)
    if isinstance(value, Blank):
        return entries, "no value after ="
    if isinstance(value, Value) and value.by and value.by not in _instruments(entries):
        there = ", ".join(_instruments(entries)) or "none"
        return entries, f'by = "{value.by}": no such instrument in the file, which has {there}'
    own = entries_for(path, component or kind, value, (), outside)
    other_ways = _other_ways(path, loc, entries)
    if isinstance(kind, Ways):
        other_ways += tuple(one for one in entries if one == path or one.startswith(f"{path}."))
    kept = {one: entry for one, entry in entries.items() if one not in other_ways}
    return tried(kept, prefix, own), ""


def _instruments(entries: Entries) -> tuple[str, ...]:
    """Return the names of the job's instruments."""
    return tuple(
        str(one.value)
        for path, one in entries.items()
        if path.startswith("instrument.") and path.endswith(".name")
    )


def _block_wrong(path: str, entries: Entries) -> str:
    """Return that a block's deck is tried where the cylinders stand on a case, or nothing."""
    cylinder = entries.get(path.replace("block_deck", "cylinder"), entries.get("stack.cylinder"))
    if not path.endswith("stack.block_deck") or (cylinder is not None and cylinder.value == 0.0):
        return ""
    return "nothing in this job says that its cylinders are part of a block: try stack.case_deck, or change the file"


def _never_tried(loc: Loc) -> str:
    """Return why an entry is of the file itself or ties its rows together, which is not tried; or nothing."""
    if len(loc) == 1 and loc[0] in OF_THE_FILE:
        return f"is of the file itself, and no answer is tried with another; change {loc[0]} in the file"
    if len(loc) == 3 and loc[0] in ROWS and loc[-1] in TYING and meaning_at(loc) is not None:
        return f"says which part of the engine this is, and is not tried; change {loc[-1]} in the file, or a copy of it"
    return ""


def _reading_wrong(path: str, loc: Loc, entries: Entries) -> str:
    """Return why a value of a reading cannot be tried, or nothing."""
    if len(loc) == 3 and loc[-1] in OF_A_READING:
        return "what a reading is of is not tried, only what was read; change it in the file"
    if path in entries:
        return ""
    there = [one for one in entries if one.startswith("reading.") and one.split(".")[-1] not in OF_A_READING]
    shown = f"; there are {', '.join(there[: MOST_SAME * 2])}" if there else "; the file has no [[reading]]"
    return f"no such entry of a reading in the file, they count from 0 in its order{shown}"


def _other_ways(path: str, loc: Loc, entries: Entries) -> tuple[str, ...]:
    """Return the entries of the same spring that say in another way what is now tried."""
    own = loc[1:] if loc[0] == BEFORE else loc
    if own[0] != "train" or own[2] != "spring":
        return ()
    stem, _, name = path.rpartition(".")
    there = {one.rpartition(".")[2] for one in entries if one.rpartition(".")[0] == stem}
    stiff = bool(there & {"rate", "wire"})
    ways: tuple[str, ...] = ()
    if name == "rate":
        ways = (*BY_WIRE, *(BY_FORCE if "free_length" in there else ()))
    elif name in BY_WIRE:
        ways = ("rate", *(BY_FORCE if "free_length" in there else ()))
    elif name == "free_length" and stiff:
        ways = BY_FORCE
    elif name in BY_FORCE and stiff:
        ways = ("free_length",)
    return tuple(f"{stem}.{one}" for one in ways)


def _number_wrong(path: str, loc: Loc, reading: Reading) -> str:
    """Return how a path through rows of tables is to be written, where it is written otherwise; or nothing."""
    for depth in range(len(loc) - 1):
        above = table_at(loc[:depth]) if depth > 1 else None
        part = above.parts.get(str(loc[depth])) if above is not None else None
        either = isinstance(part, Either) and isinstance(part.other, Rows)
        if not either and not isinstance(part, Rows):
            continue
        names = path.split(".")
        stem, rest = names[: depth + 1 - len(loc)], names[depth + 1 - len(loc) :]
        number, noun = loc[depth + 1], f"{str(loc[depth]).removesuffix('s')}s"
        count = _count_of(loc[: depth + 1], reading)
        inside = rest[1:] if isinstance(number, int) else rest[-1:]
        if count is None:
            if not isinstance(number, int) and either:
                return ""
            if not either:
                return f"the file has no {noun} there; write one in it first, then try another"
            article = "an" if noun[0] in "aeiou" else "a"
            return (
                f"{article} {noun[:-1]} that stands alone has no number; write {'.'.join([*stem, *inside])}"
            )
        if isinstance(number, int) and number < count:
            return ""
        known = [".".join([*stem, str(one), *inside]) for one in range(count)]
        shown = " or ".join(known) if count <= MOST_SAME else f"{known[0]} to {known[-1]}"
        there = f"{count} {noun}" if count > 1 else f"1 row of {noun}"
        return f"the file has {there} there, counted from 0 in its order; write {shown}"
    return ""


def _count_of(loc: Loc, reading: Reading) -> int | None:
    """Return how many rows of tables the file has at a place, a copy those of its original; None where it has none."""
    gears = {gear.name: gear for gear in reading.gears}
    seen: list[Gear] = []
    gear = next((one for one in reading.gears if loc[0] == "train" and one.row == loc[1]), None)
    found = raw_at(loc, reading.document)
    while found is None and gear is not None and gear.like in gears and gear not in seen:
        seen.append(gear)
        gear = gears[gear.like]
        found = raw_at(("train", gear.row, *loc[2:]), reading.document)
    return len(found) if isinstance(found, list) and found else None


def raw_at(loc: Loc, document: object) -> object:
    """Return what stands at a place of the document, or None."""
    for step in loc:
        if isinstance(document, Mapping):
            document = document.get(step)
        elif isinstance(document, Sequence) and isinstance(step, int) and step < len(document):
            document = document[step]
        else:
            return None
    return document


def _fault(outside: str, message: str) -> Fault:
    return Fault((), "", message, outside=outside)


def _unknown(path: str, loc: Loc, entries: Entries, reading: Reading) -> str:
    kinds = [one.value for at, one in entries.items() if at.endswith(f".{SWITCH}")]
    known = without_plunger(entries_of(loc), kinds) if loc else ()
    if known:
        return f"a table, not an entry; the entries in it are {', '.join(known)}"
    stem, _, last = path.rpartition(".")
    beside = without_plunger(entries_of(loc[:-1]), kinds) if loc else ()
    near = _of_that_name(path, loc, entries, reading)
    near = near or tuple(f"{stem}.{one}" for one in nearest_names(last, beside) if _varies((*loc[:-1], one)))
    near = near or nearest_names(path, entries)
    if near:
        return f"no such entry; did you mean {' or '.join(near)}?"
    if not loc:
        return "no such entry; `tallstack check FILE` shows the entries of a job by their paths"
    return "no such entry" + (f"; the entries there are {', '.join(beside)}" if beside else "")


def _of_that_name(path: str, loc: Loc, entries: Entries, reading: Reading) -> tuple[str, ...]:
    """Return the entries whose last word is the one that was given: in that part of the job, or in all of it."""
    last = path.rpartition(".")[2]
    if loc:
        parts = path.split(".")
        depth, start = (2, 2) if loc[0] == "train" else (1, 2) if loc[0] in ROWS else (1, 1)
        rooms = {".".join(parts[:depth]): loc[:start]}
    else:
        rooms = {gear.name: ("train", gear.row) for gear in reading.gears}
    there = tuple(one for one in entries if one.endswith(f".{last}") and not loc)
    inside = tuple(
        f"{room}.{one}"
        for room, place in rooms.items()
        for one in within(place, last)
        if _varies((*place, *one.split(".")))
    )
    shallow = min((one.count(".") for one in inside), default=0)
    for found in (there, inside, tuple(one for one in inside if one.count(".") == shallow)):
        if 0 < len(found) <= MOST_SAME:
            return found
    return ()


def _varies(loc: Loc) -> bool:
    """Say whether --with can set what stands at a place; the names that tie rows together it cannot."""
    return kind_at(loc) is not None


def _place_of(path: str, reading: Reading) -> tuple[Loc, str]:
    """Return a path's place in the document, empty where there is none, and the prefix before its own name."""
    if path.startswith(STEM):
        return _place_before(path, reading)
    parts = path.split(".")
    for gear in reading.gears:
        if parts[:2] == [gear.cylinder, gear.port] and len(parts) > 2:
            return ("train", gear.row, *steps(parts[2:])), f"{gear.name}."
    for index, (name, _) in enumerate(reading.cylinders):
        if parts[0] == name and len(parts) > 1:
            return ("cylinder", index, *steps(parts[1:])), f"{name}."
    known = parts[0] in JOB.parts and parts[0] not in ("train", "cylinder")
    whole = len(parts) > 1 or isinstance(JOB.parts.get(parts[0]), Kind)
    return (steps(parts), "") if known and whole else ((), "")


def _place_before(path: str, reading: Reading) -> tuple[Loc, str]:
    """Return the place of a path of what stood before; what is the same part may stand nowhere there."""
    loc, prefix = _place_of(path.removeprefix(STEM), reading)
    if not loc or reading.same is None:
        return (), ""
    if loc[0] in ("train", "cylinder"):
        whose = path.split(".")
        rows = {gear.name: gear.row for gear in reading.was_gears} if loc[0] == "train" else {}
        rows |= {f"{STEM}{name}": row for row, (name, _) in enumerate(reading.was_cylinders)}
        row = rows.get(".".join(whose[: 3 if loc[0] == "train" else 2]), 0)
        loc = (loc[0], row, *loc[2:])
    return (BEFORE, *loc), f"{STEM}{prefix}"


def _component(kind: Kind, last: str, entries: Entries, path: str) -> Quantity | None:
    """Return how to read one component of a row (…seat.x), or None for a whole entry."""
    if not isinstance(kind, Parts) or last not in ("x", "y", "z"):
        return None
    stem = path.rpartition(".")[0]
    count = sum(f"{stem}.{axis}" in entries for axis in "xyz") or kind.counts[-1]
    return Quantity(kind.words, kind.dimension_of(count), below=kind.below)


def _raw(typed: str) -> object:
    """Return a value as in the file, or as bare text where the shell took its quotes."""
    try:
        return tomllib.loads(f"value = {typed}", parse_float=Typed.of)["value"]
    except ValueError:
        return typed


def copied_to(job: Mapping[str, Entry], entry: str) -> tuple[str, ...]:
    """Return the valve gears that have an entry, or those inside it, by `like` from another one."""
    found = (
        ".".join(path.split(".")[:2])
        for path, one in job.items()
        if one.origin.startswith("like ") and f"{one.follows}.".startswith(f"{entry}.")
    )
    return tuple(dict.fromkeys(found))


def all_varied(entries: Entries, variations: Sequence[str], reading: Reading) -> tuple[Entries, list[Fault]]:
    """Return the entries with every variation carried out in turn, and what is wrong with them."""
    faults: list[Fault] = []
    for text in variations:
        entries, found = varied(entries, text, reading)
        faults += found
    return entries, faults
