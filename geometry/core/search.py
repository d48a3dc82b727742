"""The least value on closed curves, by closer and closer looks at the places where it can be.

For functions that jump where a line leaves a cut or a point its surface: a look keeps the lowest place
seen so far, so that a jump is closed in on from its low side. Infinity stands for "nothing here". A place
is left as soon as its neighbours say that it cannot come below the least value found anywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, NamedTuple, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from .frames import Array, array, cross, point, unit

COARSE = 96  # turns of a curve looked at first
SPACING = float(2 * np.pi / COARSE)
TURNS: Array = array(np.arange(COARSE) * SPACING)
FINE = 25  # turns of every closer look, from one neighbour to the other
LOOKS = 6  # closer looks: the spacing shrinks 12-fold each time, to 2e-8 rad
CLOSER = 2.0 / (FINE - 1)
STEPS: Array = array(np.linspace(-1.0, 1.0, FINE))
RIDGE = 0.25  # of the bend beside it, below which there may be a ridge
PEAKS = 3  # places of a curve that are looked at more closely
ENOUGH = 1e-10  # mm, less than which is not worth a look
BENT = 50.0  # mm/rad², the most that a curve bends
ALONE = 1.0  # mm, by which a place may be undercut that has nothing beside it

ACROSS, ALONG = point(1.0, 0.0, 0.0), point(0.0, 1.0, 0.0)

Shape = tuple[int, ...]
Index = NDArray[np.intp]
Flags = NDArray[np.bool_]
Self = TypeVar("Self", bound="Posed")
P = TypeVar("P", bound="Posed")


class Posed(Protocol):
    """Bodies at poses: arrays whose leading axes broadcast."""

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes."""

    def spread(self: Self) -> Self:
        """Return the same with one more leading axis, the last, of length one."""

    def pick(self: Self, shape: Shape, index: Index | Flags) -> Self:
        """Return some of the poses of a shape by their places in the flattened batch, (M,)."""


class Curve(NamedTuple, Generic[P]):
    """A value by the turn along one closed curve; value and turns broadcast."""

    value: Callable[[P, Array], Array]  # poses spread by an axis, turns [rad] to values
    first: Callable[[P], Array] | None = None  # the same at TURNS, where there is a quicker way


class _Places(NamedTuple, Generic[P]):
    """Places of one curve that are looked at more closely."""

    curve: Curve[P]
    pose: P
    pose_at: Index  # which pose of the batch
    turn: Array

    def kept(self, keep: Flags, turn: Array) -> _Places[P]:
        """Return some of the places, moved to other turns."""
        if keep.all():
            return self._replace(turn=turn)
        return _Places(self.curve, self.pose.pick(keep.shape, keep), self.pose_at[keep], turn[keep])


def least(
    curves: Sequence[Curve[P]], pose: P, shape: Shape, refine: bool, rivals: Array | None = None
) -> Array:
    """Return the least value on any of some curves, at each pose.

    shape  : of the poses, to which every curve's value broadcasts
    refine : False leaves it at the turns that are looked at first
    rivals : (...) [mm]  given where only the least of the sum of value and this, along the last axis of the
             shape, is wanted: the other poses' values are then left as soon as they cannot come below it
    """
    wide, count = pose.spread(), int(np.prod(shape))
    rows = []
    for curve in curves:
        row = curve.value(wide, TURNS) if curve.first is None else curve.first(wide)
        rows.append(np.broadcast_to(row, (*shape, COARSE)).reshape(count, COARSE))
    best: Array = np.minimum.reduce([row.min(axis=-1) for row in rows])
    if not refine:
        return best.reshape(shape)
    near, most = [], _limit(best, shape, rivals)
    for curve, row in zip(curves, rows, strict=True):
        index, at = np.nonzero(_worth(row, most))
        if index.size:
            near.append(_Places(curve, pose.pick(shape, index), index, TURNS[at]))
    spacing = SPACING
    for _ in range(LOOKS):
        looked = []
        for places in near:
            closer = places.turn[:, None] + spacing * STEPS
            found = np.broadcast_to(places.curve.value(places.pose.spread(), closer), closer.shape)
            at, every = found.argmin(axis=-1), np.arange(len(closer))
            low = found[every, at]
            before, after = np.maximum(at - 1, 0), np.minimum(at + 1, FINE - 1)
            rise = rise_beside(found[every, before], low, found[every, after], spacing * CLOSER)
            np.minimum.at(best, places.pose_at, low)
            looked.append((places, low - rise, closer[every, at]))
        near, most = [], _limit(best, shape, rivals)
        for places, bound, turn in looked:
            keep = bound < most[places.pose_at] - ENOUGH
            if keep.any():
                near.append(places.kept(keep, turn))
        if not near:
            break
        spacing *= CLOSER
    return best.reshape(shape)


