"""What is asked for a new job, in the order in which one measures, as far as the job is known.

What hangs on an answer before it, or has a place of its own, is named here. Any other entry is asked where an answer that
is wanted says that it lacks it (`needs`), or says in its declaration when it is asked: with its table where that has a
place here, else after all that has one, in the order of the declarations.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from typing import Any, NamedTuple

from tallstack.geometry.engine.before import BEFORE

from ..job.entries.before_tables import same_paths
from ..job.entries.catalogue import entries_of, kind_at, table_at
from ..job.entries.engine_tables import BLOCK
from ..job.entries.fields import Asked, Kind
from ..job.entries.model import JOB, NOW
from ..job.entries.tables import Either, Named, Rows, Table
from ..job.entries.wanted import ASSEMBLY, HOT, PUSHRODS, SPEED, SPRINGS, VALVES, WANTED
from ..job.faults import Loc
from ..job.variations import raw_at
from .needs import OWN_TABLES, Need, own_tables
from .told import ENDS, ENTRIES, HALF_LIFT, ORDER, OVER_PISTON, TWO_VALVES, Told

BENCH, FULL = "bench", "coordinates"
ROUTES = {  # route → the remark by which a file is known again
    BENCH: "By the bench route: one pushrod measured for each valve gear.",
    FULL: "By coordinates: where each part of the valve gear stands.",
}
SAME_STACK = "read on the stack above"
EACH_ITSELF = "Each valve gear is entered by itself."
BOTH, YES, NO, CARD, TABLE = "both", "yes", "no", "card", "table"
UNITS, TITLE, ROUTE, COUNT, NAME = "units", "title", "route", "count", "name"
PORTS, KIND, OTHER_STACK, LOBES = "ports", "lifters", "other stack", "lobes"
FIND_OUT, MORE_OUT, MORE, LAYOUT = "find out", "more to find out", "more of", "layout"
FIRING, DIFFER = "firing", "differ"
ALIKE, READ_ALIKE, SAME, DECK = "alike", "read alike", "same", "deck"
FORM = "form"
CHANGED, SAME_PARTS, READ_BEFORE = "changed", "same parts", "read before"
NAMES_OF_ALL, MEASURED = "names", "measured too"
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
    free: bool = False  # besides its options it takes words of a person's own
    alone: bool = False  # left open it leaves nothing in the file: whatever lacks it asks again

    @property
    def name(self) -> str:
        """The question, whichever cylinder or valve gear it is about."""
        return self.key.partition(":")[0].rstrip("0123456789 ")

    @property
    def group(self) -> Loc:
        """What belongs together: entries that are written blank as soon as one of them is answered."""
        if self.alone:
            return self.loc
        return self.loc[:3] if self.loc and self.loc[0] == "train" else self.loc[:2]


INSTEAD = {  # entry → others of its table that say the same
    "length": ("checking_rod", "tip_height"),
    "valve_arm": ("cup", "ratio"),
    "pushrod_arm": ("cup", "ratio"),
    "arm_angle": ("cup", "span"),
    "pushrod_station": ("cup",),
    "case_deck": ("measured_deck",),
}
GEARS = {PUSHRODS, VALVES, SPEED, SPRINGS, HOT, ASSEMBLY}  # of which valve gears are asked for
BRIDGE, EACH, HEIGHTS = "bridge", "bridge at each", "heights"
IN_LINE, OTHERWISE = "in line", "otherwise"
ON_CASE, IN_BLOCK = "on a case", "in a block"
DECKS = {"case_deck", "block_deck"}
ALL, NONE, MIRRORED = "all", "none", "mirrored"
NOT_COPIED = {
    "bore_readings",
    "measured_pushrod",
    "measured_drop",
    "valves_touch",
}  # read at each, whatever others read
ANSWERS_TOLD = 4  # that wait for an entry
FEW = 2  # cylinders that are named one by one
LAST = {
    "running",
    "materials",
    "intake_face",
    "exhaust_face",
}  # parts that are come to when all else is through


def wanted_of(job: Mapping[str, Any]) -> tuple[str, ...]:
    """Return what is to be found out; of a file that does not say it, what it has begun."""
    said = job.get("wanted")
    found = [said] if isinstance(said, str) else said if isinstance(said, list) else []
    known = tuple(one for one in WANTED if one in found)
    if known or not ({"stack", "cylinder", "train"} & job.keys()):
        return known
    return (PUSHRODS, VALVES) if "crank" in job else (PUSHRODS,)


def questions(
    job: Mapping[str, Any], remarks: Sequence[str], needs: Sequence[Need] = ()
) -> Iterator[Question]:
    """Yield every question for a job as far as it is known, in order.

    job   : the document as it stands;  remarks : its comments
    needs : what the answers that are wanted lack
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
        FIND_OUT,
        (),
        "What do you want to know of it? One or more of these words, with commas, or all:",
        Told("More can be added when these are through.", "which questions follow"),
        tuple(WANTED),
        "",
        PUSHRODS,
        free=True,
    )
    wanted = {*wanted_of(job)}
    if not wanted:
        return
    if {PUSHRODS, VALVES} & wanted:
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
    yield from _of_cylinders(job)
    rows, trains = _rows(job, "cylinder"), _rows(job, "train")
    if not rows:
        return
    if GEARS & wanted:
        yield from _of_kinds(rows, trains)
        if not trains:
            return
    yield from _of_job(job, trains, _route(job, remarks), wanted, needs)
    left = tuple(one for one in WANTED if one not in wanted)
    if left:
        yield Question(
            f"{MORE_OUT} {len(left)}",
            (),
            "What else do you want to know?",
            Told(
                "One or more of these words, with commas, or all; no keeps them for later.",
                "which questions follow",
            ),
            left,
            "",
            NO,
            free=True,
        )


