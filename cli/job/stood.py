"""What stood before a change, as a job file says it: which of it is the same part, and what follows from that.

A part that is named as the same is one part: it is entered once, moves with one doubt, and stays where it was when another
one is tried in the engine. A reading that was taken on the engine as it was is a reading of both.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.engine.before import BEFORE, NOW, ON, SAME, STEM, was_read_before
from tallstack.geometry.engine.defaults import CUT_ENTRIES, SINCE, Assumed

from .block import stands_for
from .contents import Entries, Entry
from .entries.before_tables import BEFORE as TABLE
from .entries.before_tables import PARTS
from .entries.catalogue import meaning_at, steps, table_at
from .entries.engine_tables import BLOCK
from .entries.fields import did_you_mean, listed
from .faults import Fault
from .look_again import LookAgain
from .reading.document import Reading

READINGS = ("measured_pushrod", "measured_drop", "stack.measured_deck")
DECK = "stack.measured_deck"
CYLINDER, GASKET = "stack.cylinder", "stack.base_gasket"
Names = Mapping[str, tuple[str, ...]]


def of_same(reading: Reading, entries: Entries, names: Names) -> tuple[tuple[str, ...], list[Fault]]:
    """Return the tables and entries that are the same, and what is wrong with how they were named."""
    found: dict[str, None] = {}
    faults: list[Fault] = []
    for index, name in enumerate(reading.same or ()):
        here = PARTS.get(name, stands_for(name))
        loc = (BEFORE, "same", index)
        if name not in PARTS and not _is_known(name, names):
            faults.append(Fault(loc, f"{BEFORE}.same", _unknown(name, names)))
            continue
        entered = [
            path for path in entries if path.startswith(STEM) and _is_of(path.removeprefix(STEM), here, names)
        ]
        if entered:
            message = (
                f'"{name}" is said to be the same, and {entered[0]} is entered: take out the one that is not so; '
                f"where a part of it is another one, name the others one by one"
            )
            faults.append(Fault(loc, f"{BEFORE}.same", message))
        found.update(dict.fromkeys(here))
    own = entries.get(CYLINDER)
    if CYLINDER in found and own is not None and own.typed == BLOCK and f"{STEM}{GASKET}" not in entries:
        found[GASKET] = None  # a block has none, then as now
    return tuple(found), faults


def called(parts: Sequence[str]) -> list[str]:
    """Return parts that are the same as a person names them; parts : the tables and entries that they are read off."""
    words: dict[str, tuple[str, ...]] = {}
    for word, of in sorted(PARTS.items(), key=lambda item: -len(item[1])):
        if set(of) <= set(parts) and not any(set(of) <= set(one) for one in words.values()):
            words[word] = of
    rest = [one for one in parts if not any(one in of for of in words.values())]
    return [*words, *rest]


def _is_known(name: str, names: Names) -> bool:
    """Say whether a name is one of a table, of an entry, or of a cylinder or valve gear with or without one of its own."""
    for owner in (*names["trains"], *names["cylinders"]):
        if name == owner or (name.startswith(f"{owner}.") and _is_known(name[len(owner) + 1 :], names)):
            return True
    places = ((), ("train", 0), ("cylinder", 0))
    parts = steps(name.split("."))
    if not name or parts[0] in ("train", "cylinder", "same"):
        return False
    locs = ((BEFORE, *place, *parts) for place in places)
    return any(meaning_at(loc) is not None or table_at(loc) is not None for loc in locs)


def _unknown(name: str, names: Names) -> str:
    tables = [one for one in TABLE.parts if one not in ("train", "cylinder", "same")]
    for row in ("train", "cylinder"):
        tables += [one for one in _inside(row) if one not in tables]
    known = list(dict.fromkeys((*PARTS, *tables, *names["cylinders"], *names["trains"])))
    near = did_you_mean(name, known)
    shown = f"; parts are {', '.join(PARTS)}, or name a table or an entry, as crank, piston, rocker, stack.base_gasket"
    return f'"{name}": no such part{near or shown}'


def _inside(row: str) -> tuple[str, ...]:
    table = table_at((BEFORE, row, 0))
    return () if table is None else tuple(table.parts)


def _is_of(path: str, parts: Sequence[str], names: Names) -> bool:
    """Say whether an entry is of one of some parts; path : of the engine, without `before.`."""
    own = [path]
    own += [
        path[len(one) + 1 :]
        for key in ("trains", "cylinders")
        for one in names[key]
        if path.startswith(f"{one}.")
    ]
    return any(here == part or here.startswith(f"{part}.") for here in own for part in parts)


def is_same_part(path: str, names: Names) -> bool:
    """Say whether an entry is of a part that is the same now as then, so that what is open of it is open of both."""
    return _is_of(path, names.get(SAME, ()), names)


def with_same(entries: Entries, whole: Entries, names: Names) -> Entries:
    """Return the entries with those of parts that are the same once more below `before.`, but for readings.

    whole : the entries with what is `like` another valve gear carried out
    """
    parts = names.get(SAME, ())
    same = {
        f"{STEM}{path}": _taken(whole, path)
        for path in whole
        if _may_stand(path) and not _reading_of(path) and _is_of(path, parts, names)
    }
    return {**entries, **{path: one for path, one in same.items() if path not in entries}}


def readings_same(entries: Entries, names: Names) -> dict[str, str]:
    """Return which entries below `before.` are of a reading that is said to hold there as well, and which they are."""
    parts = names.get(SAME, ())
    return {
        f"{STEM}{path}": path
        for path in entries
        if _may_stand(path)
        and _reading_of(path)
        and not path.endswith(f".{ON}")
        and _is_of(path, parts, names)
    }


def readings_there(entries: Entries, names: Names) -> dict[str, str]:
    """Return which entries below `before.` are of a reading that was taken there, and which they are in the engine."""
    found: dict[str, str] = {}
    flat = Reader({path: one.value for path, one in entries.items()}, ("",))
    stems = [f"{name}.{one}" for name in names["trains"] for one in READINGS[:2]]
    stems += [DECK, *(f"{name}.{DECK}" for name in names["cylinders"])]
    for stem in stems:
        if stem.endswith(DECK):
            deck = f"{STEM}{stem.removesuffix('measured_deck')}case_deck"
            owner = stem.removesuffix(DECK)
            earlier = was_read_before(Reader(flat.mapping, (owner, "")), DECK)
            said = deck in entries
        else:
            earlier, said = was_read_before(flat, stem), False
        if earlier and not said and not any(path.startswith(f"{STEM}{stem}.") for path in entries):
            own = [path for path in entries if path.startswith(f"{stem}.") and not path.endswith(f".{ON}")]
            found |= {f"{STEM}{path}": path for path in own}
    return found


def _may_stand(path: str) -> bool:
    """Say whether an entry of the engine may stand below `before.` at all: no limit, no check, nothing of how it runs."""
    first = path.split(".")[0]
    return first not in ("targets", "running", "instrument", "reading", "oversize", BEFORE)


def _reading_of(path: str) -> str:
    """Return which reading an entry is of; empty where it is of none."""
    return next((one for one in READINGS if f".{one}." in f".{path}"), "")


def following(entries: Entries, ties: Mapping[str, str]) -> Entries:
    """Return the entries with those that follow others as these are now; ties : path → the one that it follows."""
    taken = {
        path: _taken(entries, source)
        for path, source in ties.items()
        if source in entries and (path not in entries or entries[path].is_taken)
    }
    return {**entries, **taken}


def _taken(entries: Entries, source: str) -> Entry:
    one = entries[source]
    return one.taken_from(source)._replace(follows=one.follows or source)


DONE_SINCE = (*CUT_ENTRIES, *SINCE)  # before that, nothing was cut or moved


def taken_otherwise(assumed: Sequence[Assumed], entries: Entries) -> Iterator[LookAgain]:
    """Yield what is taken for an entry of what stood before that the engine itself says otherwise."""
    for one in assumed:
        now = entries.get(one.entry)
        if now is None or now.value == one.value or one.entry.endswith(DONE_SINCE) or one.kind == "note":
            continue
        yield LookAgain(
            f"{STEM}{one.entry} is not said, and {one.why}; it is {now.typed} now: enter it under [{BEFORE}], or name the part "
            "in same",
            one.entry,
        )


GEAR = ("rocker", "valve", "lifter")
MAY_DIFFER = (
    "lowered",
    "sink",
    "preload",
    "plunger_travel",
    "lash",
    "lash_at",
    "kind",
)  # a rod's reading allows for them


def other_gear(entries: Entries, names: Names) -> Iterator[LookAgain]:
    """Yield which rods were read before with another rocker, valve or lifter: no growth of the stack carries that over."""
    for name in names["trains"]:
        on = entries.get(f"{name}.measured_pushrod.{ON}")
        if on is None or on.value != BEFORE:
            continue
        for part in GEAR:
            stem = f"{STEM}{name}.{part}."
            other = [
                path
                for path, one in entries.items()
                if path.startswith(stem) and not one.is_taken and path.split(".")[4] not in MAY_DIFFER
                if (now := entries.get(path.removeprefix(STEM))) is None or now.value != one.value
            ]
            if other:
                yield LookAgain(
                    f"{name}'s pushrod was read with another {part} ({other[0]}): what it needs with this one is not told by "
                    "that reading; read it again",
                    name,
                )


RESTS_ON = {
    "measured_pushrod": {
        "lifter": ("lifter",),
        "head": GEAR[:2],
        "case": ("stack.case_deck",),
        "lobe": ("lobe",),
    },
    "measured_drop": {"head": GEAR[:2], "piston": ("piston",)},
}  # reading → the parts that it is carried over with, and the tables that they are read off
CALLED = {"measured_pushrod": "pushrod", "measured_drop": "drop"}


def not_said_to_be_the_same(entries: Entries, names: Names) -> Iterator[LookAgain]:
    """Yield which readings do not say on which of two engines they were taken, or rest on parts nobody said are the same."""
    if SAME not in names:
        return
    same, there = names[SAME], tuple(path for path in entries if path.startswith(STEM))
    for owner in ("", *(f"{name}." for name in names["cylinders"])):
        if f"{owner}{DECK}.below" in entries and f"{owner}{DECK}.{ON}" not in entries:
            whose = f"{owner.removesuffix('.')}'s crown" if owner else "the crown"
            yield _of_which(
                f"{whose} below the top face", *filter(None, (f"{owner}{DECK}", owner.removesuffix(".")))
            )
    for name in names["trains"]:
        for reading, parts in RESTS_ON.items():
            stem = f"{name}.{reading}"
            own = [path for path, one in entries.items() if path.startswith(f"{stem}.") and not one.is_taken]
            on = entries.get(f"{stem}.{ON}")
            if own and on is None and not any(path.startswith(f"{stem}.stack.") for path in own):
                yield _of_which(f"{name}'s {CALLED[reading]}", stem, name)
            if on is None or on.value != BEFORE:
                continue
            lacks = [
                word
                for word, tables in parts.items()
                if not all(
                    _is_of(table, same, names)
                    or _is_of(f"{name}.{table}", same, names)
                    or any(_is_of(path.removeprefix(STEM), (table,), names) for path in there)
                    for table in tables
                )
            ]
            if lacks:
                yield LookAgain(
                    f"{name}'s {CALLED[reading]} was read on the engine as it was, and that its {listed(lacks)} "
                    f"{'is' if len(lacks) == 1 else 'are'} the same now is not said: it counts as if; name what is the same in same "
                    f"of [{BEFORE}], or read it again",
                    stem,
                    name,
                )


def _of_which(what: str, *about: str) -> LookAgain:
    return LookAgain(
        f"{what} does not say on which of the two stacks it was read, and counts as read on the one it will be built with: write "
        f'{ON} = "{NOW}" or {ON} = "{BEFORE}" beside it',
        *about,
    )


def of_names(reading: Reading) -> Iterator[Fault]:
    """Yield faults of the names below `before.`: the cylinders and valve gears are those of the job."""
    cylinders = [name for name, _ in reading.cylinders]
    gears = [gear.name for gear in reading.gears]
    seen: list[str] = []
    for index, (name, sure) in enumerate(reading.was_cylinders):
        if sure and name not in cylinders:
            message = f'"{name}": no such cylinder in this job{did_you_mean(name, cylinders)}; what stood before has the same names'
            yield Fault((BEFORE, "cylinder", index, "name"), f"{BEFORE}, cylinder {name}", message)
        if name in seen:
            yield Fault(
                (BEFORE, "cylinder", index, "name"), f"{BEFORE}, cylinder {name}", f'"{name}" is there twice'
            )
        seen.append(name)
    for gear in reading.was_gears:
        name = gear.name.removeprefix(STEM)
        words = f"{BEFORE}, valve gear, {name.replace('.', ' ')}"
        if gear.sure and name not in gears:
            message = f'"{name}": no such valve gear in this job{did_you_mean(name, gears)}; what stood before has the same names'
            yield Fault((BEFORE, "train", gear.row, "port"), words, message)
        if gear.name in seen:
            yield Fault((BEFORE, "train", gear.row), words, f'"{name}" is there twice')
        seen.append(gear.name)
