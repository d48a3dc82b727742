"""What a guided job is to hold: its cylinders, valve gears, lifters, stacks and lobes, written blank to be filled in."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import tomlkit
from tallstack.geometry.engine.before import BEFORE, NOW, ON

from ..job.editing import Edited
from ..job.entries.catalogue import kind_at, meaning_at
from ..job.entries.engine_tables import BLOCK
from ..job.entries.fields import Kind, Parts
from ..job.faults import Loc
from ..job.reading.values import Blank, echo
from .blank import meaning
from .needs import OWN_TABLES, path_of
from .questions import (
    AGAIN,
    ALIKE,
    ALL,
    BOTH,
    BRIDGE,
    CARD,
    CHANGED,
    COUNT,
    DECK,
    DIFFER,
    EACH,
    EACH_ITSELF,
    FIND_OUT,
    FIRING,
    FLAT,
    FOLLOWER,
    FORM,
    FULL,
    IN_BLOCK,
    IN_LINE,
    KIND,
    LAYOUT,
    LOBES,
    MEASURED,
    MIRRORED,
    MORE,
    MORE_OUT,
    NAMES_OF_ALL,
    NO,
    NONE,
    OTHER_STACK,
    OWN,
    PORTS,
    READ_ALIKE,
    READ_BEFORE,
    READ_WITH,
    ROLLER,
    ROUTE,
    ROUTES,
    SAME,
    SAME_OFFERED,
    SAME_PARTS,
    SAME_STACK,
    TABLE,
    TIP,
    TOUCH,
    TOUCHES,
    YES,
    Question,
    is_block,
    route_known,
    wanted_of,
)

MOST = 12  # cylinders
NAMES = {1: ("single",), 2: ("front", "rear")}
NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
TWIN = 2  # cylinders, whose leans are asked for at once
CYCLE = 720  # crank degrees
NOT_BEFORE = "What stood before a change is not entered."
CYLINDERS_ALIKE = "The cylinders are built alike, but for what stands under each."
STACK = ("cylinder", "base_gasket", "head_gasket")
BEGUN_BY = {  # table of a cylinder's own → what is written blank in it
    "stack": STACK,
    "piston": ("compression_height",),
    "chamber": ("volume",),
    "studs": ("stands",),
}
READING_OF = {"measured_pushrod": ("length", "checking_rod"), "measured_drop": ("drop",)}
ROD = ("length", "as", "plunger", "lean")


BESIDE = {  # an answer → what does not go with it, from the table that it is about on
    (KIND, "solid"): ("lifter.preload", "lifter.plunger_travel", "measured_pushrod.plunger"),
    (KIND, "hydraulic"): ("lifter.lash", "lifter.lash_at"),
    ("measured_at", "valve"): ("read_with", "read_offset", "base_radius", "ground_for"),
    ("measured_at", "lifter"): ("lash_read", "dialled", "bled", "card.ratio", "card.lash"),
    ("meets", "crown"): ("room",),
    (LOBES, CARD): (
        *("table", "lash_read", "dialled", "bled", "read_with", "read_offset", "base_radius", "ground_for"),
        *("angle", "units", "zero"),
    ),
    (LOBES, TABLE): ("card",),
    (READ_WITH, OWN): ("read_offset", "base_radius", "ground_for"),
    (READ_WITH, FLAT): ("read_offset",),
    (READ_WITH, TIP): ("ground_for",),
    (READ_WITH, ROLLER): ("ground_for",),
    (FOLLOWER, FLAT): ("lifter.follower_offset",),
    (OTHER_STACK, NO): ("stack",),
    (OTHER_STACK, BEFORE): ("stack",),
}


class RefusedError(Exception):
    """An answer that cannot be taken, in words."""


def left_out(edited: Edited, asked: Question, said: object) -> tuple[str, ...]:
    """Take out what does not go with an answer; return what it held, in words."""
    job = _job(edited)
    if asked.name == KIND:
        trains = enumerate(job["train"])
        stems: list[Loc] = [
            ("train", index) for index, one in trains if one.get("lifter", {}).get("kind") == said
        ]
    elif asked.name == LOBES:
        stems = [("lobe", str(port)) for port in job.get("lobe", {})]
    elif asked.name == FOLLOWER:
        stems = [asked.loc[:2]]
    else:
        stems = [asked.loc if asked.name in STANDING else asked.loc[:-1]]
    about = asked.name in (KIND, LOBES, FOLLOWER, *STANDING)
    what = asked.name if about else str(asked.loc[-1]) if asked.loc else ""
    held: list[str] = []
    for stem in stems:
        for path in BESIDE.get((what, str(said)), ()):
            loc: Loc = (*stem, *path.split("."))
            found = edited.get(loc)
            if found is None:
                continue
            whose = path_of(stem, job)
            held += [f"{whose}.{name} = {value}" for name, value in _values(found, path)]
            edited.drop(loc)
    return tuple(held)


STANDING = (READ_WITH, OTHER_STACK)  # questions about the table at their place, not about an entry in it


def _values(found: object, path: str) -> Iterator[tuple[str, str]]:
    """Yield what is no blank of an entry or a table, each by its path."""
    if isinstance(found, Mapping):
        for key, value in found.items():
            yield from _values(value, f"{path}.{key}")
    elif isinstance(found, list) and found and isinstance(found[0], Mapping):
        for index, value in enumerate(found):
            yield from _values(value, f"{path}.{index}")
    elif not is_blank(found):
        yield path, ", ".join(map(str, found)) if isinstance(found, list) else str(found)


def lay_out(edited: Edited, asked: Question, said: str) -> None:
    """Change what a file holds by the answer to a question about that; what stands in its way raises RefusedError."""
    change = LAID_OUT.get(asked.name)
    if change is not None and said:
        change(edited, asked, said)


def _find_out(edited: Edited, asked: Question, said: str) -> None:
    """Write down what is wanted, beside what was."""
    if said == NO and asked.name == MORE_OUT:
        return
    words = asked.options if said == ALL else _words(said, asked.options)
    edited.put(("wanted",), [*wanted_of(_job(edited)), *words])


def _words(said: str, options: Sequence[str]) -> tuple[str, ...]:
    """Return the words of an answer, parted by commas or blanks; the first letters of one will do.

    Raises:
        RefusedError: where one of them is none of the options.
    """
    found = []
    for one in re.split(r"(?:[,\s]|\band\b)+", said.strip(", ").lower()):
        near = [each for each in options if each == one] or [each for each in options if each.startswith(one)]
        if len(near) != 1:
            message = f'"{echo(one)}": one or more of {", ".join(options)}'
            raise RefusedError(message)
        found.append(near[0])
    return tuple(dict.fromkeys(found))


def _names(edited: Edited, asked: Question, said: str) -> None:
    """Call the cylinders, and their valve gears with them.

    Raises:
        RefusedError: where it is not one name for each.
    """
    names = [one.strip() for one in said.split(",")]
    rows = _job(edited)["cylinder"]
    if len(names) != len(rows):
        message = f"{len(names)} name{'' if len(names) == 1 else 's'} for {len(rows)} cylinders; write one for each, with commas"
        raise RefusedError(message)
    kind = meaning_at(("cylinder", 0, "name"))
    for one in names:
        if kind is not None and isinstance(kind.parse(one, ""), Blank):
            message = "a name is missing between two commas"
            raise RefusedError(message)
    new = {str(row.get("name")): name for row, name in zip(rows, names, strict=True)}
    for index, name in enumerate(names):
        edited.put(("cylinder", index, "name"), name)
    for index, train in enumerate(_job(edited).get("train", [])):
        edited.put(("train", index, "cylinder"), new.get(str(train.get("cylinder")), train.get("cylinder")))
        if "like" in train:
            of, _, port = str(train["like"]).partition(".")
            edited.put(("train", index, "like"), f"{new.get(of, of)}.{port}")


def _layout(edited: Edited, asked: Question, said: str) -> None:
    """Write that all cylinders stand upright, or each lean blank."""
    for index, row in enumerate(_job(edited)["cylinder"]):
        if said == IN_LINE:
            edited.put(("cylinder", index, "lean"), 0, "in line: upright")
            continue
        if row.get("lean") == 0:
            edited.drop(("cylinder", index, "lean"))
        blanks(edited, ("cylinder", index), ("lean",))


def _firing(edited: Edited, asked: Question, said: str) -> None:
    """Write when each cylinder fires after the first one of the file, all evenly spaced.

    Raises:
        RefusedError: where the order does not name each cylinder once.
    """
    names = [str(row.get("name")) for row in _job(edited)["cylinder"]]
    order = [one for one in re.split(r"[-,>\s]+", said.strip()) if one]
    if sorted(order) != sorted(names) and all(one.isdigit() for one in order):
        numbers = {str(index + 1): name for index, name in enumerate(names)}
        order = [numbers.get(one, one) for one in order]
    if sorted(order) != sorted(names):
        message = (
            f"name each cylinder once, in the order in which they fire: {'-'.join(names)}, in another order"
        )
        raise RefusedError(message)
    first = order.index(names[0])
    for place, name in enumerate(order[first:] + order[:first]):
        index = names.index(name)
        fires = CYCLE * place / len(names)
        edited.put(("cylinder", index, "fires_at"), _plain(fires), "evenly spaced")
        edited.put(
            ("cylinder", index, "pin"), _plain(-fires % (CYCLE / 2)), "in line: at top centre as it fires"
        )


def _plain(number: float) -> int | float:
    return int(number) if number == int(number) else round(number, 6)


def _alike(edited: Edited, asked: Question, said: str) -> None:
    """Write which valve gears are copies of the first cylinder's.

    Raises:
        RefusedError: where an exception is no valve gear, or one of the first cylinder's.
    """
    trains = _job(edited)["train"]
    first = trains[0].get("cylinder")
    names = {f"{one.get('cylinder')} {one.get('port')}": index for index, one in enumerate(trains)}
    others = {name: index for name, index in names.items() if trains[index].get("cylinder") != first}
    out = set(others) if said == NONE else set()
    if said not in (ALL, NONE, MIRRORED):
        listed = re.sub(r"^\s*all\s+(but|except)\s+", "", said)
        for one in filter(None, (part.strip().replace(".", " ") for part in re.split(r",|\band\b", listed))):
            near = [name for name in others if name == one or name.split()[0] == one]
            if not near or listed == said:
                message = (
                    f'"{echo(one)}": write all, mirrored, none, or all but {", ".join(list(others)[:2])}'
                )
                raise RefusedError(message)
            out |= set(near)
    for name, index in others.items():
        like = f"{first}.{trains[index].get('port')}"
        if name in out:
            _by_itself(edited, index)
        elif any(
            one.get("cylinder") == first and one.get("port") == trains[index].get("port") for one in trains
        ):
            _as_another(edited, index, like, said == MIRRORED)
    if said == NONE and not edited.remarked(("train", 0), EACH_ITSELF):
        edited.remark(("train", 0), EACH_ITSELF)


def _as_another(edited: Edited, index: int, like: str, mirrored: bool) -> None:
    """Make a valve gear a copy: its blanks go, what was entered of it stays and goes over the copy."""
    train = _job(edited)["train"][index]
    for name, found in train.items():
        if name not in ("cylinder", "port", *READING_OF) and isinstance(found, Mapping):
            for loc in list(blank_places(found, ("train", index, name))):
                edited.drop(loc)
            if train.get("lifter", {}).get("kind"):
                edited.drop(("train", index, "lifter", "kind"))
            if not _job(edited)["train"][index].get(name):
                edited.drop(("train", index, name))
    edited.put(("train", index, "like"), like, "built alike: its parts, none of its readings")
    if mirrored:
        edited.put(("train", index, "mirror"), True)
    else:
        edited.drop(("train", index, "mirror"))


def _by_itself(edited: Edited, index: int) -> None:
    train = _job(edited)["train"][index]
    if "like" in train:
        edited.drop(("train", index, "like"))
        edited.drop(("train", index, "mirror"))
    if not train.get("lifter", {}).get("kind"):
        kind = _job(edited)["train"][0].get("lifter", {}).get("kind", "")
        blanks(edited, ("train", index, "lifter"), ("kind",))
        edited.put(("train", index, "lifter", "kind"), kind)


def _differ(edited: Edited, asked: Question, said: str) -> None:
    """Write the tables in which cylinders differ under each of them, or that they are alike."""
    if said == NONE:
        if not any(CYLINDERS_ALIKE in one for one in edited.remarks):
            edited.remark(("cylinder", 0), CYLINDERS_ALIKE)
        return
    for table in _words(said, OWN_TABLES):
        for index in range(len(_job(edited)["cylinder"])):
            blanks(edited, ("cylinder", index, table), BEGUN_BY[table])
        for name in BEGUN_BY[table]:
            if is_blank(edited.get((table, name))):
                edited.drop((table, name))
        if table in edited.document and not edited.get((table,)):
            edited.drop((table,))


def _read_alike(edited: Edited, asked: Question, said: str) -> None:
    """Write what is beside a reading at every copy of the port, or at all others, as it was at the first; the reading blank."""
    if said == NO:
        return
    first, table = asked.loc[1], str(asked.loc[2])
    trains = _job(edited)["train"]
    whose = f"{trains[first]['cylinder']} {trains[first]['port']}"
    for index, train in enumerate(trains):
        of_port = train.get("port") == trains[first]["port"] and "like" in train
        if index == first or not (of_port or said == ALL):
            continue
        blanks(edited, ("train", index, table), READING_OF[table])
        for name, value in trains[first][table].items():
            if name in READING_OF[table] or is_blank(value):
                continue
            for loc, one in _leaves(value, ("train", index, table, name)):
                if edited.get(loc) is None or is_blank(edited.get(loc)):
                    edited.put(loc, one, f"as at {whose}")


def _leaves(found: object, loc: Loc) -> Iterator[tuple[Loc, object]]:
    if isinstance(found, Mapping):
        for key, value in found.items():
            yield from _leaves(value, (*loc, str(key)))
    else:
        yield loc, found


def _same(edited: Edited, asked: Question, said: str) -> None:
    """Take a table over from the nearest row before that has it."""
    if said != YES:
        return
    rows, index, table = asked.loc
    before = _job(edited)[str(rows)][: int(index)]
    found = next(row for row in reversed(before) if _values_of(row.get(table)))
    whose = " ".join(str(found[key]) for key in ("cylinder", "port", "name") if key in found)
    for loc, value in _leaves(found[table], asked.loc):
        if not is_blank(value):
            edited.put(loc, value, f"the same as at {whose}")


def _values_of(found: object) -> bool:
    return isinstance(found, Mapping) and any(not is_blank(one) for _, one in _leaves(found, ()))


def _changed(edited: Edited, asked: Question, said: str) -> None:
    """Begin the engine before, with a row for each cylinder and valve gear to write what it had."""
    if said != YES:
        if not any(NOT_BEFORE in one for one in edited.remarks):
            edited.remark((), NOT_BEFORE)
        return
    if BEFORE in edited.document:
        return
    job = _job(edited)
    rows = [f"[[{BEFORE}.cylinder]]\nname = {_quoted(row['name'])}\n" for row in job["cylinder"]]
    rows += [
        f"[[{BEFORE}.train]]\ncylinder = {_quoted(row['cylinder'])}\nport = {_quoted(row['port'])}\n"
        for row in job.get("train", [])
        if "shaft" in row.get("rocker", {})
    ]
    above = "\n# What stood before the change: parts that are the same by name, the others as they were.\n"
    text = edited.text.rstrip("\n") + f'\n{above}[{BEFORE}]\nsame = ""\n'
    edited.document = tomlkit.parse("\n".join((text, *rows)))


def _quoted(name: object) -> str:
    return tomlkit.item(str(name)).as_string()


def _form(edited: Edited, asked: Question, said: str) -> None:
    """Write that the cylinders are part of the block, which then are no parts of the stack."""
    is_block = edited.get(("stack", "cylinder")) == BLOCK
    if said == IN_BLOCK:
        blanks(edited, ("stack",), STACK)
        edited.put(("stack", "cylinder"), BLOCK, "part of the block: no base gasket under it")
        if is_blank(edited.get(("stack", "base_gasket"))):
            edited.drop(("stack", "base_gasket"))
    elif is_block:
        edited.put(("stack", "cylinder"), "")
        blanks(edited, ("stack",), STACK)


def _same_parts(edited: Edited, asked: Question, said: str) -> None:
    edited.put((BEFORE, "same"), [] if said == NONE else list(_words(said, SAME_OFFERED)))


def _read_before(edited: Edited, asked: Question, said: str) -> None:
    edited.put((*asked.loc, ON), BEFORE if said == YES else NOW)


def _deck(edited: Edited, asked: Question, said: str) -> None:
    """Write blank what tells how far the pistons stand below."""
    if said == BRIDGE:
        blanks(edited, ("stack", "measured_deck"), ("below",))
    elif said == EACH:
        for index in range(len(_job(edited)["cylinder"])):
            blanks(edited, ("cylinder", index, "stack", "measured_deck"), ("below",))
    else:
        blanks(edited, ("stack",), ("block_deck" if is_block(_job(edited)) else "case_deck",))
        blanks(edited, ("piston",), ("compression_height",))


def _more(edited: Edited, asked: Question, said: str) -> None:
    """Write blank what else is known of a table."""
    if said != NONE:
        blanks(edited, asked.loc, asked.options if said == ALL else _words(said, asked.options))


def _measured(edited: Edited, asked: Question, said: str) -> None:
    if said == YES:
        solid = edited.get((*asked.loc, "lifter", "kind")) == "solid"
        rod = tuple(one for one in ROD if one != "plunger" or not solid)
        blanks(edited, (*asked.loc, "measured_pushrod"), rod)


def _again(edited: Edited, asked: Question, said: str) -> None:
    if said == YES:
        kinds = {name: kind_at((*asked.loc, name)) for name in ("lifter", "valve")}
        row = {name: ("", meaning((*asked.loc, name), kind)) for name, kind in kinds.items() if kind}
        edited.another(asked.loc, row)


def _touch(edited: Edited, asked: Question, said: str) -> None:
    if said == NO:
        return
    names = asked.options[2:]
    wanted = names if said == YES else _words(said, names)
    for index, row in enumerate(_job(edited)["cylinder"]):
        if not names or row.get("name") in wanted:
            blanks(edited, ("cylinder", index, "valves_touch"), TOUCHES)


def _lobes(edited: Edited, asked: Question, said: str) -> None:
    for port in dict.fromkeys(str(train["port"]) for train in _job(edited)["train"]):
        if said == CARD:
            blanks(edited, ("lobe", port), ("measured_at", "centreline"))
            blanks(edited, ("lobe", port, "card"), ("peak",))
        else:
            blanks(edited, ("lobe", port), ("table", "measured_at", "centreline"))


def _rides(edited: Edited, asked: Question, said: str) -> None:
    """Write what rides on a lobe: a round follower blank, to be measured, the others by their word."""
    loc: Loc = (*asked.loc, asked.name.replace(" ", "_"))
    edited.drop(loc)
    if said in (TIP, ROLLER):
        blanks(edited, loc, (said,))
    else:
        edited.put(loc, said)
    if loc[0] == "lobe" and said != OWN:
        blanks(edited, loc[:-1], ("base_radius",))


def blanks(edited: Edited, loc: Loc, names: tuple[str, ...]) -> None:
    """Write entries blank, each with its meaning, where nothing stands yet."""
    for name in names:
        kind = kind_at((*loc, name))
        if kind is not None and edited.get((*loc, name)) is None:
            edited.put((*loc, name), _empty(kind), meaning((*loc, name), kind))


def blank_places(found: object, loc: Loc = ()) -> Iterator[Loc]:
    """Yield the places of a document's blanks."""
    if isinstance(found, Mapping):
        for key, value in found.items():
            yield from blank_places(value, (*loc, str(key)))
    elif isinstance(found, list) and found and isinstance(found[0], Mapping):
        for index, value in enumerate(found):
            yield from blank_places(value, (*loc, index))
    elif is_blank(found):
        yield loc