def together(loc: Loc, job: Mapping[str, Any], remarks: Sequence[str]) -> tuple[Loc, ...]:
    """Return the entries that are written blank beside one as soon as it is entered, where nothing says the same there."""
    every = [one for one in questions(job, remarks) if one.loc and not one.asks and not one.alone]
    own = next((one for one in every if one.loc == loc), None)
    beside = () if own is None else (one.loc for one in every if one.group == own.group and one.loc != loc)
    return tuple(one for one in beside if not (_at(job, one[:-1]).keys() & {*INSTEAD.get(str(one[-1]), ())}))


def _of_cylinders(job: Mapping[str, Any]) -> Iterator[Question]:
    """Yield what is asked of how many cylinders there are, what they are called and how they stand."""
    yield Question(COUNT, (), "How many cylinders?", Told("", "which questions follow"), default="1")
    rows = _rows(job, "cylinder")
    names = [str(row.get("name", "")) for row in rows]
    if len(rows) > FEW:
        yield Question(
            NAMES_OF_ALL,
            (),
            "What are the cylinders to be called?",
            Told("All of them in their order, with commas.", "every answer about them"),
            default=", ".join(names),
            free=True,
        )
    for index in range(len(rows) if len(rows) <= FEW else 0):
        yield Question(
            f"{NAME} {index}",
            ("cylinder", index, "name"),
            f"What is cylinder {index + 1} to be called?",
            Told("", "every answer about it"),
        )
    if len(rows) < FEW:
        return
    if len(rows) > FEW:
        yield Question(
            LAYOUT,
            (),
            "How do the cylinders stand?",
            Told(
                "in line: all upright, one behind the other; else their leans are asked for.",
                "where the parts stand",
            ),
            (IN_LINE, OTHERWISE),
            "",
            IN_LINE,
        )
    if len(rows) == FEW or any("lean" in row and row["lean"] != 0 for row in rows):
        for index, row in enumerate(rows):
            yield _entry(("cylinder", index, "lean"), "cylinder.lean", f"cylinder {row.get('name', '')}")
    if len(rows) > FEW and all(row.get("lean") == 0 for row in rows):
        yield Question(
            FIRING,
            (),
            "In which order do they fire, evenly spaced?",
            Told(
                f"The names with dashes: {'-'.join(names)}. Not evenly: Enter, then /fires for each.",
                "where each stands when another one is set",
            ),
            free=True,
        )


