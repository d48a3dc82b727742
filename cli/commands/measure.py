"""`tallstack measure`: the list of what to measure, with letters, tools and blanks."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ..drawing.lines import Drawing
from ..files import OutputRefusedError, free, write
from ..guide.blank import blank_job
from ..guide.measuring import ASKED_FOR, CLEARANCE, Asked, Group, to_measure
from ..job.entries.meanings import called
from ..job.entries.wanted import PUSHRODS
from ..job.file import JobFile
from ..job.job import Job
from ..job.loading import load, understood
from ..page.answer import OK, Answer, caution, head
from ..page.model import (
    Blanks,
    Block,
    CheckLine,
    Column,
    Heading,
    Lines,
    Page,
    Part,
    Picture,
    Row,
    Sheet,
    Table,
    Tag,
    Words,
)
from ..page.vocabulary import said
from ..page.wording import CAUTION
from .sheet import named

USUAL = (PUSHRODS, CLEARANCE)
NO_JOB = "What to measure on the bench"
DRAWN = "Letters are those of `tallstack draw`, of the sheet, and of every list."
NOTHING = "Nothing is missing for the answers that are wanted, and nothing is worth taking again."
COLUMNS = (
    Column("letter", 6),
    Column("reading", wide=True),
    Column("what it is", wide=True),
    Column("with", wide=True),
    Column("as read, with its unit", to_write=40.0),
    Column("+/-", to_write=18.0),
)


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
        if one not in ASKED_FOR:
            message = f"--for {one}: takes {', '.join(ASKED_FOR[:-1])} or {ASKED_FOR[-1]}"
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
    groups, owners = said(job)(to_measure(job, wanted or job.wanted or USUAL)), job.names["trains"]
    if out is not None:
        _write(job, title, where, groups, out, paper, force)
        count = sum(len(group.asked) for group in groups)
        told = f"{out}: {count} reading{'' if count == 1 else 's'} to take, each with room to write it"
        return Answer((Lines(told),), _document(job, title, groups), OK)
    blocks: list[Block] = [Part(Tag.HEAD, (Heading(f"MEASURE: {title}"), Words(where, 1)))]
    blocks += [block for group in groups for block in (Heading(group.title), _table(group, owners))]
    if not groups:
        blocks.append(Words(NOTHING))
    blocks.append(Words(DRAWN))
    return Answer(said(job)([*blocks, caution()]), _document(job, title, groups), OK)


def _table(group: Group, owners: Sequence[str]) -> Table:
    """Return the readings of one kind, each with room to write what was read; what several have alike is said once."""
    alike: dict[tuple[object, ...], list[Asked]] = {}
    for one in group.asked:
        alike.setdefault((one.own, one.words, one.tool, one.choices), []).append(one)
    rows: list[Row | Words] = []
    for each in alike.values():
        first, is_shared = each[0], len(each) > 1
        choices, blank = " / ".join(first.choices), "" if first.doubt else "none"
        if not is_shared:
            rows.append(Row((first.letter, called(first.entry), first.words, first.tool, choices, blank)))
            continue
        rows.append(Row((first.letter, first.name, first.words, f"{first.tool}{choices and f': {choices}'}")))
        if first.may_be_alike:
            every = f"all {len(each)}" if len(each) >= len(owners) > 2 else "all of these"
            rows.append(Row(("", f"{every}, if alike", "", "", "", blank), 2))
        rows += [Row(("", one.owner.replace(".", " "), "", "", "", blank), 2) for one in each]
    return Table(COLUMNS, tuple(rows))


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
    from .sheet import checked_paper

    size, owners = checked_paper(paper), job.names["trains"]
    blocks: list[Block] = [
        Picture(f"drawing-{place}", one, one.title) for place, one in enumerate(_drawings(job))
    ]
    blocks += [Words(where), Blanks(("engine", "by", "date", "tools"))]
    blocks += [block for group in groups for block in (Heading(group.title), _table(group, owners))]
    blocks += [Words(DRAWN), said(job)(Words(CAUTION, small=True)), CheckLine()]
    page = Sheet(title, job.units, Page("list", title, tuple(blocks)), (), f"tallstack measure; {title}")
    if out.suffix.lower() == ".pdf":
        from ..page.pdf import pdf

        write(out, pdf(page, size, at_arms_length=False), force, job.files)
    else:
        from ..page.html import html

        write(out, html(page), force, job.files)


def _drawings(job: Job) -> list[Drawing]:
    """Return the drawing of the first valve gear, which shows where its readings are taken."""
    from tallstack.geometry.pushrod.ordering import orders

    from ..drawing.pages import drawing

    found = orders(job.mapping, job.quantities, job.doubts)
    return [drawing(job, found[0])] if found else []
