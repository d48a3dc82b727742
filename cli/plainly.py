"""Whether a line is plainly well formed, and the call of a command that it asks for.

typer takes as long to load as numpy, and every command would wait for it. What is read here is a command's name, its arguments,
and its options in full, each with a value that can be read in one way only. Everything else is typer's: help, completion, what
stands in front of a command, what is bundled or wrong, a value that begins with a dash, a file that cannot be read.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from .declared import Command, Declared, parameters

HARMLESS = frozenset({"metavar", "show_default", "autocompletion"})  # they move no value
WHOLE, NUMBER = r"0|[1-9][0-9]{0,8}", r"(0|[1-9][0-9]{0,8})(\.[0-9]{1,9})?"


class NotPlainError(Exception):
    """A line, or a command, that is left to typer."""


class Call(NamedTuple):
    """A command with what a line says of its parameters."""

    command: Command
    values: dict[str, Any]

    def run(self) -> None:
        """Run the command."""
        self.command.run(**self.values)


def read(words: Sequence[str], commands: Iterable[Command]) -> Call | None:
    """Return the call that a line asks for, or None where it is not plainly well formed."""
    if os.name == "nt" or not words:  # there a line's patterns are still to be made names of files
        return None
    named = next((one for one in commands if one.run.__name__ == words[0]), None)
    if named is None or not all(words) or any("\0" in one for one in words):
        return None
    try:
        return Call(named, _values(words[1:], [*parameters(named.run)]))
    except NotPlainError:
        return None


def _values(words: Sequence[str], every: Sequence[Declared]) -> dict[str, Any]:
    """Return the values that words give to parameters.

    Raises:
        NotPlainError: where they are not plainly well formed.
    """
    options = {word: one for one in every for word in words_of(one)}
    left = iter([one for one in every if one.said.is_argument])
    found: dict[str, Any] = {}
    coming = iter(words)
    for word in coming:
        name, equals, text = word.partition("=") if word.startswith("--") else (word, "", "")
        if not word.startswith("-"):
            taken, text = next(left, None), word
        else:
            taken = options.get(name)
            if taken is not None and taken.kind is not bool and not equals:
                text = next(coming, "")
        if taken is None or taken.said.more.keys() - HARMLESS:
            raise NotPlainError
        if taken.kind is bool:
            if equals:
                raise NotPlainError
            found[taken.name] = True
        elif taken.kind in REPEATED:
            found.setdefault(taken.name, []).append(_text(text))
        else:
            found[taken.name] = _reader(taken.kind)(text)
    if any(one.is_required and one.name not in found for one in every):
        raise NotPlainError
    return found


def words_of(one: Declared) -> tuple[str, ...]:
    """Return the words by which an option is given; none of an argument, and of a flag that has no word of its own."""
    if one.said.is_argument or (one.kind is bool and not one.said.param_decls):
        return ()
    return one.said.param_decls or (f"--{one.name.replace('_', '-')}",)


def _reader(kind: Any) -> Callable[[str], Any]:
    """Return what reads a value of a type.

    Raises:
        NotPlainError: where that is left to typer.
    """
    if kind not in READERS:
        raise NotPlainError
    return READERS[kind]


def _text(text: str) -> str:
    if not text or text.startswith("-"):
        raise NotPlainError
    return text


def _path(text: str) -> Path:
    """Return a path that typer would take too: one that can be read, or where nothing is.

    Raises:
        NotPlainError: where something is that cannot be read.
    """
    found = Path(_text(text))
    if not os.access(found, os.R_OK) and os.path.exists(found):
        raise NotPlainError
    return found


def _whole(text: str) -> int:
    if re.fullmatch(WHOLE, text, re.ASCII) is None:
        raise NotPlainError
    return int(text)


def _number(text: str) -> float:
    if re.fullmatch(NUMBER, text, re.ASCII) is None:
        raise NotPlainError
    return float(text)


REPEATED = (list[str] | None,)
READERS: dict[Any, Callable[[str], Any]] = {
    str: _text,
    str | None: _text,
    Path: _path,
    Path | None: _path,
    int: _whole,
    float: _number,
    float | None: _number,
}
