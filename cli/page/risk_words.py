"""How sure the answers are, in words and for JSON: a line for each, then what the lines rest on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from tallstack.geometry.core.ranking import ranked
from tallstack.geometry.doubt.draws import Interval
from tallstack.geometry.sure.risk import Answer
from tallstack.geometry.sure.what_next import Worth

from ..guide.narrowing import is_shape, named
from ..job.file import JobFile
from .across_words import CALLED
from .fits_words import LABELS, SHOWN
from .verdict_words import Row
from .wording import ESTIMATE, decimals, entry_value, paragraph, steady

WHAT = {
    "preload": "preload it will give",
    "room to bottom": "room to the plunger's bottom",
    "lash": "lash it will give",
    "drop": "piston, along the stem",
    "gap": "piston, straight gap",
    "pumped": "piston, stem, pumped up",
    "pumped pair": "valve to valve, pumped up",
    "wall": "pocket wall",
    "bore": "cylinder's bore",
    "between": "valve to valve",
    **CALLED,
}
SHOWN_COSTS, SHOWN_NEXT = 8, 5
WORTH = 1e-4  # a chance that is not worth a line
LABEL = 33  # columns of an answer's name
APART = 0.1  # of a doubt, by which an interval's end lies elsewhere before it is worth a line
OVER = 1.05  # times an interval of the draws, from which on a budget's is called wider


class Group(NamedTuple):
    """Answers of one kind."""

    title: str
    answers: tuple[Answer, ...]


def group_lines(job: JobFile, group: Group) -> list[str]:
    """Return a line for every answer of one kind."""
    if not group.answers:
        return []
    lines = ["", f"{group.title:<{LABEL + 4}}{'value':>8}{'+/-':>7}{'95 % of builds':>17}{'misses':>9}"]
    of = ""
    for one in group.answers:
        if one.of != of:
            of = one.of
            lines.append(f"  {of.replace('.', ' ')}{f': {ESTIMATE}' if one.is_estimate else ''}")
        lines += _lines(job, one)
    return lines


def _lines(job: JobFile, one: Answer) -> list[str]:
    name, size, places = _unit(job, one)
    what = f"{what_of(one)}{f', {name}' if name else ''}"
    doubt = one.budget.expanded
    places = decimals(doubt / size, places)
    sure = "" if one.budget.undoubted else f"{steady(doubt / size):z.{places}f}"
    between = ""
    if one.drawn is not None:
        low, high = (end / size for end in one.drawn.symmetric)
        between = f"{steady(low):z.{places}f} to {steady(high):z.{places}f}"
    misses = misses_of(one)
    mark = ("*" if one.budget.undoubted else "") + ("b" if one.drawn is None else "")
    mark += "  LOOK AGAIN" if one.look_again else ""
    numbers = f"{steady(one.value / size):>z8.{places}f}{sure:>7}{between:>17}{misses:>9}{mark}".rstrip()
    if len(what) > LABEL:
        return [f"    {what}", f"{'':<{LABEL + 4}}{numbers}"]
    return [f"    {what:<{LABEL}}{numbers}"]


def what_of(one: Answer) -> str:
    """Return what an answer is called."""
    if one.what.startswith("length "):
        return f"length {one.what.removeprefix('length ').upper()}"
    return WHAT.get(one.what) or LABELS.get(one.what, one.what)


def verdict_row(one: Answer) -> Row:
    """Return an answer as it stands."""
    doubt = None if one.budget.undoubted else one.budget.expanded
    return Row(
        one.of, what_of(one), one.value, one.unit, doubt, one.least, one.most, one.verdict, one.look_again
    )


def _unit(job: JobFile, one: Answer) -> tuple[str, float, int]:
    units = SHOWN[one.unit]
    return units[-1] if job.units == "in" else units[0]


def misses_of(one: Answer) -> str:
    """Return the chance of missing a target as it is shown; empty where there is none."""
    if one.missed is not None:
        share, error = one.missed
        if share in (0.0, 1.0):
            return f"< {_percent(error)}" if share == 0.0 else f"> {100.0 * (1.0 - error):.4g} %"
        return _percent(share)
    return "" if one.by_budget is None else _percent(one.by_budget)


def _percent(share: float) -> str:
    percent = steady(100.0 * share)
    if percent < 0.005:
        return "0 %" if percent == 0.0 else f"{percent:.0e} %".replace("e-0", "e-")
    places = 0 if 10 <= percent < 99.5 else 1 if 1 <= percent < 10 else 2
    return f"{percent:.{places}f} %"


def rest_lines(job: JobFile, groups: Sequence[Group], costs: Sequence[Worth], drawn: int) -> list[str]:
    """Return what the lines rest on: chances, doubts that are not stated, budgets that differ, and costs."""
    every = [one for group in groups for one in group.answers]
    lines = ["", "READ THEM SO", *(paragraph(text, 2, 2) for text in _key(every, drawn))]
    told = [text for one in every if (text := _differs(job, one))]
    wider = [f"{one.of} {what_of(one)}" for one in every if _sharp(job, one)]
    if wider:
        told.append(
            f"the budget is wider than need be where one reading, with sharp ends, is most: {', '.join(wider)}"
        )
    if told:
        lines += ["", "THE BUDGET AND THE DRAWS DIFFER", *(paragraph(text, 2, 4) for text in told)]
    return [*lines, *_cost_lines(job, costs)]


def _key(every: Sequence[Answer], drawn: int) -> list[str]:
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
    if any(one.drawn is None for one in every):
        texts.append("b: not drawn; by the linear budget alone, as of a normal distribution")
    fewer = {one.looked for one in every if 0 < one.looked < drawn}
    if fewer:
        names = [f"{one.of} {what_of(one)}" for one in every if 0 < one.looked < drawn]
        texts.append(
            f"over {max(fewer):,} of the builds, each of them by the whole search: {', '.join(names)}"
        )
    rough = [
        one for one in every if one.drawn is not None and not one.drawn.steady and one.missed is not None
    ]
    if rough:
        texts.append(
            f"not yet steady to two digits of their doubt: {len(rough)} of {len(every)}; --draws {drawn * 4} would "
            "halve what is left of it"
        )
    broken = [one for one in every if one.impossible]
    for one in broken:
        texts.append(
            f"{one.of} {what_of(one)}: {one.impossible:,} of the builds cannot be put together; they count as missed"
        )
    for one in every:
        if one.absent:
            texts.append(
                f"{one.of} {what_of(one)}: in {one.absent:,} of the builds the valve stays clear of its pocket, so that "
                "there is no wall to meet; the interval is that of the others"
            )
    return texts


def _differs(job: JobFile, one: Answer) -> str:
    """Return in words that a linear budget tells another interval than the draws; nothing where it does not."""
    if not _far_apart(job, one) or one.drawn is None or _sharp(job, one):
        return ""
    name, size, places = _unit(job, one)
    doubt, places = one.budget.expanded, places + 1
    linear = _interval(Interval(one.value - doubt, one.value + doubt), size, places)
    by_draws = _interval(one.drawn.symmetric, size, places)
    text = f"{one.of} {what_of(one)}: {linear} {name} by the budget, {by_draws} by the draws".rstrip()
    return f"{text}; to first order nothing moves it where it stands" if doubt == 0.0 else text


def _far_apart(job: JobFile, one: Answer) -> bool:
    """Say whether the ends of both intervals are so far apart that it would show."""
    if not one.differs or one.drawn is None:
        return False
    _, size, places = _unit(job, one)
    doubt, drawn = one.budget.expanded, one.drawn.symmetric
    apart = max(abs(one.value - doubt - drawn.low), abs(one.value + doubt - drawn.high))
    return one.drawn.standard / size >= 0.5 * 10.0**-places and apart >= APART * doubt


def _sharp(job: JobFile, one: Answer) -> bool:
    """Say whether the budget's interval is the wider one because one entry with sharp ends is most of it."""
    if not _far_apart(job, one) or one.drawn is None:
        return False
    share = next(iter(one.budget.shares.values()), 0.0)
    return (
        2 * one.budget.expanded > OVER * (one.drawn.symmetric.high - one.drawn.symmetric.low) and share > 0.5
    )


