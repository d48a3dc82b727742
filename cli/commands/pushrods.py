"""`tallstack pushrods`: the length of every pushrod, and what stands behind it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from tallstack.geometry.core.lengths import CONVENTIONS
from tallstack.geometry.engine.engine import COORDINATES, MEASURED
from tallstack.geometry.engine.since_read import READINGS
from tallstack.geometry.pushrod.adjusting import setting
from tallstack.geometry.pushrod.ordering import Order, Room
from tallstack.geometry.pushrod.pushrods import SETTING, Required
from tallstack.geometry.pushrod.stations import Station, stations

from ..files import quoted
from ..job.entries.meanings import meant
from ..job.file import JobFile
from ..job.job import Job
from ..page import band
from ..page.answer import UNUSABLE, Answer, framed, labelled, status_of
from ..page.band import Band
from ..page.model import Block, Column, Form, Heading, Lines, Row, Table, Words
from ..page.order_words import (
    adjusters,
    doubt_of,
    in_both,
    not_known,
    not_possible,
    not_put_in,
    order_table,
    room_words,
    waits_for,
)
from ..page.setting_words import (
    BLEEDS,
    adjuster_blocks,
    adjuster_row,
    heel_row,
    positions,
    station_blocks,
    turns_on,
)
from ..page.shelf_words import offer_row, set_row, set_words, shelf_blocks
from ..page.since_words import EVERY_GEAR, changed, changed_blocks
from ..page.text import lines
from ..page.vocabulary import said
from ..page.wording import (
    ESTIMATE,
    both_units,
    degrees,
    length,
    number,
    train_name,
    whose,
)
from ..record.remembered import shelf_of, with_shelf
from ..tables.lobefile import lobe_readings

if TYPE_CHECKING:
    from tallstack.geometry.pushrod.shelf import Chosen, Offer

BASIS = {MEASURED: "from the pushrod that was measured", COORDINATES: "from coordinates alone"}
NEEDS = {
    SETTING: "it lacks what is wanted",
    MEASURED: "by a measured pushrod it lacks",
    COORDINATES: "by coordinates it lacks",
    "rocker": "it lacks",
}
BASIS_IN_JSON = {MEASURED: "measured_pushrod", COORDINATES: "coordinates"}


class Found(NamedTuple):
    """Everything that is known of a job's pushrods."""

    orders: tuple[Order, ...]
    stations: tuple[Station, ...]
    offers: dict[str, tuple[Offer, ...]] | None  # valve gear → what each pushrod of the shelf would be
    chosen: Chosen | None

    @property
    def is_usable(self) -> bool:
        """Whether any pushrod is known."""
        return any(order.required is not None for order in self.orders)

    @property
    def adjusters(self) -> list[str]:
        """The kinds of adjuster that are set."""
        return adjusters(self.orders, self.chosen)

    @property
    def has_no_set(self) -> bool:
        """Whether a shelf was asked and no set of it fits, whatever is not known yet."""
        return self.offers is not None and self.chosen is None and not self.waiting

    @property
    def waiting(self) -> tuple[str, ...]:
        """The valve gears whose lengths have to be known before a set can be chosen from the shelf that was asked."""
        from tallstack.geometry.pushrod.shelf import waiting

        return () if self.offers is None or self.chosen is not None else waiting(self.offers)


def answer(job: Job, strict: bool = False, shelf: Path | None = None) -> Answer:
    """Return the pushrods of a job, and what fits from a shelf where one is given."""
    job = job.at_hand
    taken = shelf_of(job, shelf)
    return told(with_shelf(job, taken), found_of(job, taken.path), strict)


def told(job: JobFile, found: Found, strict: bool = False) -> Answer:
    """Return what is known of a job's pushrods as an answer; job : as its readings leave it."""
    if not found.is_usable:
        return Answer(said(job)(_unusable(job, found.orders)), {}, UNUSABLE)
    lacking = any(order.required is None or order.impossible for order in found.orders)
    lacking = lacking or found.has_no_set
    ended = status_of(job, (one for order in found.orders for one in order.results), strict, lacking)
    return framed(
        "pushrods",
        job,
        lambda: _page(job, found),
        _document(job, found),
        ended,
        brief=_brief(job, found),
        told=_told(job, found),
    )


