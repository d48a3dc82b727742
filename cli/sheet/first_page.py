"""The first page: what is needed at the bench, at arm's length, on one side of paper."""

from __future__ import annotations

from collections.abc import Sequence

from tallstack.geometry.doubt.result import Result
from tallstack.geometry.engine.since_read import READINGS

from ..page.band import NOTHING, Band
from ..page.clearance_words import WHAT, at_overlap, cells
from ..page.model import Blanks, Block, Boxes, Cell, Column, Heading, Length, Page, Row, Table, Words
from ..page.order_words import cells as pushrod_cells
from ..page.order_words import turned, what_is_close
from ..page.setting_words import positions
from ..page.since_words import changed
from ..page.wording import CAUTION, both_units
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
        *_band(stops.banded(work)),
        *_pushrods(work),
        *_positions(work),
        *_clearances(work),
        Heading("CHECK BY HAND, before anything but a wrench turns it"),
        Boxes(HAND_CHECKS),
        Words(CAUTION, small=True),
        Blanks(("set by", "date", "tools", "signature")),
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
    if found.watch:
        told += [Heading("WATCH"), *(Words(one) for one in found.watch)]
    return told


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
        to_set = f"{turned(order, work.pushrods.chosen, work.job.units)}{hot}"
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


def _positions(work: Work) -> list[Block]:
    told = [] if work.pushrods is None else positions(work.pushrods.stations)
    if work.pushrods is None or not told:
        return []
    bleeds = any(one.train.lifter.kind == "hydraulic" for one in work.pushrods.orders)
    down = " A filled hydraulic lifter bleeds down before the crank is turned." if bleeds else ""
    return [
        Heading("SET THEM AT"),
        *(Words(text, strong=True) for text in told),
        Words(LOCK_NUT + down, small=True),
    ]


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
