"""What a guided job is to hold: its cylinders, valve gears, lifters, stacks and lobes, written blank to be filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ..job.editing import Edited
from ..job.entries.catalogue import kind_at
from ..job.entries.fields import Kind, Parts
from ..job.faults import Loc
from ..job.reading.values import echo
from .blank import meaning
from .questions import (
    AGAIN,
    BOTH,
    CARD,
    CLEARANCES,
    COUNT,
    FLAT,
    FOLLOWER,
    FULL,
    KIND,
    LOBES,
    MEASURED,
    NO,
    OTHER_STACK,
    OWN,
    PORTS,
    READ_WITH,
    ROLLER,
    ROUTE,
    ROUTES,
    SAME_STACK,
    TABLE,
    TIP,
    TOUCH,
    TOUCHES,
    YES,
    Question,
    route_known,
)

MOST = 12  # cylinders
NAMES = {1: ("single",), 2: ("front", "rear")}
NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
STACK = ("cylinder", "base_gasket", "head_gasket")
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
}


class RefusedError(Exception):
    """An answer that cannot be taken, in words."""


class ContradictedError(RefusedError):
    """An answer that something else in the file contradicts."""


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
            whose = _whose(job, stem)
            held += [f"{whose}{name} = {value}" for name, value in _values(found, path)]
            edited.drop(loc)
    return tuple(held)


STANDING = (READ_WITH, OTHER_STACK)  # questions about the table at their place, not about an entry in it


def _whose(job: Mapping[str, Any], stem: Loc) -> str:
    if stem[0] != "train":
        return f"{'.'.join(map(str, stem))}."
    row = job["train"][stem[1]]
    return ".".join(map(str, (row.get("cylinder", ""), row.get("port", ""), *stem[2:]))) + "."


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
    job = _job(edited)
    if asked.name == ROUTE:
        _route(edited, said)
    elif asked.name == COUNT:
        _cylinders(edited, said)
    elif asked.name == PORTS:
        _trains(edited, ("intake", "exhaust") if said == BOTH else (said,))
    elif asked.name == KIND and said:
        _lifters(edited, said)
    elif asked.name == OTHER_STACK:
        _other_stack(edited, asked.loc, said)
    elif asked.name == MEASURED and said == YES:
        solid = edited.get((*asked.loc, "lifter", "kind")) == "solid"
        rod = tuple(one for one in ROD if one != "plunger" or not solid)
        blanks(edited, (*asked.loc, "measured_pushrod"), rod)
    elif asked.name == TOUCH and said == YES:
        blanks(edited, (*asked.loc, "valves_touch"), TOUCHES)
    elif asked.name == AGAIN and said == YES:
        kinds = {name: kind_at((*asked.loc, name)) for name in ("lifter", "valve")}
        row = {name: ("", meaning((*asked.loc, name), kind)) for name, kind in kinds.items() if kind}
        edited.another(asked.loc, row)
    elif asked.name == CLEARANCES and said == YES:
        blanks(edited, ("crank",), ("stroke", "conrod_length"))
    elif asked.name in (READ_WITH, FOLLOWER) and said:
        _rides(edited, (*asked.loc, asked.name.replace(" ", "_")), said)
    elif asked.name == LOBES and said:
        for port in dict.fromkeys(str(train["port"]) for train in job["train"]):
            if said == CARD:
                blanks(edited, ("lobe", port), ("measured_at", "centreline"))
                blanks(edited, ("lobe", port, "card"), ("peak",))
            else:
                blanks(edited, ("lobe", port), ("table", "measured_at", "centreline"))


def _rides(edited: Edited, loc: Loc, said: str) -> None:
    """Write what rides on a lobe: a round follower blank, to be measured, the others by their word."""
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


def _route(edited: Edited, said: str) -> None:
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


def _cylinders(edited: Edited, said: str) -> None:
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
        if count > 1:
            blanks(edited, ("cylinder", index), ("lean",))


def _trains(edited: Edited, ports: tuple[str, ...]) -> None:
    """Write the valve gears.

    Raises:
        RefusedError: where others stand there already.
    """
    job = _job(edited)
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


def _lifters(edited: Edited, said: str) -> None:
    """Say what the lifters are: those of which the file does not say it, or all where it says it of each."""
    own = [index for index, train in enumerate(_job(edited)["train"]) if "like" not in train]
    kinds = {index: edited.get(("train", index, "lifter", "kind")) for index in own}
    unsaid = [index for index, kind in kinds.items() if not kind]
    for index in unsaid or own:
        blanks(edited, ("train", index, "lifter"), ("kind",))
        edited.put(("train", index, "lifter", "kind"), said)


def _other_stack(edited: Edited, loc: Loc, said: str) -> None:
    """Write the stack that a rod was read on, or that it was the one above."""
    if said == NO:
        if not edited.remarked(loc, SAME_STACK):
            edited.remark(loc, SAME_STACK)
        return
    edited.forget(loc, SAME_STACK)
    blanks(edited, (*loc, "stack"), STACK)


def _job(edited: Edited) -> Mapping[str, Any]:
    return edited.document.unwrap()


def _empty(kind: Kind) -> object:
    return [""] * max(kind.counts) if isinstance(kind, Parts) and not kind.may_be_one else ""
