"""What the entries of a lobe mean together: where it comes from, and numbers of a card that cannot all be.

    table of readings    angle, units, zero, measured_at, centreline
    timing card          measured_at with ratio and lash; centreline, unless its events say where it stands
    motion law           centreline

Plain arithmetic, but for one question: whether one lobe has all of a card's numbers is found by working it
out, in `card`; `geometry.cam.card` puts into words what contradicts in a card.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

from tallstack.geometry.cam.cam import ANGLE_OF
from tallstack.geometry.core.mapping import Flat, names

from ..contents import Entries
from ..faults import Fault, Where
from .blame import Teller
from .follower import of_followers
from .one_lobe import OneLobe

WAYS = ("table", "card", "law")
ANY_OF_THEM = (  # one of these left blank: its lobe is still to be filled in
    *WAYS,
    *(f"card.{entry}" for entry in ("peak", "duration.at", "duration.degrees", "seat.at", "seat.degrees")),
    *(f"card.events.{entry}" for entry in ("at", "opens", "closes")),
    "card.top_centre",
    *(f"law.{entry}" for entry in ("name", "peak", "degrees")),
)
OF_TABLE = ("angle", "units", "zero")
LEAST_MM, MOST_MM = 1.0, 25.0  # of a peak lift, at lifter or valve
MOST_DEG = 360.0  # of crank, above a check lift
SAME_DEG = 0.5  # to which a card's durations are printed
MOST_PLACES = 2
MOST_BLED_MM = 0.05  # of slack after reading: more of it is most of a ramp
MOST_APART_DEG = 10.0  # of a centreline and the middle of a card's events
LENGTH = r"(\d[\d.]*(?:e[+-]?\d+)?) mm"


class Row(NamedTuple):
    """One duration of a card."""

    lift: float  # mm
    degrees: float  # of crank
    lift_path: str
    path: str  # of what makes the duration


def of_lobes(
    entries: Entries, mapping: Flat, where: Where, is_open: Callable[[str], bool]
) -> Iterator[Fault]:
    """Yield contradictions within each lobe."""
    teller = Teller(entries, where)
    for name in dict.fromkeys(path.split(".")[1] for path in entries if path.startswith("lobe.")):
        lobe = OneLobe(name, entries, teller, is_open)
        ways = [way for way in WAYS if lobe.has(way)]
        yield from _of_ways(lobe, ways)
        if len(ways) != 1:
            continue
        yield from _of_settings(lobe, ways[0], mapping)
        yield from of_followers(lobe, ways[0], mapping)
        if ways[0] == "card":
            yield from _of_card(lobe, mapping)
        elif ways[0] == "law":
            yield from _of_law(lobe)
        yield from _of_centreline(lobe, ports_of(name, mapping))


def ports_of(lobe: str, mapping: Flat) -> tuple[str, ...]:
    """Return which ports a lobe works for: those of its valve gears, or else the one it is named after."""
    trains = names(mapping, "trains")
    ports = [one.rpartition(".")[2] for one in trains]
    used = {port for one, port in zip(trains, ports, strict=True) if mapping.get(f"{one}.lobe", port) == lobe}
    return tuple(sorted(used)) or tuple(one for one in ("intake", "exhaust") if one == lobe)


def _of_ways(lobe: OneLobe, ways: list[str]) -> Iterator[Fault]:
    """Yield that a lobe comes from several sources, or from none."""
    if len(ways) > 1:
        yield from lobe.fault(
            f"{' and '.join(ways)} are both given", "a lobe comes from one of them", *reversed(ways)
        )
    if not ways and not any(lobe.is_open(f"{lobe.path}.{entry}") for entry in ANY_OF_THEM):
        loc, words = lobe.teller.where(lobe.path)
        first = next(entry for path, entry in lobe.entries.items() if path.startswith(f"{lobe.path}."))
        outside = first.origin if first.origin.startswith("--") else ""
        message = 'no lobe is described; add table = "FILE.csv", card = { ... } or law = { ... }'
        yield Fault(loc[:2], ".".join(words.split(".")[:2]), message, outside=outside)


def _of_settings(lobe: OneLobe, way: str, mapping: Flat) -> Iterator[Fault]:
    """Yield settings that a lobe of that source does not have, or that exclude each other."""
    if way != "table":
        for entry in OF_TABLE:
            if lobe.word(entry):
                yield from lobe.fault(
                    f"says how a table was read, and this lobe has a {way}", "leave it out", entry
                )
    elif lobe.word("zero") == "top centre" and lobe.number("centreline") is not None:
        found = "a table whose 0 is overlap top centre says itself where the lobe stands"
        remedy = 'leave centreline out, or say zero = "peak"'
        yield from lobe.fault(found, remedy, "centreline", "zero")
    at_valve = lobe.word("measured_at") == "valve"
    if lobe.number("lash_read") is not None and not (at_valve and way == "table"):
        found = "lash_read belongs to a table that was read at the valve"
        if way == "card" and at_valve:
            yield from lobe.fault(found, "a card says its lash as card.lash", "lash_read")
        elif way == "table":
            yield from lobe.fault(found, 'say measured_at = "valve", or leave it out', "lash_read")
        else:
            yield from lobe.fault(found, "leave it out", "lash_read")
    yield from _of_bleeding(lobe, at_valve and way == "table")
    yield from _of_dialled(lobe, mapping, at_valve and way == "table")
    if at_valve and way == "law":
        yield from lobe.fault(
            "a motion law is the lifter's own, not the valve's", "leave it out", "measured_at"
        )
    if way != "card":
        return
    if at_valve and lobe.number("card.ratio") is None:
        message = "missing; lifts at the valve come from the lobe by the rocker ratio they were stated for: write for example ratio = 1.6"
        yield from lobe.lacking("card", "ratio", message, "measured_at")
    for entry in ("ratio", "lash"):
        if not at_valve and lobe.number(f"card.{entry}") is not None:
            found = f"{entry} belongs to lifts at the valve, and these are taken at the lifter"
            remedy = f'say measured_at = "valve" in [{lobe.path}], or leave it out'
            paths = (f"card.{entry}", "measured_at") if lobe.word("measured_at") else (f"card.{entry}",)
            yield from lobe.fault(found, remedy, *paths)


def _of_bleeding(lobe: OneLobe, at_valve: bool) -> Iterator[Fault]:
    """Yield that a lifter bled where it cannot have, or too much."""
    bled, lash = lobe.number("bled"), lobe.number("lash_read")
    if bled is None:
        return
    if not at_valve:
        found = "bled belongs to a table that was read at the valve"
        yield from lobe.fault(found, 'say measured_at = "valve", or leave it out', "bled")
    elif lash:
        found = "bled and lash_read are both given, and a lifter with lash is solid"
        yield from lobe.fault(found, "leave out the one that was not so", "bled", "lash_read")
    elif bled > MOST_BLED_MM:
        found = f"the lifter bled by {lobe.length(bled)} while its lobe was read"
        yield from lobe.fault(found, "read it again with a solid checking lifter", "bled")


def _of_dialled(lobe: OneLobe, mapping: Flat, at_valve: bool) -> Iterator[Fault]:
    """Yield places where lifter and valve were dialled that tell nothing, or lack one of the two."""
    tables = dict.fromkeys(
        path.rpartition(".")[0].removeprefix(f"{lobe.path}.")
        for path in lobe.entries
        if path.startswith(f"{lobe.path}.dialled.")
    )
    if not tables:
        return
    known = [
        f"{one}.{part}" for one in tables for part in ("lifter", "valve") if lobe.number(f"{one}.{part}")
    ]
    if not at_valve:
        found = "dialled belongs to a table that was read at the valve"
        yield from lobe.fault(found, 'say measured_at = "valve", or leave it out', *known[:1])
        return
    lacking = [
        (one, part) for one in tables for part in ("lifter", "valve") if lobe.number(f"{one}.{part}") is None
    ]
    for one, part in lacking:
        yield from lobe.lacking(one, part, MISSING_DIALLED[part])
    if lacking:
        return
    if len(tables) > MOST_PLACES:
        yield from lobe.fault(
            "more than two places were dialled, and more tell no better",
            "keep one at half lift and one at full",
            f"{list(tables)[-1]}.lifter",
        )
        return
    from tallstack.geometry.core.errors import GeometryError
    from tallstack.geometry.core.mapping import Reader
    from tallstack.geometry.gear.at_valve import by_places, dialled

    try:
        by_places(
            dialled(Reader(mapping, ("",)), lobe.path.partition(".")[2]), lobe.number("lash_read") or 0.0
        )
    except GeometryError as error:
        said, _, remedy = str(error).partition("; ")
        yield from lobe.fault(said, remedy, *known)


MISSING_DIALLED = {
    "lifter": "missing; both are dialled at once: write the lifter's lift where the valve's was read",
    "valve": "missing; both are dialled at once: write the valve's lift where the lifter's was read",
}


def _of_law(lobe: OneLobe) -> Iterator[Fault]:
    yield from _of_peak(lobe, "law.peak")
    if not lobe.word("law.name"):
        message = 'missing; say name = "cycloidal", "3-4-5", "4-5-6-7" or "modified-sine"'
        yield from lobe.lacking("law", "name", message)


def _of_peak(lobe: OneLobe, entry: str) -> Iterator[Fault]:
    peak = lobe.number(entry)
    if peak is not None and not LEAST_MM <= peak <= MOST_MM:
        bound = f"more than any lobe or valve lifts, {lobe.length(MOST_MM)}"
        if peak < LEAST_MM:
            bound = f"less than any lobe lifts, {lobe.length(LEAST_MM)}"
        yield from lobe.fault(f"a peak lift of {lobe.length(peak)} is {bound}", "look at its unit", entry)


def _of_card(lobe: OneLobe, mapping: Flat) -> Iterator[Fault]:
    peak = lobe.number("card.peak")
    told = [*_of_peak(lobe, "card.peak")]
    rows = []
    for found in _durations(lobe):
        if isinstance(found, Row):
            rows.append(found)
        else:
            told.append(found)
    rows.sort()
    told += _of_rows(lobe, peak, rows)
    yield from told
    if not told and peak is not None and rows:
        from .card import of_shape

        yield from of_shape(lobe.path, lobe.teller, lobe.length, mapping)


def _of_rows(lobe: OneLobe, peak: float | None, rows: list[Row]) -> Iterator[Fault]:
    """Yield durations that cannot be, or cannot be beside the peak lift or each other."""
    high = math.inf if peak is None else peak
    sound = []
    for one in rows:
        if 0 < one.lift < high and 0 < one.degrees <= MOST_DEG:
            sound.append(one)
        elif one.lift >= high:
            yield from lobe.teller.fault(*_said(lobe, peak, one), one.lift_path, f"{lobe.path}.card.peak")
        else:
            yield from lobe.teller.fault(*_said(lobe, peak, one), one.path)
    for low, up in zip(sound, sound[1:], strict=False):
        same = low.lift == up.lift
        if (same and abs(low.degrees - up.degrees) > SAME_DEG) or (not same and up.degrees >= low.degrees):
            first, second = (low, up) if "events" in low.path else (up, low)
            yield from lobe.teller.fault(*_said(lobe, peak, low, up), first.path, second.path)


def _durations(lobe: OneLobe) -> Iterator[Row | Fault]:
    """Yield every duration that a card states, and what one of them lacks."""
    tables = dict.fromkeys(
        ".".join(path.split(".")[2:-1]) for path in lobe.entries if path.startswith(f"{lobe.path}.card.")
    )
    for table in tables:
        if table == "card":
            continue
        kind = table.split(".")[1]
        parts = PARTS.get(kind, ("at", "degrees"))
        found = [lobe.number(f"{table}.{part}") for part in parts]
        known = [one for one in found if one is not None]
        for part, value in zip(parts, found, strict=True):
            if value is None:
                yield from lobe.lacking(table, part, MISSING[part])
        if len(known) == len(parts) and kind not in AT_ANGLE:
            degrees = known[1] if len(known) == 2 else 180 + known[1] + known[2]
            at = f"{lobe.path}.{table}"
            yield Row(known[0], degrees, f"{at}.at", f"{at}.{parts[-1]}")


AT_ANGLE = {kind: ("at", angle) for kind, angle in ANGLE_OF.items()}  # tables of one flank alone
PARTS = {"events": ("at", "opens", "closes"), **AT_ANGLE}
MISSING = {
    "angle": "missing; write the crank degrees after overlap top centre at which it was read, for example angle = 10",
    "at": 'missing; a duration says nothing without the lift it was taken at: write for example at = "0.050 in"',
    "degrees": "missing; write the crank degrees the lobe is open above this lift, for example degrees = 246",
    "opens": "missing beside closes; write where it opens, for example opens = 22",
    "closes": "missing beside opens; write where it closes, for example closes = 62",
}


def _said(lobe: OneLobe, peak: float | None, *rows: Row) -> tuple[str, str]:
    """Return in words what contradicts among durations and a peak lift, and what to do; lengths in both units."""
    from tallstack.geometry.cam.card import Card, Stated, impossible

    stated = tuple(Stated(one.lift, math.radians(one.degrees)) for one in rows)
    high = max(one.lift for one in rows) * 2 if peak is None else peak
    said = str(impossible(Card(high, stated)) or "")
    found, _, remedy = re.sub(LENGTH, lambda one: lobe.length(float(one[1])), said).partition("; ")
    return found, remedy or "keep the right one"


def _of_centreline(lobe: OneLobe, ports: tuple[str, ...]) -> Iterator[Fault]:
    centreline = lobe.number("centreline")
    if centreline is None:
        return
    if not 0 < centreline < 180:
        counts = "before it at the exhaust, after it at the intake"
        if len(ports) == 1:
            counts = "before it" if ports[0] == "exhaust" else "after it"
        remedy = "it lies between 0 and 180"
        if -180 < centreline < 0:
            remedy = f"it has no sign: write {-centreline:g}"
        elif 180 <= centreline < 260:
            remedy += f"; were the degrees counted twice, write {centreline / 2:g}"
        found = f"{centreline:.6g} deg: a centreline counts crank degrees from overlap top centre, {counts}"
        yield from lobe.fault(found, remedy, "centreline")
        return
    middle = middle_of_events(lobe.number("card.events.opens"), lobe.number("card.events.closes"), ports)
    if middle is not None and abs(middle - centreline) > MOST_APART_DEG:
        found = f"a centreline of {centreline:.6g} deg against {middle:.6g} deg halfway between opening and closing"
        remedy = "keep the one you trust and leave the other out"
        yield from lobe.fault(found, remedy, "centreline", "card.events.opens", "card.events.closes")


def middle_of_events(opens: float | None, closes: float | None, ports: tuple[str, ...]) -> float | None:
    """Return where the middle of a card's events stands from overlap top centre [deg], for one port."""
    if opens is None or closes is None or len(ports) != 1:
        return None
    return 90 + (closes - opens) / 2 * (1 if ports[0] == "intake" else -1)
