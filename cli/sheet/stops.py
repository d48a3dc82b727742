"""What keeps the work from going on, and what to watch: every such word of every answer, for the first page.

STOP is what misses a limit, what cannot be put together and what was entered and looks wrong; WATCH is what is met by
less than its doubt, or on paper alone, or is not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.sure.planned import Standing
from tallstack.geometry.sure.risk import by_budget

from ..page.across_words import never_lowered
from ..page.fits_words import shown_as
from ..page.model import Block, Heading, Words
from ..page.risk_words import misses_of
from ..record.record_words import word_of
from .work import Work

MOST = 6  # lines of STOP that the first page has room for
NOTHING = "Nothing misses a limit that was asked."


def blocking(work: Work) -> list[str]:
    """Return what misses a limit or cannot be: the worst first, of each kind of it."""
    short = sorted((one for one in answers(work) if one.verdict is Verdict.SHORT), key=_shortfall)
    told = (
        *_not_possible(work),
        *never_lowered(work.fits.crossing),
        *(_short(work, one) for one in short),
        *_recorded(work),
    )
    return list(dict.fromkeys(told))


def stops(work: Work) -> list[str]:
    """Return everything that stops the work: what misses a limit first, then what looks wrong, what is merely unusual last."""
    unusual = [one for one in work.job.warnings if not getattr(one, "about", ())]
    wrong = [one for one in work.job.warnings if one not in unusual]
    return list(dict.fromkeys((*blocking(work), *(f"LOOK AGAIN: {one}" for one in (*wrong, *unusual)))))


def _shortfall(one: Result) -> float:
    """Return by how much a value keeps its limits, as a share of the limit; below nought where it misses one."""
    least, most = one.bounds
    margins = [] if least is None else [(one.value - least) / max(abs(least), 1.0)]
    margins += [] if most is None else [(most - one.value) / max(abs(most), 1.0)]
    return round(min(margins, default=0.0), 9)


def blocks(work: Work, found: Sequence[str], most: int = MOST) -> list[Block]:
    """Return the band that heads the first page; found : what stops the work, most : of it that there is room for."""
    shown = found if len(found) <= most else found[: most - 1]
    several = "1 thing" if len(found) == 1 else f"{len(found)} things"
    told: list[Block] = [Heading(f"STOP, {several} before anything goes together" if found else NOTHING)]
    told += [Words(one, strong=True) for one in shown]
    if len(shown) < len(found):
        told.append(Words(f"and {len(found) - len(shown)} more, on the next page", strong=True))
    watched = list(watch(work))
    return [*told, Heading("WATCH"), *(Words(one) for one in watched)] if watched else told


def answers(work: Work) -> list[Result]:
    """Return every answer that a sheet's draws are of."""
    return [] if work.risk is None else work.risk.answers


def short_hot(work: Work) -> set[str]:
    """Return the valve gears whose lash or preload misses its limit when hot."""
    hot = ("hot_lash", "hot_preload")
    return {one.of for one in answers(work) if one.key in hot and one.verdict is Verdict.SHORT}


def _name(one: Result) -> str:
    return f"{one.of.replace('.', ' ')}, {one.figure.title}"


def _short(work: Work, one: Result) -> str:
    value = shown_as(work.job, one.value, one.figure.unit)
    limit = one.nearer_bound
    against = "" if limit is None else f", limit {shown_as(work.job, limit, one.figure.unit)}"
    return f"SHORT: {_name(one)}: {value}{against}"


def _not_possible(work: Work) -> Iterator[str]:
    for order in () if work.pushrods is None else work.pushrods.orders:
        if order.impossible:
            yield f"CANNOT BE ASSEMBLED: {order.train.name.replace('.', ' ')}: {'; '.join(order.obstacles)}"
    if work.pushrods is not None and work.pushrods.offers is not None and work.pushrods.chosen is None:
        yield "SHORT: no set of pushrods from the shelf fits"
    if work.clear is None:
        return
    for valve in work.clear.valves:
        if valve.problem:
            yield f"CANNOT BE WORKED OUT: {valve.train.replace('.', ' ')}: {'; '.join(valve.problem)}"
    for pair in work.clear.pairs:
        if pair.judged is not None and pair.judged.value <= 0:
            yield f"SHORT: {pair.cylinder}: the two valve heads meet"
        elif pair.pumped is not None and pair.pumped.value <= 0:
            yield f"SHORT: {pair.cylinder}: with the lifters pumped up the two valve heads meet"


def _recorded(work: Work) -> Iterator[str]:
    for row in work.built:
        if row.is_missed or row.standing is Standing.TIGHT:
            yield f"RECORDED: {row.of.replace('.', ' ')}, {row.what} {word_of(row)}"


def watch(work: Work) -> Iterator[str]:
    """Yield what to watch: alike things together, the least sure first."""
    every = sorted(answers(work), key=_least_sure)
    tight = [one for one in every if one.verdict is Verdict.TIGHT and not one.look_again]
    if tight:
        told = [f"{_name(one)}{f', misses {misses_of(one)}' if misses_of(one) else ''}" for one in tight]
        yield f"TIGHT: {'; '.join(told)}"
    bare = [one for one in every if one.verdict is Verdict.UNPROVED and not one.look_again]
    if bare:
        lacks = list(dict.fromkeys(entry for one in bare for entry in one.budget.undoubted))
        more = f" and {len(lacks) - 3} more" if len(lacks) > 3 else ""
        why = f": no +/- for {', '.join(lacks[:3])}{more}" if lacks else ""
        yield (
            f"UNPROVED, {len(bare)} answers{why}"
            if len(bare) > 3
            else (f"UNPROVED: {'; '.join(map(_name, bare))}{why}")
        )
    unknown = [
        *(
            f"{one.train.name.replace('.', ' ')} pushrod"
            for one in (() if work.pushrods is None else work.pushrods.orders)
            if one.required is None
        ),
        *(
            one.replace(".", " ") if "." in one else f"{one} valve to valve"
            for one in (() if work.risk is None else work.risk.unknown)
        ),
    ]
    if unknown:
        yield f"NOT KNOWN: {', '.join(unknown)}"


def _least_sure(one: Result) -> float:
    missed = by_budget(one) if one.builds.missed is None else one.builds.missed.share
    return -round(missed or 0.0, 9)
