"""The first page: what is needed at the bench, at arm's length, on one side of paper."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.since_read import READINGS
from tallstack.geometry.pushrod.adjusting import setting
from tallstack.geometry.pushrod.ordering import Order
from tallstack.geometry.pushrod.stations import Station

from ..commands.pushrods import Found, what_is_close
from ..commands.pushrods import cells as pushrod_cells
from ..page.clearance_words import WHAT, cells
from ..page.model import Blanks, Block, Boxes, Cell, Column, Heading, Length, Page, Row, Table, Words
from ..page.setting_words import CLOSED, ZERO_LASH, turned_words
from ..page.since_words import changed
from ..page.wording import CAUTION, both_units, steady
from . import stops
from .hand_checks import HAND_CHECKS
from .work import Work

LOCK_NUT = (
    "Right-hand threads, common practice: a pushrod's screw turned counter-clockwise, looking at its ball, makes it "
    "longer; run the lock nut clockwise, seen from the same end, against the part the screw stands in, and hold the "
    "screw still meanwhile."
)


def first_page(work: Work) -> Page:
    """Return the first page."""
    blocks: list[Block] = [
        *stops.blocks(work, stops.stops(work)),
        *_pushrods(work),
        *_positions(work),
        *_clearances(work),
        Heading("CHECK BY HAND, before anything but a wrench turns it"),
        Boxes(HAND_CHECKS),
        Words(CAUTION, small=True),
        Blanks(("set by", "date", "tools", "signature")),
    ]
    return Page("bench", work.job.title, tuple(blocks))


def _pushrods(work: Work) -> list[Block]:
    if work.pushrods is None:
        return [
            Heading("PUSHRODS"),
            Words("No pushrod can be worked out yet; see what is still to be measured."),
        ]
    rows: list[tuple[Cell, ...]] = []
    units = both_units(work.job.units)
    short_hot = stops.short_hot(work)
    for order in work.pushrods.orders:
        one = pushrod_cells(order, work.job.units)
        if not one.both:
            rows.append((one.name, "", one.stands, "", "", ""))
            continue
        hot = "; SHORT when hot" if order.train.name in short_hot else ""
        to_set = f"{turned(work.pushrods, order, work.job.units)}{hot}"
        rows.append((one.name, one.stands, one.convention, *one.both, one.doubt, to_set))
    heads = ("PUSHRODS", "verdict", "length as", units[0], units[1], "+/-", "to set")
    since = [Words(f"{who}: {told}") for who, told in changed(work.job, READINGS)]
    below = {
        order.train.name.replace(".", " "): text
        for order in work.pushrods.orders
        if (text := what_is_close(order, work.job.units))
    }
    low = [Words("; ".join(f"{name} {text}" for name, text in below.items()), strong=True)] if below else []
    return [_large(heads, rows, 6), *low, *since]


def _large(heads: Sequence[str], rows: Sequence[tuple[Cell, ...]], wide: int) -> Table:
    """Return a table to be read at arm's length; wide : the column that takes what room there is."""
    columns = tuple(
        Column(head, wide=place == wide, strong=place in (0, 1, 3)) for place, head in enumerate(heads)
    )
    return Table(columns, tuple(map(Row, rows)), large=True)


def turned(found: Found, order: Order, units: str) -> str:
    """Return how far a pushrod from the shelf, or the valve gear's own adjuster, is turned; else what it gives."""
    chosen = () if found.chosen is None else found.chosen.offers
    for one in chosen:
        if one.train == order.train.name:
            if one.turns is None or one.flats is None:
                return one.label
            on_bench = turned_words(one.turns, one.flats, CLOSED)
            if one.turns_from_zero_lash is None:
                return f"{one.label}: {on_bench}"
            told = turned_words(one.turns_from_zero_lash, one.flats_from_zero_lash, ZERO_LASH)
            return f"{one.label}: {told} ({on_bench})"
    own = None if order.required is None else setting(order.train, order.required)
    if own is not None and own.turns is not None:
        flats = None if own.whole_flats is None else own.flats
        if not own.is_thread:
            way = "back " if own.turns < 0 else ""
            return f"{own.kind} {way}{abs(own.turns) * 360:.1f} degrees {ZERO_LASH}"
        return f"{own.kind} {turned_words(own.turns, flats, ZERO_LASH)}"
    lifter = order.train.lifter
    if lifter.kind == "solid" and lifter.lash is not None:
        return f"lash {_in_both(float(lifter.lash), units)}"
    if lifter.preload is not None:
        return f"preload {_in_both(float(lifter.preload), units)}"
    return ""


