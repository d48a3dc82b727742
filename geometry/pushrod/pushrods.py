"""What length a pushrod has to have, and what preload or lash a given one gives.

With a measured pushrod the measurement gives the length and the coordinates only ratio and sweep;
the difference between the two is part of the answer. A length from coordinates alone is an
estimate.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.errors import MissingEntryError
from ..core.frames import Array, array, norm, point, unit, whole_lean
from ..core.lengths import CONVENTIONS
from ..engine.engine import COORDINATES, MEASURED, Train
from ..gear import bench
from ..gear.train import Closed, closed, cup_at, motion, plunger_for, turn_at_gap

SETTING = "wanted setting"


class Required(NamedTuple):
    """The pushrod that one valve gear needs; lengths in mm, angles in rad."""

    basis: str  # COORDINATES or MEASURED: what stands behind the length
    lengths: dict[str, Array]  # by convention, those that are known
    lacks: dict[str, tuple[str, ...]]  # convention → entries of the pushrod it still needs
    lean: Array  # whole angle to the cylinder axis, valve closed, rocker on the stem
    growth_per_stack: Array  # mm of pushrod for a mm of stack
    along_doubt: Array  # half-width of the length from the unknown angle of the plunger's travel
    reach: Array | None  # mm the stem tip may move before the rocker cannot meet it; coordinates only
    across: Array | None  # mm, contact off the tip's centre, positive away from the shaft
    coordinates_differ: Array | None  # mm, what coordinates would add to the measured length


class Fit(NamedTuple):
    """What a given pushrod does in one valve gear; mm."""

    preload: Array | None  # hydraulic: plunger below its top stop, negative is slack
    lash: Array | None  # solid: at the valve or at the pushrod, negative is none and the valve held open
    held_open: Array | None  # valve off its seat, 0 when it closes; None: not known by this route
    over_travel: Array | None  # hydraulic: how far past its bottom the plunger would have to go


def required(train: Train) -> Required:
    """Return the pushrod that gives the wanted preload or lash.

    Elements whose geometry is impossible are NaN: by coordinates beside a negative `reach`, and `assembly` says why; so is every
    length that is counted from a ball smaller than the hole in it.

    Raises:
        MissingEntryError: where neither route is complete, or the wanted setting is not entered.
        TypeError: for what is no valve gear.
    """
    if not isinstance(train, Train):
        message = f"train={train!r}: give a valve gear of an engine, `build(mapping).train(name)`"
        raise TypeError(message)
    _demand_setting(train)
    drawn = None if train.drawn is None else by_coordinates(train)
    if train.measured is None:
        if drawn is None:
            answer = f"the pushrod of {train.name}"
            raise MissingEntryError(answer, train.lacks)
        return drawn
    return _from_measurement(train, drawn)


def direction_when_read(train: Train) -> Array | None:
    """Return how a measured pushrod stood when it was read, as the coordinates foretell it, (..., 3), unit.

    The stack, lifter, plunger and valve are those of then, the valve is closed and the rocker rests on its stem. Where
    the coordinates cannot be assembled it is NaN; None where either of the two was not entered.
    """
    drawn, measured = train.drawn, train.measured
    if drawn is None or measured is None:
        return None
    pose = closed(drawn._replace(tip=drawn.tip - measured.sunk[..., None] * drawn.stem))
    ball = drawn.seat + (measured.lowered - measured.plunger_down)[..., None] * drawn.lift_axis
    rod = pose.cup - point(0.0, 0.0, measured.growth) - ball
    possible = (pose.reach >= 0) & (pose.opening > 0)
    return np.where(possible[..., None], unit(rod), np.nan)


def fit(train: Train, centres: Array) -> Fit:
    """Return what a pushrod of a given length does.

    centres : (...) [mm]  between ball centres; where the ends of a measured pushrod are not known, in
        the convention it was read in, which differs by the same for both
    Source: the closures of `train` and `bench`, solved for the lifter instead of the length.

    Raises:
        MissingEntryError: where neither route is complete.
    """
    if train.measured is not None:
        return _fit_by_measurement(train, centres)
    if train.drawn is None:
        answer = f"the pushrod of {train.name}"
        raise MissingEntryError(answer, train.lacks)
    return _fit_by_coordinates(train, centres)


def setting_lacks(train: Train) -> tuple[str, ...]:
    """Return the entries that the wanted setting lacks: lash or preload, by the lifter's kind."""
    lifter = train.lifter
    return {
        "hydraulic": () if lifter.preload is not None else (f"{train.name}.lifter.preload",),
        "solid": () if lifter.lash is not None else (f"{train.name}.lifter.lash",),
    }.get(lifter.kind, (f"{train.name}.lifter.kind", f"{train.name}.lifter.preload"))


def _demand_setting(train: Train) -> None:
    absent = setting_lacks(train)
    if absent:
        answer = f"the pushrod of {train.name}"
        raise MissingEntryError(answer, {SETTING: absent, **train.lacks})


