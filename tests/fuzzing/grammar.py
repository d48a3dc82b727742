"""Faulty and extreme inputs made from sound ones by their grammar, the same for the same random numbers.

A job is changed as a document (entries tweaked, moved, doubled, left out, put where they do not belong) and then
sometimes as text; a table by its rows and cells.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterator, Sequence
from typing import Any

import tomlkit
from tallstack.cli.job.entries.catalogue import entries_of, meaning_at, table_at
from tallstack.cli.job.entries.fields import Choice
from tallstack.cli.job.faults import Loc
from tallstack.cli.record.recordfile import COLUMNS, NEEDED
from tallstack.cli.record.recordkinds import (
    CHANGED,
    CHANGES,
    CONVENTIONS_OF,
    NOTE,
    OF_NOTHING,
    SHELF,
    STATES,
    WITHDRAWN,
    kinds,
)
from tomlkit.exceptions import TOMLKitError

ROWS = ("cylinder", "train", "reading", "reliefs")
FACTORS = (-1.0, 0.0, 0.001, 0.3, 0.5, 0.9, 0.99, 1.01, 1.1, 1.5, 2.0, 3.0, 25.4, 1 / 25.4, 1000.0)
ODD: tuple[Any, ...] = (
    *("", " ", "0", "-1", "nan", "inf", "1e308", "1e-308", "1e400", "4,5", "4.5.5", "5 +/- 0", "5 +/- -1"),
    *(
        "5 +/- 1e9",
        "5 +/- 0.001 in (1 sigma)",
        "1/0 in",
        "3 15/16 in",
        "30 thou",
        "5 mm mm",
        "\u0663",
        "=1+1",
    ),
    *(
        "../../x.csv",
        "a" * 300,
        "{",
        "'",
        '"',
        "\x00",
        "\u202e",
        "\U0001f600",
        "top",
        "solid",
        "front.intake",
    ),
    *(
        0,
        -0.0,
        1e308,
        5e-324,
        10**30,
        True,
        [],
        [1],
        [1, 2],
        [1, 2, 3],
        [1, 2, 3, 4],
        [[1]],
        ["", "", ""],
        {},
    ),
    *({"read": ["1", "2"]}, {"read": ["4.1 in", "4.2 in"], "by": "mic"}, [{"at": 1}]),
)
CELLS = (
    "",
    "0",
    "-1",
    "nan",
    "inf",
    "1e308",
    "4,5",
    '"',
    "'",
    "x",
    "=1",
    "999999",
    "-180",
    "0.0001",
    "\u0663",
)


def mutated_job(rng: random.Random, text: str) -> str:
    """Return a job with a few changes."""
    document = tomlkit.parse(text).unwrap()
    for _ in range(rng.choice((1, 1, 2, 3, 5, 8))):
        _change(rng, document)
    try:
        written = tomlkit.dumps(document)
    except (ValueError, TypeError, TOMLKitError):  # what TOML cannot hold
        written = text
    return _scratched(rng, written) if rng.random() < 0.1 else written


def mutated_table(rng: random.Random, text: str) -> str:
    """Return a table of values separated by commas with a few changes."""
    rows = [line.split(",") for line in text.splitlines()]
    for _ in range(rng.choice((1, 1, 2, 4, 10))):
        at = rng.randrange(len(rows))
        row, way = rows[at], rng.random()
        cell = rng.randrange(len(row))
        if way < 0.3:
            row[cell] = _tweaked_cell(rng, row[cell])
        elif way < 0.5:
            row[cell] = rng.choice(CELLS)
        elif way < 0.6:
            rows.insert(at, list(row))
        elif way < 0.7 and len(rows) > 1:
            del rows[at]
        elif way < 0.75:
            row.append(rng.choice(CELLS))
        elif way < 0.8:
            rng.shuffle(rows)
        elif way < 0.85:
            del rows[rng.randrange(1, len(rows) + 1) :]
        elif way < 0.9:
            row.pop()
            row or row.append("")
        else:
            other = rows[rng.randrange(len(rows))]
            other[:], row[:] = list(row), list(other)
        rows = rows or [[""]]
    written = "\n".join(",".join(row) for row in rows) + "\n"
    return _scratched(rng, written) if rng.random() < 0.15 else written


def mutated_record(rng: random.Random, text: str) -> str:
    """Return a record with a few more lines, of every kind and of none, and perhaps other changes."""
    rows = list(csv.DictReader(io.StringIO(text)))
    for _ in range(rng.choice((1, 2, 5, 12))):
        row = _fact(rng, rows) if not rows or rng.random() < 0.8 else dict(rng.choice(rows))
        rows.insert(rng.randrange(len(rows) + 1), row)
    for row in rows:
        if rng.random() < 0.1:
            row[rng.choice(COLUMNS)] = rng.choice((*CELLS, "found", "left", "500 mi", "20 C", "1", "99"))
    columns = list(COLUMNS)
    if rng.random() < 0.2:
        columns = [one for one in columns if one in NEEDED or rng.random() < 0.7]
    if rng.random() < 0.1:
        rng.shuffle(columns)
    out = io.StringIO()
    writer = csv.DictWriter(out, columns, restval="", extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return mutated_table(rng, out.getvalue()) if rng.random() < 0.2 else out.getvalue()


def _fact(rng: random.Random, rows: Sequence[dict[str, str]]) -> dict[str, str]:
    """Return a line of a record that somebody could have written."""
    what = rng.choice((*kinds(), *kinds(), *OF_NOTHING))
    number = round(rng.choice((rng.uniform(0, 3), rng.uniform(0, 80), rng.uniform(-2, 12))), 3)
    value = f"{number} {rng.choice(('', 'mm', 'in', 'deg', '+/- 0.02', 'mm +/- 0.1'))}".strip()
    line = str(rng.randrange(len(rows) + 2))
    value = {WITHDRAWN: line, NOTE: "", CHANGED: rng.choice(list(CHANGES)), SHELF: "shelf.csv"}.get(
        what, value
    )
    found = {
        "when": f"2026-{rng.randrange(1, 13):02}-14T16:05:00+01:00",
        "what": what,
        "of": rng.choice(
            ("front.intake", "front.exhaust", "rear.intake", "front", "rear", "front, rear", "")
        ),
        "as": rng.choice(("", *CONVENTIONS_OF.get(what, ("",)))),
        "value": value,
        "note": rng.choice(("", "as it stood", "=1+1")),
    }
    if rng.random() < 0.4:
        found |= {"state": rng.choice(STATES), "distance": rng.choice(("500 mi", "800 km", "0 km", "1e9 km"))}
        found |= {"temperature": rng.choice(("", "20 C", "68 F", "-300 C"))}
    return found | ({"lift": rng.choice(("", "9 mm", "0.350 in"))} if "full" in what else {})


def with_before(rng: random.Random, text: str) -> str:
    """Return a job that says what stood before: some of its own entries, otherwise."""
    document = tomlkit.parse(text).unwrap()
    before = document.setdefault("before", {})
    if not isinstance(before, dict):
        return text
    for loc in rng.sample(places := list(leaves(document, ())), min(len(places), rng.choice((1, 2, 5)))):
        if any(isinstance(step, int) for step in loc) or loc[0] == "before":
            continue
        there = before
        for step in loc[:-1]:
            there = there.setdefault(step, {})
        there[loc[-1]] = _tweaked(rng, _at(document, loc)) if rng.random() < 0.8 else rng.choice(ODD)
    try:
        return tomlkit.dumps(document)
    except (ValueError, TypeError, TOMLKitError):
        return text


def _tweaked_cell(rng: random.Random, cell: str) -> str:
    try:
        return str(float(cell) * rng.choice(FACTORS) + rng.choice((0.0, 0.0, 1.0, -1.0)))
    except ValueError:
        return rng.choice(CELLS)


def _scratched(rng: random.Random, text: str) -> str:
    """Return a text with a few characters gone, doubled or out of place."""
    for _ in range(rng.choice((1, 2, 5))):
        at = rng.randrange(len(text) + 1)
        to = at + rng.choice((0, 1, 1, 5, 80))
        text = (
            text[:at]
            + rng.choice(("", text[at:to] * 2, "\x00", "[", "]", '"', "=", "\n", "#", "\ufeff"))
            + text[to:]
        )
    return text


def _change(rng: random.Random, document: dict[str, Any]) -> None:
    places = list(leaves(document, ()))
    if not places:
        document.update(rng.choice((_row(rng), {"format": 1})))
        return
    loc = rng.choice(places)
    table, key = _within(document, loc)
    way = rng.random()
    if way < 0.55:
        table[key] = _tweaked(rng, table[key])
    elif way < 0.65:
        table[key] = rng.choice(ODD)
    elif way < 0.73:
        del table[key]
    elif way < 0.77:
        parent = loc[: rng.randrange(1, len(loc) + 1)]
        there, name = _within(document, parent)
        del there[name]
    elif way < 0.82:
        _double(rng, document)
    elif way < 0.87:
        table[key] = _at(document, rng.choice(places))
    else:
        _enter(rng, document)


def _tweaked(rng: random.Random, value: Any) -> Any:
    """Return a value somewhat off; a word as another, a number in a text with what stands around it."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, (int, float)):
        return value * rng.choice(FACTORS) + rng.choice((0.0, 0.0, 0.0, 1e-9, 1.0))
    if isinstance(value, str):
        head, _, rest = value.partition(" ")
        try:
            number = float(head) * rng.choice(FACTORS)
        except ValueError:
            return rng.choice((value, value.upper(), value[:-1], f"{value} "))
        doubt = rng.choice(("", rest, "+/- 0.01", f"+/- {abs(number)} mm", "in", "+/- 1e-12"))
        return f"{number!r} {doubt}".strip()
    return value


