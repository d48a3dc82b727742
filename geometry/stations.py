"""Where the crank has to stand while a cylinder's pushrods are set, and how far to turn to the next.

Read from the job's lobes (law, card or readings), the cylinders' leans, crank pins, the way the
engine turns and what was said of the firing order.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from tallstack.geometry import events
from tallstack.geometry.alternatives import ratio
from tallstack.geometry.firing import CYCLE, Place, place, top_centre
from tallstack.geometry.frames import array
from tallstack.geometry.heels import HeelWindow, Opening, heel_window, set_on_the_flank
from tallstack.geometry.mapping import Flat, Reader, names

CHECK_MM = 0.05  # a lobe at rest lifts by no more than this: 0.002 in


class Station(NamedTuple):
    """One cylinder's setting position; angles in rad from its top centre at the end of compression."""

    cylinder: str
    place: Place
    check: float | None  # mm, the lifter's lift below which a lobe is taken as resting
    heel: HeelWindow | None
    flank: tuple[float, float] | None  # the other way: where to set the intake, where the exhaust
    to_next: float | None  # rad of crank to the next cylinder's compression top centre
    next_cylinder: str | None
    lacks: tuple[str, ...]  # entries without which the window is not known


def stations(mapping: Flat, readings: Mapping[str, events.Readings]) -> tuple[Station, ...]:
    """Return the setting position of every cylinder, in the order in which they fire where known.

    mapping  : one engine, see `mapping`
    readings : lobe → its table, where it has one
    """
    cylinders = names(mapping, "cylinders")
    places = [_place(mapping, name, cylinders[0]) for name in cylinders]
    known = all(one.fires_at is not None for one in places)
    order = sorted(places, key=lambda one: one.fires_at or 0.0) if known else places
    result = []
    for index, one in enumerate(order):
        after = order[(index + 1) % len(order)]
        check, heel, flank, lacks = _window(mapping, one.cylinder, readings)
        result.append(
            Station(
                cylinder=one.cylinder,
                place=one,
                check=check,
                heel=heel,
                flank=flank,
                to_next=_turn(one, after) if known and len(order) > 1 else None,
                next_cylinder=after.cylinder if known and len(order) > 1 else None,
                lacks=lacks,
            )
        )
    return tuple(result)


def _turn(one: Place, after: Place) -> float | None:
    if one.fires_at is None or after.fires_at is None:
        return None
    return (after.fires_at - one.fires_at) % CYCLE or CYCLE


def _place(mapping: Flat, name: str, first: str) -> Place:
    own, head = Reader(mapping, (f"{name}.",)), Reader(mapping, (f"{first}.",))
    forward = Reader(mapping, ("",)).word("crank.turns", "forward") == "forward"
    fires = own.find("fires_at")
    leans = [reader.find("lean") for reader in (own, head)]
    pin = own.find("pin")
    at_top = 0.0
    if leans[0] is not None and leans[1] is not None:
        at_top = float(top_centre(leans[0], leans[1], array(0.0) if pin is None else pin, forward))
    return place(name, at_top, None if fires is None else float(fires), name == first)


Window = tuple[float | None, HeelWindow | None, tuple[float, float] | None, tuple[str, ...]]


def _window(mapping: Flat, cylinder: str, readings: Mapping[str, events.Readings]) -> Window:
    found: dict[str, Opening] = {}
    checks: list[float] = []
    lacks: list[str] = []
    for port in ("intake", "exhaust"):
        name = f"{cylinder}.{port}"
        train = Reader(mapping, (f"{name}.",))
        lobe = train.word("lobe", port)
        opening, check, missing = _opening(Reader(mapping, ("",)), lobe, port, train, readings)
        lacks += missing
        if opening is not None and check is not None:
            found[port] = opening
            checks.append(check)
    if len(found) < 2:
        return None, None, None, tuple(dict.fromkeys(lacks))
    pair = found["intake"], found["exhaust"]
    return max(checks), heel_window(*pair), set_on_the_flank(*pair), ()


def _opening(
    job: Reader, lobe: str, port: str, train: Reader, readings: Mapping[str, events.Readings]
) -> tuple[Opening | None, float | None, tuple[str, ...]]:
    """Return a lobe's opening, the check lift it counts at, and what it lacks."""
    advance_entry, centreline = job.find("cam.advance"), job.find(f"lobe.{lobe}.centreline")
    advance = 0.0 if advance_entry is None else float(advance_entry)
    if job.has(f"lobe.{lobe}.card.events.at") and job.find(f"lobe.{lobe}.card.events.opens") is not None:
        at, opens, closes = (
            float(job.number(f"lobe.{lobe}.card.events.{part}")) for part in ("at", "opens", "closes")
        )
        return events.event_opening(port, opens, closes, advance), at, ()
    from_top = lobe in readings and job.word(f"lobe.{lobe}.zero") == "top centre"
    if centreline is None and not from_top:
        return None, None, (f"lobe.{lobe}.centreline",)
    middle = None if centreline is None else events.middle_of(port, float(centreline))
    if lobe in readings:
        gain = _gain(job, lobe, train)
        if gain is None:
            return None, None, (f"{train.prefixes[0]}rocker.ratio",)
        opening = events.read_opening(
            readings[lobe],
            CHECK_MM * gain,
            None if from_top else middle,
            advance,
            events.CENTRE_LIFT_MM * gain,
        )
        if opening is None:
            return None, None, (f"lobe.{lobe}.table",)
        return opening, CHECK_MM + _lash_at_lifter(job, lobe, train, gain), ()
    flanks, check = _flanks(job, lobe)
    if flanks is None or middle is None:
        return None, None, (f"lobe.{lobe}",)
    at = middle(advance)
    return Opening(at - flanks.before, at + flanks.after), check, ()


def _flanks(job: Reader, lobe: str) -> tuple[events.Flanks | None, float]:
    """Return the flanks of a law at the usual check lift, or of a card at the lowest lift it states."""
    law = job.word(f"lobe.{lobe}.law.name")
    peak, degrees = job.find(f"lobe.{lobe}.law.peak"), job.find(f"lobe.{lobe}.law.degrees")
    if law and peak is not None and degrees is not None:
        return events.law_flanks(law, float(peak), float(degrees), CHECK_MM), CHECK_MM
    known: list[tuple[float, events.Flanks]] = []
    stated = [f"card.duration{part}" for part in ("", *(f".{index}" for index in range(9)))]
    for path in (*stated, "card.seat"):
        at, open_for = job.find(f"lobe.{lobe}.{path}.at"), job.find(f"lobe.{lobe}.{path}.degrees")
        if at is not None and open_for is not None:
            half = float(open_for) / 2
            known.append((float(at), events.Flanks(half, half)))
    if not known:
        return None, CHECK_MM
    lowest = min(at for at, _ in known)
    return events.card_flanks(known, lowest), lowest


def _gain(job: Reader, lobe: str, train: Reader) -> float | None:
    """Return what a lifter's lift is multiplied by to compare it with readings; None without a ratio."""
    if job.word(f"lobe.{lobe}.measured_at") != "valve":
        return 1.0
    found = ratio(train)
    return None if found is None else float(found)


def _lash_at_lifter(job: Reader, lobe: str, train: Reader, gain: float) -> float:
    """Return how far a solid lifter has risen when a lobe read at the valve first shows [mm]."""
    lash = train.find("lifter.lash")
    if job.word(f"lobe.{lobe}.measured_at") != "valve" or lash is None:
        return 0.0
    return float(lash) / (1.0 if train.word("lifter.lash_at", "valve") == "pushrod" else gain)
