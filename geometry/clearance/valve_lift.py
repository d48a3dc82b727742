"""How far a valve stands open at each crank angle: its lobe through its valve gear.

Three routes, the first that the entries allow:

    readings at the valve   the curve is the valve's lift as it was read, more by the lash it was read with and less by
                            the lash it runs with; where nothing was seen the lobe may stand as high as that lash
    coordinates             lifter's lift → rocker's turn → valve, with the pushrod that the wanted setting asks for
    ratio                   the lifter's lift, less what lash takes up, times the rocker's ratio

A hydraulic lifter runs with its plunger down by the preload; pumped up, the plunger stands at its top stop
and the valve further open by what the preload was. A solid lifter first takes up its lash.

Source: `train` for the motion; its inverse from the cup's place, a ball on the lifter's axis a pushrod away.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..cam.cam import CamLobe, advanced, lifted
from ..cam.lobe import Placed
from ..core.frames import Array, array, norm
from ..engine.engine import Train
from ..gear.at_valve import SEEN_MM
from ..gear.train import Closed, Drawn, Motion, closed, cup_at, lift_at, motion, tip_sweep, turn_at_gap
from ..pushrod.assembly import comes_apart_at, obstacles
from ..pushrod.pushrods import by_coordinates, setting_lacks


class Linkage(NamedTuple):
    """A valve gear by coordinates with the pushrod that its wanted setting asks for."""

    drawn: Drawn
    pose: Closed
    length: Array  # mm, pushrod between ball centres
    down: Array  # mm, the running plunger below its top stop

    def motion(self, lift: Array, down: Array) -> Motion:
        """Return where the gear stands at the lifter's lifts, the plunger so far down."""
        return motion(self.drawn, self.pose, self.length, lift, down)

    def lifter_lift(self, lift: Array) -> Array:
        """Return the lifter's lift at which the valve is lifted by so much, (...) [mm]."""
        cosine, sine, _ = turn_at_gap(self.drawn, self.pose, -array(lift))
        span = cup_at(self.drawn, self.pose, cosine, sine) - self.drawn.seat
        along = np.vecdot(span, self.drawn.lift_axis)
        aside = norm(span - along[..., None] * self.drawn.lift_axis)
        with np.errstate(invalid="ignore"):
            found: Array = along - np.sqrt((self.length - aside) * (self.length + aside)) + self.down
        return found


