"""`tallstack new`: a job file, asked for question by question, or blank to be filled in."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..files import OutputRefusedError, quoted, write
from ..guide.blank import blank_job
from ..job.entries.wanted import PUSHRODS, RECORD, VALVES
from ..page.answer import INTERRUPTED, Answer
from ..page.model import Lines, Words


def answer(path: Path, blank: bool, units: str, force: bool) -> Answer:
    """Write a job file, blank or as it is answered, and return what to do with it.

    units : "mm" or "in"; empty where they were not said

    Raises:
        OutputRefusedError: where the options do not say what to write, there is no terminal to ask on, or the
            file is there already.
    """
    if units not in ("mm", "in", ""):
        message = f'--units {units}: takes "mm" or "in"'
        raise OutputRefusedError(message)
    if not blank:
        if not all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout)):
            or_blank = f", or add --blank to write a commented job file to fill in:\ntallstack new {quoted(path)} --blank"
            message = f"no terminal to ask on; run it on one{'' if path.exists() else or_blank}"
            raise OutputRefusedError(message)
        return _guided(path, units, force)
    write(path, blank_job(units or "in").encode(), force)
    told = Words(
        f"{path} is ready to fill in. Write each reading between the quotes, with its unit and its +/-; leave "
        "blank what is not measured yet. Then run:"
    )
    return Answer((told, Lines(f"tallstack check {quoted(path)}")), {})


def _guided(path: Path, units: str, force: bool) -> Answer:
    """Ask on the terminal until nothing is left or the person stops; the file is saved after every answer."""
    from ..guide.guide import Guide
    from ..guide.words import PROMPT, opening_lines
    from ..job.document import Disk

    disk = Disk(path, force)
    if not force and os.path.isfile(path):
        _check(path)
    guide = Guide(path, units=units, store=disk, encoding=sys.stdout.encoding or "")
    try:
        _show(opening_lines(str(path), guide.document.known is not None))
        while not guide.ended:
            _show(guide.question())
            _show(guide.say(_line(PROMPT)).lines)
    except (KeyboardInterrupt, EOFError):
        kept = (
            f"{path} keeps what was entered; to go on:"
            if os.path.exists(path)
            else "nothing was entered; to begin:"
        )
        return Answer(f"\n{kept}\ntallstack new {quoted(path)}", {}, INTERRUPTED)
    return Answer(f"\n{path} is written. Then run:\n{_then(path, guide.edited.document)}", {})


def _then(path: Path, document: Mapping[str, Any]) -> str:
    """Return the commands that go on from a job, by what is to be found out."""
    from ..guide.questions import wanted_of

    wanted = wanted_of(document)
    of = {PUSHRODS: "pushrods", VALVES: "clearance", RECORD: "record"}
    commands = ("check", *dict.fromkeys(of.get(one, "fits") for one in wanted))
    return "\n".join(f"tallstack {one} {quoted(path)}" for one in commands)


def _check(path: Path) -> None:
    """Refuse a file that is no job; one that lacks what a job needs is what this is for.

    Raises:
        InputFaultsError: where more is wrong with it than that something is missing.
    """
    from ..job.faults import InputFaultsError
    from ..job.loading import load

    try:
        load(path)
    except InputFaultsError as found:
        if not all(fault.message.startswith("missing") for fault in found.faults):
            raise


def _show(lines: tuple[str, ...]) -> None:
    for line in lines:
        print(line)


def _line(prompt: str) -> str:
    """Return what is typed.

    Raises:
        EOFError: where the input has ended, or the terminal is gone.
    """
    sys.stdout.write(prompt)
    sys.stdout.flush()
    try:
        typed = sys.stdin.readline()
    except UnicodeDecodeError:
        return "\0"  # no text in this terminal's encoding: refused like any other that no file can hold
    except OSError as error:
        raise EOFError from error
    if not typed:
        raise EOFError
    return typed
