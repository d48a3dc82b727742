"""What every command's answer has in common: status, JSON, assumptions, warnings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.defaults import Assumed

from ..job.file import JobFile
from ..job.unusual.unusual import unlike
from ..job.variations import copied_to
from .model import Block, Form, Heading, Lines, Part, Tag, Words, under
from .text import text
from .wording import CAUTION, assumed_value

READINGS = "its [[reading]]s count: entries stand where they agree best, see `tallstack risk`"
OK = 0
MISSED = 1
UNUSABLE = 2
INTERRUPTED = 130
FINEST = 6  # decimals of a JSON number: a nanometre


class Answer(NamedTuple):
    """A command's answer: a page of blocks, or lines as they are; the same as JSON; the status the program ends with."""

    page: Sequence[Block] | str
    document: dict[str, Any]
    status: int = OK

    @property
    def blocks(self) -> Sequence[Block]:
        """The page."""
        return (Lines(self.page),) if isinstance(self.page, str) else self.page

    @property
    def text(self) -> str:
        """The page as a terminal shows it."""
        return text(self.blocks)

    def and_then(self, *blocks: Block) -> Answer:
        """Return the answer with blocks behind what it says."""
        return self._replace(page=(*self.blocks, *blocks))

    def shown(self, as_json: bool) -> str:
        """Return what goes to standard output."""
        if not as_json:
            return self.text
        import json

        return json.dumps(_rounded(self.document), indent=1, allow_nan=False)


def head(command: str, job: JobFile) -> dict[str, Any]:
    """Return how every JSON document begins."""
    return {"format": 1, "command": command, "job": job.title}


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
        found.append(f"TRIED, and not in the file: {one}{also}")
    return found


def head_part(command: str, job: JobFile, *more: str) -> Part:
    """Return how every answer for a person begins: the job, its file, what was tried in it, and more of its own."""
    blocks: list[Block] = [Heading(f"{command}: {job.title}"), Words(f"from {job.path}", 1)]
    blocks += [Words(one, 1, Form.ITEM) for one in tried(job)]
    if job.tied is not None and command != "RISK":
        blocks.append(Words(READINGS, 1))
    return Part(Tag.HEAD, (*blocks, *(Words(one, 1) for one in more)))


def warning_blocks(job: JobFile, before: JobFile | None = None) -> list[Block]:
    """Return what is unlikely in the entries, to stand above anything that rests on it.

    before : the job that this one is compared with
    """
    return look_again_blocks(warnings(job, before))


def look_again_blocks(found: Sequence[str]) -> list[Block]:
    """Return sentences about what looks wrong as every answer shows them."""
    return under("LOOK AGAIN, before using any of this", (Words(one, 1) for one in found))


def caution(*more: str) -> Part:
    """Return the cautions that end every answer; more : those of its own, before them."""
    return Part(Tag.CAUTION, tuple(map(Words, (*more, CAUTION))))


def warnings(job: JobFile, before: JobFile | None = None) -> list[str]:
    """Return what is unlikely in the entries of a job, and in those of two that are compared."""
    if before is None:
        return list(job.warnings)
    both = unlike(job.mapping, before.mapping)
    return [*job.warnings, *(f"{one} ({before.path})" for one in before.warnings), *both]


def framed(
    command: str,
    job: JobFile,
    page: Sequence[Block],
    document: dict[str, Any],
    status: int = OK,
    *,
    more: Sequence[str] = (),
    assumed: Sequence[Assumed] | None = None,
    before: JobFile | None = None,
    hand: Sequence[str] = (),
    without: Sequence[Tag] = (),
) -> Answer:
    """Return an answer between what every answer begins and ends with, for a person and in JSON.

    more    : what else it begins with
    assumed : in place of what the job as a whole assumes of the cold engine
    before  : the job that this one is compared with
    hand    : cautions of its own
    without : what it does not say to a person
    """
    taken = _of_gear(job) if assumed is None else assumed
    parts = head_part(command.upper(), job, *more), assumed_part(taken, job.units), caution(*hand)
    begins, *ends = (one for one in parts if one.tag not in without)
    return Answer(
        (begins, *page, *ends), {**head(command, job), **document, **tail(job, taken, before)}, status
    )


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
    judged = [one for one in found if one.verdict is not None]
    missed = {Verdict.SHORT, *((Verdict.TIGHT, Verdict.UNPROVED) if strict else ())}
    return MISSED if any(one.verdict in missed for one in judged) or job.lacks_of(judged) else OK