def _of_kinds(rows: Sequence[Mapping[str, Any]], trains: Sequence[Mapping[str, Any]]) -> Iterator[Question]:
    """Yield what is asked of which valve gears there are, of what kind, and which are built alike."""
    yield Question(
        PORTS,
        (),
        "Which valve gears are to be entered?",
        Told("", "which questions follow"),
        (BOTH, "intake", "exhaust"),
        "",
        BOTH,
    )
    if not trains:
        return
    yield Question(
        KIND,
        (),
        "Hydraulic or solid lifters?",
        Told("A hydraulic one has a plunger that gives under the thumb.", "preload or lash"),
        ("hydraulic", "solid"),
    )
    if len(rows) > 1:
        first = [_whose(one) for one in trains if one.get("cylinder") == trains[0].get("cylinder")]
        yield Question(
            ALIKE,
            (),
            f"Which valve gears are built like {' and '.join(first)}?",
            Told(
                f"Lifter, rocker, valve, spring, pushrod. all; mirrored: all, turned round; none; or all but {_whose(trains[-1])}. "
                "What is read at each is asked at each.",
                "entering parts that are alike once",
            ),
            (ALL, NONE, MIRRORED),
            "",
            ALL,
            free=True,
        )


def _route(job: Mapping[str, Any], remarks: Sequence[str]) -> str:
    """Return by which route a job goes."""
    if any(ROUTES[FULL] in one for one in remarks):
        return FULL
    drawn = any("shaft" in _table(row, "rocker") for row in _rows(job, "train"))
    return FULL if drawn and not any(ROUTES[BENCH] in one for one in remarks) else BENCH


def route_known(job: Mapping[str, Any], remarks: Sequence[str]) -> bool:
    """Say whether a job says by which route it goes."""
    return any(told in one for told in ROUTES.values() for one in remarks) or bool(_rows(job, "train"))


def _of_job(
    job: Mapping[str, Any],
    trains: Sequence[Mapping[str, Any]],
    route: str,
    wanted: Set[str],
    needs: Sequence[Need],
) -> Iterator[Question]:
    """Yield what is asked once cylinders and valve gears are known, in the order of the hands on the engine."""
    placed: list[Question] = []

    def each(found: Iterable[Question]) -> Iterator[Question]:
        for one in found:
            placed.append(one)
            yield one

    def lacking(of: Callable[[Need], bool]) -> Iterator[Question]:
        known = {one.loc for one in placed}
        return _of_needs(job, [one for one in needs if of(one) and one.loc not in known])

    times = {Asked.IN_ANY_CASE, *([Asked.BY_COORDINATES] if route == FULL else [])}
    clear = VALVES in wanted
    if clear:
        times |= _times_of_clearances(route)
    yield _changed()
    if BEFORE in job:
        yield _same_parts()
    yield from each(_of_stack(job, route, wanted))
    if clear:
        yield from each(_of_crank(route))
    yield from each(lacking(lambda one: one.loc[0] != "train" and LAST.isdisjoint(map(str, one.loc))))
    if BEFORE in job:
        yield from each(_as_it_was(job, False))
    if {PUSHRODS, VALVES} & wanted:
        yield from each(_of_gears(job, trains, route, PUSHRODS in wanted))
    yield from each(_unplaced(job, times - _times_of_clearances(route), placed))
    if clear:
        yield from each(_of_clearances(job, trains, route))
        yield from each(_unplaced(job, times, placed))
    yield from each(lacking(lambda one: True))
    if BEFORE in job:
        yield from each(_as_it_was(job, True))
    if wanted - {PUSHRODS, VALVES}:
        yield from _more(job, placed)


def _changed() -> Question:
    """Return whether there is an engine before this one."""
    return Question(
        CHANGED,
        (),
        "Was this engine changed, or will it be, and is it known what stood in it before?",
        Told(
            "yes asks which parts are the same and, beside the others, for what stood there; what was read on it then can say so. "
            "A rod read on another cylinder alone needs no yes.",
            "swap, ports that moved, what the sheet says was changed",
        ),
        (NO, YES),
        "",
        NO,
    )