def _double(rng: random.Random, document: dict[str, Any]) -> None:
    """Say a row of cylinders, valve gears or readings again, or copy one valve gear by `like`."""
    rows = document.get(rng.choice(("cylinder", "train", "reading")))
    if not isinstance(rows, list) or not rows:
        return
    row = dict(rng.choice(rows)) if isinstance(rows[0], dict) else rows[0]
    if isinstance(row, dict) and rng.random() < 0.5:
        row |= {
            rng.choice(("name", "cylinder", "port", "like")): rng.choice(
                ("other", "front", "exhaust", "front.intake")
            )
        }
    rows.append(row)


def _enter(rng: random.Random, document: dict[str, Any]) -> None:
    """Enter something that the model knows, at a place where it may stand."""
    loc, kind = entered(rng, document)
    if not loc:
        return
    table: Any = document
    for step in loc[:-1]:
        if isinstance(table, dict):
            table = table.setdefault(step, [{}] if step in ROWS else {})
        else:
            table = table[step]
    table[loc[-1]] = _value(rng, kind)


def entered(rng: random.Random, document: dict[str, Any]) -> tuple[Loc, object]:
    """Return a place where something that the model knows may stand in a document, and its kind; none where it ends in what is no table."""
    loc: Loc = ()
    table: Any = document
    while True:
        names = entries_of(loc)
        if not names or not isinstance(table, dict):
            return (), None
        name = rng.choice(names)
        kind = meaning_at((*loc, name))
        if table_at((*loc, name)) is None or (kind is not None and rng.random() < 0.5):
            return (*loc, name), kind
        held = table.get(name, [{}] if name in ROWS else {})
        loc = (*loc, name)
        if isinstance(held, list):
            if not held:
                return (), None
            index = rng.randrange(len(held))
            loc, held = (*loc, index), held[index]
        elif name == "lobe" and isinstance(held, dict) and held and loc == ("lobe",):
            which = rng.choice(list(held))
            loc, held = (*loc, which), held[which]
        table = held


def _value(rng: random.Random, kind: object) -> Any:
    if isinstance(kind, Choice):
        return rng.choice(kind.options)
    small = [round(rng.uniform(-20, 200), rng.choice((0, 1, 3))) for _ in range(3)]
    return rng.choice(
        (small[0], f"{small[1]} +/- 0.05", small, small[:2], f"{abs(small[2])} in", rng.choice(ODD))
    )


def _row(rng: random.Random) -> dict[str, Any]:
    return {
        "train": [{"cylinder": "a", "port": rng.choice(("intake", "exhaust"))}],
        "cylinder": [{"name": "a"}],
    }


def leaves(found: Any, loc: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
    """Yield the place of every value in a document."""
    items = found.items() if isinstance(found, dict) else enumerate(found)
    for key, value in items:
        if isinstance(value, (dict, list)) and value:
            yield from leaves(value, (*loc, key))
        else:
            yield (*loc, key)


def _at(document: Any, loc: tuple[Any, ...]) -> Any:
    for step in loc:
        document = document[step]
    return document


def _within(document: Any, loc: tuple[Any, ...]) -> tuple[Any, Any]:
    """Return what holds an entry, and by which key."""
    return _at(document, loc[:-1]), loc[-1]
