"""What a valve gear does at full lift, worked out anew of every engine it is asked for.

The lobe keeps its shape; how high it is follows the entries that say so, so that a card's peak, the rocker's ratio
and whatever else moves the lift move each figure that rests on it:

    lobe's lift   a card's or a law's peak; of readings their highest, and what they scatter by beside it
    valve's lift  that through the gear, see `valve_lift`
    pumped up     the plunger at its top stop; it then rises by what it really stood below it: the preload wanted, less
                  what the pushrod that was ordered is too short by

Pumped up, springs and seals are held against contact, as clearances are.
"""

from __future__ import annotations

from typing import NamedTuple

from ..cam.cam import CARD, LAW, CamLobe
from ..clearance.valve_lift import ValveLift, apart, valve_lift
from ..core.errors import GeometryError
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..engine.engine import Train, train_of
from ..gear.at_valve import behind
from ..pushrod.pushrods import required


class Known(NamedTuple):
    """What is known of a valve gear before anything is varied."""

    lobe: CamLobe | None  # None where the valve's lift is not known
    lifter: Train  # as it is ordered for
    convention: (
        str  # in which its pushrod is known; empty where none was measured, and its length proves nothing
    )
    length: float  # mm, of that pushrod


class FullLift(NamedTuple):
    """What a valve gear does with its lobe; each broadcasts like the engine, None where it is not known."""

    lobe_lift: Array | None = None  # mm, at the lifter
    valve_lift: Array | None = None  # mm
    ratio_at_seat: Array | None = None
    ratio_at_peak: Array | None = None
    pumped: Array | None = None  # mm, the valve's lift with its lifter pumped up
    no_pumped: tuple[str, ...] = ()  # entries that it lacks
    pumps: bool = True  # False: a solid lifter
    pumped_lacks: tuple[str, ...] = ()  # entries without which nobody knows what heat adds to that lift


def known(train: Train, lobe: CamLobe | None) -> Known:
    """Return what is known of a valve gear, and of its lobe where there is one and it moves the valve."""
    lift = None if lobe is None else valve_lift(train, lobe)
    moves = isinstance(lift, ValveLift) and not apart(lift)
    convention, length = "", 0.0
    if train.measured is not None:
        try:
            convention, there = next(iter(required(train).lengths.items()), ("", array(0.0)))
            length = float(there)
        except GeometryError:
            convention = ""
    return Known(lobe if moves else None, train, convention, length)


def noise_of(lobe: CamLobe) -> str:
    """Return the entry for what a lobe's readings are off by at their highest [mm], 0 where it is not there."""
    return f"lobe.{lobe.name}.noise"


def unsaid_lash(gear: Known) -> str:
    """Return the entry of the lash that a solid lifter's lifts were read with at the valve, where nobody said it; else nothing."""
    lobe = gear.lobe
    open_ = lobe is not None and lobe.lash is None and gear.lifter.lifter.kind != "hydraulic"
    return lobe.lash_entry if lobe is not None and open_ else ""


def peak_of(mapping: Flat, lobe: CamLobe) -> Array:
    """Return how high a lobe is [mm], at the lifter, or at the valve where it was read there."""
    reader = Reader(mapping, (f"lobe.{lobe.name}.",))
    entered = {CARD: reader.find("card.peak"), LAW: reader.find("law.peak")}.get(lobe.source)
    if entered is None:
        off = reader.find("noise")
        return array(lobe.peak[1]) if off is None else lobe.peak[1] + off
    ratio, lash = reader.find("card.ratio"), reader.find("card.lash")
    if lobe.source == LAW or reader.word("measured_at") != "valve" or ratio is None:
        return entered
    return (entered + (array(0.0) if lash is None else lash)) / ratio


