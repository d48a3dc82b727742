"""Where the crank has to stand while a cylinder's pushrods are set, and how far to turn to the next.

Read from the job's lobes (law, card or readings), the cylinders' leans, crank pins, the way the
engine turns and what was said of the firing order.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..core.errors import GeometryError
from ..core.frames import array
from ..core.mapping import Flat, Reader
from ..crank.events import event_opening
from ..crank.firing import Place, places
from ..crank.heels import CYCLE, TURN, HeelWindow, Opening, heel_window, set_on_the_flank
from ..engine.alternatives import ratio
from ..gear.at_valve import behind

if TYPE_CHECKING:
    from ..cam.lobe import Lobe
    from ..cam.read import Riding
    from ..cam.readings import Readings

RESTING_MM = 0.26  # 0.010 in: the highest check lift at which a lobe is taken as its heel
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


def stations(mapping: Flat, readings: Mapping[str, Readings]) -> tuple[Station, ...]:
    """Return the setting position of every cylinder, in the order in which they fire where known.

    mapping  : one engine, see `mapping`
    readings : lobe → its table, where it has one
    """
    fitted: Fitted = {}
    found = places(mapping)
    known = all(one.fires_at is not None for one in found)
    order = sorted(found, key=lambda one: one.fires_at or 0.0) if known else list(found)
    result = []
    for index, one in enumerate(order):
        after = order[(index + 1) % len(order)]
        check, heel, flank, lacks = _window(mapping, one.cylinder, readings, fitted)
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


Fitted = dict[  # lobe, gain and followers → what its readings say, worked out once
    "tuple[str, float, Riding | None]", "Lobe | None"
]
Window = tuple[float | None, HeelWindow | None, tuple[float, float] | None, tuple[str, ...]]


def _window(mapping: Flat, cylinder: str, readings: Mapping[str, Readings], fitted: Fitted) -> Window:
    found: dict[str, Opening] = {}
    checks: list[float] = []
    lacks: list[str] = []
    lobes: list[str] = []
    for port in ("intake", "exhaust"):
        train = Reader(mapping, (f"{cylinder}.{port}.",))
        lobe = train.word("lobe", port)
        lobes.append(lobe)
        opening, check, missing = _opening(Reader(mapping, ("",)), lobe, port, train, readings, fitted)
        lacks += missing
        if opening is not None and check is not None:
            found[port] = opening
            checks.append(check)
    if len(found) < 2:
        return None, None, None, tuple(dict.fromkeys(lacks))
    if max(checks) > RESTING_MM:  # a lifter this far up its lobe does not rest
        return None, None, None, tuple(f"a check lift below 0.26 mm on lobe.{lobe}" for lobe in lobes)
    pair = found["intake"], found["exhaust"]
    return max(checks), heel_window(*pair), set_on_the_flank(*pair), ()


def _opening(
    job: Reader, lobe: str, port: str, train: Reader, readings: Mapping[str, Readings], fitted: Fitted
) -> tuple[Opening | None, float | None, tuple[str, ...]]:
    """Return a lobe's opening, the check lift it counts at, and what it lacks."""
    advance_entry, centreline = job.find("cam.advance"), job.find(f"lobe.{lobe}.centreline")
    advance = 0.0 if advance_entry is None else float(advance_entry)
    if job.has(f"lobe.{lobe}.card.events.at") and job.find(f"lobe.{lobe}.card.events.opens") is not None:
        at, opens, closes = (
            float(job.number(f"lobe.{lobe}.card.events.{part}")) for part in ("at", "opens", "closes")
        )
        found = event_opening(port, opens, closes, advance)
        middle = (found.opens + found.closes) / 2
        return _lowest(job, lobe, train, middle, [(at, found.closes - found.opens)])
    from_top = lobe in readings and job.word(f"lobe.{lobe}.zero") == "top centre"
    if centreline is None and not from_top:
        return None, None, (f"lobe.{lobe}.centreline",)
    middle = 0.0 if centreline is None else float(centreline)
    if lobe in readings:
        from ..cam.read import Riding, riding

        gain = _gain(job, lobe, train)
        if gain is None:
            return None, None, (f"{train.prefixes[0]}rocker.ratio",)
        followers = riding(job, train.prefixes[0].rstrip("."), lobe) if gain == 1.0 else None
        if followers is not None and not isinstance(followers, Riding):
            return None, None, followers
        key = lobe, gain, followers
        if key not in fitted:
            fitted[key] = _fitted(readings[lobe], gain, followers, job.mapping)
        opening = None if fitted[key] is None else _read_opening(fitted[key], port, middle, from_top, advance)
        if opening is None:
            return None, None, (f"lobe.{lobe}.table",)
        lash = _lash_at_lifter(job, lobe, train, gain)
        return (
            (opening, None, (f"lobe.{lobe}.lash_read",)) if lash is None else (opening, CHECK_MM + lash, ())
        )
    return _known_opening(job, lobe, port, train, middle, advance)


