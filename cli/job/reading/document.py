"""A document read against the model: every entry as understood, and every fault, in one walk.

A faulty entry is left out and its path remembered, so that nothing else is blamed for it: what is
misspelt, misplaced or unreadable is not reported as missing as well.

What is `like` another has its geometry, not its readings: a pushrod measured at one valve says nothing of another.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from tallstack.geometry.engine.before import BEFORE, STEM

from ..entries.catalogue import TYING, entries_of, homes
from ..entries.fields import Kind, Name, did_you_mean, listed, nearest_names
from ..entries.model import JOB
from ..entries.tables import Either, Named, Part, Rows, Table
from ..faults import Fault, Loc, in_words
from .misplaced import below_the_top, first_header, is_rows
from .values import Blank, Dimension, Value, ValueFault, described

REQUIRED = {
    "format": "write format = 1 at the top of the file",
    "units": 'write units = "mm" or units = "in" at the top, for numbers without a unit',
    "name": 'write for example name = "front"',
    "cylinder": "write the name of its [[cylinder]]",
    "port": 'write port = "intake" or port = "exhaust"',
}
MOST_HOMES = 3
OF_A_PLUNGER = ("plunger", "preload", "pumped", "bottom_least")  # parts of names of entries
MOST_ROWS = {"cylinder": 12, "train": 24, "reading": 200, "instrument": 100}
MOST_OTHERS = 16  # of nested springs, reliefs


class Leaf(NamedTuple):
    """One entry as understood."""

    path: str
    kind: Kind
    value: object  # Value, Blank, a word, or several Values
    loc: Loc


class Gear(NamedTuple):
    """What ties one [[train]] to the others."""

    row: int
    cylinder: str
    port: str
    like: str | None
    mirror: bool
    sure: bool  # cylinder and port were readable
    of_cylinder: bool  # its cylinder's name was

    @property
    def name(self) -> str:
        """The valve gear's name."""
        return f"{self.cylinder}.{self.port}"


@dataclass(slots=True)
class Reading:
    """What a document says, and what is wrong with it."""

    document: Mapping[str, object]
    units: str = "mm"
    title: str = ""
    written_for: str = ""  # the version of tallstack
    wanted: tuple[str, ...] = ()  # what is to be found out
    leaves: list[Leaf] = field(default_factory=list)
    cylinders: list[tuple[str, bool]] = field(default_factory=list)  # name, and whether it was readable
    gears: list[Gear] = field(default_factory=list)
    was_cylinders: list[tuple[str, bool]] = field(default_factory=list)  # the same of [before]
    was_gears: list[Gear] = field(default_factory=list)
    same: tuple[str, ...] | None = None  # parts of [before] that are the same now; None: there is no [before]
    lobes: tuple[str, ...] = ()
    faults: list[Fault] = field(default_factory=list)
    spoiled: set[str] = field(default_factory=set)  # paths at fault, of entries and of whole tables
    misnamed: set[str] = field(default_factory=set)  # names written in the wrong place, or meant by a slip
    below: set[Loc] = field(default_factory=set)  # where entries of the file's top stand under a table

    def unsure(self, path: str) -> bool:
        """Say whether an entry may well be in the file, but could not be read."""
        parts = path.split(".")
        above = (".".join(parts[:count]) for count in range(1, len(parts) + 1))
        return parts[-1] in self.misnamed or any(one in self.spoiled for one in above)

    def fault(self, loc: Loc, message: str, path: str = "") -> None:
        """Note what is wrong with an entry."""
        named = loc[:-1] if loc and isinstance(loc[-1], int) and loc[0] != loc[-2] else loc
        self.faults.append(Fault(loc, in_words(self.document, named), message))
        if path:
            self.spoiled.add(path)


def read_document(document: Mapping[str, object], set_aside: Iterable[str] = ()) -> Reading:
    """Return what a document says, with every fault of single entries.

    set_aside : names of entries in lines that could not be read
    """
    reading = Reading(document)
    reading.misnamed.update(set_aside)
    below = below_the_top(document)
    units = document.get("units", next((raw for loc, raw in below if loc[-1] == "units"), None))
    reading.units = units if units in ("mm", "in") and isinstance(units, str) else "mm"
    if below:
        _tell_below(reading, [loc for loc, _ in below])
        if units != reading.units:
            reading.spoiled.add("units")
    _table(reading, JOB, document, (), "")
    if "units" in reading.spoiled:  # a length without a unit of its own is not known then, all others are
        bare = [leaf for leaf in reading.leaves if _counts_in_units(leaf.value)]
        reading.spoiled.update(leaf.path for leaf in bare)
        reading.leaves = [leaf for leaf in reading.leaves if leaf not in bare]
    return reading


