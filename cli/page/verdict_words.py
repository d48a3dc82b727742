"""What misses a limit, and what is to be looked at again, of answers of every kind: the head of what tells them.

SHORT is a verdict, not a length, so that the line below it always says which limit is missed and which way.
"""

from __future__ import annotations

from collections.abc import Sequence

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result

from ..job.contradicted import LOOK_AGAIN, word
from ..job.file import JobFile
from .fits_words import cell, units_of
from .model import Block, Break, Column, Row, Table, Words
from .wording import VERDICTS

COLUMNS = (
    Column("misses its limit", 40, own_line=True),
    Column("value", 11, right=True),
    Column("+/-", 9, right=True),
    Column("limit", 11, right=True),
    Column(),
)


def summary(job: JobFile, found: Sequence[Result], stops: Sequence[str] = ()) -> list[Block]:
    """Return what is SHORT, what is to be looked at again, and how many stand otherwise.

    stops : what cannot be at all, in words
    """
    told = [(one, word(one.verdict, one.look_again)) for one in found]
    told = [(one, said) for one, said in told if said]
    if not told and not stops:
        return []
    short = [one for one, said in told if said == VERDICTS[Verdict.SHORT]]
    blocks: list[Block] = [Break(), *(Words(one, 1, strong=True) for one in stops)]
    if short:
        blocks.append(Table(COLUMNS, tuple(_row(job, one) for one in short)))
    again: dict[str, list[str]] = {}
    for one, said in told:
        if said == LOOK_AGAIN:
            again.setdefault(one.of, []).append(one.figure.title)
    rest = [f"{LOOK_AGAIN}: {of.replace('.', ' ')}: {', '.join(whats)}" for of, whats in again.items()]
    counts = [(VERDICTS[one], sum(said == VERDICTS[one] for _, said in told)) for one in Verdict]
    left = [f"{count} {said}" for said, count in counts if count and said != VERDICTS[Verdict.SHORT]]
    if not short and not stops:
        rest.append("nothing that is judged here misses its limit")
    rest += [f"judged besides: {', '.join(left)}"] if left else []
    return [*blocks, *(Words(one, 1) for one in rest)]


def _row(job: JobFile, one: Result) -> Row:
    name = f"{one.of.replace('.', ' ')}, {one.figure.title}"
    numbers = (
        "" if each is None else cell(each, units_of(job, one.figure.unit)[0], one.doubt or 0.0)
        for each in (one.value, one.doubt, one.nearer_bound)
    )
    return Row((name, *numbers, VERDICTS[Verdict.SHORT]))