def by_coordinates(train: Train, at_rest: Closed | None = None) -> Required:
    """Return the pushrod that coordinates alone ask for.

    at_rest : where the rocker stands with the valve closed, where it is known
    Valid: the gear is drawn and its preload or lash is entered; see `required`.
    """
    drawn, lifter = train.drawn, train.lifter
    assert drawn is not None
    pose = at_rest or closed(drawn)
    possible = (pose.reach >= 0) & (pose.opening > 0)
    ball, cup, lash = drawn.seat, pose.cup, array(0.0)
    if lifter.down is not None:
        ball = drawn.seat - lifter.down[..., None] * drawn.lift_axis
    elif lifter.lash is not None and lifter.lash_at == "pushrod":
        lash = lifter.lash
    elif lifter.lash is not None:
        cosine, sine, _ = turn_at_gap(drawn, pose, lifter.lash)
        cup = cup_at(drawn, pose, cosine, sine)
    centres = np.where(possible, norm(cup - ball) - lash, np.nan)
    lengths, lacks = _conventions(train, centres)
    return Required(
        basis=COORDINATES,
        lengths=lengths,
        lacks=lacks,
        lean=np.where(possible, whole_lean(pose.cup - ball), np.nan),
        growth_per_stack=np.where(possible, unit(cup - ball)[..., 2], np.nan),
        along_doubt=array(0.0),
        reach=pose.reach,
        across=pose.across,
        coordinates_differ=None,
    )


def _from_measurement(train: Train, drawn: Required | None) -> Required:
    measured, lifter = train.measured, train.lifter
    assert measured is not None
    carried = bench.carry(measured)
    rod, down, doubt = carried.zero_lash, array(0.0), array(0.0)
    if lifter.down is not None:
        down = lifter.down
        rod = bench.further(rod, down, carried.along)
        doubt = np.abs(down) * carried.along_doubt
    elif lifter.lash is not None and lifter.lash_at == "pushrod":
        rod = rod - lifter.lash
    elif lifter.lash is not None:
        rod = rod - lifter.lash / _ratio(train)
    if carried.between_centres:
        lengths, lacks = _conventions(train, rod)
    else:
        lengths = {measured.convention: rod}
        needs = measured.ends.lacks(measured.convention)
        lacks = {one: needs for one in CONVENTIONS if one != measured.convention}
    differ = None
    if drawn is not None and "centres" in lengths:
        differ = drawn.lengths["centres"] - lengths["centres"]
    return Required(
        basis=MEASURED,
        lengths=lengths,
        lacks=lacks,
        lean=carried.lean,
        growth_per_stack=bench.growth_per_stack(carried, down),
        along_doubt=doubt,
        reach=None if drawn is None else drawn.reach,
        across=None if drawn is None else drawn.across,
        coordinates_differ=differ,
    )


def _conventions(train: Train, centres: Array) -> tuple[dict[str, Array], dict[str, tuple[str, ...]]]:
    """Return the length in every convention whose ends are known, and what the others need."""
    lengths: dict[str, Array] = {}
    lacks: dict[str, tuple[str, ...]] = {}
    for convention in CONVENTIONS:
        beyond = train.ends.beyond(convention)
        if beyond is None:
            lacks[convention] = train.ends.lacks(convention)
        else:
            lengths[convention] = centres + beyond
    return lengths, lacks


def _ratio(train: Train) -> Array:
    if train.ratio is None:
        answer = f"lash at the valve of {train.name}, by a measured pushrod,"
        raise MissingEntryError(answer, {"rocker": (f"{train.name}.rocker.ratio",)})
    return train.ratio


def _fit_by_coordinates(train: Train, centres: Array) -> Fit:
    drawn, lifter = train.drawn, train.lifter
    assert drawn is not None
    pose = closed(drawn)
    if lifter.kind != "hydraulic":
        return _fit_solid(train, pose, centres)
    preload, _ = plunger_for(drawn, pose, centres)
    travel = lifter.plunger_travel
    if travel is None:
        return Fit(preload=preload, lash=None, held_open=None, over_travel=None)
    at_bottom = motion(drawn, pose, centres, array(0.0), travel)
    over = preload - travel
    held = np.where(over > 0, at_bottom.lift, np.where(np.isnan(over), np.nan, 0.0))
    return Fit(preload=preload, lash=None, held_open=held, over_travel=np.maximum(over, 0.0))


def _fit_solid(train: Train, pose: Closed, centres: Array) -> Fit:
    drawn = train.drawn
    assert drawn is not None
    rest = motion(drawn, pose, centres, array(0.0), array(0.0))
    if train.lifter.lash_at == "pushrod":
        lash = norm(pose.cup - drawn.seat) - centres
    else:
        lash = -rest.clear
    return Fit(preload=None, lash=lash, held_open=rest.lift, over_travel=None)


def _fit_by_measurement(train: Train, centres: Array) -> Fit:
    measured, lifter = train.measured, train.lifter
    assert measured is not None
    carried = bench.carry(measured)
    if lifter.kind == "hydraulic":
        preload = bench.plunger_for(carried, centres)
        travel = lifter.plunger_travel
        if travel is None:
            return Fit(preload=preload, lash=None, held_open=None, over_travel=None)
        over = np.maximum(preload - travel, 0.0)
        held = None if train.ratio is None else over * train.ratio
        return Fit(preload=preload, lash=None, held_open=held, over_travel=over)
    short = carried.zero_lash - centres
    lash = short if lifter.lash_at == "pushrod" else short * _ratio(train)
    held = None if train.ratio is None else np.maximum(-short, 0.0) * train.ratio
    return Fit(preload=None, lash=lash, held_open=held, over_travel=None)