def _counts_in_units(value: object) -> bool:
    """Say whether a length, or one of a row, has no unit of its own."""
    values = value if isinstance(value, tuple) else (value,)
    return any(isinstance(one, Value) and one.bare and one.dimension is Dimension.LENGTH for one in values)


def _tell_below(reading: Reading, found: list[Loc]) -> None:
    """Say once that entries of the file's top stand under a table, and where they go."""
    reading.below.update(found)
    names = list(dict.fromkeys(str(loc[-1]) for loc in found))
    told = (
        "stand below a table: move these lines" if len(found) > 1 else "stands below a table: move this line"
    )
    first = first_header(reading.document)
    message = f"{listed(names)} {told} above {first}, the first table"
    reading.faults.append(Fault(found[0], "", message))


def _table(reading: Reading, table: Table, found: Mapping[str, object], loc: Loc, path: str) -> None:
    """Read a table; path : what stands in front of its entries, with a dot at its end."""
    for name in table.needs:
        if name not in found and (loc or name not in {one[-1] for one in reading.below}):
            reading.fault((*loc, name), f"missing; {REQUIRED[name]}", f"{path}{name}")
    if loc == (BEFORE,):
        reading.same = ()
    for name, part in table.parts.items():
        if name in found:
            _part(reading, part, found[name], (*loc, name), f"{path}{name}", table)
    for name, raw in found.items():
        if name not in table.parts and (*loc, name) not in reading.below:
            _unknown(reading, name, raw, (*loc, name), path)


def _part(reading: Reading, part: Part, raw: object, loc: Loc, path: str, above: Table | None = None) -> None:
    if isinstance(part, Either):
        is_other = isinstance(raw, list) if isinstance(part.other, Rows) else not isinstance(raw, dict)
        part = part.other if is_other else part.table
    if isinstance(part, Kind):
        _entry(reading, part, raw, loc, path, above)
    elif isinstance(part, Rows):
        _rows(reading, part, raw, loc, path)
    elif not isinstance(raw, dict):
        _no_table(reading, part, raw, loc, path)
    elif isinstance(part, Table):
        _table(reading, part, raw, loc, f"{path}.")
    else:
        _named(reading, part, raw, loc, path)


def _no_table(reading: Reading, part: Table | Named, raw: object, loc: Loc, path: str) -> None:
    message = f"{described(raw)} where a table of entries belongs; write [{_header(loc)}] above its entries"
    if is_rows(raw):
        message = f"there is one such table, not several; write [{_header(loc)}], with one pair of brackets"
    reading.fault(loc, message, path)
    if isinstance(raw, list) and is_rows(raw) and isinstance(part, Table):
        _table(reading, part, raw[0], (*loc, 0), f"{path}.")


def _named(reading: Reading, part: Named, found: Mapping[str, object], loc: Loc, path: str) -> None:
    if path == "lobe":
        reading.lobes = tuple(found)
    for name, raw in found.items():
        known = entries_of((*loc, "NAME"))
        if name in known and not isinstance(raw, dict):
            message = (
                f"stands in no table of its own; write it under [{_header(loc)}.intake], or any other name"
            )
            reading.fault((*loc, name), message, path)
            continue
        try:
            Name("").parse(name, "")
        except ValueFault as fault:
            reading.fault((*loc, name), str(fault), path)
            continue
        _part(reading, part.part, raw, (*loc, name), f"{path}.{name}")


def _rows(reading: Reading, part: Rows, raw: object, loc: Loc, path: str) -> None:
    if not isinstance(raw, list):
        message = f"{described(raw)} where rows of tables belong; write [[{_header(loc)}]] above each of them"
        reading.fault(loc, message, path)
        return
    most = MOST_ROWS.get(path, MOST_OTHERS)
    if len(raw) > most:
        message = f"{len(raw):,} tables; there may be at most {most} of them"
        reading.fault((*loc, most), message, path)
        return
    for index, row in enumerate(raw):
        here = (*loc, index)
        if not isinstance(row, dict):
            reading.fault(here, f"{described(row)} where a table of entries belongs", path)
        elif path in ("cylinder", f"{STEM}cylinder"):
            _cylinder(reading, part.table, row, here, index, path.removesuffix("cylinder"))
        elif path in ("train", f"{STEM}train"):
            _gear(reading, part.table, row, here, index, path.removesuffix("train"))
        else:
            _table(reading, part.table, row, here, f"{path}.{index}.")


