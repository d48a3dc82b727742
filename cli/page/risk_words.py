"""How sure the answers are, in words and for JSON: a line for each, then what the lines rest on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from tallstack.geometry.core.ranking import ranked
from tallstack.geometry.doubt.draws import Interval
from tallstack.geometry.doubt.result import Result, by_budget
from tallstack.geometry.sure.risk import tells_another
from tallstack.geometry.sure.what_next import Worth

from ..guide.narrowing import is_shape, named
from ..job.entries.meanings import called
from ..job.file import JobFile
from .band import of_clearance
from .chance_words import at_most, least_sure, misses_of, percent
from .model import Block, Cell, Column, Form, Heading, Length, Number, Row, Span, Table, Words, under
from .quantity import units_of
from .wording import ESTIMATE, MEET, decimals, entry_value, steady

SHOWN_COSTS, SHOWN_NEXT, LEAST_SURE = 8, 5, 6
WORTH = 1e-4  # a chance that is not worth a line
ROOM = 36  # letters for what an answer is called
COLUMNS = (
    Column("value", 8, right=True),
    Column("+/-", 7, right=True),
    Column("95 % of builds", 17, right=True),
    Column("misses", 10, right=True),
    Column(right=True),
)
APART = 0.1  # of a doubt, by which an interval's end lies elsewhere before it is worth a line
OVER = 1.05  # times an interval of the draws, from which on a budget's is called wider


class Group(NamedTuple):
    """Results of one kind."""

    title: str
    answers: tuple[Result, ...]


def group_blocks(job: JobFile, group: Group) -> list[Block]:
    """Return a row for every answer of one kind, under what it is of."""
    rows: list[Row | Words] = []
    of = ""
    for one in group.answers:
        if one.of != of:
            of = one.of
            rows.append(Row((f"{of.replace('.', ' ')}{f': {ESTIMATE}' if one.is_estimate else ''}",)))
        rows.append(_row(job, one))
    return [Table((Column(group.title, ROOM, own_line=True), *COLUMNS), tuple(rows), 0)] if rows else []


def brief_blocks(job: JobFile, groups: Sequence[Group]) -> list[Block]:
    """Return for one screen what is least sure of all that is judged, and how many answers are surer."""
    every = [one for group in groups for one in group.answers]
    judged = sorted((one for one in every if misses_of(one) and one.figure.alone), key=least_sure)
    shown = judged[:LEAST_SURE]
    rows: list[Row | Words] = [_row(job, one, f"{one.of.replace('.', ' ')}, ", under=1) for one in shown]
    left = max(judged[len(shown) :], key=at_most, default=None)
    surest = "" if left is None else f"; each misses {misses_of(left)} at most"
    if len(every) > len(shown):
        rows.append(
            Words(f"and {len(every) - len(shown)} answers that are surer, or not judged{surest}: --full", 1)
        )
    return [Table((Column(f"LEAST SURE ({job.units})", ROOM, own_line=True), *COLUMNS), tuple(rows), 0)]


def _row(job: JobFile, one: Result, of: str = "", under: int = 2) -> Row:
    name, size, places = units_of(job, one.figure.unit)[0]
    doubt = one.budget.expanded
    finer = one.figure.finer
    places = decimals(doubt / size, places + finer)
    in_length = name in ("mm", "in")

    def shown(value: float) -> Cell:
        return (
            Length(value, doubt, name, bare=True, finer=finer) if in_length else Number(value / size, places)
        )

    between: Cell = ""
    if one.builds.told is not None:
        low, high = one.builds.told.symmetric
        between = (
            Span(low, high, doubt, name, finer)
            if in_length
            else f"{steady(low / size):z.{places}f} to {steady(high / size):z.{places}f}"
        )
    mark = ("*" if one.budget.undoubted else "") + ("b" if one.builds.told is None else "")
    cells = (
        f"{of}{one.figure.title}{f', {name}' if name and not (of and one.figure.unit == 'mm') else ''}",
        MEET if one.meets else shown(one.value),
        "" if one.meets or one.budget.undoubted else shown(doubt),
        between,
        misses_of(one),
        f"{mark}{'  LOOK AGAIN' if one.look_again else ''}",
    )
    return Row(cells, under)


def rest_blocks(job: JobFile, groups: Sequence[Group], costs: Sequence[Worth], drawn: int) -> list[Block]:
    """Return what the lines rest on: chances, doubts that are not stated, budgets that differ, and costs."""
    every = [one for group in groups for one in group.answers]
    told = [text for one in every if (text := _differs(job, one))]
    wider = [f"{one.of} {one.figure.title}" for one in every if _sharp(job, one)]
    if wider:
        told.append(
            f"the budget is wider than need be where one reading, with sharp ends, is most: {', '.join(wider)}"
        )
    return [
        *under("READ THEM SO", (Words(text, 1) for text in _key(every, drawn))),
        *under("THE BUDGET AND THE DRAWS DIFFER", (Words(text, 1, Form.ITEM) for text in told)),
        *_costs(job, costs),
    ]


def _key(every: Sequence[Result], drawn: int) -> list[str]:
    texts = [
        "+/-: by the linear budget, about 95 %. Misses: the share of builds beyond a limit, those of the draws to about "
        "their square root; a change of seed moves it by that."
    ]
    bare = [one for one in every if one.budget.undoubted]
    if bare:
        names = list(dict.fromkeys(entry for one in bare for entry in one.budget.undoubted))
        more = f" and {len(names) - 4} more" if len(names) > 4 else ""
        texts.append(
            f"*: no +/- entered for {', '.join(names[:4])}{more}; the builds hold them fixed, so that a miss is likelier "
            "than it says"
        )
    if any(one.builds.told is None for one in every):
        texts.append("b: not drawn; by the linear budget alone, as of a normal distribution")
    fewer = {one.builds.looked for one in every if 0 < one.builds.looked < drawn}
    if fewer:
        names = [f"{one.of} {one.figure.title}" for one in every if 0 < one.builds.looked < drawn]
        texts.append(
            f"over {max(fewer):,} of the builds, each of them by the whole search: {', '.join(names)}"
        )
    rough = [
        one
        for one in every
        if one.builds.told is not None and not one.builds.told.steady and one.builds.missed is not None
    ]
    if rough:
        texts.append(
            f"not yet steady to two digits of their doubt: {len(rough)} of {len(every)}; --draws {drawn * 4} would "
            "halve what is left of it"
        )
    broken = [one for one in every if one.builds.impossible]
    for one in broken:
        texts.append(
            f"{one.of} {one.figure.title}: {one.builds.impossible:,} of the builds cannot be put together; they count as missed"
        )
    for one in every:
        if one.builds.absent:
            texts.append(
                f"{one.of} {one.figure.title}: in {one.builds.absent:,} of the builds the valve stays clear of its pocket, so that "
                "there is no wall to meet; the interval is that of the others"
            )
    return texts


def _differs(job: JobFile, one: Result) -> str:
    """Return in words that a linear budget tells another interval than the draws; nothing where it does not."""
    if not _far_apart(job, one) or one.builds.told is None or _sharp(job, one):
        return ""
    name, size, places = units_of(job, one.figure.unit)[0]
    doubt, places = one.budget.expanded, places + 1
    linear = _interval(Interval(one.value - doubt, one.value + doubt), size, places)
    by_draws = _interval(one.builds.told.symmetric, size, places)
    text = f"{one.of} {one.figure.title}: {linear} {name} by the budget, {by_draws} by the draws".rstrip()
    return f"{text}; where it stands, nothing moves it by a little" if doubt == 0.0 else text


def _far_apart(job: JobFile, one: Result) -> bool:
    """Say whether the ends of both intervals are so far apart that it would show."""
    if not tells_another(one) or one.builds.told is None:
        return False
    _, size, places = units_of(job, one.figure.unit)[0]
    doubt, drawn = one.budget.expanded, one.builds.told.symmetric
    apart = max(abs(one.value - doubt - drawn.low), abs(one.value + doubt - drawn.high))
    return one.builds.told.standard / size >= 0.5 * 10.0**-places and apart >= APART * doubt


def _sharp(job: JobFile, one: Result) -> bool:
    """Say whether the budget's interval is the wider one because one entry with sharp ends is most of it."""
    if not _far_apart(job, one) or one.builds.told is None:
        return False
    share = next(iter(one.budget.shares.values()), 0.0)
    return (
        2 * one.budget.expanded > OVER * (one.builds.told.symmetric.high - one.builds.told.symmetric.low)
        and share > 0.5
    )