def is_blank(found: object) -> bool:
    """Say whether an entry is left open."""
    if isinstance(found, str):
        return not found.strip()
    return isinstance(found, list) and bool(found) and all(is_blank(one) for one in found)


def _route(edited: Edited, asked: Question, said: str) -> None:
    """Note the route, and begin with the stack.

    Raises:
        RefusedError: where the file goes by the other one.
    """
    remarks = edited.remarks
    if any(ROUTES[said] in one for one in remarks):
        return
    if route_known(_job(edited), remarks):
        message = "the file goes by the other route already; start another one"
        raise RefusedError(message)
    edited.remark((), ROUTES[said])
    blanks(edited, ("stack",), (*(("case_deck",) if said == FULL else ()), *STACK))


def _cylinders(edited: Edited, asked: Question, said: str) -> None:
    """Write the cylinders with names to begin with.

    Raises:
        RefusedError: where it is no number of cylinders, or valve gears stand there already.
    """
    if not said.isascii() or not said.isdigit() or not 1 <= int(said[:4]) <= MOST:
        message = f'"{echo(said)}": a whole number from 1 to {MOST} belongs here'
        raise RefusedError(message)
    job, count = _job(edited), int(said)
    if len(job.get("cylinder", [])) == count:
        return
    if job.get("train"):
        message = "valve gears stand in the file already; change the number of cylinders there"
        raise RefusedError(message)
    edited.drop(("cylinder",))
    for index, name in enumerate(NAMES.get(count, NUMBERS[:count])):
        edited.row("cylinder", {"name": name})
        if count == TWIN:
            blanks(edited, ("cylinder", index), ("lean",))