def _interval(ends: Interval, size: float, places: int) -> str:
    return f"{steady(ends.low / size):z.{places}f} to {steady(ends.high / size):z.{places}f}"


def _cost_lines(job: JobFile, costs: Sequence[Worth]) -> list[str]:
    lines = ["", "WHAT EACH READING COSTS, were it known perfectly"]
    worth = [one for one in costs if one.saves > WORTH][:SHOWN_COSTS]
    if not worth:
        lines.append("  no single reading makes a wrong verdict less likely by 0.01 %")
        worth = ranked(costs, lambda one: one.share)[:3]
    for one in worth:
        saves = f"{_percent(one.saves)} of the chance of a wrong verdict, all together"
        saves = f"saves {saves if one.saves > WORTH else 'nothing'}"
        entered = "" if is_shape(one.name) else f" ({_as_entered(job, one.name)})"
        text = f"{one.name}{entered}: {saves}; {one.share:.0%} of the doubt of {one.most_of}"
        lines.append(paragraph(text, 2, 4))
    return lines


def _as_entered(job: JobFile, entry: str) -> str:
    found = job.entries.get(entry)
    return "assumed" if found is None else entry_value(found, job.units)


def row(kind: str, one: Answer) -> dict[str, Any]:
    """Return an answer for JSON, in its own unit."""
    unit = f"_{one.unit}" if one.unit else ""
    told = one.drawn
    return {
        "kind": kind.lower(),
        "of": one.of,
        "what": one.what,
        f"value{unit}": one.value,
        f"doubt{unit}": one.budget.expanded,
        f"standard{unit}": one.budget.standard,
        "degrees_of_freedom": None if math.isinf(one.budget.freedom) else one.budget.freedom,
        "shares": {name: _share(share) for name, share in one.budget.shares.items()},
        "without_doubt": list(one.budget.undoubted),
        f"least{unit}": one.least,
        f"most{unit}": one.most,
        "verdict": None if one.verdict is None else one.verdict.value,
        "look_again": list(one.look_again),
        "chance_by_budget": one.by_budget,
        "chance": None if one.missed is None else one.missed.share,
        "chance_error": None if one.missed is None else one.missed.error,
        "draws": one.looked or None,
        f"mean{unit}": None if told is None else told.mean,
        f"drawn_standard{unit}": None if told is None else told.standard,
        f"symmetric{unit}": None if told is None else list(told.symmetric),
        f"shortest{unit}": None if told is None else list(told.shortest),
        "steady": None if told is None else told.steady,
        "budget_differs": one.differs,
        "impossible": one.impossible,
        "absent": one.absent,
        "estimate": one.is_estimate,
    }


