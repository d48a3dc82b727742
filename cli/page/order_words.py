"""Pushrods in a table: what to order, how sure, what it gives, and how it is set."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.engine.engine import COORDINATES, MEASURED
from tallstack.geometry.pushrod.adjusting import setting
from tallstack.geometry.pushrod.goes_in import longer_as_wanted, spare_of
from tallstack.geometry.pushrod.ordering import Order, Room
from tallstack.geometry.pushrod.pushrods import SETTING

from ..job import contradicted
from .model import Cell, Column, Length, Row, Table, Words
from .setting_words import CLOSED, OWN_SCREW, ZERO_LASH, turned_words
from .wording import ESTIMATE, VERDICTS, both_units, in_one, length, whose

if TYPE_CHECKING:
    from tallstack.geometry.pushrod.shelf import Chosen, Offer

GIVES = ("preload", "lash")  # what a pushrod is to give


def not_possible(found: Sequence[Order], no_set: bool) -> Iterator[str]:
    """Yield what cannot be put together, in sentences; no_set : a shelf was asked, and no set of it fits."""
    for order in found:
        if order.impossible:
            yield f"CANNOT BE ASSEMBLED: {order.train.name.replace('.', ' ')}: {'; '.join(order.obstacles)}"
    if no_set:
        yield "SHORT: no set of pushrods from the shelf fits"


def waits_for(gears: Sequence[str]) -> list[str]:
    """Return that a set from the shelf waits for the lengths of valve gears, in a sentence; nothing where it does not."""
    names = ", ".join(one.replace(".", " ") for one in gears)
    lengths, are = ("length", "is") if len(gears) == 1 else ("lengths", "are")
    told = f"NOT KNOWN: which pushrods of the shelf fit, before the {lengths} of {names} {are} known"
    return [told] if gears else []


def not_put_in(found: Sequence[Order], units: str) -> list[str]:
    """Return which pushrods do not go in with the rocker on its shaft, were they fixed ones, in a sentence."""
    short: list[tuple[str, float]] = []
    held: list[tuple[str, float]] = []
    for order in found:
        how, longer = order.train.assembly, longer_as_wanted(order.train)
        gear = order.train
        if how is not None and not how.box_on and longer is not None and gear.ratio is not None:
            if gear.lifter.kind == "hydraulic":
                held.append((gear.name.replace(".", " "), float(longer * gear.ratio)))
        spare = None if how is None or not how.box_on or longer is None else spare_of(order.train, longer)
        if spare is not None and spare < 0:
            short.append((order.train.name.replace(".", " "), float(spare)))
    told = []
    if held:
        most, who = max(opens for _, opens in held), _first_of(held)
        told.append(
            f"ROCKER FITTED AFTERWARDS: a filled lifter then holds its valve up to {in_one(most, units)} open ({who}): "
            "turn the piston well down first"
        )
    if not short:
        return told
    least = min(spare for _, spare in short)
    who = _first_of(short)
    return [
        *told,
        f"DOES NOT GO IN: {who}, a fixed pushrod with the rocker on its shaft, by {in_one(-least, units)}; "
        "see `tallstack fits`, or order adjustable ones",
    ]


def _first_of(named: Sequence[tuple[str, float]]) -> str:
    return named[0][0] + (f" and {len(named) - 1} more" if len(named) > 1 else "")


def lacks_of(order: Order) -> list[str]:
    """Return what a pushrod's length lacks by the nearest way to it, and what its setting lacks."""
    ways = order.missing
    way = next((one for one in (MEASURED, COORDINATES) if one in ways), None)
    if way == MEASURED and order.train.drawn is not None:
        way = None
    lacks = [one for key in (SETTING, "rocker", way) if key is not None for one in ways.get(key, ())]
    return lacks if order.room is None else [*lacks, *order.room.lacks]


def not_known(found: Sequence[Order]) -> list[str]:
    """Return the names of the pushrods that cannot be worked out yet."""
    return [f"{one.train.name.replace('.', ' ')} pushrod" for one in found if one.required is None]


