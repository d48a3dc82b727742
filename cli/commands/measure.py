"""`tallstack measure`: the list of what to measure, with letters, tools and blanks."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ..drawing.lines import Drawing
from ..files import OutputRefusedError, free, write
from ..guide.blank import blank_job
from ..guide.measuring import ANSWERS, CLEARANCE, PUSHRODS, Asked, Group, to_measure
from ..job.file import JobFile
from ..job.job import Job
from ..job.loading import load, understood
from ..page.answer import OK, Answer, head
from ..page.wording import CAUTION, WIDTH, paragraph
from .sheet import named

USUAL = (PUSHRODS, CLEARANCE)
NO_JOB = "What to measure on the bench"
DRAWN = "Letters are those of `tallstack draw`, of the sheet, and of every list."
BLANK = "________________ +/- ________"
NO_DOUBT = "________________"


def answer(
    file: Path | None,
    units: str,
    wanted: Sequence[str],
    variations: Sequence[str],
    out: Path | None,
    paper: str,
    force: bool,
) -> Answer:
    """Return what is still to be measured of a job, or of any engine where no file is named.

    wanted : the answers it is for;  out : a page to print

    Raises:
        OutputRefusedError: where an option says nothing that is known, or the file cannot be written.
    """
    for one in wanted:
        if one not in ANSWERS:
            message = f"--for {one}: takes {', '.join(ANSWERS[:-1])} or {ANSWERS[-1]}"
            raise OutputRefusedError(message)
    if units not in ("mm", "in"):
        message = f'--units {units}: takes "mm" or "in"'
        raise OutputRefusedError(message)
    if out is not None:
        free(named(out), force, () if file is None else (file,))
    if file is not None:
        job = load(file, variations)
        return _told(job, job.title, f"from {file}", wanted, out, paper, force)
    text = blank_job(units).replace('title = ""', f'title = "{NO_JOB}"', 1)
    job = understood(Path("blank.toml"), text)
    return _told(job, NO_JOB, "for one cylinder, by the bench route", wanted, out, paper, force)


def _told(
    job: Job, title: str, where: str, wanted: Sequence[str], out: Path | None, paper: str, force: bool
) -> Answer:
    groups = to_measure(job, wanted or USUAL)
    lines = [f"MEASURE: {title}", paragraph(where, 2, 2)]
    for group in groups:
        lines += ["", group.title, *(line for one in group.asked for line in _lines(one))]
    if not groups:
        lines += [
            "",
            paragraph(
                "Nothing is missing for the answers that are wanted, and nothing is worth taking again."
            ),
        ]
    lines += ["", paragraph(DRAWN)]
    if out is not None:
        _write(job, title, where, groups, out, paper, force)
        lines += ["", f"{out}: this list, to print"]
    lines += ["", paragraph(CAUTION)]
    return Answer("\n".join(lines), _document(job, title, groups), OK)


def _lines(one: Asked) -> list[str]:
    """Return one reading: its letter and entry, what it is and with what, and where to write it."""
    first = f"  {one.letter:<3} {one.entry}"
    blank = " / ".join(one.choices) or (BLANK if one.doubt else NO_DOUBT)
    told = paragraph(f"{one.words}; {one.tool}" if one.words else one.tool, 6, 2)
    if len(first) + len(blank) + 2 <= WIDTH:
        return [f"{first}{blank:>{WIDTH - len(first)}}", told]
    return [first, paragraph(blank, 6, 2) if one.choices else f"{blank:>{WIDTH}}", told]


def _document(job: JobFile, title: str, groups: Sequence[Group]) -> dict[str, object]:
    return {
        **head("measure", job),
        "job": title,
        "groups": [
            {
                "for": group.title,
                "readings": [
                    {
                        "letter": one.letter or None,
                        "entry": one.entry,
                        "what": one.words,
                        "tool": one.tool,
                        "choices": list(one.choices),
                        "with_doubt": one.doubt,
                    }
                    for one in group.asked
                ],
            }
            for group in groups
        ],
    }


def _write(
    job: Job, title: str, where: str, groups: Sequence[Group], out: Path, paper: str, force: bool
) -> None:
    """Write the list as a page to print, with its drawings."""
    from ..sheet.model import Blanks, Block, CheckLine, Heading, Page, Picture, Sheet, Table, Words
    from .sheet import checked_paper

    size = checked_paper(paper)
    blocks: list[Block] = [Words(where), Blanks(("engine", "by", "date", "tools"))]
    for group in groups:
        rows = tuple(
            (
                *(one.letter, one.entry, one.words, one.tool, " / ".join(one.choices)),
                "" if one.doubt else "none",
            )
            for one in group.asked
        )
        heads = ("letter", "entry", "what it is", "with", "as read, with its unit", "+/-")
        blocks += [Heading(group.title), Table(heads, rows, wide=(1, 2, 3), to_write=((4, 40.0), (5, 18.0)))]
    blocks += [Words(DRAWN), Words(CAUTION, small=True), CheckLine()]
    blocks += [Picture(f"drawing-{place}", one, one.title) for place, one in enumerate(_drawings(job))]
    page = Sheet(title, job.units, Page("list", title, tuple(blocks)), (), f"tallstack measure; {title}")
    if out.suffix.lower() == ".pdf":
        from ..sheet.pdf import pdf

        write(out, pdf(page, size, whole_first=False), force, job.files)
    else:
        from ..sheet.html import html

        write(out, html(page, None), force, job.files)


def _drawings(job: JobFile) -> list[Drawing]:
    """Return the drawing of the first valve gear, which shows where its readings are taken."""
    from tallstack.geometry.pushrod.ordering import orders

    from ..drawing.pages import drawing

    found = orders(job.mapping, job.quantities, job.doubts)
    return [drawing(job, found[0])] if found else []
