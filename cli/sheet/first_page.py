"""The first page: what is needed at the bench, at arm's length, on one side of paper; what does not fit goes on behind it."""

from __future__ import annotations

from tallstack.geometry.core.mapping import Reader
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.engine.since_read import READINGS

from ..drawing.closest import closest
from ..drawing.crank_wheel import crank_wheel
from ..page.across_words import lowering_words, one_way
from ..page.answer import tried
from ..page.band import NOTHING, Band, name
from ..page.clearance_words import at_overlap
from ..page.closest_words import besides, every, worst
from ..page.model import (
    Beside,
    Blanks,
    Block,
    Boxes,
    Column,
    Frame,
    Heading,
    Page,
    Picture,
    Row,
    Table,
    Words,
    under,
)
from ..page.order_words import cells as pushrod_cells
from ..page.order_words import estimates, in_a_word, turned, what_is_close
from ..page.ports_words import spacer_words
from ..page.setting_words import BLEEDS, positions, turns_on
from ..page.since_words import EVERY_GEAR, changed
from ..page.wording import IN_SHORT
from . import stops
from .hand_checks import hand_checks
from .work import Work

NUMBER, BESIDE = 22.0, 12.0  # points: a number to act on, and what stands beside it
NEAREST = 2  # clearances that are drawn
BAR = "Bars: black is sure, grey its +/-, hollow has none; tick: the limit."
SIGNED = ("set by", "date", "tools", "signature")


def first_page(work: Work) -> Page:
    """Return the first page."""
    blocks: list[Block] = [
        *_band(stops.banded(work)),
        *(Words(one, strong=True) for one in (*tried(work.job), *work.job.said)),
        *_assembly(work),
        *_order(work),
        *_turn(work),
        Heading("BEFORE IT TURNS, by hand"),
        Boxes(hand_checks(work)),
        Words(IN_SHORT),
        Blanks(SIGNED),
    ]
    return Page("bench", work.job.title, tuple(blocks))


def _band(found: Band) -> list[Block]:
    """Return what stops the work and what to watch; what the page has no room for is counted."""
    several = "1 thing" if len(found.stop) == 1 else f"{len(found.stop)} things"
    shown = found.stop if len(found.stop) <= stops.MOST else found.stop[: stops.MOST - 1]
    told: list[Block] = [Heading(f"STOP, {several} before anything goes together" if found.stop else NOTHING)]
    told += [Words(one, strong=True) for one in shown]
    if len(shown) < len(found.stop):
        told.append(Words(f"and {len(found.stop) - len(shown)} more, on the next page", strong=True))
    watched: tuple[Block, ...] = (Heading("WATCH"), *(Words(one) for one in found.watch))
    return [Frame(tuple(told)), *([Frame(watched, heavy=False)] if found.watch else [])]


def _assembly(work: Work) -> list[Block]:
    """Return in which order the cylinders go on, where that matters, and the spacers after a change."""
    blocks: list[Block] = []
    if any("FIRST" in one for one in one_way(work.fits.crossing)):
        blocks.append(Heading("PUT TOGETHER"))
        blocks += [Words(one, strong=True) for one in lowering_words(work.job, work.fits.crossing)]
    spacers = spacer_words(work.job, work.fits.facing)
    return [*blocks, *under("SPACERS", (Words(one, strong=True) for one in spacers))]


def _order(work: Work) -> list[Block]:
    if work.pushrods is None:
        return [
            Heading("ORDER"),
            Words("No pushrod can be worked out yet; see what is still to be measured."),
        ]
    found, chosen = work.pushrods.orders, work.pushrods.chosen
    hot, cold = stops.short_hot(work), stops.cold_lash(work)
    conventions = {one.convention for one in found if one.convention}
    several = len(conventions) > 1
    head = "ORDER" if several or not conventions else f"ORDER, {min(conventions)}"
    columns = (
        Column(head, strong=True, points=BESIDE),
        *((Column("as"),) if several else ()),
        Column("length", strong=True, points=NUMBER),
        Column(points=BESIDE),
        Column("+/-", points=BESIDE),
        Column("", strong=True, points=BESIDE),
        Column(wide=True),
    )
    rows: list[Row | Words] = []
    ways = []
    for order in found:
        one = pushrod_cells(order, work.job.units)
        if not one.both:
            rows.append(Row((one.name, *([""] * (3 + several)), one.stands)))
            ways.append("")
            continue
        to_set = turned(order, chosen, work.job.units, bench=False)
        to_set += cold.get(order.train.name, "") or ("; SHORT when hot" if order.train.name in hot else "")
        ways.append(to_set)
        as_one = (one.convention.lower(),) if several else ()
        rows.append(Row((one.name, *as_one, *one.both, one.doubt, in_a_word(order, one), "")))
        rows += [Words(f"set to: {to_set}", 2)] if to_set else []
    if len(ways) > 1 and len(set(ways)) == 1 and ways[0]:
        rows = [*(one for one in rows if isinstance(one, Row)), Words(f"each set to: {ways[0]}", 2)]
    below = {
        order.train.name.replace(".", " "): text
        for order in found
        if (text := what_is_close(order, work.job.units))
    }
    low = [Words("; ".join(f"{gear} {text}" for gear, text in below.items()), strong=True)] if below else []
    since = [
        Words(told if who == EVERY_GEAR else f"{who}: {told}")
        for who, told in changed(work.job, READINGS[:1])
    ]
    guessed = [Words(one, strong=True) for one in estimates(found)]
    return [Table(columns, tuple(rows), large=True), *guessed, *low, *since]


def _turn(work: Work) -> list[Block]:
    """Return where the crank stands for setting, and what comes closest, drawn beside each other."""
    pictures: list[Picture] = []
    told: list[Block] = []
    if work.pushrods is not None and work.pushrods.stations:
        asked = work.pushrods
        way = Reader(work.job.mapping, ("",)).word("crank.turns")
        wheel = crank_wheel(asked.stations, way != "backward", bool(way))
        pictures.append(Picture("turn", wheel, "TURN"))
        told += [
            Words(one, strong=True)
            for one in (*positions(asked.stations), *filter(None, [turns_on(asked.stations)]))
        ]
        bleeds = any(one.train.lifter.kind == "hydraulic" for one in asked.orders)
        told += [Words(f"{BLEEDS[0].upper()}{BLEEDS[1:]}.")] if bleeds else []
    if work.clear is None:
        return [*_beside(pictures), *told, Words("No clearance can be worked out yet.")]
    judged = sorted((one for one in every(work.clear) if one.verdict is not None), key=worst)
    for one in judged[:NEAREST]:
        at = "" if one.verdict is Verdict.SHORT and one.value <= 0 else f", {at_overlap(one.angle)} overlap"
        pictures.append(
            Picture(f"closest-{one.of}-{one.name}", closest(one, work.job.units), f"CLOSEST {name(one)}{at}")
        )
    more = len(judged) - NEAREST
    told += [Words(BAR + (f" {more} more leave more." if more > 0 else ""))] if judged else []
    told += [Words(f"{one[0].upper()}{one[1:]}.") for one in besides(work.job.units, work.clear)]
    return [*_beside(pictures), *told]


def _beside(pictures: list[Picture]) -> list[Block]:
    return [Beside(tuple(pictures))] if pictures else []
