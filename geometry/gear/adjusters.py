"""What a turn of a valve gear's own adjuster does at the lifter, and how far to turn it.

Turning in is the way that takes up lash. Each kind of adjuster moves one part of the closed loop by
pitch × turns, and the loop is then solved again, so that nothing is approximated:

    pushrod screw     the cup in the rocker, along the screw, towards the lifter
    valve screw       the contact in the rocker, along the screw, towards the stem
    pivot nut         the rocker's pivot, along its stud, towards the head; both ends move
    lifter screw      the lifter's seat, along the lifter
    eccentric shaft   the rocker's pivot, around the eccentric's own axis; turns count about direction, and which
                      way takes up lash depends on where it stands, see `takes_up`

A screw's axis is a lean pair and points away from the head; without one the pushrod screw lies along
the closed pushrod, the valve screw along the stem and the stud along the cylinder.

Source: the closures of `train`. To first order a pivot nut's turn is pitch × (1 + 1/ratio) at the
lifter, a valve screw's pitch / ratio, the other two pitch.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array, norm, point, unit
from .train import Drawn, closed, cup_at, motion, plunger_for, turn_at_gap

MOST_TURNS = 12.0  # no adjuster has more thread; far beyond it the contact would jump to its other root
STEPS = 60  # of halving: 24 turns to 1e-17
PLACES = 721  # around an eccentric: half a degree apart
CLOSER = 2  # times that its highest and lowest place are looked at again, a hundredfold closer


class Adjuster(NamedTuple):
    """One adjuster as it stands; lengths in mm, angles in rad, None where not entered."""

    kind: str
    pitch: Array | None  # mm per turn; of an eccentric shaft not used
    flats: Array | None  # of the nut or screw's head
    axis: Array | None  # (..., 3) unit, away from the head
    eccentricity: Array | None  # mm, pivot off the eccentric's axis
    eccentric_at: Array | None  # rad, where the pivot stands about the shaft's direction from upright
    turns_in: Array | None  # how far it can still be turned in, from where it stands
    turns_out: Array | None  # and out


def turned(train: Drawn, adjuster: Adjuster, turns: Array) -> Drawn:
    """Return the valve gear with its adjuster turned in by so many turns from where it stands.

    turns : (...)  positive takes up lash
    Valid: the closed position exists before the turn. Raises nothing; an adjuster of no known kind
    changes nothing.
    """
    if adjuster.kind == "eccentric shaft":
        return train._replace(shaft=train.shaft + _eccentric_shift(train, adjuster, turns))
    pitch = array(0.0) if adjuster.pitch is None else adjuster.pitch
    travel = (pitch * turns)[..., None]
    if adjuster.kind == "lifter screw":
        return train._replace(seat=train.seat + travel * train.lift_axis)
    if adjuster.kind == "pivot nut":
        axis = point(0.0, 0.0, 1.0) if adjuster.axis is None else adjuster.axis
        return train._replace(shaft=train.shaft - travel * axis)
    if adjuster.kind == "pushrod screw":
        return _cup_moved(train, adjuster, travel)
    if adjuster.kind == "valve screw":
        return _contact_moved(train, adjuster, travel)
    return train


def preload_after(train: Drawn, adjuster: Adjuster, length: Array, turns: Array) -> Array:
    """Return the plunger's depth that a pushrod gives after turns of the adjuster [mm].

    length : (...) [mm]  between ball centres;  turns : (...)  in
    Returns: (...) [mm], negative is slack; NaN where the parts no longer meet
    """
    there = turned(train, adjuster, turns)
    depth, _ = plunger_for(there, closed(there), length)
    return depth


def lash_after(train: Drawn, adjuster: Adjuster, length: Array, turns: Array, at: str) -> Array:
    """Return the lash of a solid lifter after turns of the adjuster [mm].

    at : "valve" or "pushrod"
    Returns: (...) [mm]; negative at the valve: held open by so much
    """
    there = turned(train, adjuster, turns)
    pose = closed(there)
    if at == "pushrod":
        return norm(pose.cup - there.seat) - length
    return -motion(there, pose, length, array(0.0), array(0.0)).clear


def length_after(train: Drawn, adjuster: Adjuster, turns: Array, down: Array, lash: Array) -> Array:
    """Return the pushrod length that fits after turns of the adjuster [mm].

    down : (...) [mm]  plunger wanted below its top stop;  lash : (...) [mm]  wanted at the valve
    Returns: (...) [mm] between ball centres
    """
    there = turned(train, adjuster, turns)
    pose = closed(there)
    cosine, sine, _ = turn_at_gap(there, pose, lash)
    return norm(cup_at(there, pose, cosine, sine) - (there.seat - down[..., None] * there.lift_axis))


def turns_to(
    train: Drawn, adjuster: Adjuster, length: Array, wanted: Array, lash_at: str | None = None
) -> Array:
    """Return how many turns in give a wanted preload, or a wanted lash, from where it stands.

    length  : (...) [mm]  between ball centres;  wanted : (...) [mm]
    lash_at : None for a plunger's depth, else where the lash is measured
    Returns: (...) turns, negative is out, of an eccentric shaft against its direction; NaN where no turn within 12, or
        of an eccentric none between its highest and its lowest place, reaches it
    Source: the setting grows with every turn in, so halving finds it.
    """
    wanted = array(wanted)
    way = takes_up(train, adjuster, length, lash_at)

    def missing(turns: Array) -> Array:
        return _taken_up(train, adjuster, length, way * turns, lash_at) - (
            wanted if lash_at is None else -wanted
        )

    shape = np.broadcast_shapes(np.shape(length), wanted.shape, train.tip.shape[:-1])
    if adjuster.kind == "eccentric shaft":
        low, high = _monotone(missing, shape)
    else:
        low, high = _last_known(missing, np.stack([np.full(shape, end) for end in (-MOST_TURNS, MOST_TURNS)]))
    reaches = (missing(low) <= 0) & (missing(high) >= 0)
    for _ in range(STEPS):
        middle = (low + high) / 2
        above = missing(middle) >= 0
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.where(reaches, way * (low + high) / 2, np.nan)


def takes_up(train: Drawn, adjuster: Adjuster, length: Array, lash_at: str | None) -> Array:
    """Return the sign of the turns that take up lash where an adjuster stands, (...); of a thread always 1.

    length, lash_at : as for `turns_to`
    """
    if adjuster.kind != "eccentric shaft":
        return array(1.0)
    ends = [_taken_up(train, adjuster, length, array(way / (PLACES - 1)), lash_at) for way in (1.0, -1.0)]
    return np.where(ends[0] >= ends[1], 1.0, -1.0)


def lengths_taken(
    train: Drawn, adjuster: Adjuster, down: Array, lash: Array, turns: tuple[float, float]
) -> tuple[Array, Array]:
    """Return the shortest and the longest pushrod that fits anywhere between two turns, each (...) [mm].

    down, lash : as for `length_after`;  turns : from, to, the lesser first
    """
    found = []
    for way in (1.0, -1.0):
        low, high = (np.full(train.tip.shape[:-1], end) for end in turns)
        for _ in range(CLOSER + 1):
            places = np.linspace(low, high, PLACES)
            lengths = way * length_after(train, adjuster, places, down, lash)
            least = np.where(np.isnan(lengths), np.inf, lengths).argmin(axis=0)
            best = np.take_along_axis(lengths, least[None], axis=0)[0]
            beside = [np.clip(least + by, 0, PLACES - 1) for by in (-1, 1)]
            low, high = (np.take_along_axis(places, one[None], axis=0)[0] for one in beside)
        found.append(way * best)
    return found[0], found[1]


def _taken_up(train: Drawn, adjuster: Adjuster, length: Array, turns: Array, lash_at: str | None) -> Array:
    """Return the plunger's depth, or what is left of no lash, after turns [mm]; it grows as lash is taken up."""
    if lash_at is None:
        return preload_after(train, adjuster, length, turns)
    return -lash_after(train, adjuster, length, turns, lash_at)