def found_of(job: Job, shelf: Path | None) -> Found:
    """Return everything that is known of a job's pushrods; job : as its readings leave it."""
    offers, chosen = (None, None) if shelf is None else from_shelf(job, job.orders, shelf)
    return Found(job.orders, stations(job.mapping, lobe_readings(job)), offers, chosen)


def from_shelf(
    job: JobFile, found: tuple[Order, ...], path: Path
) -> tuple[dict[str, tuple[Offer, ...]], Chosen | None]:
    """Return what each pushrod of a shelf would be in each valve gear, and the best set of them."""
    from tallstack.geometry.pushrod.shelf import best_set, offers

    from ..tables.shelf import load_shelf

    rods = load_shelf(path, job.units)
    offered = {order.train.name: offers(order, rods) for order in found}
    return offered, best_set(offered, {rod.label: rod.count for rod in rods})


def _unusable(job: JobFile, found: tuple[Order, ...]) -> list[Block]:
    """Return why no pushrod can be worked out, a paragraph for each thing that is missing."""
    blocks: list[Block] = [Lines(f"{job.path}: no pushrod can be worked out yet")]
    if not found:
        blocks.append(Words("no [[train]] in this job: write one for each valve gear", 1))
    for order in found:
        blocks += [Words(f"{train_name(order.train.name)}:", 1), *_needs(order, 2, Form.PROSE)]
    return [*blocks, Lines(f"`tallstack check {quoted(job.path)}` says more")]


def _document(job: JobFile, found: Found) -> dict[str, Any]:
    """Return the answer for a program, in mm and degrees."""
    from_shelf = {} if found.offers is None else {"set": set_row(found.chosen)}
    return {
        "pushrods": [_row(order, found) for order in found.orders],
        **from_shelf,
    }


def _row(order: Order, found: Found) -> dict[str, Any]:
    train, needed = order.train, order.required
    lengths = {} if needed is None else needed.lengths
    reach = None if needed is None or needed.reach is None else float(needed.reach)
    differ = None if needed is None else needed.coordinates_differ
    return {
        "train": train.name,
        "basis": None if needed is None else BASIS_IN_JSON[needed.basis],
        "lifter": train.lifter.kind or None,
        "preload_mm": _float(train.lifter.preload),
        "lash_mm": _float(train.lifter.lash),
        **{f"{one}_mm": _float(lengths.get(one)) for one in CONVENTIONS},
        "lean_deg": None if needed is None else _float(needed.lean, 180 / math.pi),
        "growth_per_stack": None if needed is None else _float(needed.growth_per_stack),
        **heel_row(found.stations, train.cylinder),
        "shelf": [offer_row(one) for one in (found.offers or {}).get(train.name, ())],
        "adjuster": None if needed is None else adjuster_row(setting(train, needed)),
        "estimate": order.is_estimate,
        "ordered_as": order.convention or None,
        "doubt_mm": None if order.budget is None else order.budget.expanded,
        "preload_least_mm": None if order.limits is None else order.limits.least.value,
        "preload_most_mm": None if order.limits is None else order.limits.most.value,
        "bottom_least_mm": None if order.limits is None else order.limits.bottom.value,
        **_room_row(order.room),
        "verdict": None if order.verdict is None else order.verdict.value,
        "without_doubt": [] if order.budget is None else list(order.budget.undoubted),
        "look_again": list(order.look_again),
        "coordinates_differ_mm": _float(differ),
        "reach_mm": reach,
        "cannot_assemble": list(order.obstacles),
        "needs": {route: list(lacks) for route, lacks in order.missing.items()},
    }


def _room_row(room: Room | None) -> dict[str, Any]:
    known = room is not None and room.value is not None
    return {
        "room_to_bottom_mm": None if room is None else room.value,
        "room_to_bottom_doubt_mm": room.budget.expanded if room is not None and known else None,
        "room_to_bottom_verdict": None if room is None else room.verdict.value,
        "room_to_bottom_without_doubt": [] if room is None else list(room.budget.undoubted),
        "room_to_bottom_needs": [] if room is None else list(room.lacks),
    }