def _same_parts() -> Question:
    return Question(
        SAME_PARTS,
        (),
        "Which of these are the same part now as then? With commas, or none:",
        Told("The very same part, not one like it: it is entered once.", "what differs, and what does not"),
        (NONE, *SAME_OFFERED),
        "",
        NONE,
        free=True,
    )


SAME_OFFERED = ("crank", "piston", "cylinder", "gaskets", "case", "head", "lifter", "pushrod", "cam", "lobe")


def _as_it_was(job: Mapping[str, Any], faces: bool) -> Iterator[Question]:
    """Yield what stood before, beside each entry that is given now and of no part that is said to be the same.

    faces : those of the ports, which are come to last; else all others
    """
    same = same_paths(_table(job, BEFORE).get("same", []))
    rows = {name: len(_rows(_table(job, BEFORE), name)) for name in ("cylinder", "train")}
    for loc, table, _ in tables_of(job, laid_over=True):
        is_row = loc[0] in rows
        if loc[0] not in (*BEFORE_TABLES, *rows) or NOT_COPIED & {*loc} or (faces != bool(LAST & {*loc})):
            continue
        if is_row and int(loc[1]) >= rows[str(loc[0])]:
            continue
        for name in _at(job, loc):
            own = ".".join(map(str, (*(loc[2:] if is_row else loc), name)))
            kind = kind_at((BEFORE, *loc, name)) if name in table.parts else None
            if kind is None or kind.wish or own in SINCE or own.startswith("stack.measured_deck"):
                continue
            if _at(job, loc)[name] in ("", []) or any(
                own == one or own.startswith(f"{one}.") for one in same
            ):
                continue
            where: Loc = (BEFORE, *loc, name)
            told = Told(
                ENTRIES.get(own, Told("", "")).how, "what the change does; what is not said is lacking"
            )
            whose = f"{_name_of(job, loc)}, " if is_row else ""
            yield Question(
                ".".join(map(str, where)),
                where,
                "",
                told,
                (),
                f"{whose}{own.partition('.')[0]} as it was",
                alone=True,
            )


BEFORE_TABLES = ("stack", "crank", "piston", "chamber", "studs")
SINCE = ("stack.case_cut", "stack.head_cut")  # done since, by what they are


def _of_needs(job: Mapping[str, Any], needs: Sequence[Need]) -> Iterator[Question]:
    """Yield what answers lack; before the parts of a second cylinder or valve gear whether they are those of another."""
    asked, deck = set[Loc](), False
    for need in needs:
        loc = need.loc
        if loc[-1] == "case_deck" and is_block(job):
            loc = (*loc[:-1], "block_deck")
        if loc[-1] in DECKS and not any(DECKS & one.keys() for one in (_table(job, "stack"), *_stacks(job))):
            if not deck:
                deck = True
                yield _deck(job, need)
                yield from _of_bridge(job)
            continue
        table = _table_of(loc)
        if table and table not in asked:
            asked.add(table)
            other = _other_with(job, loc)
            if other:
                yield _same(job, table, other, _for(need))
        if kind_at(loc) is None:  # a row that is not there yet
            continue
        below = ".".join(map(str, loc[2:] if isinstance(loc[1], int) and loc[0] == "train" else _spoken(loc)))
        told = ENTRIES.get(below, Told("", ""))
        whose = _name_of(job, loc) if isinstance(loc[1], int) else str(loc[0])
        yield Question(
            ".".join(map(str, loc)), loc, "", told._replace(used=_for(need)), (), whose, alone=True
        )


def _spoken(loc: Loc) -> Loc:
    return (loc[0], *loc[2:]) if isinstance(loc[1], int) else loc


def _for(need: Need) -> str:
    """Return which answers wait for an entry, in words: without it there is none of them."""
    told = [one.lower() for one in need.answers[:ANSWERS_TOLD]]
    more = len(need.answers) - len(told)
    return ", ".join(told) + (f", and {more} more" if more else "")


def _table_of(loc: Loc) -> Loc:
    """Return the table of an entry that a cylinder or a valve gear may have as another has it, or nothing."""
    return loc[:3] if len(loc) > 3 and isinstance(loc[1], int) and loc[2] not in NOT_COPIED else ()


