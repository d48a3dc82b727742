"""What every command's answer has in common: status, JSON, assumptions, warnings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, NamedTuple

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.defaults import Assumed

from ..job.contradicted import LOOK_AGAIN, UNUSUAL, is_wrong
from ..job.file import JobFile
from ..job.unusual.unusual import unlike
from ..job.variations import copied_to
from .model import Block, Column, Form, Heading, Lines, Part, Row, Table, Tag, Words, under
from .text import WIDTH, text
from .vocabulary import said, said_in_document
from .wording import CAUTION, IN_SHORT, assumed_value

FROM = "from "
READINGS = "bench readings count too: entries stand where all agree best (`risk`)"
OK = 0
MISSED = 1
UNUSABLE = 2
INTERRUPTED = 130
LABELLED = (Column(room=18), Column(wide=True))
FINEST = 6  # decimals of a JSON number: a nanometre


class Answer(NamedTuple):
    """A command's answer: a page of blocks, or lines as they are; the same as JSON; the status the program ends with."""

    page: Sequence[Block] | str | Callable[[], Sequence[Block]]  # the whole answer
    document: dict[str, Any]
    status: int = OK
    brief: Sequence[Block] = ()  # what fits on one screen of it; where empty, all of it

    @property
    def blocks(self) -> Sequence[Block]:
        """The whole answer."""
        if isinstance(self.page, str):
            return (Lines(self.page),)
        return self.page() if callable(self.page) else self.page

    @property
    def text(self) -> str:
        """The whole answer as a terminal shows it."""
        return text(self.blocks)

    def and_then(self, *blocks: Block) -> Answer:
        """Return the answer with blocks behind what it says."""
        brief = (*self.brief, *blocks) if self.brief else ()
        return self._replace(page=(*self.blocks, *blocks), brief=brief)

    def shown(self, as_json: bool, full: bool = True, width: int = WIDTH) -> str:
        """Return what goes to standard output; full : not what fits on one screen alone; width : columns of it."""
        if not as_json:
            return text(self.brief if self.brief and not full else self.blocks, width)
        import json

        return json.dumps(_rounded(self.document), indent=1, allow_nan=False)


def head(command: str, job: JobFile) -> dict[str, Any]:
    """Return how every JSON document begins."""
    trials = [{"with": one, "changes_nothing": job.idle.get(one)} for one in job.variations]
    return {"format": 1, "command": command, "job": job.title, **({"tried": trials} if trials else {})}


def tail(
    job: JobFile, assumed: Sequence[Assumed] | None = None, before: JobFile | None = None
) -> dict[str, Any]:
    """Return how every JSON document ends.

    assumed : in place of what the job as a whole assumes of the cold engine
    before  : the job that this one is compared with
    """
    return {
        "assumed": [
            {"entry": one.entry, "value": assumed_value(one, "mm"), "why": one.why}
            for one in (_of_gear(job) if assumed is None else assumed)
        ],
        "warnings": warnings(job, before),
    }


def tried(job: JobFile) -> list[str]:
    """Return what was tried in a job and does not stand in its file, in sentences."""
    found = []
    for one in job.variations:
        copies = [name.replace(".", " ") for name in copied_to(job.entries, one.partition("=")[0].strip())]
        also = f"; {' and '.join(copies)} with it, as `like` says" if copies else ""
        idle = f"; CHANGES NOTHING here: {job.idle[one]}" if one in job.idle else ""
        found.append(f"TRIED, and not in the file: {one}{also}{idle}")
    return found


def head_part(command: str, job: JobFile, *more: str) -> Part:
    """Return how every answer for a person begins: the job, its file, what was tried in it, and more of its own."""
    blocks: list[Block] = [Heading(f"{command}: {job.title}"), Words(f"{FROM}{job.path}", 1)]
    blocks += [Words(one, 1, Form.ITEM) for one in (*tried(job), *job.said)]
    if job.tied is not None and command != "RISK":
        blocks.append(Words(READINGS, 1))
    return Part(Tag.HEAD, (*blocks, *(Words(one, 1) for one in more)))


def warning_blocks(job: JobFile, before: JobFile | None = None) -> list[Block]:
    """Return what is unlikely in the entries, to stand above anything that rests on it: what cannot be so, what is rare.

    before : the job that this one is compared with
    """
    found = warnings(job, before)
    wrong = [one for one in found if is_wrong(one)]
    rare = [one for one in found if not is_wrong(one)]
    return [*look_again_blocks(wrong), *under(UNUSUAL, (Words(one, 1) for one in rare))]


