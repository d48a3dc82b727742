"""`tallstack demo`: an invented job, written out and worked through."""

from __future__ import annotations

import os
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from .. import files as output
from ..job.loading import load
from ..page.answer import OK, Answer
from ..page.model import Lines, Words
from . import pushrods

JOB = "twin.toml"


def answer(folder: Path, force: bool) -> Answer:
    """Write the demo's files into a folder and return the pushrods of its job; status 0 when it ran.

    Raises:
        OutputRefusedError: where a file of that name is there already, or the folder cannot be made.
    """
    carried = sorted(
        (one for one in files("tallstack.cli.demo").iterdir() if one.name.endswith((".toml", ".csv"))),
        key=lambda one: one.name,
    )
    there = [folder / one.name for one in carried]
    taken = next((path for path in there if os.path.lexists(path)), None)
    if taken is not None and not force:
        message = f"{taken}: exists and is not overwritten; name another folder or add --force"
        raise output.OutputRefusedError(message)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"{folder}: cannot be made: {error.strerror}; name a folder you may write in"
        raise output.OutputRefusedError(message) from None
    _write({path: one.read_bytes() for one, path in zip(carried, there, strict=True)}, force)
    job = folder / JOB
    worked = pushrods.answer(load(job))
    intro = Words(
        f"An invented job, as a builder would write it down, is now in {job}. Open it in any editor, change "
        "a number, and run:"
    )
    run = Lines(f"tallstack pushrods {output.quoted(job)}")
    return worked._replace(page=[intro, run, *worked.blocks], status=OK)


def _write(contents: Mapping[Path, bytes], force: bool) -> None:
    """Write all of the files, or none of them where nothing is to be overwritten."""
    made: list[Path] = []
    try:
        for path, content in contents.items():
            output.write(path, content, force)
            made.append(path)
    except BaseException:
        for path in () if force else made:
            path.unlink(missing_ok=True)
        raise