def _float(value: Any, scale: float = 1.0) -> float | None:
    return None if value is None or math.isnan(value) else float(value) * scale


def _brief(job: JobFile, everything: Found) -> list[Block]:
    """Return the answer for one screen: what stops it and what to order."""
    return [
        *band.blocks(_band(job, everything)),
        order_table(everything.orders, everything.chosen, job.units),
    ]


def _told(job: JobFile, everything: Found) -> list[Row]:
    """Return what that screen says in a line each: what has changed since the readings, and where to set them."""
    changes = [told if who == EVERY_GEAR else f"{who}: {told}" for who, told in changed(job, READINGS[:1])]
    rows = labelled("ON THIS STACK", changes)
    if everything.chosen is not None:
        rows += labelled("FROM THE SHELF", [set_words(everything.chosen, job.units)])
    setting = [*positions(everything.stations), *filter(None, [turns_on(everything.stations)])]
    setting += [BLEEDS] if setting and _bleeds(everything) else []
    return [*rows, *labelled("SET", setting)]


def _bleeds(everything: Found) -> bool:
    return any(one.train.lifter.kind == "hydraulic" for one in everything.orders)


def _band(job: JobFile, everything: Found) -> Band:
    orders = everything.orders
    results = [one for order in orders for one in order.results]
    impossible = [*not_possible(orders, everything.has_no_set)]
    fixed = [] if everything.chosen is not None else not_put_in(orders, job.units)
    more = [*waits_for(everything.waiting), *fixed]
    return band.band(job, results, impossible, not_known(orders), more)


def _page(job: JobFile, everything: Found) -> list[Block]:
    """Return the answer for a person: what to order first, then what stands behind each length."""
    found = everything.orders
    blocks: list[Block] = [*band.blocks(_band(job, everything))]
    blocks.append(order_table(found, everything.chosen, job.units, reasons=True))
    blocks += changed_blocks(job, READINGS[:1])
    if job.blanks:
        count = len(job.blanks)
        blocks.append(Words(f"{count} entries of the file are still blank; tallstack check lists them."))
    alike: dict[tuple[str, ...], tuple[list[str], list[Block]]] = {}
    for order in found:
        (heading, *rest), name = _block(job, order), train_name(order.train.name)
        assert isinstance(heading, Heading)
        key = (heading.words.removeprefix(name), *lines(rest))
        alike.setdefault(key, ([], rest))[0].append(name)
    for (told, *_), (names, rest) in alike.items():
        blocks += [Heading(f"{', '.join(names)}{told}"), *rest]
    if any(order.train.drawn is None for order in found):
        blocks.append(Words("Rocker and valve by coordinates would add ratio and sweep."))
    if everything.offers is not None:
        blocks += shelf_blocks(everything.offers, everything.chosen, job.units)
    return [
        *blocks,
        *station_blocks(everything.stations, _bleeds(everything), job.units, everything.adjusters),
    ]


def _block(job: JobFile, order: Order) -> list[Block]:
    name = train_name(order.train.name)
    if order.required is None:
        return [Heading(f"{name}: not computed"), *_needs(order)]
    if order.impossible:
        return [Heading(f"{name}: CANNOT BE ASSEMBLED"), *(Words(one, 1) for one in order.obstacles)]
    heading = f"{ESTIMATE}, " if order.is_estimate else ""
    adjuster = setting(order.train, order.required)
    return [
        *(Heading(name), Words(f"{heading}{BASIS[order.required.basis]}", 1)),
        *_lengths(job, order),
        *_setting(job, order),
        *([] if adjuster is None else adjuster_blocks(order, adjuster, job.units)),
        *(Words(one, 1) for one in (_leaning(job, order.required), *_behind(job, order))),
    ]


