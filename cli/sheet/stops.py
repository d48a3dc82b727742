"""What keeps the work of a whole job from going on, and what to watch: every such word of every answer."""

from __future__ import annotations

from collections.abc import Iterator

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.sure.planned import Standing

from ..page import band, clearance_words, order_words
from ..page.across_words import never_lowered, one_way
from ..page.answer import warnings
from ..page.clearance_words import not_told
from ..page.fits_words import half_asked, to_watch
from ..page.quantity import shown_as
from ..record.record_words import word_of
from ..record.visit_words import stopping, watching
from .work import Work

MOST = 6  # lines of STOP that the first page has room for


def blocking(work: Work) -> list[str]:
    """Return what misses a limit or cannot be: the worst first, of each kind of it."""
    since = stopping(work.visits, work.job.units)
    told = (*_not_possible(work), *band.short(work.job, answers(work)), *_recorded(work), *since)
    return list(dict.fromkeys(told))


def stops(work: Work) -> list[str]:
    """Return everything that stops the work: what misses a limit first, then what looks wrong."""
    told, stopping = warnings(work.job, work.before), blocking(work)
    again = band.again(told, stopping)
    return list(dict.fromkeys((*stopping, *again, *band.reasons(answers(work), told))))


def banded(work: Work) -> band.Band:
    """Return what stops the work and what to watch."""
    watched = (
        *band.unusual(warnings(work.job, work.before)),
        *band.watched(work.job, answers(work), _unknown(work)),
        *half_asked(work.job, work.fits.fits.answers),
        *to_watch(work.fits.fits.answers),
        *([] if work.clear is None else not_told(work.job, work.clear)),
        *([] if work.pushrods is None else order_words.waits_for(work.pushrods.waiting)),
        *one_way(work.fits.crossing),
        *watching(work.visits),
    )
    return band.Band(tuple(stops(work)), watched)


def answers(work: Work) -> list[Result]:
    """Return every answer that a sheet's draws are of."""
    return [] if work.risk is None else work.risk.answers


def short_hot(work: Work) -> set[str]:
    """Return the valve gears whose lash or preload misses its limit when hot."""
    hot = ("hot_lash", "hot_preload")
    return {one.of for one in answers(work) if one.key in hot and one.verdict is Verdict.SHORT}


def cold_lash(work: Work) -> dict[str, str]:
    """Return what has to be set cold in place of the lash that misses its limit hot, of each valve gear, in words."""
    found = {one.of: one for one in work.fits.fits.told if one.key == "cold_lash_for_it"}
    return {
        name: f"; SHORT when hot: set {shown_as(work.job, found[name].value, 'mm')} cold"
        for name in short_hot(work)
        if name in found
    }


def _not_possible(work: Work) -> Iterator[str]:
    if work.pushrods is not None:
        yield from order_words.not_possible(work.pushrods.orders, work.pushrods.has_no_set)
    if work.clear is not None:
        yield from clearance_words.not_possible(work.clear)
    yield from never_lowered(work.fits.crossing)


def _recorded(work: Work) -> Iterator[str]:
    for row in work.built:
        if row.is_missed or row.standing is Standing.TIGHT:
            yield f"RECORDED: {row.of.replace('.', ' ')}, {row.what} {word_of(row)}"


def _unknown(work: Work) -> list[str]:
    unknown = [] if work.pushrods is None else order_words.not_known(work.pushrods.orders)
    return [*unknown, *map(band.of_clearance, () if work.risk is None else work.risk.unknown)]