def _interval(ends: Interval, size: float, places: int) -> str:
    return f"{steady(ends.low / size):z.{places}f} to {steady(ends.high / size):z.{places}f}"


def _costs(job: JobFile, costs: Sequence[Worth]) -> list[Block]:
    blocks: list[Block] = [Heading("WHAT EACH READING COSTS, were it known perfectly")]
    worth = [one for one in costs if one.saves > WORTH][:SHOWN_COSTS]
    if not worth:
        blocks.append(Words("no single reading makes a wrong verdict less likely by 0.01 %", 1))
        worth = ranked(costs, lambda one: one.share)[:3]
    blocks += [Words(cost_words(job, one), 1, Form.ITEM) for one in worth]
    return blocks


def cost_words(job: JobFile, one: Worth) -> str:
    """Return what a reading's doubt costs, in a sentence."""
    saves = f"{percent(one.saves)} of the chance of a wrong verdict, all together"
    saves = f"saves {saves if one.saves > WORTH else 'nothing'}"
    entered = "" if is_shape(one.name) else f" ({_as_entered(job, one.name)})"
    return f"{one.name}{entered}: {saves}; {one.share:.0%} of the doubt of {one.most_of}"


def _as_entered(job: JobFile, entry: str) -> str:
    found = job.entries.get(entry)
    return "assumed" if found is None else entry_value(found, job.units)