def look_again_blocks(found: Sequence[str]) -> list[Block]:
    """Return sentences about what looks wrong as every answer shows them."""
    return under(f"{LOOK_AGAIN}, before using any of this", (Words(one, 1) for one in found))


def caution(*more: str) -> Part:
    """Return the cautions that end every answer; more : those of its own, before them."""
    return Part(Tag.CAUTION, tuple(map(Words, (*more, CAUTION))))


def warnings(job: JobFile, before: JobFile | None = None) -> list[str]:
    """Return what is unlikely in the entries of a job, and in those of two that are compared."""
    if before is None:
        return list(job.warnings)
    both = unlike(job.mapping, before.mapping)
    return [*job.warnings, *(f"{one} ({before.named})" for one in before.warnings), *both]


def framed(
    command: str,
    job: JobFile,
    page: Sequence[Block] | Callable[[], Sequence[Block]],
    document: dict[str, Any],
    status: int = OK,
    *,
    brief: Sequence[Block] = (),
    told: Sequence[Row] = (),
    more: Sequence[str] = (),
    assumed: Sequence[Assumed] | None = None,
    before: JobFile | None = None,
    hand: Sequence[str] = (),
    without: Sequence[Tag] = (),
) -> Answer:
    """Return an answer between what every answer begins and ends with, for a person and in JSON.

    page    : what it says in full
    brief   : what it says on one screen
    told    : and what is said there of one thing in a line each, behind it
    more    : what else it begins with
    assumed : in place of what the job as a whole assumes of the cold engine
    before  : the job that this one is compared with
    hand    : cautions of its own
    without : what it does not say to a person
    """
    taken = _of_gear(job) if assumed is None else assumed
    own = said(job)
    begins = head_part(command.upper(), job, *more)

    def whole() -> list[Block]:
        ends = assumed_part(taken, job.units), caution(*hand)
        return [
            begins,
            *map(own, page() if callable(page) else page),
            *(own(one) for one in ends if one.tag not in without),
        ]

    document = said_in_document(job)({**head(command, job), **document, **tail(job, taken, before)})
    if not brief:
        return Answer(whole, document, status)
    in_short = Row((IN_SHORT,), 0)
    ends = Table(LABELLED, (*told, *given_rows(taken), in_short))
    return Answer(whole, document, status, (*in_a_line(begins), *map(own, brief), own(ends)))


def in_a_line(begins: Part) -> list[Block]:
    """Return how an answer begins, its file in the line of its title, for one screen."""
    heading, path, *more = begins.blocks
    assert isinstance(heading, Heading)
    assert isinstance(path, Words)
    columns = Column(room=len(heading.words) + 2), Column()
    return [Table(columns, (Row((heading.words, path.words.removeprefix(FROM)), 0),)), *more]


def labelled(label: str, told: Sequence[str]) -> list[Row]:
    """Return sentences behind a label, for one screen."""
    return [Row(("" if place else label, one), 0) for place, one in enumerate(told)]


def given_rows(assumed: Sequence[Assumed]) -> list[Row]:
    """Return how much was taken as given, counted by what is said of it, for one screen."""
    count = len({(one.kind, one.why) for one in assumed})
    things = (
        "1 thing that nobody entered: --full says which"
        if count == 1
        else f"{count} things that nobody entered: --full lists them"
    )
    return [Row(("TAKEN AS GIVEN", things), 0)] if count else []


def _of_gear(job: JobFile) -> list[Assumed]:
    return [one for one in job.assumed if one.kind != "expansion"]


def assumed_part(assumed: Sequence[Assumed], units: str) -> Part:
    """Return what was assumed, alike things together."""
    alike: dict[tuple[str, str], list[str]] = {}
    for one in assumed:
        alike.setdefault((assumed_value(one, units), one.why), []).append(one.entry)
    told = (Words(f"{', '.join(names)}: {value}; {why}", 1) for (value, why), names in alike.items())
    return Part(Tag.ASSUMED, tuple(under("ASSUMED, because it was not entered", told)))


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return (
            round(round(value, 2 * FINEST), FINEST) + 0.0
        )  # what lies between two goes the same way everywhere
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(item) for item in value]
    return value


def status_of(job: JobFile, found: Iterable[Result], strict: bool = False, lacking: bool = False) -> int:
    """Return the status to end with, see the README's table of statuses.

    found   : the answers that are told
    lacking : something that was asked is not known, or cannot be
    """
    if lacking or (strict and job.warnings):
        return MISSED
    judged = [one for one in found if one.verdict is not None and one.figure.alone]
    missed = {Verdict.SHORT, *((Verdict.TIGHT, Verdict.UNPROVED) if strict else ())}
    return MISSED if any(one.verdict in missed for one in judged) or job.lacks_of(judged) else OK