def _in_both(value: float, units: str) -> str:
    return ", ".join(Length(value, unit=one).shown() for one in both_units(units))


def positions(work: Work) -> list[str]:
    """Return where the crank stands for each cylinder, alike ones together."""
    if work.pushrods is None:
        return []
    alike: dict[str, list[str]] = {}
    for one in work.pushrods.stations:
        alike.setdefault(position(one), []).append(one.cylinder)
    several = len(work.pushrods.stations) > 1
    return [
        f"{'every cylinder' if several and len(names) == len(work.pushrods.stations) else ', '.join(names)}: {text}"
        for text, names in alike.items()
    ]


def _positions(work: Work) -> list[Block]:
    told = positions(work)
    if work.pushrods is None or not told:
        return []
    bleeds = any(one.train.lifter.kind == "hydraulic" for one in work.pushrods.orders)
    down = " A filled hydraulic lifter bleeds down before the crank is turned." if bleeds else ""
    return [
        Heading("SET THEM AT"),
        *(Words(text, strong=True) for text in told),
        Words(LOCK_NUT + down, small=True),
    ]


def position(one: Station) -> str:
    """Return where the crank stands for one cylinder, in a line."""
    if one.heel is None:
        return "top centre at the end of compression, both valves closed; how far to either side is not known"
    before, after = (_degrees(angle) for angle in one.heel)
    return f"compression, from {before} to {after} top centre, keep well inside"


def _degrees(angle: float) -> str:
    return f"{steady(abs(math.degrees(angle))):.0f} degrees {'before' if angle < 0 else 'after'}"


def _clearances(work: Work) -> list[Block]:
    if work.clear is None:
        return [
            Heading("CLEARANCES"),
            Words("No clearance can be worked out yet; `tallstack clearance` says what it lacks."),
        ]
    units = both_units(work.job.units)
    rows: list[tuple[Cell, ...]] = []

    def row(name: str, judged: Result) -> tuple[Cell, ...]:
        one = cells(judged, work.job.units)
        limit = one.limit._replace(mark="" if judged.limit.is_set else "*")
        what = one.what if one.both else f"{one.what}: MEET"
        return (name, one.stands, what, *(one.both or ("", "")), limit, at_overlap(judged.angle))

    for valve in work.clear.valves:
        name = valve.train.replace(".", " ")
        if valve.piston is None:
            rows.append((name, "NOT KNOWN", "", "", "", "", ""))
        else:
            rows.append(row(name, valve.piston))
        if valve.up is not None:
            up = cells(valve.up, work.job.units)
            rows.append(("", up.stands, "lifter pumped up", *up.both, "contact", at_overlap(valve.up.angle)))
        rows += [row("", one) for one in (valve.room, valve.bore) if one is not None]
    for pair in work.clear.pairs:
        if pair.judged is not None:
            rows.append(row(pair.cylinder, pair.judged))
        else:
            rows.append((pair.cylinder, "NOT KNOWN", WHAT["between"], "", "", "", ""))
    heads = ("CLEARANCES", "verdict", "least", units[0], units[1], "limit", "deg of overlap")
    common = (
        [Words("* common practice, set your own", small=True)]
        if any(isinstance(one[5], Length) and one[5].mark for one in rows)
        else []
    )
    return [_large(heads, rows, 0), *common]


def at_overlap(angle: float) -> str:
    """Return a crank angle from overlap top centre, in whole degrees."""
    degrees = math.degrees(angle)
    return f"{steady(abs(degrees)):.0f} {'after' if degrees >= 0 else 'before'}"
