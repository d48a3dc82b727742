"""What misses a limit, and what is to be looked at again, of answers of every kind: the head of what tells them.

SHORT is a verdict, not a length, so that the line below it always says which limit is missed and which way.
"""

from __future__ import annotations

from collections.abc import Sequence

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result

from ..job.contradicted import LOOK_AGAIN, word
from ..job.file import JobFile
from .fits_words import figure_in
from .wording import VERDICTS, paragraph

NAME = 38  # columns of what an answer is called


def summary_lines(job: JobFile, found: Sequence[Result], stops: Sequence[str] = ()) -> list[str]:
    """Return what is SHORT, what is to be looked at again, and how many stand otherwise.

    stops : what cannot be at all, in words
    """
    told = [(one, word(one.verdict, one.look_again)) for one in found]
    told = [(one, said) for one, said in told if said]
    if not told and not stops:
        return []
    short = [one for one, said in told if said == VERDICTS[Verdict.SHORT]]
    lines = ["", *(paragraph(one, 2, 2) for one in stops)]
    if short:
        lines.append(f"  {'misses its limit':<{NAME}}{'value':>11}{'+/-':>9}{'limit':>11}")
        lines += [line for one in short for line in _row(job, one)]
    again: dict[str, list[str]] = {}
    for one, said in told:
        if said == LOOK_AGAIN:
            again.setdefault(one.of, []).append(one.figure.title)
    lines += [
        paragraph(f"{LOOK_AGAIN}: {of.replace('.', ' ')}: {', '.join(whats)}", 2, 2)
        for of, whats in again.items()
    ]
    counts = [(VERDICTS[one], sum(said == VERDICTS[one] for _, said in told)) for one in Verdict]
    left = [f"{count} {said}" for said, count in counts if count and said != VERDICTS[Verdict.SHORT]]
    if not short and not stops:
        lines.append("  nothing that is judged here misses its limit")
    return [*lines, *([paragraph(f"judged besides: {', '.join(left)}", 2, 2)] if left else [])]


def _row(job: JobFile, one: Result) -> list[str]:
    name = f"{one.of.replace('.', ' ')}, {one.figure.title}"
    least, most = one.bounds
    limit = least if most is None or (least is not None and one.value < least) else most
    value, stated, edge = (
        "" if number is None else figure_in(job, number, one.figure.unit, one.doubt or 0.0)
        for number in (one.value, one.doubt, limit)
    )
    numbers = f"{value:>11}{stated:>9}{edge:>11}  {VERDICTS[Verdict.SHORT]}"
    if len(name) >= NAME:
        return [paragraph(name, 2, 2), f"  {'':<{NAME}}{numbers}"]
    return [f"  {name:<{NAME}}{numbers}"]