def _other_with(job: Mapping[str, Any], loc: Loc) -> Loc:
    """Return where another cylinder or valve gear has that table filled in, the nearest before it, or nothing."""
    rows = _rows(job, str(loc[0]))
    here = rows[int(loc[1])]
    if _filled(_table(here, str(loc[2]))):
        return ()
    for index in range(int(loc[1]) - 1, -1, -1):
        if _filled(_table(rows[index], str(loc[2]))):
            return (loc[0], index, loc[2])
    return ()


def _filled(table: Mapping[str, Any]) -> bool:
    return any(_filled(one) if isinstance(one, Mapping) else one not in ("", []) for one in table.values())


def _name_of(job: Mapping[str, Any], loc: Loc) -> str:
    row = _rows(job, str(loc[0]))[int(loc[1])]
    return _whose(row) if loc[0] == "train" else f"cylinder {row.get('name', '')}"


def _stacks(job: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [_table(row, "stack") for row in _rows(job, "cylinder")]


def _deck(job: Mapping[str, Any], need: Need) -> Question:
    several = len(_rows(job, "cylinder")) > 1
    return Question(
        DECK,
        (),
        "How is it known how far the pistons stand below their cylinders' tops?",
        Told(
            f"{BRIDGE}: a dial on a bridge over the piston at top centre{', the same for all' if several else ''}; "
            f"{HEIGHTS}: case deck above the crank's centre, and pin to crown.",
            _for(need),
        ),
        (BRIDGE, *((EACH,) if several else ()), HEIGHTS),
        "",
        EACH if several else BRIDGE,
    )


def _of_bridge(job: Mapping[str, Any]) -> Iterator[Question]:
    """Yield what a bridge read, one for all cylinders or one for each, where that is how it is known."""
    for index, row in enumerate(({}, *_rows(job, "cylinder")), -1):
        stack = _table(job if index < 0 else row, "stack")
        if "measured_deck" in stack:
            loc: Loc = ("stack",) if index < 0 else ("cylinder", index, "stack")
            whose = "" if index < 0 else f"cylinder {row.get('name', '')}"
            yield _entry((*loc, "measured_deck", "below"), "stack.measured_deck.below", whose)
            if BEFORE in job and stack["measured_deck"].get("below"):
                yield Question(
                    f"{READ_BEFORE}: {'.'.join(map(str, loc))}",
                    (*loc, "measured_deck"),
                    "Was that read on the engine as it was?",
                    Told("", "which pistons and stack it is of"),
                    (NO, YES),
                    whose,
                    NO,
                )


def _more(job: Mapping[str, Any], placed: Sequence[Question]) -> Iterator[Question]:
    """Yield, for each table that was asked of, what else it can hold."""
    seen = {one.loc[:-1]: None for one in placed if one.alone and one.loc}
    known = {one.loc for one in placed}
    for loc in seen:
        found = _at(job, loc)
        names = tuple(
            name
            for name in entries_of(loc)
            if kind_at((*loc, name)) is not None and (*loc, name) not in known and name not in found
        )
        if names and not (len(loc) == 2 and loc[0] == "cylinder"):
            whose = _name_of(job, loc) if len(loc) > 1 and isinstance(loc[1], int) else ""
            yield Question(
                f"{MORE}: {'.'.join(map(str, loc))}",
                loc,
                f"Is more known of {'its ' if whose else 'the '}{str(loc[-1]).replace('_', ' ')}?",
                Told(
                    "Names from this list, with commas; they are asked for next.",
                    "what is left out is taken as `check` says",
                ),
                names,
                whose,
                NONE,
                free=True,
            )


def _at(job: Mapping[str, Any], loc: Loc) -> Mapping[str, Any]:
    found = raw_at(loc, job)
    return found if isinstance(found, Mapping) else {}


def _of_stack(job: Mapping[str, Any], route: str, wanted: Set[str]) -> Iterator[Question]:
    """Yield what is asked of the stack."""
    rows = _rows(job, "cylinder")
    if len(rows) > 1:
        yield Question(
            DIFFER,
            (),
            "Do the cylinders differ in any of these as they will be built? Those that do, with commas:",
            Told("none: entered once, for all of them.", "entering parts that are alike once"),
            (NONE, *OWN_TABLES),
            "",
            NONE,
            free=True,
        )
    if len(rows) > FEW:
        yield Question(
            FORM,
            (),
            "Are the cylinders set on a case, or part of the block?",
            Told(
                "A block has no cylinder and no base gasket to measure; its deck is one figure.",
                "which parts the stack has",
            ),
            (ON_CASE, IN_BLOCK),
            "",
            ON_CASE,
        )
    block = is_block(job)
    deck = "block_deck" if block else "case_deck"
    first = (deck,) if route == FULL and {PUSHRODS, VALVES} & wanted else ()
    parts = ("head_gasket",) if block else ("cylinder", "base_gasket", "head_gasket")
    stacks = [index for index, row in enumerate(rows) if "stack" in own_tables(row)]
    for index in stacks or [-1]:
        loc: Loc = ("stack",) if index < 0 else ("cylinder", index, "stack")
        whose = "" if index < 0 else f"cylinder {rows[index].get('name', '')}: "
        for name in (*first, *parts):
            yield _entry((*loc, name), f"stack.{name}", f"{whose}The stack as it will be built")
        for name in ("case_cut", "head_cut"):
            yield _entry((*loc, name), f"stack.{name}", f"{whose}Metal cut off since anything below was read")


def is_block(job: Mapping[str, Any]) -> bool:
    """Say whether the cylinders are part of the block."""
    return _table(job, "stack").get("cylinder") == BLOCK or "block_deck" in _table(job, "stack")


def _of_crank(route: str) -> Iterator[Question]:
    """Yield what is asked of crank and piston for the clearances."""
    for above in ("crank", "piston", "stack"):
        table = table_at((above,))
        for name in () if table is None else _names(table, _times_of_clearances(route)):
            yield _entry((above, name), f"{above}.{name}")


def _of_gears(
    job: Mapping[str, Any], trains: Sequence[Mapping[str, Any]], route: str, rods: bool
) -> Iterator[Question]:
    """Yield what is asked of each valve gear and of its rod."""
    for index, train in enumerate(trains):
        if "like" not in train:
            yield from _of_train(index, train, route, rods, job)
        elif rods and (route == BENCH or "measured_pushrod" in trains[_first(trains, train)]):
            yield from _of_rod(index, train, trains, job)
        if rods and "measured_pushrod" in train:
            yield from _read_alike(index, train, trains, "measured_pushrod", "length")
    if rods:
        for index, train in enumerate(trains):
            if "like" not in train:
                yield from _of_ends(job, index, train)


def _of_ends(job: Mapping[str, Any], index: int, train: Mapping[str, Any]) -> Iterator[Question]:
    """Yield what is asked of the pushrod to be ordered, or whether it is as another one."""
    other = _other_with(job, ("train", index, "pushrod"))
    if other:
        yield _same(job, ("train", index, "pushrod"), other, ENDS)
    yield from _declared(index, train, "pushrod", {Asked.IN_ANY_CASE})


def _same(job: Mapping[str, Any], table: Loc, other: Loc, used: str) -> Question:
    return Question(
        f"{SAME}: {'.'.join(map(str, table))}",
        table,
        f"Is its {table[2]} the same as that of {_name_of(job, other)}?".replace("_", " "),
        Told("yes takes all of it over, and the file says so; no asks for it here.", used),
        (NO, YES),
        _name_of(job, table),
        NO,
    )


def _first(trains: Sequence[Mapping[str, Any]], train: Mapping[str, Any]) -> int:
    """Return the first valve gear of the same port."""
    return next(index for index, one in enumerate(trains) if one.get("port") == train.get("port"))


def _read_alike(
    index: int, train: Mapping[str, Any], trains: Sequence[Mapping[str, Any]], table: str, reading: str
) -> Iterator[Question]:
    """Yield whether a reading was taken the same way at the other valve gears of the port, which are copies."""
    others = [
        one for one in trains if one.get("port") == train.get("port") and one is not train and "like" in one
    ]
    if _first(trains, train) != index or not others or not _table(train, table).get(reading):
        return
    what = "rods" if table == "measured_pushrod" else "drops"
    solid = _table(train, "lifter").get("kind") == "solid"
    rod = "ends, lean, stack" if solid else "ends, plunger, lean, stack"
    how = rod if table == "measured_pushrod" else "lean, what is met, room, stack"
    both = len({one.get("port") for one in trains}) > 1 and index == 0
    yield Question(
        f"{READ_ALIKE}: {table} {index}",
        ("train", index, table),
        f"Were the other {what} read the same way: {how}?",
        Told(
            f"{'all: of both ports; yes: of the ' + str(train.get('port')) + 's. ' if both else ''}Then the {reading} alone is asked at "
            "each, and the file says so.",
            "what is written beside each reading",
        ),
        (NO, YES, *((ALL,) if both else ())),
        _whose(train),
        NO,
    )


def _times_of_clearances(route: str) -> set[Asked]:
    """Return which entries are asked for the clearances."""
    return {Asked.FOR_CLEARANCES, *([Asked.FOR_CLEARANCES_BY_COORDINATES] if route == FULL else [])}


def _unplaced(job: Mapping[str, Any], times: Set[Asked], placed: Sequence[Question]) -> Iterator[Question]:
    """Yield what is declared to be asked now and has no place among what was."""
    known = {one.loc for one in placed}
    for loc, table, whose in tables_of(job):
        for name in _names(table, times):
            if (*loc, name) not in known:
                below = loc[2:] if loc[0] == "train" else (loc[0], *loc[2:]) if loc[0] in NAMED else loc
                yield _entry((*loc, name), ".".join(map(str, (*below, name))), whose)


NAMED = ("lobe", "cylinder")  # tables of which there are several, each by its name


def tables_of(job: Mapping[str, Any], laid_over: bool = False) -> Iterator[tuple[Loc, Table, str]]:
    """Yield every table of a job that may be asked for, with its place and whose it is; none of a copied valve gear.

    laid_over : those too that a cylinder may have over the engine's own, and those of the engine before
    """
    engine = {id(part) for part in JOB.parts.values()}

    def within(loc: Loc, table: Table, whose: str, found: object) -> Iterator[tuple[Loc, Table, str]]:
        yield loc, table, whose
        for name, part in table.parts.items():
            here = found.get(name) if isinstance(found, Mapping) else None
            inner = part.table if isinstance(part, Either) else part
            if (
                isinstance(part, (Either, Rows))
                and isinstance(here, list)
                and (laid_over or isinstance(part, Either))
            ):
                for index, row in enumerate(here):
                    yield from within((*loc, name, index), part.table, whose, row)
            elif isinstance(inner, Table) and (laid_over or id(inner) not in engine):
                yield from within((*loc, name), inner, whose, here)

    for name, part in (JOB if laid_over else NOW).parts.items():
        if isinstance(part, Table):
            yield from within((name,), part, "", job.get(name))
        elif isinstance(part, Named) and isinstance(part.part, Table):
            for one, found in _table(job, name).items():
                yield from within((name, one), part.part, f"{one} {name}", found)
        elif isinstance(part, Rows):
            for index, row in enumerate(_rows(job, name)):
                if laid_over or "like" not in row:
                    whose = _whose(row) if name == "train" else f"{name} {row.get('name', index + 1)}"
                    yield from within((name, index), part.table, whose, row)


def _names(table: Table, times: Set[Asked]) -> list[str]:
    """Return the entries of a table that are declared to be asked at one of these times, in their order."""
    kinds = {name: part.other if isinstance(part, Either) else part for name, part in table.parts.items()}
    return [name for name, kind in kinds.items() if isinstance(kind, Kind) and kind.asked in times]


def _declared(index: int, train: Mapping[str, Any], name: str, times: Set[Asked]) -> Iterator[Question]:
    """Yield what is declared to be asked of one table of a valve gear."""
    table = table_at(("train", index, name))
    for one in () if table is None else _names(table, times):
        yield _of(index, train, name, one)


def _of_train(
    index: int, train: Mapping[str, Any], route: str, rods: bool, job: Mapping[str, Any]
) -> Iterator[Question]:
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
        if not rods:
            return
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
    if rods:
        yield from _of_rod(index, train, [train], job)


def _of_rod(
    index: int, train: Mapping[str, Any], trains: Sequence[Mapping[str, Any]], job: Mapping[str, Any]
) -> Iterator[Question]:
    """Yield what is asked of a rod that was read; trains : those among which the original of a copy is."""
    own = trains[_first(trains, train)] if "like" in train else train
    solid = _table(own, "lifter").get("kind") == "solid"
    for name in ("length", "as", *(() if solid else ("plunger",)), "lean"):
        yield _of(index, train, "measured_pushrod", name)
    yield from _other_stack(index, train, "measured_pushrod", "rod", job)


def _other_stack(
    index: int, train: Mapping[str, Any], reading: str, what: str, job: Mapping[str, Any]
) -> Iterator[Question]:
    """Yield what is asked of the stack that a rod or a drop was read on."""
    before = BEFORE in job
    then_parts = ("head_gasket",) if is_block(job) else ("cylinder", "base_gasket", "head_gasket")
    yield Question(
        f"{OTHER_STACK} {index}" + ("" if what == "rod" else " 0"),
        ("train", index, reading),
        f"Was the {what} read on another stack than the one it will be built with?",
        Told(
            f"Another cylinder or gasket in place then{'; before: on the engine as it was' if before else ''}.",
            "the stack that the measured pushrod fits" if what == "rod" else OVER_PISTON,
        ),
        (NO, YES, *((BEFORE,) if before else ())),
        _whose(train),
        NO,
    )
    if "stack" in _table(train, reading):
        for name in then_parts:
            then = _of(index, train, reading, "stack", name)
            yield then._replace(whose=f"{then.whose}, when the {what} was read")


def _of_clearances(
    job: Mapping[str, Any], trains: Sequence[Mapping[str, Any]], route: str
) -> Iterator[Question]:
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
            if route == BENCH:
                yield from _of_drop(index, train, job)
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
        yield from _of_drop(index, train, job)
        yield from _read_alike(index, train, trains, "measured_drop", "drop")
    if route == BENCH:
        yield from _of_two_valves(job, trains)
    for port in ports:
        yield _entry(("targets", f"drop_{port}"), f"targets.drop_{port}")
    touched = any("valves_touch" in row for row in _rows(job, "cylinder"))
    if len(ports) > 1 and (route == FULL or touched):
        yield _entry(("targets", "valve_to_valve"), "targets.valve_to_valve")


def _of_drop(index: int, train: Mapping[str, Any], job: Mapping[str, Any]) -> Iterator[Question]:
    """Yield what is asked of a drop that was read."""
    for name in ("drop", "lean", "meets"):
        yield _of(index, train, "measured_drop", name)
    if _table(train, "measured_drop").get("meets") != "crown":
        yield _of(index, train, "measured_drop", "room")
    if _table(train, "measured_drop").get("drop"):
        yield from _other_stack(index, train, "measured_drop", "drop", job)


def _of_two_valves(job: Mapping[str, Any], trains: Sequence[Mapping[str, Any]]) -> Iterator[Question]:
    """Yield what is asked of two valves of a cylinder that were pushed together."""
    rows = {
        index: row
        for index, row in enumerate(_rows(job, "cylinder"))
        if sum(one.get("cylinder") == row.get("name") for one in trains) >= len(("intake", "exhaust"))
    }
    if not rows:
        return
    names = tuple(str(row.get("name")) for row in rows.values())
    yield Question(
        TOUCH,
        (),
        "Were the two valves of a cylinder pushed open by hand, to see where their heads touch?",
        Told(
            "Light springs, the piston far down, a dial on each retainer. no leaves valve to valve unknown; yes, or the names of "
            "the cylinders, asks for it.",
            TWO_VALVES,
        ),
        (NO, YES, *(names if len(names) > 1 else ())),
        "",
        NO,
        free=len(names) > 1,
    )
    for index, row in rows.items():
        for entry in TOUCHES if "valves_touch" in row else ():
            loc: Loc = ("cylinder", index, "valves_touch", entry)
            yield _entry(loc, f"cylinder.valves_touch.{entry}", f"cylinder {row.get('name')}")


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
        yield _entry((*loc, "angle"), "lobe.angle", told)
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