def _leaning(job: JobFile, needed: Required) -> str:
    grows = float(needed.growth_per_stack)
    step = "each 1.00 mm" if job.units == "mm" else "each 0.100 in"
    more = f"{grows:.4f} mm" if job.units == "mm" else f"{grows / 10:.5f} in"
    return (
        f"leans {degrees(float(needed.lean))} on this stack; {step} of taller stack takes {more} of pushrod"
    )


def _lengths(job: JobFile, order: Order) -> list[Block]:
    needed, doubt = order.required, doubt_of(order)
    assert needed is not None
    rows = []
    others = [one for one in CONVENTIONS[::-1] if one != order.convention and one in needed.lengths]
    for one in (order.convention, *others):
        label = one.upper() if one == order.convention else one
        shown = order.is_told and one == order.convention
        stated = f"+/- {length(doubt, job.units, doubt)}" if shown else ""
        rows.append(Row((label, *in_both(order, one, job.units, bare=True), stated)))
    both = (Column(unit, 10, right=True) for unit in both_units(job.units))
    unknown: dict[tuple[str, ...], list[str]] = {}
    for one, lacks in needed.lacks.items():
        unknown.setdefault(lacks, []).append(one)
    told = []
    for lacks, those in unknown.items():
        needs = ", ".join(f"pushrod.{lack}" for lack in lacks) or "ball ends"
        told.append(Words(f"{', '.join(those)}: not known without {needs}", 1))
    return [Table((Column(room=16), *both, Column()), tuple(rows)), *told]


def _setting(job: JobFile, order: Order) -> list[Words]:
    lifter = order.train.lifter
    if lifter.kind == "solid" and lifter.lash is not None:
        lash = length(float(lifter.lash), job.units)
        return [Words(f"gives the wanted lash of {lash} at the {lifter.lash_at}", 1)]
    if order.limits is None or lifter.preload is None:
        return []
    limits = order.limits
    first, second = (
        f"{number(limits.least.value, unit)} to {number(limits.most.value, unit)} {unit}"
        for unit in both_units(job.units)
    )
    who = [whose(limits.least)]
    if limits.bottoms:
        room = length(limits.bottom.value, job.units)
        who = [
            f"the least {who[0]}",
            f"the most leaves {room} to the plunger's bottom, {whose(limits.bottom)}",
        ]
    elif whose(limits.most) != who[0]:
        who = [f"the least {who[0]}", f"the most {whose(limits.most)}"]
    return [
        Words(f"gives the wanted preload of {length(float(lifter.preload), job.units)}", 1),
        Words(f"limits {first} ({second}): {'; '.join(who)}", 2),
        *([] if order.room is None else [Words(room_words(order.room, job.units), 2)]),
    ]


def _behind(job: JobFile, order: Order) -> list[str]:
    told: list[str] = []
    needed = order.required
    assert needed is not None
    bare = () if order.budget is None else order.budget.undoubted
    if order.room is not None:
        bare = tuple(dict.fromkeys((*bare, *order.room.budget.undoubted)))
    if bare:
        shown = [one.removeprefix(f"{order.train.name}.") for one in bare]
        more = f" and {len(shown) - 6} more" if len(shown) > 6 else ""
        stated = (
            f"; the stated ones alone make +/- {length(doubt_of(order), job.units)}"
            if doubt_of(order)
            else ""
        )
        told.append(f"no +/- entered for {', '.join(shown[:6])}{more}{stated}")
    if order.is_estimate:
        told.append("a pushrod measured at zero lash on a mock-up would turn this into a length to order")
    if needed.coordinates_differ is not None and not math.isnan(needed.coordinates_differ):
        differ = float(needed.coordinates_differ)
        way = "longer" if differ >= 0 else "shorter"
        told.append(
            f"the coordinates would say {length(abs(differ), job.units)} {way}; the measurement stands"
        )
    if order.obstacles:
        told.append(f"its coordinates cannot be assembled: {'; '.join(order.obstacles)}")
    return told


def _needs(order: Order, under: int = 1, form: Form = Form.ITEM) -> list[Words]:
    return [
        Words(f"{NEEDS[route]}: {', '.join(meant(one, order.train.name) for one in lacks)}", under, form)
        for route, lacks in order.missing.items()
    ]
