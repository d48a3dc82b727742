"""`tallstack overview`: where a job stands, the worst first, over every answer.

It says what the first page of the sheet says, from the same room, and then what is lacking and which reading tells most.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.doubt.result import Result

from ..files import quoted
from ..job.contradicted import LOOK_AGAIN, word
from ..job.job import Job
from ..page.answer import UNUSABLE, Answer, head, head_part, status_of, tail
from ..page.clearance_words import cells
from ..page.model import Block, Cell, Column, Heading, Row, Table, Words, under
from ..page.risk_words import next_blocks, worth_row
from ..page.wording import both_units, whose
from ..sheet import stops
from ..sheet.first_page import at_overlap, positions, turned
from ..sheet.work import Work, work
from .pushrods import cells as pushrod_cells

DRAWS = 1000
CAUTION = (
    "Springs and filled lifters hurt: unload first, turn by wrench, twice, slowly. The maker's manual and qualified practice "
    "come first; nothing here says that it may be run."
)
WORDS = ("SHORT", LOOK_AGAIN, "UNPROVED", "TIGHT", "OK")  # the worst first
NAMED = 4  # of what is not measured


def answer(entered: Job, shelf: Path | None = None, strict: bool = False) -> Answer:
    """Return where a job stands; shelf : what the pushrods are chosen from."""
    found = work(entered, shelf, DRAWS, is_drawn=False)
    if found.pushrods is None and found.clear is None and not found.fits.fits.told:
        said = f"{entered.path}: nothing that can be worked out yet; `tallstack check {quoted(entered.path)}` says more"
        return Answer(said, {}, UNUSABLE)
    stopping = stops.stops(found)
    lacking = bool(stops.blocking(found)) or _is_lacking(found)
    ended = status_of(found.job, stops.answers(found), strict, lacking)
    return Answer(_page(found, stopping), _document(found, stopping), ended)


def _is_lacking(found: Work) -> bool:
    """Say whether a pushrod or a valve's clearance of the job is not known."""
    orders = () if found.pushrods is None else found.pushrods.orders
    return any(one.required is None for one in orders) or any("." in one for one in _unknown(found))


def _unknown(found: Work) -> tuple[str, ...]:
    return () if found.risk is None else found.risk.unknown


def _page(found: Work, stopping: list[str]) -> list[Block]:
    job = found.job
    blocks: list[Block] = [head_part("OVERVIEW", job), *_band(found, stopping)]
    blocks += [*_order(found), *_closest(found), *_rest(found)]
    if found.risk is not None:
        risk = found.risk
        blocks += next_blocks(risk.next[:2], risk.done, risk.bare, risk.unknown, risk.bottomless)
    taken = len(found.job.assumed)
    if taken:
        things = "1 thing" if taken == 1 else f"{taken} things"
        blocks.append(Words(f"Taken as given: {things} that nobody entered; `tallstack check` lists them."))
    return [*blocks, Words(CAUTION)]


def _band(found: Work, stopping: list[str]) -> list[Block]:
    """Return what stops the work and what to watch, each under its heading."""
    blocks = stops.blocks(found, stopping, len(stopping))
    return [one._replace(under=1) if isinstance(one, Words) else one for one in blocks]


def _order(found: Work) -> list[Block]:
    """Return what to order and how to set it."""
    if found.pushrods is None:
        return [Heading("ORDER"), Words("No pushrod can be worked out yet.", 1)]
    units = both_units(found.job.units)
    columns = (
        Column("ORDER", 16),
        Column("length as", 12),
        *(Column(unit, 8, right=True) for unit in units),
        Column(f"+/- {units[0]}", 8, right=True),
        Column(),
    )
    rows: list[Row | Words] = []
    ways: list[str] = []
    for order in found.pushrods.orders:
        one = pushrod_cells(order, found.job.units, bare=True)
        if not one.both:
            rows.append(Row((one.name, one.stands)))
            continue
        rows.append(Row((one.name, one.convention, *one.both, one.doubt, one.stands)))
        rows += [Words(LOOK_AGAIN, 2)] if order.is_estimate and order.look_again else []
        to_set = turned(found.pushrods, order, found.job.units)
        ways.append(to_set)
        rows += [Words(f"set to: {to_set}", 2)] if to_set else []
    if len(ways) > 1 and len(set(ways)) == 1 and ways[0]:
        kept = (one for one in rows if isinstance(one, Row) or one.words == LOOK_AGAIN)
        rows = [*kept, Words(f"each set to: {ways[0]}", 1)]
    told = [Words(f"crank to set it at: {text}", 1) for text in positions(found)]
    return [Table(columns, tuple(rows), under=0), *told]


