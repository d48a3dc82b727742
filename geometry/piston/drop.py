"""A valve's head against the piston: how far it could drop along its stem, and its room to the pocket's wall.

The head is a disc of given radius, square to the stem, with a margin above it; everything is counted in
the piston's frame, z from the crown plane. A valve that opens by h moves by -h·n, and its drop is less
by exactly h: the lines along which it travels stay the same. So the drop of the closed valve against the
piston's height is all that has to be known.

           │ n                drop: along the stem, from above, to the first metal on any line of the head
      ═════╪═════  disc       wall: radial, from the rim to the wall of its own pocket
        ╲  ┊   ╱
    ━━━━━╲_____╱━━━━

The lines of the rim are enough on a plane crown with one pocket: the metal that a line of the face meets is
never higher than that on some line of the rim, since a pocket is convex. Where two pockets meet, or a pocket
and a dome or dish, metal can stand up under the face, but highest along the edges that they make or where
a dome is square to the stem. Where a bound proves that nothing else can come first, the drop has a closed form, see
`wedge`. Over measured heights see `over_table`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import NamedTuple

import numpy as np

from ..core.frames import Array, hypot, norm, point
from ..core.search import TURNS, Curve, Flags, Index, Shape, least
from .crown import Crown, Pocket, first_metal
from .edges import Edge, edges, floor_centre
from .head import Head, rim
from .wedge import drop_by_wedge

NEWTON = 4  # steps, to where a pocket's wall ends beside a margin


class Pose(NamedTuple):
    """A head over a crown; all leading axes broadcast."""

    crown: Crown
    head: Head

    @property
    def shape(self) -> Shape:
        """The shape of the leading axes of both."""
        return np.broadcast_shapes(self.crown.shape, self.head.shape)

    def spread(self) -> Pose:
        """Return both with one more leading axis."""
        return Pose(self.crown.spread(), self.head.spread())

    def pick(self, shape: Shape, index: Index | Flags) -> Pose:
        """Return some poses of a batch; see `search.picked`."""
        return Pose(self.crown.pick(shape, index), self.head.pick(shape, index))


class Outline(NamedTuple):
    """A crown's edges and where they are at the turns looked at first."""

    edge: list[Edge]
    seen: list[Array]  # each (..., COARSE, 3) [mm]


def outline(crown: Crown) -> Outline:
    """Return what a crown's edges are, once for all the poses over it."""
    found, wide = edges(crown), crown.spread()
    return Outline(found, [edge(wide, TURNS) for edge in found])


def drop(
    crown: Crown,
    head: Head,
    refine: bool = True,
    edge: Outline | None = None,
    rivals: Array | None = None,
) -> Array:
    """Return how much further the head can travel along its stem before it touches, (...) [mm].

    The leading axes of the crown's parts and of the head broadcast.

    refine : False leaves rim and edges as they are looked at first: a few µm too much where nothing jumps
    edge   : the crown's outline, where it is known
    rivals : as for `search.least`
    Returns: negative is minus the distance it must be drawn back to be clear.
    Source: the first metal from above on every line of the head; see the module.
    """
    if crown.heights is not None:
        from .over_table import drop_on

        return drop_on(crown.heights, head)
    pose = Pose(crown, head)
    shape = pose.shape
    if not crown.pockets and crown.cap is None:
        return np.broadcast_to(_to_plane(head), shape).copy()

    def searched(some: Pose, shape: Shape, edge: Outline | None, rivals: Array | None) -> Array:
        return _searched(some, shape, refine, edge, rivals)

    return where_not(drop_by_wedge(crown, head), pose, edge, rivals, searched)


def where_not(
    known: tuple[Array, Flags],
    pose: Pose,
    edge: Outline | None,
    rivals: Array | None,
    searched: Callable[[Pose, Shape, Outline | None, Array | None], Array],
) -> Array:
    """Return values that are known in closed form at some poses, and are searched for at the others.

    edge, rivals : as for `drop`
    """
    (value, sure), shape = known, pose.shape
    if sure.all():
        return value
    if not sure.any():
        return searched(pose, shape, edge, rivals)
    rows = shape[:-1]
    if rivals is not None and int(np.prod(rows)) > 1:
        return np.where(sure, value, searched(pose, shape, edge, rivals))
    open_ = np.nonzero(~sure.reshape(-1))[0]
    some = None if rivals is None else np.broadcast_to(rivals, shape).reshape(-1)[open_]
    found = value.reshape(-1).copy()
    one_for_all = None if pose.crown.shape else edge
    found[open_] = searched(pose.pick(shape, open_), open_.shape, one_for_all, some)
    return found.reshape(shape)


def wall(one: Pocket, head: Head, refine: bool = True, rivals: Array | None = None) -> Array:
    """Return the radial room between a head's side and the wall of its own pocket, (...) [mm].

    Counts the side from the rim up its margin as far as it is below the crown plane, against wall that is there
    at its height; infinite where there is none. The leading axes broadcast; `rivals` as for `search.least`.
    Source: the way out from the pocket's axis is convex along a straight line, so that its ends decide.
    """
    pose = Pose(Crown((one,), None), head)
    return least(walls(), pose, pose.shape, refine, rivals)


def walls() -> list[Curve[Pose]]:
    """Return the curves along which the room to a wall is looked for: the rim, and as far up the margin as counts."""
    return [Curve(_room_at_rim), Curve(_room_up_margin)]


def lowest(head: Head) -> Array:
    """Return the height of the rim's lowest point above the crown plane, (...) [mm]."""
    low: Array = head.centre[..., 2] - head.radius * hypot(head.stem[..., 0], head.stem[..., 1])
    return low