def order_table(found: Sequence[Order], chosen: Chosen | None, units: str, reasons: bool = False) -> Table:
    """Return what to order, in a row each; valve gears that are alike share one.

    chosen  : the set that was taken from a shelf, where one was asked
    reasons : also which limit a setting misses or is close to
    """
    known = [one for one in found if one.required is not None and not one.impossible]
    conventions = {one.convention for one in known}
    head = f"ORDER, {next(iter(conventions))}" if len(conventions) == 1 else "ORDER"
    gives = {what for one in known for what in GIVES if getattr(one.train.lifter, what) is not None}
    several, is_roomy = len(conventions) > 1, any(one.room is not None for one in known)
    less = int(several)  # of room for each column, so that a row stays one line
    columns = (
        Column(head, 18 - 4 * less, own_line=True),
        *((Column("as", 12),) if several else ()),
        *(Column(unit, 8 - less + (place and 1), right=True) for place, unit in enumerate(both_units(units))),
        Column(f"+/- {units}", 9 - less, right=True),
        Column(
            next(iter(gives)) if len(gives) == 1 else "preload, lash" if gives else "", 9 - less, right=True
        ),
        *((Column("room left", 11 - less, right=True),) if is_roomy else ()),
        Column(),
    )
    alike: dict[tuple[str, ...], tuple[list[str], tuple[Cell, ...], str, str]] = {}
    for order in found:
        one = cells(order, units, bare=True)
        if not one.both:
            alike[one.name,] = [one.name], (one.stands,), "", ""
            continue
        row = (
            *((one.convention,) if several else ()),
            *one.both,
            one.doubt,
            *_gives(order, chosen, units)[: 1 + is_roomy],
            in_a_word(order, one),
        )
        to_set = turned(order, chosen, units, reasons) if chosen is not None or _has_adjuster(order) else ""
        why = _reason(order, units) if reasons else ""
        alike.setdefault((*map(_read, row), to_set, why), ([], row, to_set, why))[0].append(one.name)
    rows: list[Row | Words] = []
    ways = {to_set for _, _, to_set, _ in alike.values()}
    for names, row, to_set, why in alike.values():
        rows.append(Row((", ".join(names), *row)))
        rows += [Words(why, 2)] if why else []
        rows += [Words(f"set to: {to_set}", 2)] if to_set and len(ways) > 1 else []
    rows += [Words(one, 1) for one in estimates(found)]
    rows += [Words(f"each set to: {next(iter(ways))}", 1)] if len(ways) == 1 and any(ways) else []
    return Table(columns, tuple(rows), under=0)


def estimates(found: Sequence[Order]) -> list[str]:
    """Return which lengths rest on coordinates alone, in a sentence; none where none does."""
    known = [one for one in found if one.required is not None and not one.impossible]
    guessed = [one.train.name.replace(".", " ") for one in known if one.is_estimate]
    who = "all of them" if len(guessed) == len(found) else ", ".join(guessed)
    return [f"{ESTIMATE}: {who}, from coordinates alone"] if guessed else []


def in_a_word(order: Order, one: Cells) -> str:
    """Return how a pushrod stands in a word or two."""
    if order.look_again:
        return contradicted.LOOK_AGAIN
    return ESTIMATE.partition(",")[0] if order.is_estimate else one.stands


def _reason(order: Order, units: str) -> str:
    if order.verdict is Verdict.SHORT:
        return f"SHORT of its limits: {missed(order, units)}"
    return "" if order.is_estimate else what_is_close(order, units)


def _read(cell: Cell) -> str:
    return cell if isinstance(cell, str) else cell.shown()


