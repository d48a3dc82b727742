"""`tallstack new`: a job file to fill in."""

from __future__ import annotations

from pathlib import Path

from tallstack.cli.answer import Answer
from tallstack.cli.blank import blank_job
from tallstack.cli.files import OutputRefusedError, quoted, write
from tallstack.cli.wording import paragraph


def answer(path: Path, blank: bool, units: str, force: bool) -> Answer:
    """Write a blank job file and return what to do with it.

    Raises:
        OutputRefusedError: where the options do not say what to write, or the file is there already.
    """
    if not blank:
        message = (
            f"add --blank to write a commented job file to fill in:\ntallstack new {quoted(path)} --blank"
        )
        raise OutputRefusedError(message)
    if units not in ("mm", "in"):
        message = f'--units {units}: takes "mm" or "in"'
        raise OutputRefusedError(message)
    write(path, blank_job(units).encode(), force)
    told = paragraph(
        f"{path} is ready to fill in. Write each reading between the quotes, with its unit and its +/-; leave "
        "blank what is not measured yet. Then run:"
    )
    return Answer(f"{told}\ntallstack check {quoted(path)}", {})
