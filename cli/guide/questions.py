"""What is asked for a new job, in the order in which one measures, as far as the job is known.

What hangs on an answer before it, or has a place of its own, is named here. Any other entry says in its declaration when it
is asked: with its table where that has a place here, else after all that has one, in the order of the declarations.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from typing import Any, NamedTuple

from ..job.entries.catalogue import table_at
from ..job.entries.fields import Asked, Kind
from ..job.entries.model import JOB
from ..job.entries.tables import Either, Named, Rows, Table
from ..job.faults import Loc
from .told import ENTRIES, HALF_LIFT, ORDER, OVER_PISTON, TWO_VALVES, Told

BENCH, FULL = "bench", "coordinates"
ROUTES = {  # route → the remark by which a file is known again
    BENCH: "By the bench route: one pushrod measured for each valve gear.",
    FULL: "By coordinates: where each part of the valve gear stands.",
}
SAME_STACK = "read on the stack above"
BOTH, YES, NO, CARD, TABLE = "both", "yes", "no", "card", "table"
UNITS, TITLE, ROUTE, COUNT, NAME = "units", "title", "route", "count", "name"
PORTS, KIND, OTHER_STACK, CLEARANCES, LOBES = "ports", "lifters", "other stack", "clearances", "lobes"
MEASURED = "measured too"
READ_WITH, FOLLOWER, AGAIN, TOUCH = "read with", "follower", "dialled again", "valves touch"
TOUCHES = ("edge_intake", "edge_exhaust", "between_stems", "spread_off", "together")
PLACES = 2  # where lifter and valve were dialled at once: more tell no better
OWN, TIP, ROLLER, FLAT = "the engine's own follower", "tip", "roller", "flat"


class Question(NamedTuple):
    """One question: about an entry of the file, or about what the file is to hold."""

    key: str
    loc: Loc = ()  # the entry; empty where the question is not about one
    asks: str = ""  # in words, where the entry's meaning does not say it
    told: Told = Told("", "")
    options: tuple[str, ...] = ()  # the words it takes, the first offered first
    whose: str = ""  # "front intake"
    default: str = ""  # what Enter alone stands for; nothing: not yet

    @property
    def name(self) -> str:
        """The question, whichever cylinder or valve gear it is about."""
        return self.key.rstrip("0123456789 ")

    @property
    def group(self) -> Loc:
        """What belongs together: entries that are written blank as soon as one of them is answered."""
        return self.loc[:3] if self.loc and self.loc[0] == "train" else self.loc[:2]


INSTEAD = {  # entry → others of its table that say the same
    "length": ("checking_rod", "tip_height"),
    "valve_arm": ("cup", "ratio"),
    "pushrod_arm": ("cup", "ratio"),
    "arm_angle": ("cup", "span"),
    "pushrod_station": ("cup",),
    "case_deck": ("measured_deck",),
}


def questions(job: Mapping[str, Any], remarks: Sequence[str]) -> Iterator[Question]:
    """Yield every question for a job as far as it is known, in order.

    job : the document as it stands;  remarks : its comments
    """
    yield Question(
        UNITS,
        ("units",),
        "Units of numbers without a unit of their own?",
        Told("", ""),
        ("in", "mm"),
        "",
        "in",
    )
    yield Question(TITLE, ("title",), "What is this engine to be called?", Told("", "every answer's heading"))
    yield Question(
        ROUTE,
        (),
        "By the bench route, with a checking rod and a dial, or by coordinates?",
        Told(
            "bench takes a handful of readings; coordinates are the second chapter.",
            "which questions follow",
        ),
        (BENCH, FULL),
        "",
        BENCH,
    )
    yield Question(COUNT, (), "How many cylinders?", Told("", "which questions follow"), default="1")
    rows = _rows(job, "cylinder")
    for index in range(len(rows)):
        yield Question(
            f"{NAME} {index}",
            ("cylinder", index, "name"),
            f"What is cylinder {index + 1} to be called?",
            Told("", "every answer about it"),
        )
    for index, row in enumerate(rows if len(rows) > 1 else ()):
        yield _entry(("cylinder", index, "lean"), "cylinder.lean", f"cylinder {row.get('name', '')}")
    if rows:
        yield Question(
            PORTS,
            (),
            "Which valve gears are to be entered?",
            Told("", "which questions follow"),
            (BOTH, "intake", "exhaust"),
            "",
            BOTH,
        )
    trains = _rows(job, "train")
    if trains:
        yield Question(
            KIND,
            (),
            "Hydraulic or solid lifters?",
            Told("A hydraulic one has a plunger that gives under the thumb.", "preload or lash"),
            ("hydraulic", "solid"),
        )
        yield from _of_job(job, trains, _route(job, remarks))


def _route(job: Mapping[str, Any], remarks: Sequence[str]) -> str:
    """Return by which route a job goes."""
    if any(ROUTES[FULL] in one for one in remarks):
        return FULL
    drawn = any("shaft" in _table(row, "rocker") for row in _rows(job, "train"))
    return FULL if drawn and not any(ROUTES[BENCH] in one for one in remarks) else BENCH


def route_known(job: Mapping[str, Any], remarks: Sequence[str]) -> bool:
    """Say whether a job says by which route it goes."""
    return any(told in one for told in ROUTES.values() for one in remarks) or bool(_rows(job, "train"))


def _of_job(job: Mapping[str, Any], trains: Sequence[Mapping[str, Any]], route: str) -> Iterator[Question]:
    """Yield what is asked once the valve gears are known."""
    times = {Asked.IN_ANY_CASE, *([Asked.BY_COORDINATES] if route == FULL else [])}
    placed = list(_of_gears(trains, route))
    yield from placed
    unplaced = [one for one in _unplaced(job, times, placed) if one.loc[0] != "crank"]  # it begins clearances
    yield from unplaced
    yield Question(
        CLEARANCES,
        (),
        "Go on with clearances: crank, cam, and a dial over each valve?",
        Told("No keeps them for later; run this again then.", OVER_PISTON),
        (NO, YES),
        "",
        NO,
    )
    if "crank" in job:
        times |= _times_of_clearances(route)
        after = list(_of_clearances(job, trains, route))
        yield from after
        yield from _unplaced(job, times, [*placed, *unplaced, *after])


def _of_gears(trains: Sequence[Mapping[str, Any]], route: str) -> Iterator[Question]:
    """Yield what is asked of the stack and of each valve gear."""
    first = ("case_deck",) if route == FULL else ()
    for name in (*first, "cylinder", "base_gasket", "head_gasket"):
        yield _entry(("stack", name), f"stack.{name}", "The stack as it will be built")
    for name in ("case_cut", "head_cut"):
        yield _entry(("stack", name), f"stack.{name}", "Metal cut off since anything below was read")
    for index, train in enumerate(trains):
        if "like" not in train:
            yield from _of_train(index, train, route)
    for index, train in enumerate(trains):
        if "like" not in train:
            yield from _declared(index, train, "pushrod", {Asked.IN_ANY_CASE})


def _times_of_clearances(route: str) -> set[Asked]:
    """Return which entries are asked for the clearances."""
    return {Asked.FOR_CLEARANCES, *([Asked.FOR_CLEARANCES_BY_COORDINATES] if route == FULL else [])}


def _unplaced(job: Mapping[str, Any], times: Set[Asked], placed: Sequence[Question]) -> Iterator[Question]:
    """Yield what is declared to be asked now and has no place among what was."""
    known = {one.loc for one in placed}
    for loc, table, whose in _tables(job):
        for name in _names(table, times):
            if (*loc, name) not in known:
                below = loc[2:] if loc[0] == "train" else (loc[0], *loc[2:]) if loc[0] in NAMED else loc
                yield _entry((*loc, name), ".".join(map(str, (*below, name))), whose)


NAMED = ("lobe", "cylinder")  # tables of which there are several, each by its name


def _tables(job: Mapping[str, Any]) -> Iterator[tuple[Loc, Table, str]]:
    """Yield every table of a job that may be asked for, with its place and whose it is; none of a copied valve gear."""
    engine = {id(part) for part in JOB.parts.values()}

    def within(loc: Loc, table: Table, whose: str) -> Iterator[tuple[Loc, Table, str]]:
        yield loc, table, whose
        for name, part in table.parts.items():
            if (
                isinstance(part, Table) and id(part) not in engine
            ):  # a cylinder's own stack is laid over the engine's
                yield from within((*loc, name), part, whose)

    for name, part in JOB.parts.items():
        if isinstance(part, Table):
            yield from within((name,), part, "")
        elif isinstance(part, Named) and isinstance(part.part, Table):
            for one in _table(job, name):
                yield from within((name, one), part.part, f"{one} {name}")
        elif isinstance(part, Rows):
            for index, row in enumerate(_rows(job, name)):
                if "like" not in row:
                    whose = _whose(row) if name == "train" else f"{name} {row.get('name', index + 1)}"
                    yield from within((name, index), part.table, whose)


def _names(table: Table, times: Set[Asked]) -> list[str]:
    """Return the entries of a table that are declared to be asked at one of these times, in their order."""
    kinds = {name: part.other if isinstance(part, Either) else part for name, part in table.parts.items()}
    return [name for name, kind in kinds.items() if isinstance(kind, Kind) and kind.asked in times]


def _declared(index: int, train: Mapping[str, Any], name: str, times: Set[Asked]) -> Iterator[Question]:
    """Yield what is declared to be asked of one table of a valve gear."""
    table = table_at(("train", index, name))
    for one in () if table is None else _names(table, times):
        yield _of(index, train, name, one)


def _of_train(index: int, train: Mapping[str, Any], route: str) -> Iterator[Question]:
    kind = str(_table(train, "lifter").get("kind", ""))
    if kind == "solid":
        yield _of(index, train, "lifter", "lash")
        yield _of(index, train, "lifter", "lash_at")
        if route == BENCH and _table(train, "lifter").get("lash_at", "valve") != "pushrod":
            yield _of(index, train, "rocker", "ratio")
    else:
        yield _of(index, train, "lifter", "preload")
        yield _of(index, train, "lifter", "plunger_travel")
    if route == FULL:
        for table in ("lifter", "rocker", "valve"):
            yield from _declared(index, train, table, {Asked.BY_COORDINATES})
        yield Question(
            f"{MEASURED} {index}",
            ("train", index),
            "Was its pushrod measured too, with a checking rod?",
            Told("Coordinates alone give an estimate, not a length to order.", ORDER),
            (NO, YES),
            _whose(train),
            NO,
        )
        if "measured_pushrod" not in train:
            return
    for name in ("length", "as", *(("plunger",) if kind != "solid" else ()), "lean"):
        yield _of(index, train, "measured_pushrod", name)
    yield from _other_stack(index, train, "measured_pushrod", "rod")


def _other_stack(index: int, train: Mapping[str, Any], reading: str, what: str) -> Iterator[Question]:
    """Yield what is asked of the stack that a rod or a drop was read on."""
    yield Question(
        f"{OTHER_STACK} {index}" + ("" if what == "rod" else " 0"),
        ("train", index, reading),
        f"Was the {what} read on another stack than the one it will be built with?",
        Told(
            "Another cylinder or gasket in place then.",
            "the stack that the measured pushrod fits" if what == "rod" else OVER_PISTON,
        ),
        (NO, YES),
        _whose(train),
        NO,
    )
    if "stack" in _table(train, reading):
        for name in ("cylinder", "base_gasket", "head_gasket"):
            then = _of(index, train, reading, "stack", name)
            yield then._replace(whose=f"{then.whose}, when the {what} was read")


def _of_clearances(
    job: Mapping[str, Any], trains: Sequence[Mapping[str, Any]], route: str
) -> Iterator[Question]:
    for above in ("crank", "piston", "stack"):
        table = table_at((above,))
        for name in () if table is None else _names(table, _times_of_clearances(route)):
            yield _entry((above, name), f"{above}.{name}")
    yield Question(
        LOBES,
        (),
        "Is the cam known by its timing card, or by a table of lift readings?",
        Told("A table is a CSV file; `tallstack lobe` looks at one by itself.", OVER_PISTON),
        (CARD, TABLE),
    )
    ports = list(dict.fromkeys(str(train.get("port")) for train in trains))
    for place, port in enumerate(ports):
        lobe = _table(_table(job, "lobe"), port)
        if "card" in lobe or "table" in lobe:
            yield from _of_lobe(place, port, lobe)
    for index, train in enumerate(trains):
        if "like" in train:
            continue
        if _read_otherwise(_table(_table(job, "lobe"), str(train.get("port")))):
            yield from _of_follower(index, train)
        measured_at = _table(_table(job, "lobe"), str(train.get("port"))).get("measured_at")
        solid = _table(train, "lifter").get("kind") == "solid"
        if route == BENCH and measured_at != "valve" and not solid:
            yield _of(index, train, "rocker", "ratio")
        if route == FULL:
            yield from _declared(index, train, "valve", {Asked.FOR_CLEARANCES_BY_COORDINATES})
            continue
        for name in ("drop", "lean", "meets"):
            yield _of(index, train, "measured_drop", name)
        if _table(train, "measured_drop").get("meets") != "crown":
            yield _of(index, train, "measured_drop", "room")
        if _table(train, "measured_drop").get("drop"):
            yield from _other_stack(index, train, "measured_drop", "drop")
    if route == BENCH:
        yield from _of_two_valves(job, trains)
    for port in ports:
        yield _entry(("targets", f"drop_{port}"), f"targets.drop_{port}")
    touched = any("valves_touch" in row for row in _rows(job, "cylinder"))
    if len(ports) > 1 and (route == FULL or touched):
        yield _entry(("targets", "valve_to_valve"), "targets.valve_to_valve")


def _of_two_valves(job: Mapping[str, Any], trains: Sequence[Mapping[str, Any]]) -> Iterator[Question]:
    """Yield what is asked of two valves of a cylinder that were pushed together."""
    for index, row in enumerate(_rows(job, "cylinder")):
        name = row.get("name")
        if sum(one.get("cylinder") == name for one in trains) < len(("intake", "exhaust")):
            continue
        whose = f"cylinder {name}"
        yield Question(
            f"{TOUCH} {index}",
            ("cylinder", index),
            "Were its two valves pushed open by hand, to see where their heads touch?",
            Told(
                "Light springs, the piston far down, a dial on each retainer. No leaves valve to valve unknown.",
                TWO_VALVES,
            ),
            (NO, YES),
            whose,
            NO,
        )
        for entry in TOUCHES if "valves_touch" in row else ():
            yield _entry(("cylinder", index, "valves_touch", entry), f"cylinder.valves_touch.{entry}", whose)


def _read_otherwise(lobe: Mapping[str, Any]) -> bool:
    """Say whether a table is known to have been read at the lifter with something else than the engine's follower."""
    at_lifter = "table" in lobe and lobe.get("measured_at") != "valve"
    return at_lifter and bool(lobe.get("read_with")) and lobe.get("read_with") != OWN