class ValveLift(NamedTuple):
    """One valve's lift against the crank angle."""

    train: Train
    lobe: CamLobe
    linkage: Linkage | None  # where the route is by coordinates, or they can undo a valve's lift
    no_pumped: tuple[str, ...]  # what the pumped-up lift lacks; empty where it is known or there is none
    pumped: bool = False  # the plunger has risen, to its top stop or as far as that counts
    rise: float | None = None  # mm, by which it has risen then; None: as far as it counts
    scale: float = 1.0  # of the lobe's lift

    def at(self, crank: Array) -> Array:
        """Return the valve's lift at crank angles from overlap top centre, (...) [mm]."""
        return self.at_lobe(self.scale * lifted(self.lobe, crank))

    @property
    def pumps(self) -> bool:
        """Whether the lifter can pump up, and what that does is known."""
        return self.train.lifter.kind == "hydraulic" and not self.no_pumped

    def risen(self, rise: float | None = None) -> ValveLift:
        """Return the lift with the lifter pumped up; rise : mm, None as far as that counts."""
        return self._replace(pumped=True, rise=rise)

    @property
    def can_rise(self) -> Array:
        """How far the running plunger stands below its top stop, as deep as heat presses it [mm]."""
        gain = self.train.lifter.hot_gain
        return _down(self.train) if gain is None else _down(self.train) + gain

    @property
    def risen_by(self) -> Array:
        """How far the plunger rises pumped up [mm]: to its top stop, or as far as that counts."""
        whole, most = self.can_rise, self.train.lifter.pumped_rise if self.rise is None else self.rise
        return whole if most is None else np.minimum(whole, most)

    def lifter_for(self, lift: Array) -> Array:
        """Return the lifter's lift, from where the valve just stands on its seat, that lifts the valve so far, (...) [mm]."""
        if self.linkage is not None:
            return self.linkage.lifter_lift(lift)
        found: Array = array(lift) / _ratio(self.train)
        return found

    def advanced(self, further: float) -> ValveLift:
        """Return the lift with the cam turned earlier by so many crank rad."""
        return self._replace(lobe=advanced(self.lobe, further))

    def at_lobe(self, lift: Array) -> Array:
        """Return the valve's lift at the lobe's lifts, (...) [mm]."""
        if self.lobe.at_valve:
            lift = self._as_run(lift)
            if not self.pumped:
                return lift
            if self.linkage is None:
                return lift + self.risen_by * _ratio(self.train)
            lift = self.linkage.lifter_lift(lift)
        if self.linkage is not None:
            down = self.linkage.down - self.risen_by if self.pumped else self.linkage.down
            return lift_at(self.linkage.drawn, self.linkage.pose, self.linkage.length, lift, down)
        risen = lift + self.risen_by if self.pumped else lift - _lash_at_lifter(self.train)
        return np.maximum(risen, 0.0) * _ratio(self.train)

    def _as_run(self, read: Array) -> Array:
        """Return the valve's lift of today where another was read with another lash, (...) [mm].

        Source: lash takes as much off the whole of a lift. Between the lash then and now nothing was seen; it
        counts as open as soon as the readings rise by SEEN_MM.
        """
        read = read + self.lobe.bled / 2 * np.minimum(
            read / SEEN_MM, 1.0
        )  # from nothing to all of it came back
        if self.lobe.gives_back is not None:
            at_seat, per_lift = self.lobe.gives_back
            read = read + (at_seat + per_lift * read) * np.minimum(read / SEEN_MM, 1.0)
        if self.lobe.lash is None:
            return read
        more = self.lobe.lash - _lash_at_valve(self.train)
        return np.maximum(read + more * np.where(more > 0, np.minimum(read / SEEN_MM, 1.0), 1.0), 0.0)

    @property
    def lash_unknown(self) -> str:
        """The entry without which nobody knows with what lash a solid lifter's lifts were read; else nothing."""
        unknown = self.lobe.lash_entry and self.lobe.lash is None and self.train.lifter.kind != "hydraulic"
        return self.lobe.lash_entry if unknown else ""

    def ratio(self, lift: Array) -> Array | None:
        """Return how fast the valve moves with the lifter at the lobe's lifts, dh/ds, (...); None: not known."""
        if self.linkage is None:
            return self.train.ratio
        at = self.linkage.lifter_lift(lift) if self.lobe.at_valve else lift
        return self.linkage.motion(at, self.linkage.down).ratio

    @property
    def ratio_at_seat(self) -> Array | None:
        """The same where lash is just taken up."""
        link, seat = self.linkage, array(0.0)
        if link is not None and not self.lobe.at_valve:
            seat = np.maximum(link.lifter_lift(seat), 0.0)
        return self.ratio(seat)


class Shape(NamedTuple):
    """What the motion is like; None where the route does not tell it."""

    peak_lift: float  # mm
    peak_at: float  # crank rad from overlap top centre
    ratio_at_seat: float | None
    ratio_at_peak: float | None
    sweep: float | None  # mm across the stem tip
    contact: tuple[float, float] | None  # mm off the tip's centre, least and greatest, away from the shaft


def linkage_of(train: Train) -> Linkage | None:
    """Return a valve gear put together by its coordinates, with the pushrod that it needs; None where it is not known so."""
    if train.drawn is None or setting_lacks(train):
        return None
    pose = closed(train.drawn)
    length = by_coordinates(train, pose).lengths["centres"]
    return Linkage(train.drawn, pose, length, _down(train))


def valve_lift(
    train: Train, lobe: CamLobe, linked: Callable[[], Linkage | None] | None = None
) -> ValveLift | tuple[str, ...]:
    """Return a valve's lift, or the entries it lacks.

    linked : what returns its linkage, where that is kept; None: it is put together here
    """
    missing = _lacks(train, lobe)
    if missing:
        return missing
    linkage = linkage_of(train) if linked is None else linked()
    return ValveLift(train, lobe, linkage, _lacks_pumped(train, linkage))


def kept_closed(train: Train) -> ValveLift:
    """Return the lift of a valve that stays closed, whatever its cam: of a lobe without lift."""
    from ..cam.law import law_lobe

    flat = Placed(law_lobe("cycloidal", 0.0, float(np.pi)), train.port, 0.0, 0.0, 0.0)
    return ValveLift(train, CamLobe("", "law", flat, (0.0, 0.0), True, None), None, ())