def _gives(order: Order, chosen: Chosen | None, units: str) -> tuple[Cell, Cell]:
    """Return what a pushrod gives, the one that was chosen for it where one was, and the room it leaves below the plunger."""
    lifter, room = order.train.lifter, order.room
    for one in () if chosen is None else chosen.offers:
        given = one.preload if one.preload is not None else one.lash
        if one.train == order.train.name and given is not None:
            below: Cell = "" if one.room is None else Length(one.room, unit=units, bare=True)
            return Length(given, unit=units, bare=True), below
    wanted = lifter.preload if lifter.preload is not None else lifter.lash
    left: Cell = ""
    if room is not None:
        left = (
            "NOT KNOWN" if room.value is None else Length(room.value, room.budget.expanded, units, bare=True)
        )
    return "" if wanted is None else Length(float(wanted), unit=units, bare=True), left


def _has_adjuster(order: Order) -> bool:
    own = None if order.required is None else setting(order.train, order.required)
    return own is not None and own.turns is not None


class Cells(NamedTuple):
    """What every table of pushrods shows of one; `stands` alone where its length is not known."""

    name: str
    convention: str = ""
    both: tuple[Length, ...] = ()  # the job's unit first
    doubt: Length | str = ""
    stands: str = ""


def cells(order: Order, units: str, bare: bool = False) -> Cells:
    """Return what a pushrod's row shows; bare : the heads name the units."""
    name = order.train.name.replace(".", " ")
    if order.required is None or order.impossible:
        return Cells(name, stands="NOT KNOWN" if order.required is None else "CANNOT BE ASSEMBLED")
    doubt = doubt_of(order)
    sure = Length(doubt, doubt, units, bare=bare) if order.is_told else ""
    judged = ESTIMATE if order.is_estimate else contradicted.word(order.verdict, order.look_again)
    return Cells(name, order.convention.upper(), in_both(order, order.convention, units, bare), sure, judged)


def in_both(order: Order, convention: str, units: str, bare: bool = False) -> tuple[Length, ...]:
    """Return a pushrod's length in one convention, a cell for each unit."""
    assert order.required is not None
    value, doubt = float(order.required.lengths[convention]), doubt_of(order)
    return tuple(Length(value, doubt, unit, alone=True, bare=bare) for unit in both_units(units))


def what_is_close(order: Order, units: str) -> str:
    """Return in words which limit a setting is so close to that its verdict stands on that; nothing where it is not."""
    return "; ".join(text for text in (_near_limit(order, units), _low_room(order, units)) if text)


def _near_limit(order: Order, units: str) -> str:
    """Return in words that a wanted preload or lash is nearer to a limit than it is known."""
    lifter, limits, doubt = order.train.lifter, order.limits, order.setting_doubt
    if order.verdict is not Verdict.TIGHT:
        return ""
    known = f"known to +/- {length(doubt, units, doubt)}"
    if limits is None or lifter.preload is None:
        if lifter.lash is None:
            return ""
        wanted = length(float(lifter.lash), units)
        return f"TIGHT: {wanted} of lash at the {lifter.lash_at}, {known}: the valve may be held open"
    preload = float(lifter.preload)
    ends = [(preload - limits.least.value, "above the least")]
    if limits.own_most is not None:
        ends.append((limits.own_most.value - preload, "below the most"))
    near, which = min(ends)
    return f"TIGHT: the preload is {length(near, units)} {which}, {known}" if near <= doubt else ""


def _low_room(order: Order, units: str) -> str:
    """Return in words that little room, or an unknown one, below the plunger is what its verdict stands on."""
    room = order.room
    if room is None or room.verdict is Verdict.OK:
        return ""
    if room.value is None:
        return f"{VERDICTS[room.verdict]}: {room_words(room, units)}"
    if room.verdict is Verdict.UNPROVED and room.value > room.budget.expanded:
        return ""
    return f"{VERDICTS[room.verdict]}: {room_words(room, units)}"


def room_words(room: Room, units: str) -> str:
    """Return the room below a plunger in words."""
    if room.value is None:
        entries = ", ".join(one.partition(".")[2].partition(".")[2] for one in room.lacks)
        return f"room to the plunger's bottom not known without {entries}"
    doubt = room.budget.expanded
    stated = "" if room.unsure or not doubt else f" +/- {length(doubt, units, doubt)}"
    return f"{length(room.value, units, doubt)}{stated} left to the plunger's bottom"


