"""`tallstack sheet`: the document for the job folder, its first page for above the bench."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import TYPE_CHECKING

from ..files import OutputRefusedError, ending, free, quoted, write
from ..job.job import Job
from ..page.answer import MISSED, OK, UNUSABLE, Answer, tried
from ..page.model import Lines, Words

if TYPE_CHECKING:
    from ..sheet.work import Work

ENDINGS = (".html", ".pdf")
PAPERS = ("a4", "letter")


def named(path: Path | None) -> Path:
    """Return the file to write to, its ending looked at before anything is read.

    Raises:
        OutputRefusedError: where there is none, or its ending is none that can be written.
    """
    if path is None:
        message = "name the file to write: -o sheet.html for a screen, -o sheet.pdf for paper"
        raise OutputRefusedError(message)
    ending(path, ENDINGS, "a sheet")
    return path


def checked_paper(paper: str) -> str:
    """Return the paper's name as it is known.

    Raises:
        OutputRefusedError: where it is none of PAPERS.
    """
    if paper.lower() not in PAPERS:
        message = f"--paper {paper}: takes a4 or letter"
        raise OutputRefusedError(message)
    return paper.lower()


def day(text: str | None) -> str:
    """Return the date that the sheet shows, today's where none is given.

    Raises:
        OutputRefusedError: where it is no date.
    """
    if text is None:
        return datetime.date.today().isoformat()
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        try:
            return datetime.date.fromisoformat(text).isoformat()
        except ValueError:
            message = f"--date {text}: there is no such day"
            raise OutputRefusedError(message) from None
    message = f"--date {text}: write it as 2024-12-31, year, month, day"
    raise OutputRefusedError(message)


def answer(
    job: Job,
    out: Path,
    paper: str,
    date: str | None,
    shelf: Path | None,
    force: bool,
    before: Job | None = None,
) -> Answer:
    """Write the sheet of a job and return what is on it; before : the engine as it was."""
    size = checked_paper(paper)
    shown = day(date)
    sources = (*job.files, *(() if shelf is None else (shelf,)), *(() if before is None else before.files))
    free(out, force, sources)
    from ..page import band
    from ..sheet import stops
    from ..sheet.contents import sheet
    from ..sheet.work import work

    found = work(job, shelf, before=before)
    if not found.told:
        return Answer(
            f"{job.path}: nothing that can be worked out yet; `tallstack check {quoted(job.path)}` says more",
            {},
            UNUSABLE,
        )
    from importlib.metadata import version

    named = "".join(one if one.isprintable() else "?" for one in Path(job.path).name)
    exactly = f", sha256 {found.hash[:16]}" if found.hash else ""
    foot = f"{named}{exactly}; tallstack {version('tallstack')}; printed {shown}"
    page, unprinted = sheet(found, foot), []
    if out.suffix.lower() == ".pdf":
        from ..page.pdf import pdf

        content = pdf(page, size)
        unprinted = _unprinted(found)
    else:
        from ..page.html import html

        content = html(page)
    write(out, content, force, sources)
    missed = any(one.status == MISSED for one in found.told.values())
    told = Lines(f"{out}: {', '.join(found.told)}; its first page is for above the bench")
    said = [Words(one, 1) for one in (*tried(found.job), *found.job.said)]
    return Answer((told, *said, *band.blocks(stops.banded(found)), *unprinted), {}, MISSED if missed else OK)


def seen(job: Job, shelf: Path | None, before: Job | None) -> dict[str, object]:
    """Return the answers that a sheet shows, how sure they are by few draws."""
    from ..sheet.work import work
    from .trying import FEW_DRAWS, told

    found = work(job, shelf, FEW_DRAWS, is_drawn=False, before=before)
    return {name: told(one.document) for name, one in found.told.items()}


def _unprinted(found: Work) -> list[Words]:
    """Return what is to be said of letters that the PDF cannot show."""
    from ..page.letters import known

    typed = [found.job.title, *(one.typed for one in found.job.entries.values())]
    typed += [text for fact in found.facts for text in (fact.by, fact.tool, fact.note)]
    lacking = sorted({one for text in typed for one in text if one.isprintable() and ord(one) not in known()})
    named = " ".join(lacking[:8])
    return [Words(f"its letters lack {named}: each is printed as ?", 1)] if lacking else []