def shape(gear: ValveLift) -> Shape:
    """Return what one valve gear's motion is like."""
    place, link = gear.lobe.placed, gear.linkage
    cam_angle, peak = gear.lobe.peak
    top = array(peak)
    at_seat, at_peak = gear.ratio_at_seat, gear.ratio(top)
    contact = None
    if link is not None:
        there = link.motion(link.lifter_lift(top) if gear.lobe.at_valve else top, link.down)
        least, greatest = tip_sweep(link.drawn, link.pose, there.cosine, there.sine)
        contact = float(least), float(greatest)
    return Shape(
        peak_lift=float(gear.at_lobe(top)),
        peak_at=place.at + 2 * (cam_angle - place.middle),
        ratio_at_seat=None if at_seat is None else float(at_seat),
        ratio_at_peak=None if at_peak is None else float(at_peak),
        sweep=None if contact is None else contact[1] - contact[0],
        contact=contact,
    )


def apart(gear: ValveLift) -> tuple[str, ...]:
    """Return why a valve gear cannot be assembled, or comes apart on the way to full lift, in words."""
    link = gear.linkage
    if link is None:
        return ()
    found = obstacles(gear.train)
    if found:
        return found
    _, peak = gear.lobe.peak
    if gear.lobe.at_valve:
        _, _, reach = turn_at_gap(link.drawn, link.pose, array(-peak))
        if reach < 0:
            return (
                f"the rocker cannot follow a valve lift of {peak:.2f} mm: {-float(reach):.2f} mm are missing; "
                "look at rocker.valve_arm and the readings",
            )
        return ()
    limit = comes_apart_at(gear.train, link.length, peak)
    if limit is None:
        return ()
    return (
        f"the pushrod cannot turn the rocker further from a lifter lift of {limit:.2f} mm on, and the lobe lifts "
        f"{peak:.2f} mm; look at rocker.pushrod_arm, rocker.arm_angle and lifter.seat",
    )


def _lacks(train: Train, lobe: CamLobe) -> tuple[str, ...]:
    """Return what a motion lacks on its shortest route."""
    if lobe.at_valve:
        at_pushrod = train.lifter.kind == "solid" and train.lifter.lash_at == "pushrod"
        needed = lobe.lash is not None and at_pushrod and train.ratio is None
        return (f"{train.name}.rocker.ratio",) if needed else ()
    if train.drawn is None:
        needs = [] if train.ratio is not None else [f"{train.name}.rocker.ratio"]
        if not train.lifter.kind:
            needs.append(f"{train.name}.lifter.kind")
        if train.lifter.kind == "solid" and train.lifter.lash is None:
            needs.append(f"{train.name}.lifter.lash")
        return tuple(needs)
    return setting_lacks(train)


def _lacks_pumped(train: Train, linkage: Linkage | None) -> tuple[str, ...]:
    """Return what the pumped-up lift lacks."""
    if train.lifter.kind == "solid":
        return ()
    kind = () if train.lifter.kind else (f"{train.name}.lifter.kind",)
    preload = () if train.lifter.preload is not None else (f"{train.name}.lifter.preload",)
    ratio = () if linkage is not None or train.ratio is not None else (f"{train.name}.rocker.ratio",)
    return (*kind, *preload, *ratio)


def _down(train: Train) -> Array:
    """Return how far the running plunger stands below its top stop; 0 for a solid lifter [mm]."""
    return array(0.0) if train.lifter.down is None else train.lifter.down


def _ratio(train: Train) -> Array:
    assert train.ratio is not None
    return train.ratio


def _lash_at_valve(train: Train) -> Array:
    """Return the lash that a valve runs with, at the valve; none with a hydraulic lifter [mm]."""
    lash = train.lifter.lash
    if train.lifter.kind != "solid" or lash is None:
        return array(0.0)
    return lash * _ratio(train) if train.lifter.lash_at == "pushrod" else lash


def _lash_at_lifter(train: Train) -> Array:
    """Return how far a solid lifter rises before the valve moves [mm]."""
    lash = train.lifter.lash
    if train.lifter.kind != "solid" or lash is None:
        return array(0.0)
    return lash if train.lifter.lash_at == "pushrod" else lash / _ratio(train)
