"""What a shell is told that asks for completion: files, names of valve gears and cylinders, entries after --with.

It is asked at every press of a key, so that nothing is loaded for it that computes: the job is read as TOML alone, and
the catalogue from `entry_paths`. A job that cannot be read has no names, and that is all.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable, Iterator, MutableMapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import typer

MOST = 40  # entries that are shown at once; of more, where they part
LARGEST = 1_000_000  # bytes of a job
ASKED = "_TALLSTACK_COMPLETE"  # as typer asks, see `app.COMPLETES`
BASH = "complete_bash"
BEFORE = "_TALLSTACK_COMPLETE_ENTRY"  # what stands before = in the word that bash completes


def joined(environment: MutableMapping[str, str]) -> None:
    """Join what bash parted at = in its words, so that entry=value is one word again.

    What stands before the last = of the word that is completed is set aside: bash completes what is behind it alone.
    """
    if environment.get(ASKED) != BASH:
        return
    words = environment.get("COMP_WORDS", "").split("\n")
    place = environment.get("COMP_CWORD", "")
    if len(words) < 2 or not place.isdigit():
        return
    at, whole, last = int(place), list[str](), ""
    for index, word in enumerate(words[: at + 1]):
        begins = index < 2 or "=" not in (word, words[index - 1])
        if begins:
            whole.append(word)
        else:
            whole[-1] += word
        last = word
    entry, equals, value = whole[-1].partition("=")
    if equals and not entry.startswith("-") and last in ("=", value):
        environment[BEFORE] = entry
        whole[-1] = value
    environment["COMP_WORDS"] = "\n".join(whole)
    environment["COMP_CWORD"] = str(len(whole) - 1)


def jobs(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return job files, and folders."""
    return _files(incomplete, ".toml")


def tables(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return CSV files, and folders."""
    return _files(incomplete, ".csv")


WAS = "before."  # begins the entries of what stood before


def gears(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return the valve gears of the job that stands before in the line."""
    return _names(ctx)[1]


def parts(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return the valve gears and the cylinders of the job that stands before in the line."""
    cylinders, trains = _names(ctx)
    return [*trains, *cylinders]


def drawn(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return what of the job can be drawn."""
    return [*parts(ctx, incomplete), "engine"]


def entries(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return entries that --with can try, or the words that one takes."""
    if incomplete.startswith(WAS) and not os.environ.get(BEFORE):
        return [f"{WAS}{one}" for one in entries(ctx, incomplete.removeprefix(WAS))]
    every = dict(_entries(_document(ctx)))
    if os.environ.get(BEFORE):
        return list(every.get(os.environ[BEFORE], ()))
    entry, equals, _ = incomplete.partition("=")
    if equals:
        return [f"{entry}={word}" for word in every.get(entry, ())]
    found = [path for path in every if path.startswith(incomplete)]
    shown = found
    while len(found) > MOST:
        shown = list(dict.fromkeys(_to_next(path, incomplete) for path in found))
        if len(shown) > 1 or not shown[0].endswith("."):
            break
        incomplete = shown[0]
    if len(shown) > 1 or not shown or shown[0] not in every:
        return [f"{one}=" if one in every else one for one in shown]
    words = every[shown[0]] or ("VALUE", "")  # two, or a shell would put a space behind the sign
    return [f"{shown[0]}={word}" for word in words]


def _to_next(path: str, begun: str) -> str:
    """Return a path up to the next of its dots behind what is typed."""
    end = path.find(".", len(begun))
    return path if end < 0 else path[: end + 1]


def _files(incomplete: str, ending: str) -> list[str]:
    """Return the files of an ending, and folders, that go on from what is typed; of one folder alone what is in it."""
    stem, _ = os.path.split(incomplete)
    folder = Path(stem or os.curdir).expanduser()
    found: list[str] = []
    try:
        with os.scandir(folder) as inside:
            for one in inside:
                name = os.path.join(stem, one.name) if stem else one.name
                if one.name.startswith(".") or not name.startswith(incomplete):
                    continue
                if one.is_dir():
                    found.append(f"{name}{os.sep}")
                elif one.name.lower().endswith(ending):
                    found.append(name)
    except OSError:
        return []
    if len(found) == 1 and found[0].endswith(os.sep) and found[0] != incomplete:
        return [*found, *_files(found[0], ending)]
    return sorted(found)


def _document(ctx: typer.Context) -> dict[str, Any]:
    """Return the job that stands before in the line; nothing where it cannot be read."""
    named = ctx.params.get("file") or ctx.params.get("after") or _in_line()
    try:
        with open(Path(named), "rb") as stream:
            return tomllib.loads(stream.read(LARGEST).decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}


def _in_line() -> str:
    """Return the job file of the line itself, of which nothing is understood while its last option lacks its value."""
    line = os.environ.get("COMP_WORDS", "") or os.environ.get("_TYPER_COMPLETE_ARGS", "")
    words = line.split("\n") if "\n" in line else line.split()
    return next((one for one in words[2:] if one.endswith(".toml")), "")


def _names(ctx: typer.Context) -> tuple[list[str], list[str]]:
    """Return the names of a job's cylinders and valve gears."""
    rows = _owned(_document(ctx))
    return [name for name, _ in rows["CYLINDER"]], [name for name, _ in rows["TRAIN"]]


def _owned(document: dict[str, Any]) -> dict[str, list[tuple[str, dict[str, Any]]]]:
    """Return a job's rows that entries are of, each by its name."""
    return {
        "CYLINDER": [(str(row["name"]), row) for row in _rows(document, "cylinder") if row.get("name")],
        "TRAIN": [
            (f"{row['cylinder']}.{row['port']}", row)
            for row in _rows(document, "train")
            if {"cylinder", "port"} <= row.keys()
        ],
    }


def _rows(table: Any, name: str) -> list[dict[str, Any]]:
    found = table.get(name) if isinstance(table, dict) else None
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _entries(document: dict[str, Any]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield every entry that a job has or could have, with its words."""
    from .entry_paths import ENTRIES

    rows = _owned(document)
    lobes = document.get("lobe")
    named = lobes if isinstance(lobes, dict) and lobes else {"intake": {}, "exhaust": {}}
    for line in ENTRIES.splitlines():
        path, *more = _parted(line)
        words = tuple(more)
        owner, _, name = path.partition(".")
        if "NAME" in path.split("."):
            continue
        if owner == "lobe":
            for lobe, inner in named.items():
                yield from _numbered(f"lobe.{lobe}.", name.partition(".")[2], inner, words)
        elif owner in rows:
            for own, row in rows[owner]:
                yield from _numbered(f"{own}.", name, row, words)
        else:
            yield from _numbered("", path, document, words)


def _parted(line: str) -> Iterable[str]:
    """Return a line's words, those in quotes whole."""
    import shlex

    return [f'"{one}"' if " " in one else one for one in shlex.split(line)]


def _numbered(
    prefix: str, name: str, table: Any, words: tuple[str, ...]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield an entry, one for each row where it stands in rows, and none where the job has it the other way."""
    stem, is_row, last = name.partition(".#.")
    steps = (stem if is_row else name).split(".")
    for depth, step in enumerate(steps[:-1] if not is_row else steps):
        inner = table.get(step) if isinstance(table, dict) else None
        if isinstance(inner, list) and not (is_row and depth == len(steps) - 1):
            return  # it stands in rows there
        table = inner
    if not is_row:
        yield f"{prefix}{name}", words
        return
    for number in range(len(table) if isinstance(table, list) else 0):
        yield f"{prefix}{stem}.{number}.{last}", words
