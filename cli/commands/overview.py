"""`tallstack overview`: where a job stands, the worst first, over every answer.

It says what the first page of the sheet says, from the same room, and then what is lacking and which reading tells most.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tallstack.geometry.core.answer import Missing

from ..files import quoted
from ..job.contradicted import LOOK_AGAIN, word
from ..job.job import Job
from ..page import band, clearance_words, fits_words
from ..page.answer import UNUSABLE, Answer, framed, labelled, status_of
from ..page.band import Band
from ..page.closest_words import closest_blocks
from ..page.fits_words import lacking_blocks
from ..page.model import Block, Row, Words, under
from ..page.order_words import order_table, turned
from ..page.risk_words import next_blocks, worth_row
from ..page.setting_words import positions
from ..sheet import stops
from ..sheet.work import Work, work

DRAWS = 1000
WORDS = ("SHORT", LOOK_AGAIN, "UNPROVED", "TIGHT", "OK")  # the worst first
NAMED = 1  # of what is not measured


def answer(entered: Job, shelf: Path | None = None, strict: bool = False, draws: int = DRAWS) -> Answer:
    """Return where a job stands; shelf : what the pushrods are chosen from; draws : builds that tell how sure."""
    return told(work(entered, shelf, draws, is_drawn=False, is_told=False), strict)


def told(found: Work, strict: bool = False) -> Answer:
    """Return where a job stands of which everything is worked out."""
    if found.pushrods is None and found.clear is None and not found.fits.fits.told:
        path = found.entered.path
        said = f"{path}: nothing that can be worked out yet; `tallstack check {quoted(path)}` says more"
        return Answer(said, {}, UNUSABLE)
    banded = stops.banded(found)
    lacking = bool(stops.blocking(found)) or _is_lacking(found)
    ended = status_of(found.job, stops.answers(found), strict, lacking)
    return framed(
        "overview",
        found.job,
        lambda: _page(found, banded),
        _document(found, banded),
        ended,
        brief=_brief(found, banded),
        told=_told(found),
        assumed=found.job.assumed,
    )


def _is_lacking(found: Work) -> bool:
    """Say whether a pushrod, a valve's clearance or what the job sets a limit for is not known."""
    orders = () if found.pushrods is None else found.pushrods.orders
    if fits_words.has_limit_untold(found.job, found.fits.fits.answers):
        return True
    if found.clear is not None and clearance_words.has_limit_untold(found.job, found.clear):
        return True
    return any(one.required is None for one in orders) or any("." in one for one in _unknown(found))


def _unknown(found: Work) -> tuple[str, ...]:
    return () if found.risk is None else found.risk.unknown


def _page(found: Work, banded: Band) -> list[Block]:
    """Return all of it: every clearance, every fit and all that is lacking."""
    blocks = [
        *_brief(found, banded, is_full=True),
        *under("THE REST OF THE STACK", map(_under, _rest(found))),
    ]
    if found.pushrods is not None:
        blocks += under("WHERE TO SET THEM", map(_under, positions(found.pushrods.stations)))
    blocks += lacking_blocks(found.fits.answers)
    return blocks if found.risk is None else [*blocks, *next_blocks(found.risk.next_words)]


def _under(told: str) -> Block:
    return Words(told, 1)


def _brief(found: Work, banded: Band, is_full: bool = False) -> list[Block]:
    return [*band.blocks(banded), *_order(found), *_closest(found, is_full)]


def _order(found: Work) -> list[Block]:
    """Return what to order and how to set it."""
    asked = found.pushrods
    return [] if asked is None else [order_table(asked.orders, asked.chosen, found.job.units)]


def _told(found: Work) -> list[Row]:
    """Return what is said in a line each."""
    told = [] if found.pushrods is None else positions(found.pushrods.stations)
    yet = [("no pushrod", found.pushrods), ("no clearance", found.clear)]
    lacking = [f"{what} can be worked out yet" for what, known in yet if known is None]
    tells: list[str] = []
    if found.risk is not None:
        tells = found.risk.next_in_brief
    return [
        *labelled("NOT KNOWN", lacking),
        *labelled("SET", told),
        *labelled("FITS", _rest(found)),
        *labelled("NEXT", tells),
    ]


def _closest(found: Work, is_full: bool) -> list[Block]:
    if found.clear is None:
        return []
    return closest_blocks("CLOSEST", found.job.units, found.clear, True, is_full)


def _rest(found: Work) -> list[str]:
    """Return how the rest of the stack stands, and what of it is not measured."""
    fits = found.fits.fits
    judged = [one for one in fits.told if one.verdict is not None and one.figure.alone]
    said = {one: sum(word(each.verdict, each.look_again) == one for each in judged) for one in WORDS}
    told = ", ".join(f"{count} {one}" for one, count in said.items() if count)
    lacks = [one.group.title for one in fits.answers if isinstance(one.found, Missing)]
    rows = [told] if told else []
    if lacks:
        rows.append(f"NOT MEASURED: {fits_words.titles_of(lacks, NAMED)} (measure --for fits)")
    return ["; ".join(rows)] if rows else []


def _document(found: Work, banded: Band) -> dict[str, Any]:
    orders = () if found.pushrods is None else found.pushrods.orders
    return {
        "stop": list(banded.stop),
        "watch": list(banded.watch),
        "order": [
            {
                "train": order.train.name,
                "ordered_as": order.convention or None,
                "length_mm": None if order.length is None else order.length.value,
                "doubt_mm": None if order.length is None else order.length.doubt,
                "estimate": order.is_estimate,
                "verdict": None if order.verdict is None else order.verdict.value,
                "look_again": list(order.look_again),
                "set_to": turned(order, found.pushrods.chosen, found.job.units) if found.pushrods else "",
            }
            for order in orders
        ],
        "answers": [
            {
                "of": one.of,
                "what": one.name,
                f"value{one.figure.suffix}": one.value,
                "verdict": None if one.verdict is None else one.verdict.value,
                "look_again": list(one.look_again),
            }
            for one in stops.answers(found)
            if one.verdict is not None
        ],
        "clearances_not_known": list(_unknown(found)),
        "not_measured": [
            {"of": one.subject, "what": one.group.title.lower(), "needs": list(one.found.entries)}
            for one in found.fits.answers
            if isinstance(one.found, Missing)
        ],
        "next": [] if found.risk is None else [worth_row(one) for one in found.risk.next],
    }