def _closest(found: Work) -> list[Block]:
    """Return every clearance, those that miss their limits first."""
    if found.clear is None:
        return [Heading("CLOSEST"), Words("No clearance can be worked out yet.", 1)]
    up = [valve.up for valve in found.clear.valves] + [pair.up for pair in found.clear.pairs]
    every = [*found.clear.judged, *(one for one in up if one is not None)]
    columns = (
        Column("CLOSEST", 39),
        Column(found.job.units, 7, right=True),
        Column("limit", 8, right=True),
        Column("+/-", 6, right=True),
        Column(),
    )
    ranked = sorted(every, key=_worst_first)
    first = {one.of: one for one in reversed(ranked)}  # of each valve gear or cylinder what comes closest
    shown = [one for one in ranked if one is first[one.of] or one.verdict in (Verdict.SHORT, Verdict.TIGHT)]
    rows = [_row(found.job.units, one) for one in shown]
    rows += [Row((f"{_named(one)}: NOT KNOWN",)) for one in _unknown(found)]
    told = [f"limits of {', '.join(names)}: {who}" for who, names in _owners(shown).items()]
    more = len(every) - len(shown)
    told += [f"{more} more leave more: `tallstack clearance {quoted(found.entered.path)}`"] if more else []
    return [Table(columns, tuple(rows), under=0), *(Words(one, 1) for one in told)]


def _named(unknown: str) -> str:
    """Return whose clearance is not known: a valve's, or the two valves' of a cylinder."""
    return unknown.replace(".", " ") if "." in unknown else f"{unknown}, valve to valve"


def _owners(shown: list[Result]) -> dict[str, list[str]]:
    """Return whose the limits are that a job does not set → of which answers."""
    owners: dict[str, list[str]] = {}
    for one in shown:
        if not one.limit.is_set and one.limit.target is not None:
            names = owners.setdefault(whose(one.limit), [])
            names += [] if one.figure.title in names else [one.figure.title]
    return owners


def _worst_first(one: Result) -> float:
    """Return what sorts the clearances: what is left above its limit, what is SHORT before all others."""
    return round(one.spare - (1e6 if one.verdict is Verdict.SHORT else 0.0), 6)


def _row(units: str, one: Result) -> Row:
    """Return a clearance with its limit, where in the cycle, and how it stands."""
    shown = cells(one, units, bare=True)
    value: Cell = shown.both[0] if shown.both else "MEET"
    limit: Cell = "contact" if one.limit.target is None else shown.limit
    said = f"{shown.stands}, {at_overlap(one.angle)}"
    return Row((f"{one.of.replace('.', ' ')}, {one.figure.title}", value, limit, shown.doubt, said))


def _rest(found: Work) -> list[Block]:
    """Return how the rest of the stack stands, and what of it is not measured."""
    fits = found.fits.fits
    judged = [one for one in fits.told if one.verdict is not None]
    said = {one: sum(word(each.verdict, each.look_again) == one for each in judged) for one in WORDS}
    told = ", ".join(f"{count} {one}" for one, count in said.items() if count)
    lacks = dict.fromkeys(one.group.title.lower() for one in fits.answers if isinstance(one.found, Missing))
    blocks = [Words(f"judged: {told}", 1)] if told else []
    if lacks:
        more = f" and {len(lacks) - NAMED} more" if len(lacks) > NAMED else ""
        asks = f"`tallstack measure {quoted(found.entered.path)} --for fits` asks for it"
        blocks.append(Words(f"NOT MEASURED: {', '.join(list(lacks)[:NAMED])}{more}; {asks}", 1))
    return under("THE REST OF THE STACK", blocks)


def _document(found: Work, stopping: list[str]) -> dict[str, Any]:
    orders = () if found.pushrods is None else found.pushrods.orders
    return {
        **head("overview", found.job),
        "stop": stopping,
        "watch": list(stops.watch(found)),
        "order": [
            {
                "train": order.train.name,
                "ordered_as": order.convention or None,
                "length_mm": None if order.length is None else order.length.value,
                "doubt_mm": None if order.length is None else order.length.doubt,
                "estimate": order.is_estimate,
                "verdict": None if order.verdict is None else order.verdict.value,
                "look_again": list(order.look_again),
                "set_to": turned(found.pushrods, order, found.job.units) if found.pushrods else "",
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
        **tail(found.job),
    }