def next_lines(
    found: Sequence[Worth],
    done: bool,
    bare: Sequence[str],
    unknown: Sequence[str] = (),
    lacks: Sequence[str] = (),
) -> list[str]:
    """Return which reading would tell most, or that no further one would.

    bare    : entries of a verdict without a +/-
    unknown : whose clearance cannot be worked out yet: that comes first
    lacks   : entries without which a verdict is not proved: they come first too
    """
    lines = ["", "WHAT TO MEASURE NEXT"]
    gears = [one.replace(".", " ") if "." in one else f"{one} valve to valve" for one in unknown]
    if gears:
        lines.append(paragraph(f"first what the clearance of {', '.join(gears)} lacks", 2, 3))
    if lacks:
        lines.append(paragraph(f"first read {', '.join(lacks)}", 2, 3))
    if bare:
        more = f" and {len(bare) - 4} more" if len(bare) > 4 else ""
        lines.append(
            paragraph(f"first say how sure these are, a +/- each: {', '.join(bare[:4])}{more}", 2, 3)
        )
    worth = [one for one in found if one.saves > WORTH][:SHOWN_NEXT]
    if (bare or gears or lacks) and (done or not worth):
        return lines
    if done or not worth:
        why = (
            "every verdict here is as good as sure" if done else "no reading known here would make one surer"
        )
        return [*lines, paragraph(f"stop measuring: {why}, as far as what was entered goes", 2, 2)]
    for place, one in enumerate(worth, start=1):
        name = one.name.replace(".", " ") if "," in one.name else named(one.name)
        text = f"{place}. {name}, with {one.tool.name}: "
        text += f"{_percent(one.saves)} less chance of a wrong verdict, most of it on {one.most_of}"
        lines.append(paragraph(text, 2, 3))
    return lines


def worth_row(one: Worth) -> dict[str, Any]:
    """Return what a reading costs or would be worth for JSON."""
    return {
        "reading": one.name,
        "tool": one.tool.name,
        "saves": one.saves,
        "most_of": one.most_of,
        "share": _share(one.share),
    }


def _share(share: float) -> float:
    """Return a share for JSON: by differences it is right to some eight digits, and six of them may differ with the kernel."""
    return round(round(share, 8), 4)