def _limit(best: Array, shape: Shape, rivals: Array | None) -> Array:
    """Return what each pose's value must come below to matter."""
    if rivals is None:
        return best
    total = best.reshape(shape) + rivals
    most: Array = np.broadcast_to(total.min(axis=-1, keepdims=True) - rivals, shape)
    return most.reshape(-1)


def _worth(row: Array, most: Array) -> Flags:
    """Say which places of rows, (N, COARSE), are local minima that may hide less than a limit, (N,)."""
    before, after = np.roll(row, 1, axis=-1), np.roll(row, -1, axis=-1)
    worth: Flags = (row <= before) & (row <= after)
    worth &= row - rise_beside(before, row, after, SPACING) < most[:, None] - ENOUGH
    many = worth.sum(axis=-1) > PEAKS
    if many.any():
        lowest = np.argsort(np.where(worth[many], row[many], np.inf), axis=-1, kind="stable")[:, :PEAKS]
        fewer = np.zeros_like(worth[many])
        np.put_along_axis(fewer, lowest, True, axis=-1)
        worth[many] &= fewer
    return worth | _hiding(before, row, after, most[:, None])


def _hiding(before: Array, row: Array, after: Array, most: Array) -> Flags:
    """Say beside which places, no local minima themselves, a second one may hide from turns looked at first.

    Where a curve has a ridge between two valleys it bends much less there than on either side of it.
    """
    with np.errstate(invalid="ignore"):
        bend = before + after - 2 * row
        beside = np.maximum(np.roll(bend, 1, axis=-1), np.roll(bend, -1, axis=-1))
        hiding: Flags = (bend < RIDGE * beside) & np.isfinite(bend) & (row - BENT / 8 * SPACING**2 < most)
    return hiding


def rise_beside(before: Array, here: Array, after: Array, spacing: float | Array) -> Array:
    """Return by how much a place may be undercut nearby, from how much higher it is beside it.

    Where there is nothing on one side it may go on falling there, and faster than before: then by twice the
    rise and what BENT adds over a spacing; where there is nothing on either side by ALONE.
    """
    with np.errstate(invalid="ignore"):
        low, high = np.minimum(before, after) - here, np.maximum(before, after) - here
    one_sided = 2.0 * low + BENT * spacing * spacing
    return np.where(np.isfinite(high), high, np.where(np.isfinite(low), one_sided, ALONE))


def picked(part: Array, shape: Shape, index: Index | Flags, inner: int = 0) -> Array:
    """Return some elements of a part that broadcasts to a shape: (...) to (M,), or without an axis if alike.

    inner : axes of one element, 0 for a number and 1 for a point
    """
    lead = part.shape[: part.ndim - inner]
    rest = part.shape[part.ndim - inner :]
    if all(size == 1 for size in lead):
        return part.reshape(rest)
    whole: Array = np.broadcast_to(part, (*shape, *rest)).reshape(-1, *rest)
    return whole[index]


def circle_of(centre: Array, axis: Array, radius: Array, turn: Array) -> Array:
    """Return points of circles: turn (...) [rad] about the axis, (..., 3) [mm]; leading axes broadcast."""
    first, second = square_to(axis)
    arm = array(radius)[..., None]
    return centre + np.cos(turn)[..., None] * (arm * first) + np.sin(turn)[..., None] * (arm * second)


def square_to(axis: Array) -> tuple[Array, Array]:
    """Return two unit directions square to each axis and to each other."""
    aside = np.where((np.abs(axis[..., 0]) < 0.9)[..., None], ACROSS, ALONG)
    first = unit(aside - np.vecdot(aside, axis)[..., None] * axis)
    return first, cross(axis, first)
