"""What a question of a guided session takes, how a typed line is read, and whether a file holds the answer."""

from __future__ import annotations

import contextlib
import re
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from tallstack.geometry.engine.before import BEFORE, ON

from ..job.editing import Edited
from ..job.entries.catalogue import entries_of, kind_at, table_at
from ..job.entries.fields import Choice, Kind, Parts
from ..job.faults import Loc
from ..job.reading.values import Typed, ValueFault
from .layout import CYLINDERS_ALIKE, LAID_OUT, NOT_BEFORE
from .needs import own_tables
from .questions import (
    ALIKE,
    CARD,
    CHANGED,
    COUNT,
    DECK,
    DIFFER,
    EACH_ITSELF,
    FIND_OUT,
    FIRING,
    FORM,
    IN_BLOCK,
    KIND,
    LAYOUT,
    LOBES,
    MEASURED,
    NAME,
    NO,
    NONE,
    ON_CASE,
    OTHER_STACK,
    PORTS,
    READ_BEFORE,
    ROUTE,
    SAME_PARTS,
    TABLE,
    TOUCH,
    UNITS,
    YES,
    Question,
    is_block,
    route_known,
    wanted_of,
)

AROUND_UP = ("around", "up")  # a direction by two angles
STRUCTURE = tuple(LAID_OUT)  # questions about what the file is to hold


def kind_of(asked: Question) -> Kind | None:
    """Return what a question takes."""
    if asked.options and not asked.free and asked.key != UNITS:
        return Choice(asked.asks, asked.options)
    if asked.name == NAME:
        table = table_at(("cylinder", 0))
        found = None if table is None else table.parts["name"]
        return found if isinstance(found, Kind) else None
    return kind_at(asked.loc) if asked.loc else None


def holds(job: Mapping[str, Any], name: str, remarks: list[str]) -> bool:
    """Say whether a file holds what a question about it asks for; of what a session alone remembers it does not."""
    trains, rows = job.get("train", []), job.get("cylinder", [])
    known: Mapping[str, Callable[[], bool]] = {
        FIND_OUT: lambda: bool(wanted_of(job)),
        ROUTE: lambda: route_known(job, remarks),
        COUNT: lambda: bool(rows),
        LAYOUT: lambda: any("lean" in one for one in rows),
        FIRING: lambda: any(one.get("fires_at", "") != "" for one in rows),
        PORTS: lambda: bool(trains),
        KIND: lambda: all("like" in one or one.get("lifter", {}).get("kind") for one in trains),
        ALIKE: lambda: any("like" in one for one in trains) or any(EACH_ITSELF in one for one in remarks),
        DIFFER: lambda: (
            any(own_tables(one) for one in rows) or any(CYLINDERS_ALIKE in one for one in remarks)
        ),
        FORM: lambda: job.get("stack", {}).get("cylinder", "") != "",
        CHANGED: lambda: BEFORE in job or any(NOT_BEFORE in one for one in remarks),
        SAME_PARTS: lambda: job.get(BEFORE, {}).get("same", "") != "",
        DECK: lambda: any(
            {"measured_deck", "case_deck"} & one.get("stack", {}).keys() for one in (job, *rows)
        ),
        LOBES: lambda: any({"card", "table", "law"} & one.keys() for one in job.get("lobe", {}).values()),
    }
    return name in known and known[name]()


def standing(edited: Edited, asked: Question) -> str:
    """Return how the file answers a question about what it holds, in a word where there is one."""
    job, there = edited.plain, edited.get(asked.loc) if asked.loc else None
    rows, trains = job.get("cylinder", []), job.get("train", [])
    lobes = [one for one in (CARD, TABLE) if any(one in each for each in job.get("lobe", {}).values())]
    known: Mapping[str, Callable[[], str]] = {
        FIND_OUT: lambda: ", ".join(wanted_of(job)),
        COUNT: lambda: str(len(rows)),
        CHANGED: lambda: YES if BEFORE in job else NO,
        SAME_PARTS: lambda: ", ".join(job[BEFORE].get("same", [])) or NONE,
        KIND: lambda: ", ".join(
            dict.fromkeys(str(one["lifter"]["kind"]) for one in trains if "lifter" in one)
        ),
        LOBES: lambda: ", ".join(lobes),
        OTHER_STACK: lambda: (
            BEFORE if there and there.get(ON) == BEFORE else YES if there and "stack" in there else NO
        ),
        READ_BEFORE: lambda: YES if there and there.get(ON) == BEFORE else NO,
        MEASURED: lambda: YES,
        TOUCH: lambda: ", ".join(str(one["name"]) for one in rows if "valves_touch" in one),
        FORM: lambda: IN_BLOCK if is_block(job) else ON_CASE,
    }
    return known[asked.name]() if asked.name in known else "as the file has it"


def word_of(kind: Choice, line: str) -> str:
    """Return one of the words a question takes; a beginning that only one of them has will do."""
    near = [one for one in kind.options if line and one.startswith(line.lower())]
    return near[0] if len(near) == 1 else line


def by_two_angles(raw: object, loc: Loc) -> object:
    """Return two numbers for a direction as the two angles that a protractor gives; anything else as it is."""
    two = isinstance(raw, list) and len(raw) == len(AROUND_UP) and {*AROUND_UP} <= {*entries_of(loc)}
    return dict(zip(AROUND_UP, raw, strict=True)) if two and isinstance(raw, list) else raw


def raw_of(line: str, kind: Kind | None) -> object:
    """Return a line as a job file would hold it: in TOML, or as the text that belongs between quotes.

    Raises:
        ValueFault: where a comma may be meant for decimals.
    """
    if line.startswith("{"):
        with contextlib.suppress(ValueError):
            return tomllib.loads(f"value = {line}", parse_float=Typed.of)["value"]
    decimals = re.search(r"\d,\d[\d,]*", line)
    if isinstance(kind, Parts) and decimals is not None:
        shown = decimals[0]
        message = (
            f'"{shown}": a comma between two digits; write "{shown.replace(",", ".")}" if decimals are meant, '
            f'"{shown.replace(",", ", ")}" for several values'
        )
        raise ValueFault(message)
    if isinstance(kind, Parts) and not line.startswith("[") and "," in line:
        return [raw_of(part.strip(), None) for part in line.split(",")]
    try:
        return tomllib.loads(f"value = {line}", parse_float=Typed.of)["value"]
    except ValueError:
        return line