def _to_plane(head: Head) -> Array:
    """Return the way along the stem from the lowest point of the rim to the crown plane."""
    return lowest(head) / head.stem[..., 2]


def on_floor(index: int, pose: Pose, turn: Array) -> Array:
    """Return the way from rim points to the plane of a pocket's floor, (...) [mm]."""
    one = pose.crown.pockets[index]
    seen = rim(pose.head, turn)
    way: Array = np.vecdot(seen - floor_centre(one), one.axis) / np.vecdot(pose.head.stem, one.axis)
    return way


def _searched(pose: Pose, shape: Shape, refine: bool, edge: Outline | None, rivals: Array | None) -> Array:
    """Return the drop by its search along rim and edges."""
    crown = pose.crown
    known = edge or (outline(crown) if _edges_count(crown) else None)
    found = least(curves(crown, known), pose, shape, refine, rivals)
    return found if crown.cap is None else np.minimum(found, way_to_dome(pose))


def curves(crown: Crown, edge: Outline | None = None) -> list[Curve[Pose]]:
    """Return the curves along which the drop is looked for; edge : the crown's outline, where it is known."""
    found = [Curve(_under_rim)]
    if not _edges_count(crown):
        return found
    if edge is None:
        return [*found, *(Curve(partial(_way_to_edge, one)) for one in edges(crown))]
    for one, seen in zip(edge.edge, edge.seen, strict=True):
        found.append(Curve(partial(_way_to_edge, one), partial(_way_to, seen)))
    return found


def _edges_count(crown: Crown) -> bool:
    """Say whether metal under the face can be higher than that under the rim."""
    return crown.cap is not None or len(crown.pockets) > 1


def _under_rim(pose: Pose, turn: Array) -> Array:
    return -first_metal(pose.crown, rim(pose.head, turn), pose.head.stem)


def _way_to_edge(edge: Edge, pose: Pose, turn: Array) -> Array:
    return _way_to(edge(pose.crown, turn), pose)


def _way_to(seen: Array, pose: Pose) -> Array:
    """Return the way along the stem to points under the face; infinite to others and to NaN."""
    head = pose.head
    offset = head.centre - seen
    way = np.vecdot(offset, head.stem)
    under = np.vecdot(offset, offset) - way * way <= head.radius * head.radius
    return np.where(under, way, np.inf)


def way_to_dome(pose: Pose) -> Array:
    """Return the way to where a dome is square to the stem, if that is under the face and not cut away."""
    crown, head = pose
    assert crown.cap is not None
    highest = point(0.0, 0.0, crown.cap.centre) + crown.cap.sphere[..., None] * head.stem
    there = (crown.cap.height > 0) & (highest[..., 2] >= 0) & ~crown.cut_away(highest)
    return np.where(there, _way_to(highest, pose), np.inf)


class _Side(NamedTuple):
    """Points of a head's side from its pocket's axis; mm."""

    along: Array  # (...) up the axis from the crown plane
    aside: Array  # (..., 3) square to it

    def up(self, share: Array, along: Array, aside: Array) -> _Side:
        """Return the points moved by a share of a way."""
        return _Side(self.along + share * along, self.aside + share[..., None] * aside)

    def out(self) -> Array:
        """Return how far they are from the axis, (...)."""
        return norm(self.aside)

    def foot(self, one: Pocket) -> Array:
        """Return how high above the crown plane the wall stands straight out from them, (...); never NaN."""
        out = self.out()
        beside = np.where(out > 0, self.aside[..., 2] / np.where(out > 0, out, 1.0), 0.0)
        return self.along * one.axis[..., 2] + one.radius * beside


def _from_axis(one: Pocket, seen: Array) -> _Side:
    offset = seen - one.centre
    along = np.vecdot(offset, one.axis)
    return _Side(along, offset - along[..., None] * one.axis)


def _room_at_rim(pose: Pose, turn: Array) -> Array:
    """Return the way from rim points below the crown plane out to the wall, where it is there."""
    one, seen = pose.crown.pockets[0], rim(pose.head, turn)
    here = _from_axis(one, seen)
    there = (seen[..., 2] < 0) & (here.foot(one) <= 0)
    return np.where(there, one.radius - here.out(), np.inf)


def _room_up_margin(pose: Pose, turn: Array) -> Array:
    """Return the same from the highest points of the margin that are below the crown plane, beside wall.

    Source: Newton's method on the height of the wall beside a point, which goes up nearly evenly with the point.
    """
    (one, *_), head = pose.crown.pockets, pose.head
    seen = rim(head, turn)
    here = _from_axis(one, seen)
    there = (seen[..., 2] < 0) & (here.foot(one) <= 0)
    lean = np.vecdot(head.stem, one.axis)
    along = head.margin * lean
    aside = head.margin[..., None] * (head.stem - lean[..., None] * one.axis)
    with np.errstate(invalid="ignore", divide="ignore"):
        most = np.nan_to_num(np.clip(-seen[..., 2] / (head.margin * head.stem[..., 2]), 0.0, 1.0))
        share = most
        for _ in range(NEWTON):
            point_at = here.up(share, along, aside)
            out = point_at.out()
            turned = aside[..., 2] - point_at.aside[..., 2] * np.vecdot(point_at.aside, aside) / out**2
            rise = along * one.axis[..., 2] + one.radius * turned / out
            share = np.clip(np.nan_to_num(share - point_at.foot(one) / rise), 0.0, most)
    return np.where(there, one.radius - here.up(share, along, aside).out(), np.inf)