def _fitted(readings: Readings, gain: float, followers: Riding | None, mapping: Flat) -> Lobe | None:
    """Return the lobe behind readings of the valve's lift or the lifter's, or None where there is none."""
    from ..cam.fit import fit_once
    from ..cam.read import lobe_as_run

    try:
        return lobe_as_run(fit_once(readings, mapping, gain), followers, mapping)[0]
    except GeometryError:
        return None


def _read_opening(
    lobe: Lobe | None, port: str, centreline: float, from_top: bool, advance: float
) -> Opening | None:
    """Return the opening of a lobe known by readings, whose angles count from its peak or from top centre."""
    from ..cam.lobe import placed

    if lobe is None:
        return None
    if not from_top:
        return placed(lobe, port, centreline, advance).opening(CHECK_MM)
    found = lobe.crossings(array(CHECK_MM))
    middle = float(found.middle)
    shift = -TURN * round(middle / TURN)
    opens, closes = (2 * (float(one) + shift) - advance for one in found)
    return None if np.isnan(middle) else Opening(opens, closes)


def _known_opening(
    job: Reader, lobe: str, port: str, train: Reader, centreline: float, advance: float
) -> tuple[Opening | None, float | None, tuple[str, ...]]:
    """Return the opening of a law at the usual check lift, or of a card at the lowest lift it states."""
    at = (centreline if port == "intake" else -centreline) - advance
    law = job.word(f"lobe.{lobe}.law.name")
    peak, degrees = job.find(f"lobe.{lobe}.law.peak"), job.find(f"lobe.{lobe}.law.degrees")
    if law and peak is not None and degrees is not None:
        from ..cam.law import law_lobe
        from ..cam.lobe import placed

        # A law is symmetric, so its nose is its middle at every check lift, however low its peak.
        opening = placed(law_lobe(law, float(peak), float(degrees)), port, centreline, advance, CHECK_MM)
        found = opening.opening(CHECK_MM)
        return found, CHECK_MM, () if found else (f"lobe.{lobe}",)
    return _lowest(job, lobe, train, at, [])


def _lowest(
    job: Reader, lobe: str, train: Reader, middle: float, rows: list[tuple[float, float]]
) -> tuple[Opening | None, float | None, tuple[str, ...]]:
    """Return the opening of a card at the lowest lift that it states, and that lift, at the lifter.

    middle : crank rad from overlap top centre, of the lobe
    rows   : lift and crank rad between opening and closing, known already
    """
    stated = [f"card.duration{part}" for part in ("", *(f".{index}" for index in range(9)))]
    known = [
        (job.find(f"lobe.{lobe}.{path}.at"), job.find(f"lobe.{lobe}.{path}.degrees"))
        for path in (*stated, "card.seat")
    ]
    rows = [
        *rows,
        *(
            (float(lift), float(open_for))
            for lift, open_for in known
            if lift is not None and open_for is not None
        ),
    ]
    if not rows:
        return None, None, (f"lobe.{lobe}",)
    lift, open_for = min(rows)
    opening = Opening(middle - open_for / 2, middle + open_for / 2)
    if job.word(f"lobe.{lobe}.measured_at") != "valve":
        return opening, lift, ()
    ratio, lash = job.find(f"lobe.{lobe}.card.ratio"), _lash_read(job, f"lobe.{lobe}.card.lash", train)
    if ratio is None:
        return None, None, (f"lobe.{lobe}.card.ratio",)
    if lash is None:
        return opening, None, (f"lobe.{lobe}.card.lash",)
    return opening, (lift + lash) / float(ratio), ()


def _gain(job: Reader, lobe: str, train: Reader) -> float | None:
    """Return what a lifter's lift is multiplied by to compare it with readings; None without a ratio."""
    if job.word(f"lobe.{lobe}.measured_at") != "valve":
        return 1.0
    gear = behind(job, lobe, train.word("lifter.kind") == "hydraulic")
    if gear is not None:  # at the low lifts that count here
        return 1 / float(gear.alpha)
    found = ratio(train)
    return None if found is None else float(found)


def _lash_at_lifter(job: Reader, lobe: str, train: Reader, gain: float) -> float | None:
    """Return how far a lifter has risen when a lobe read at the valve first shows [mm]; None where nobody says."""
    if job.word(f"lobe.{lobe}.measured_at") != "valve":
        return 0.0
    read = _lash_read(job, f"lobe.{lobe}.lash_read", train)
    return None if read is None else read / gain


def _lash_read(job: Reader, entry: str, train: Reader) -> float | None:
    """Return the lash that lifts at the valve were read with [mm]; None where nobody says, and the lifter may have some."""
    read = job.find(entry)
    if read is None:
        return 0.0 if train.word("lifter.kind") == "hydraulic" else None
    return float(read)