def _of_follower(index: int, train: Mapping[str, Any]) -> Iterator[Question]:
    """Yield what rides on a lobe in the engine, where something else read it."""
    yield Question(
        f"{FOLLOWER} {index}",
        ("train", index, "lifter"),
        "What rides on the lobe in the engine?",
        Told("Look at the lifter: a roller, or a foot.", OVER_PISTON),
        (ROLLER, FLAT),
        _whose(train),
    )
    follower = _table(train, "lifter").get("follower")
    if isinstance(follower, Mapping):
        yield _of(index, train, "lifter", "follower", ROLLER)
        yield _of(index, train, "lifter", "follower_offset")


def _of_reading(place: int, loc: Loc, lobe: Mapping[str, Any], told: str) -> Iterator[Question]:
    """Yield what rode on a lobe while its table was read at the lifter."""
    yield Question(
        f"{READ_WITH} {place}",
        loc,
        "What rode on the lobe while it was read?",
        Told("A ball tip and the engine's roller have another lift off the same lobe.", OVER_PISTON),
        (OWN, TIP, ROLLER, FLAT),
        told,
    )
    if not _read_otherwise(lobe):
        return
    read_with = lobe.get("read_with")
    if isinstance(read_with, Mapping):
        for name in (TIP, ROLLER):
            if name in read_with:
                yield _entry((*loc, "read_with", name), f"lobe.read_with.{name}", told)
        yield _entry((*loc, "read_offset"), "lobe.read_offset", told)
    else:
        yield _entry((*loc, "ground_for"), "lobe.ground_for", told)
    yield _entry((*loc, "base_radius"), "lobe.base_radius", told)


