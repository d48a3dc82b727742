"""What a question of a guided session takes, how a typed line is read, and whether a file holds the answer."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from ..job.entries.catalogue import kind_at, table_at
from ..job.entries.fields import Choice, Kind, Parts
from ..job.reading.values import Typed, ValueFault
from .questions import (
    AGAIN,
    CLEARANCES,
    COUNT,
    FOLLOWER,
    KIND,
    LOBES,
    MEASURED,
    NAME,
    OTHER_STACK,
    PORTS,
    READ_WITH,
    ROUTE,
    TOUCH,
    UNITS,
    Question,
    route_known,
)

STRUCTURE = (
    ROUTE,
    COUNT,
    PORTS,
    KIND,
    OTHER_STACK,
    CLEARANCES,
    LOBES,
    MEASURED,
    READ_WITH,
    FOLLOWER,
    AGAIN,
    TOUCH,
)


def kind_of(asked: Question) -> Kind | None:
    """Return what a question takes."""
    if asked.options and asked.key != UNITS:
        return Choice(asked.asks, asked.options)
    if asked.name == NAME:
        table = table_at(("cylinder", 0))
        found = None if table is None else table.parts["name"]
        return found if isinstance(found, Kind) else None
    return kind_at(asked.loc) if asked.loc else None


def holds(job: Mapping[str, Any], name: str, remarks: list[str]) -> bool:
    """Say whether a file holds what a question about it asks for."""
    trains = job.get("train", [])
    if name == ROUTE:
        return route_known(job, remarks)
    if name == COUNT:
        return bool(job.get("cylinder"))
    if name == PORTS:
        return bool(trains)
    if name == KIND:
        return all("like" in one or one.get("lifter", {}).get("kind") for one in trains)
    if name == CLEARANCES:
        return "crank" in job
    return any({"card", "table", "law"} & one.keys() for one in job.get("lobe", {}).values())


def word_of(kind: Choice, line: str) -> str:
    """Return one of the words a question takes; a beginning that only one of them has will do."""
    near = [one for one in kind.options if line and one.startswith(line.lower())]
    return near[0] if len(near) == 1 else line


def raw_of(line: str, kind: Kind | None) -> object:
    """Return a line as a job file would hold it: in TOML, or as the text that belongs between quotes.

    Raises:
        ValueFault: where a comma may be meant for decimals.
    """
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
