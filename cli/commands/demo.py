"""`tallstack demo`: an invented job, written out and worked through."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from importlib.resources import files
from pathlib import Path

from .. import files as output
from ..job.loading import load
from ..page.answer import OK, Answer
from ..page.model import Break, Form, Words
from . import overview

JOB, SHELF = "twin.toml", "shelf.csv"
TO_TRY = (
    "pushrods twin.toml --shelf shelf.csv",
    "clearance twin.toml",
    "fits twin.toml --from before.toml",
    "risk twin.toml",
    "sheet twin.toml --from before.toml --shelf shelf.csv -o sheet.html",
)


def answer(folder: Path, force: bool) -> Answer:
    """Write the demo's files into a folder and return where its job stands; status 0 when it ran.

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
    worked = overview.answer(load(job), folder / SHELF)
    intro = Words(
        f"An invented job, as a builder would write it down, is now in {folder}: {_named(there)}. In there, try:"
    )
    run = (Words(f"tallstack {one}", 1, Form.LINE) for one in TO_TRY)
    return worked._replace(page=(intro, *run, Break(), *worked.brief), status=OK, brief=())


def _named(there: Sequence[Path]) -> str:
    return ", ".join(one.name for one in there)


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
