"""One fault of an input: where it is, which entry in words, what was found, what would be right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tallstack.cli.jobfile.fields import FAULT, did_you_mean

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Loc = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one entry of an input."""

    loc: Loc  # path in the document; empty: the file as a whole
    entry: str  # in words: "valve gear, front intake: lifter.preload"
    message: str
    line: int | None = None  # when known without the document's tree, from 1
    column: int | None = None
    outside: str = ""  # where it was said when not in the file: "--with …"


class InputFaultsError(Exception):
    """An input that cannot be used, with every fault found in it."""

    def __init__(self, path: Path, faults: Sequence[Fault], source: str = "") -> None:
        self.path = path
        self.faults = tuple(faults)
        self.source = source
        super().__init__(f"{path}: {len(self.faults)} faults")

    def report(self) -> str:
        """Return every fault as file:line:column: entry: message, with the source line under it."""
        lines = self.source.splitlines()
        placed = sorted(
            (_placed(fault, self.source) for fault in self.faults),
            key=lambda item: (item[0] or 0, item[1] or 0),
        )
        shown: list[str] = []
        for line, column, fault in placed:
            place = f"{self.path}:{line}:{column}" if line is not None else f"{self.path}"
            head = f"{fault.outside or place}: "
            shown.append(head + (f"{fault.entry}: " if fault.entry else "") + fault.message)
            if line is not None and not fault.outside and line <= len(lines):
                text = lines[line - 1].expandtabs(1)[:160]
                shown.append(f"    {text}")
                shown.append(f"    {' ' * (min(column or 1, len(text) + 1) - 1)}^")
        return "\n".join(shown)


def _placed(fault: Fault, source: str) -> tuple[int | None, int | None, Fault]:
    if fault.line is not None or not fault.loc or fault.outside:
        return fault.line, fault.column, fault
    from tallstack.cli.jobfile.locate import nearest

    line, column = nearest(source, fault.loc)
    return line, column, fault


def in_words(document: dict[str, Any], loc: Loc) -> str:
    """Return an entry's place in the trade's words."""
    parts = [str(part) for part in loc]
    if len(loc) > 1 and loc[0] in ("train", "cylinder") and isinstance(loc[1], int):
        rows = document.get(str(loc[0]))
        row = rows[loc[1]] if isinstance(rows, list) and loc[1] < len(rows) else None
        row = row if isinstance(row, dict) else {}
        name = [str(row.get(key, "?")) for key in (("cylinder", "port") if loc[0] == "train" else ("name",))]
        title = "valve gear, " if loc[0] == "train" else "cylinder "
        rest = ".".join(parts[2:])
        return f"{title}{' '.join(name)}" + (f": {rest}" if rest else "")
    return ".".join(parts)


def from_model(document: dict[str, Any], errors: Sequence[ErrorDetails]) -> list[Fault]:
    """Return the model's errors as faults in words."""
    return [_one(document, error) for error in errors]


def _one(document: dict[str, Any], error: ErrorDetails) -> Fault:
    loc = tuple(part for part in error["loc"] if not str(part).startswith("~"))
    found = error["input"]
    kind = error["type"]
    if kind == FAULT:
        message = error["msg"]
    elif kind == "extra_forbidden":
        from tallstack.cli.jobfile.catalogue import entries_of

        known = entries_of(loc[:-1])
        message = "no such entry" + (did_you_mean(str(loc[-1]), known) or _known(known))
    elif kind == "missing":
        message = "missing; " + _wanted(str(loc[-1]))
    elif kind in ("model_type", "dict_type"):
        message = f"{_found(found)} where a table of entries belongs"
    elif kind in ("list_type", "tuple_type"):
        message = f"{_found(found)} where a list belongs; write [[{loc[-1]}]] above its entries"
    elif kind in ("bool_parsing", "bool_type"):
        message = f"{_found(found)} where true or false belongs"
    elif kind == "literal_error":
        message = f"{_found(found)}: this program reads format {error.get('ctx', {}).get('expected', '1')}"
    else:
        message = f"{_found(found)}: {error['msg']}"
    return Fault(loc, in_words(document, loc), message)


def _found(found: object) -> str:
    if isinstance(found, dict):
        return "a table"
    if isinstance(found, list):
        return "a list"
    return f'"{found}"' if isinstance(found, str) else str(found).lower()


def _known(known: tuple[str, ...]) -> str:
    return f"; the entries here are {', '.join(known)}" if known else ""


def _wanted(name: str) -> str:
    return {
        "format": "write format = 1 at the top of the file",
        "units": 'write units = "mm" or units = "in" at the top, for numbers without a unit',
        "name": 'write for example name = "front"',
        "cylinder": "write the name of its [[cylinder]]",
        "port": 'write port = "intake" or port = "exhaust"',
    }.get(name, "write it")