def missed(order: Order, units: str) -> str:
    """Return which limit a wanted setting misses, in words."""
    limits, preload = order.limits, order.train.lifter.preload
    if limits is None or preload is None:
        return "the lash that is wanted does not let the valve close"
    room = order.room
    if room is not None and room.value is not None and room.verdict is Verdict.SHORT:
        if room.value < 0:
            return "the preload wanted is more than the plunger's travel"
        least = f"{length(limits.bottom.value, units)} ({whose(limits.bottom)})"
        return (
            f"{length(room.value, units)} left to the plunger's bottom is less than the {least} wanted there"
        )
    above = limits.own_most is not None and float(preload) > limits.own_most.value
    limit = limits.own_most if above and limits.own_most is not None else limits.least
    side = "above" if above else "below"
    return f"the preload wanted, {length(float(preload), units)}, is {side} {length(limit.value, units)} ({whose(limit)})"


def doubt_of(order: Order) -> float:
    """Return the expanded doubt of a pushrod's length [mm]."""
    return 0.0 if order.budget is None else order.budget.expanded


def adjusters(found: Sequence[Order], chosen: Chosen | None) -> list[str]:
    """Return the kinds of adjuster that are set, a pushrod's own screw included."""
    own = [setting(one.train, one.required) for one in found if one.required is not None]
    kinds = [one.kind for one in own if one is not None]
    return [
        *kinds,
        *(OWN_SCREW for one in (() if chosen is None else chosen.offers) if one.turns is not None),
    ]


def turned(order: Order, chosen: Chosen | None, units: str, bench: bool = True) -> str:
    """Return how far a pushrod from the shelf, or the valve gear's own adjuster, is turned; else what it gives.

    bench : also how far from fully closed, where a rod is set up on the bench
    """
    for one in () if chosen is None else chosen.offers:
        if one.train == order.train.name:
            it = f"{one.label}{_as_taken(one, order, units)}"
            if one.set_by:
                set_up = one.turns is not None and one.flats is not None and bench
                told = f": {turned_words(one.turns, one.flats, CLOSED)}" if set_up else ""  # type: ignore[arg-type]
                return f"{it}{told}; {_own_turned(order)}"
            if one.turns is None or one.flats is None:
                return it
            on_bench = turned_words(one.turns, one.flats, CLOSED)
            if one.turns_from_zero_lash is None:
                return f"{it}: {on_bench}"
            told = turned_words(one.turns_from_zero_lash, one.flats_from_zero_lash, ZERO_LASH)
            return f"{it}: {told} ({on_bench})" if bench else f"{it}: {told}"
    if own := _own_turned(order):
        return own
    lifter = order.train.lifter
    if lifter.kind == "solid" and lifter.lash is not None:
        return f"lash {_in_both(float(lifter.lash), units)}"
    if lifter.preload is not None:
        return f"preload {_in_both(float(lifter.preload), units)}"
    return ""


def _own_turned(order: Order) -> str:
    """Return how far the valve gear's own adjuster is turned; nothing where it has none, or that is not known."""
    own = None if order.required is None else setting(order.train, order.required)
    if own is None or own.turns is None:
        return ""
    if not own.is_thread:
        way = "back " if own.turns < 0 else ""
        return f"{own.kind} {way}{abs(own.turns) * 360:.1f} degrees {ZERO_LASH}"
    return f"{own.kind} {turned_words(own.turns, own.flats_turned, ZERO_LASH)}"


def _as_taken(one: Offer, order: Order, units: str) -> str:
    """Return how long a pushrod from the shelf is taken, which gives what its row says, behind its label."""
    if one.length is None:
        return ""
    other = "" if one.convention == order.convention else f" {one.convention.upper()}"
    return f", {in_one(one.length, units)}{other}"


def _in_both(value: float, units: str) -> str:
    return ", ".join(Length(value, unit=one).shown() for one in both_units(units))