def _monotone(setting: Callable[[Array], Array], shape: tuple[int, ...]) -> tuple[Array, Array]:
    """Return the turns around an eccentric's stand between which its setting only grows, each (...)."""
    places = np.linspace(-0.5, 0.5, PLACES).reshape(-1, *(1 for _ in shape))
    grows = np.diff(np.broadcast_to(setting(places), (PLACES, *shape)), axis=0) > 0
    middle = PLACES // 2
    up = np.logical_and.accumulate(grows[middle:], axis=0).sum(axis=0)
    down = np.logical_and.accumulate(grows[:middle][::-1], axis=0).sum(axis=0)
    return -down / (PLACES - 1), up / (PLACES - 1)


def _last_known(setting: Callable[[Array], Array], furthest: Array) -> Array:
    """Return the turns nearest the furthest ones at which the parts still meet, from none outwards."""
    meet = np.isfinite(setting(furthest))
    if meet.all():
        return furthest
    known, lost = np.where(meet, furthest, 0.0), furthest
    for _ in range(STEPS):
        middle = (known + lost) / 2
        there = np.isfinite(setting(middle))
        known, lost = np.where(there, middle, known), np.where(there, lost, middle)
    return known


def _cup_moved(train: Drawn, adjuster: Adjuster, travel: Array) -> Drawn:
    pose = closed(train)
    towards = unit(train.seat - pose.cup) if adjuster.axis is None else -adjuster.axis
    offset = pose.cup + travel * towards - train.shaft
    station = np.vecdot(offset, train.axis)
    radial = offset - station[..., None] * train.axis
    return train._replace(
        pushrod_arm=norm(radial),
        pushrod_station=station,
        arm_angle=_angle(pose.valve_dir, radial, pose.turn),
    )


def _contact_moved(train: Drawn, adjuster: Adjuster, travel: Array) -> Drawn:
    pose = closed(train)
    towards = -(train.stem if adjuster.axis is None else adjuster.axis)
    arm = train.valve_arm[..., None] * pose.valve_dir + train.valve_station[..., None] * train.axis
    offset = arm + travel * towards
    station = np.vecdot(offset, train.axis)
    radial = offset - station[..., None] * train.axis
    return train._replace(
        valve_arm=norm(radial),
        valve_station=station,
        arm_angle=_angle(unit(radial), pose.cup_dir, pose.turn),
    )


def _angle(first: Array, second: Array, turn: Array) -> Array:
    """Return the angle from one direction to another by way of the underside [rad]."""
    angle: Array = np.arctan2(np.vecdot(np.cross(turn, first), second), np.vecdot(first, second))
    return np.mod(angle, 2 * np.pi)


def _eccentric_shift(train: Drawn, adjuster: Adjuster, turns: Array) -> Array:
    """Return how the pivot moves: around the shaft's direction, at the eccentricity, turning in."""
    size, at = adjuster.eccentricity, adjuster.eccentric_at
    if size is None or at is None:
        return np.zeros(3)
    upright = unit(point(0.0, 0.0, 1.0) - train.axis[..., 2:] * train.axis)
    aside = np.cross(train.axis, upright)
    now = at + 2 * np.pi * turns

    def place(angle: Array) -> Array:
        return size[..., None] * (np.cos(angle)[..., None] * upright + np.sin(angle)[..., None] * aside)

    return place(array(now)) - place(array(at))