def row(kind: str, one: Result) -> dict[str, Any]:
    """Return an answer for JSON, in its own unit."""
    unit = one.figure.suffix
    told = one.builds.told
    return {
        "kind": kind.lower(),
        "of": one.of,
        "what": one.name,
        f"value{unit}": None if one.meets else one.value,
        f"doubt{unit}": one.budget.expanded,
        f"standard{unit}": one.budget.standard,
        "degrees_of_freedom": None if math.isinf(one.budget.freedom) else one.budget.freedom,
        "shares": {name: _share(share) for name, share in one.budget.shares.items()},
        "without_doubt": list(one.budget.undoubted),
        f"least{unit}": one.bounds[0],
        f"most{unit}": one.bounds[1],
        "verdict": None if one.verdict is None else one.verdict.value,
        "look_again": list(one.look_again),
        "chance_by_budget": by_budget(one),
        "chance": None if one.builds.missed is None else one.builds.missed.share,
        "chance_error": None if one.builds.missed is None else one.builds.missed.error,
        "draws": one.builds.looked or None,
        f"mean{unit}": None if told is None else told.mean,
        f"drawn_standard{unit}": None if told is None else told.standard,
        f"symmetric{unit}": None if told is None else list(told.symmetric),
        f"shortest{unit}": None if told is None else list(told.shortest),
        "steady": None if told is None else told.steady,
        "budget_differs": tells_another(one),
        "impossible": one.builds.impossible,
        "absent": one.builds.absent,
        "estimate": one.is_estimate,
    }


def next_words(
    found: Sequence[Worth],
    done: bool,
    bare: Sequence[str],
    unknown: Sequence[str] = (),
    lacks: Sequence[str] = (),
    brief: bool = False,
) -> list[str]:
    """Return which reading would tell most, or that no further one would, in sentences.

    bare    : entries of a verdict without a +/-
    unknown : whose clearance cannot be worked out yet: that comes first
    lacks   : entries without which a verdict is not proved: they come first too
    brief   : without what stands first, which is said elsewhere, and what each would be of use for
    """
    told = [f"first what the clearance of {', '.join(map(of_clearance, unknown))} lacks"] if unknown else []
    told += [f"first read {', '.join(lacks)}"] if lacks else []
    if bare:
        more = f" and {len(bare) - 4} more" if len(bare) > 4 else ""
        told.append(f"first say how sure these are, a +/- each: {', '.join(bare[:4])}{more}")
    worth = [one for one in found if one.saves > WORTH][:SHOWN_NEXT]
    if told and (done or not worth):
        return [] if brief else told
    if done or not worth:
        why = (
            "every verdict here is as good as sure" if done else "no reading known here would make one surer"
        )
        return [f"stop measuring: {why}, as far as what was entered goes"]
    told = [] if brief else told
    for place, one in enumerate(worth, start=1):
        name = reading(one, brief)
        worth_it = f"{percent(one.saves)} less chance of a wrong verdict, most of it on {one.most_of}"
        told.append(f"{place}. {name}, with {one.tool.name}{'' if brief else f': {worth_it}'}")
    return told


def reading(one: Worth, brief: bool = False) -> str:
    """Return which reading it is, as a person says it; brief : without its entry."""
    if "," in one.name:
        return one.name.replace(".", " ")
    return called(one.name) if brief else named(one.name)


def next_blocks(told: Sequence[str]) -> list[Block]:
    """Return sentences of `next_words` under their heading."""
    return [Heading("WHAT TO MEASURE NEXT"), *(Words(one, 1, Form.STEP) for one in told)]


def worth_row(one: Worth) -> dict[str, Any]:
    """Return what a reading costs or would be worth for JSON."""
    return {
        "reading": one.name,
        "tool": one.tool.name,
        "saves": two_digits(one.saves),
        "most_of": one.most_of,
        "share": two_digits(one.share),
    }


def two_digits(share: float) -> float:
    """Return a chance with the digits that are known of it: it rests on what a lobe behind a card may be."""
    return float(f"{steady(share):.2g}")


def _share(share: float) -> float:
    """Return a share for JSON: by differences it is right to some eight digits, and six of them may differ with the kernel."""
    return round(round(share, 8), 4)