def _trains(edited: Edited, asked: Question, said: str) -> None:
    """Write the valve gears.

    Raises:
        RefusedError: where others stand there already.
    """
    job, ports = _job(edited), ("intake", "exhaust") if said == BOTH else (said,)
    wanted = [(one["name"], port) for one in job["cylinder"] for port in ports]
    there = [(one.get("cylinder"), one.get("port")) for one in job.get("train", [])]
    if there == wanted:
        return
    if there:
        message = "valve gears stand in the file already; change them there"
        raise RefusedError(message)
    for index, (cylinder, port) in enumerate(wanted):
        edited.row("train", {"cylinder": cylinder, "port": port})
        blanks(edited, ("train", index, "lifter"), ("kind",))


def _lifters(edited: Edited, asked: Question, said: str) -> None:
    """Say what the lifters are: those of which the file does not say it, or all where it says it of each."""
    own = [index for index, train in enumerate(_job(edited)["train"]) if "like" not in train]
    kinds = {index: edited.get(("train", index, "lifter", "kind")) for index in own}
    unsaid = [index for index, kind in kinds.items() if not kind]
    for index in unsaid or own:
        blanks(edited, ("train", index, "lifter"), ("kind",))
        edited.put(("train", index, "lifter", "kind"), said)


def _other_stack(edited: Edited, asked: Question, said: str) -> None:
    """Write the stack that a rod was read on, or that it was the one above."""
    loc = asked.loc
    edited.forget(loc, SAME_STACK)
    if said in (BEFORE, NO):
        edited.put((*loc, ON), BEFORE if said == BEFORE else NOW)
        return
    edited.drop((*loc, ON))
    blanks(edited, (*loc, "stack"), ("head_gasket",) if is_block(_job(edited)) else STACK)


def _job(edited: Edited) -> Mapping[str, Any]:
    return edited.plain


def _empty(kind: Kind) -> object:
    return [""] * max(kind.counts) if isinstance(kind, Parts) and not kind.may_be_one else ""


LAID_OUT: Mapping[str, Callable[[Edited, Question, str], None]] = {
    FIND_OUT: _find_out,
    MORE_OUT: _find_out,
    ROUTE: _route,
    COUNT: _cylinders,
    NAMES_OF_ALL: _names,
    LAYOUT: _layout,
    FIRING: _firing,
    PORTS: _trains,
    KIND: _lifters,
    ALIKE: _alike,
    DIFFER: _differ,
    FORM: _form,
    CHANGED: _changed,
    SAME_PARTS: _same_parts,
    READ_BEFORE: _read_before,
    DECK: _deck,
    SAME: _same,
    MORE: _more,
    MEASURED: _measured,
    OTHER_STACK: _other_stack,
    READ_ALIKE: _read_alike,
    LOBES: _lobes,
    READ_WITH: _rides,
    FOLLOWER: _rides,
    AGAIN: _again,
    TOUCH: _touch,
}