def full_lift(mapping: Flat, gear: Known) -> FullLift:
    """Return what a valve gear does at full lift in an engine, or in a batch of them."""
    if gear.lobe is None:
        return FullLift()
    train, lobe, job = train_of(mapping, gear.lifter.name), gear.lobe, Reader(mapping, ("",))
    peak, lash = peak_of(mapping, lobe), job.find(lobe.lash_entry) if lobe.lash_entry else None
    if lash is not None:  # the lash that it was read with moves the valve's lift too
        lobe = lobe._replace(lash=lash)  # type: ignore[arg-type]
    lift = valve_lift(train, lobe)
    if not isinstance(lift, ValveLift):
        return FullLift()
    pumps = train.lifter.kind != "solid"
    pumped = _pumped(train, gear._replace(lobe=lobe), peak) if pumps and not lift.no_pumped else None
    return FullLift(
        lobe_lift=_of_lobe(mapping, gear.lobe, peak),
        valve_lift=lift.at_lobe(peak),
        ratio_at_seat=lift.ratio_at_seat,
        ratio_at_peak=lift.ratio(peak),
        pumped=pumped,
        no_pumped=lift.no_pumped if pumps else (),
        pumps=pumps,
        pumped_lacks=train.lifter.pumped_lacks,
    )


def full_lift_of(mapping: Flat, gear: Known | None) -> tuple[FullLift]:
    """Return what a valve gear does at full lift, for a function that takes it; nothing where it is not known."""
    return (FullLift() if gear is None else full_lift(mapping, gear),)


def lobe_lift_of(mapping: Flat, gear: Known | None) -> tuple[Array | None]:
    """Return the lobe's lift alone, for a function that takes it."""
    return (full_lift_of(mapping, gear)[0].lobe_lift,)


def valve_lift_of(mapping: Flat, gear: Known | None) -> tuple[Array | None]:
    """Return the valve's lift alone, for a function that takes it."""
    return (full_lift_of(mapping, gear)[0].valve_lift,)


def lift_and_ratios(mapping: Flat, gear: Known | None) -> tuple[Array | None, Array | None, Array | None]:
    """Return the valve's lift, and the ratios at full lift and off the seat, for a function that takes them."""
    there = full_lift_of(mapping, gear)[0]
    return there.valve_lift, there.ratio_at_peak, there.ratio_at_seat


def lobe_of(_: Flat, gear: Known | None) -> tuple[CamLobe | None]:
    """Return the lobe, for a function that takes it."""
    return (None if gear is None else gear.lobe,)


def _of_lobe(mapping: Flat, lobe: CamLobe, peak: Array) -> Array | None:
    """Return how high a lobe is [mm], or None where it was read at the valve and nothing leads back to it."""
    if not lobe.at_valve:
        return peak
    if lobe.gear is None:
        return None
    found = behind(Reader(mapping, ("",)), lobe.name, lobe.lash is None)
    return None if found is None else found.lobe(peak)


def stands_of(mapping: Flat, gear: Known | None) -> tuple[Array | None]:
    """Return the preload that a pushrod as it was ordered gives in an engine, for a function that takes it [mm].

    None where nothing is known of the valve gear, or no pushrod was measured: its length then proves nothing.
    """
    return (None if gear is None else _stands(train_of(mapping, gear.lifter.name), gear),)


def _stands(train: Train, gear: Known) -> Array | None:
    wanted, preload = gear.lifter.lifter.preload, train.lifter.preload
    if not gear.convention or wanted is None or preload is None:
        return None
    ordered = required(train._replace(lifter=train.lifter._replace(preload=wanted)))
    found: Array = preload - (ordered.lengths[gear.convention] - gear.length)
    return found


def _pumped(train: Train, gear: Known, peak: Array) -> Array:
    """Return the valve's lift with the plunger at its top stop [mm]."""
    stands = _stands(train, gear)
    if stands is not None:
        train = train._replace(lifter=train.lifter._replace(preload=stands))
    assert gear.lobe is not None
    lift = valve_lift(train, gear.lobe)
    assert isinstance(lift, ValveLift)
    return lift.risen().at_lobe(peak)