def _of_dialled(place: int, loc: Loc, found: object, told: str) -> Iterator[Question]:
    """Yield the places where lifter and valve were dialled at once, and whether there is one more."""
    rows = found if isinstance(found, list) else [found]
    for index, row in enumerate(rows):
        where: Loc = (*loc, index) if isinstance(found, list) else loc
        lifter, valve = (_entry((*where, name), f"lobe.dialled.{name}", told) for name in ("lifter", "valve"))
        yield lifter._replace(told=HALF_LIFT) if index else lifter
        yield valve
        if (
            index + 1 == len(rows) < PLACES
            and isinstance(row, Mapping)
            and row.get("lifter")
            and row.get("valve")
        ):
            yield Question(
                f"{AGAIN} {place}",
                loc,
                "Were lifter and valve dialled at half lift too?",
                Told("A rocker's ratio changes on the way; full lift and half lift tell it.", OVER_PISTON),
                (NO, YES),
                told,
                NO,
            )


def _of_lobe(place: int, port: str, lobe: Mapping[str, Any]) -> Iterator[Question]:
    loc: Loc = ("lobe", port)
    told = f"{port} lobe"
    if "table" in lobe:
        yield _entry((*loc, "table"), "lobe.table", told)
    yield _entry((*loc, "measured_at"), "lobe.measured_at", told)
    if "table" in lobe and lobe.get("measured_at") == "valve":
        yield _entry((*loc, "lash_read"), "lobe.lash_read", told)
        yield from _of_dialled(place, (*loc, "dialled"), lobe.get("dialled"), told)
    elif "table" in lobe:
        yield from _of_reading(place, loc, lobe, told)
    if "card" in lobe:
        yield _entry((*loc, "card", "peak"), "lobe.card.peak", told)
        if lobe.get("measured_at") == "valve":
            yield _entry((*loc, "card", "ratio"), "lobe.card.ratio", told)
        for table in ("duration", "seat"):
            for name in ("at", "degrees"):
                yield _entry((*loc, "card", table, name), f"lobe.card.{table}.{name}", told)
    yield _entry((*loc, "centreline"), "lobe.centreline", told)
    if "card" in lobe:
        yield _entry((*loc, "card", "top_centre"), "lobe.card.top_centre", told)


def _of(index: int, train: Mapping[str, Any], *names: str) -> Question:
    """Return the question of an entry of a valve gear."""
    return _entry(("train", index, *names), ".".join(names), _whose(train))


def _entry(loc: Loc, name: str, whose: str = "") -> Question:
    return Question(".".join(map(str, loc)), loc, "", ENTRIES.get(name, Told("", "")), (), whose)


def _whose(train: Mapping[str, Any]) -> str:
    return f"{train.get('cylinder', '')} {train.get('port', '')}".strip()


def _rows(job: Mapping[str, Any], name: str) -> Sequence[Mapping[str, Any]]:
    found = job.get(name)
    return [row for row in found if isinstance(row, Mapping)] if isinstance(found, list) else []


def _table(job: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = job.get(name)
    return found if isinstance(found, Mapping) else {}