def _cylinder(
    reading: Reading, table: Table, row: Mapping[str, object], loc: Loc, index: int, stem: str
) -> None:
    """Read one cylinder; stem : what stands before its paths, of what stood before."""
    name = _name(table, row, "name")
    there = reading.was_cylinders if stem else reading.cylinders
    taken = name in [one for one, _ in there]
    there.append((name or f"unnamed{index + 1}", bool(name)))
    _row(reading, table, row, loc, f"{stem}{name or f'unnamed{index + 1}'}.", taken)


def _gear(reading: Reading, table: Table, row: Mapping[str, object], loc: Loc, index: int, stem: str) -> None:
    """Read one valve gear; stem : what stands before its paths, of what stood before."""
    cylinder, port = _name(table, row, "cylinder"), _name(table, row, "port")
    like = _name(table, row, "like") or None
    like = None if like is None else f"{stem}{like}"
    there = reading.was_gears if stem else reading.gears
    gear = Gear(
        index,
        f"{stem}{cylinder or f'unnamed{index + 1}'}",
        port or f"port{index + 1}",
        like,
        row.get("mirror") is True and (like is not None or not row.get("like")),
        bool(cylinder and port),
        bool(cylinder),
    )
    taken = gear.name in [one.name for one in there]
    there.append(gear)
    _row(reading, table, row, loc, f"{gear.name}.", taken)


def _row(
    reading: Reading, table: Table, row: Mapping[str, object], loc: Loc, prefix: str, taken: bool
) -> None:
    """Read a row; where its name is taken only its faults count."""
    before = len(reading.leaves)
    _table(reading, table, row, loc, prefix)
    if taken:
        del reading.leaves[before:]


def _name(table: Table, row: Mapping[str, object], entry: str) -> str:
    """Return a name that ties rows together, or nothing where it is missing, blank or faulty."""
    part = table.parts[entry]
    assert isinstance(part, Kind)
    try:
        value = part.parse(row.get(entry, ""), "")
    except ValueFault:
        return ""
    return value if isinstance(value, str) else ""


def _entry(reading: Reading, kind: Kind, raw: object, loc: Loc, path: str, above: Table | None) -> None:
    try:
        value = kind.parse(raw, reading.units)
    except ValueFault as fault:
        reading.spoiled.add(path)
        for place, words in fault.inside:
            reading.fault((*loc, place), words)
        if not fault.inside:
            reading.fault(loc, str(fault))
        return
    last = str(loc[-1])
    if above is not None and last in above.needs:
        if isinstance(value, Blank):
            reading.fault(loc, f"blank; {REQUIRED[last]}", path)
    elif loc == (BEFORE, "same"):
        reading.same = value if isinstance(value, tuple) else ()
    elif loc == ("title",):
        reading.title = value if isinstance(value, str) else ""
    elif loc == ("written_for",):
        reading.written_for = value if isinstance(value, str) else ""
    elif loc == ("wanted",):
        reading.wanted = value if isinstance(value, tuple) else ()
    elif not (above is not None and above.needs and last in TYING):
        reading.leaves.append(Leaf(path, kind, value, loc))


def _unknown(reading: Reading, name: str, raw: object, loc: Loc, path: str) -> None:
    """Note an entry that cannot stand here, with the one that was meant or the place where it belongs."""
    known = entries_of(loc[:-1])
    what = "table" if isinstance(raw, dict) or is_rows(raw) else "entry"
    near, at_home = nearest_names(name, known), homes(name, str(loc[0]), what == "table")
    message = f"no such {what}"
    reading.misnamed.update(near)
    if near:
        message += did_you_mean(name, known)
    if 0 < len(at_home) <= MOST_HOMES:
        reading.misnamed.add(name)
        belongs = "one of that name" if near else "it"
        message += f"{'' if near else ' here'}; {belongs} belongs under {' or '.join(at_home)}"
    elif not near:
        reading.spoiled.add(path.removesuffix("."))
        shown = _known_here(reading, known)
        message += f"; the entries here are {', '.join(shown)}" if shown else ""
    reading.fault(loc, message)


def _known_here(reading: Reading, known: tuple[str, ...]) -> tuple[str, ...]:
    """Return names of entries, without those of a plunger where every lifter of the file is solid."""
    rows = reading.document.get("train")
    lifters = [row.get("lifter") for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    kinds = [one["kind"] for one in lifters if isinstance(one, dict) and "kind" in one]
    if not kinds or any(one != "solid" for one in kinds):
        return known
    return tuple(one for one in known if not any(part in one for part in OF_A_PLUNGER))


def _header(loc: Loc) -> str:
    """Return the header of the table at a place of the document."""
    return ".".join(part for part in loc if isinstance(part, str) and part)
