"""The straight gap between a valve's face and the piston: the shortest way to crown, floor or pocket's edge.

What clay shows. Of two discs, or of a disc and a curve, the nearest points lie on the rim of one of them; so
it is looked for from the rim to plane, dish and floors, and to the face from the crown's edges and from the
rims of its floors. To a dome, which is convex, it has a closed form. Over measured heights every place counts,
see `over_table`. Frame and sketch as in `head`.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from ..core.frames import Array, norm, point
from ..core.search import Curve, Flags, Shape, circle_of, least
from .crown import Cap, Crown
from .drop import Outline, Pose, drop, outline, where_not
from .edges import Edge, edges, floor_centre, without
from .head import Head, rim
from .wedge import gap_by_wedge

SURFACE_MM = 1e-7  # a point this near a surface lies on it


def gap(
    crown: Crown,
    head: Head,
    refine: bool = True,
    edge: Outline | None = None,
    rivals: Array | None = None,
    is_above: bool = False,
) -> Array:
    """Return the shortest way from the face or its rim to crown, pocket floor and pocket edge, (...) [mm].

    The leading axes of the crown's parts and of the head broadcast.

    refine, edge, rivals : as for `drop.drop`
    is_above : the head is known to have met no metal, and need not be asked for its drop
    Returns: never above what it is; where the head has already met metal, its drop times the cosine of
    the stem's lean, negative
    Source: of two discs, or a disc and a curve, the nearest points lie on the rim of one of them.
    """
    if crown.heights is not None:
        from .over_table import gap_on

        return gap_on(crown.heights, head)
    known = edge or outline(crown)
    pose = Pose(crown, head)
    has_curves = bool(crown.pockets) or crown.cap is not None
    if is_above and has_curves:
        return clear(pose, refine, known, rivals)
    further = drop(crown, head, refine, known, rivals)
    if not has_curves:
        return further * head.stem[..., 2]
    return np.where(further <= 0, further * head.stem[..., 2], clear(pose, refine, known, rivals))


def clear(pose: Pose, refine: bool, edge: Outline, rivals: Array | None = None) -> Array:
    """Return the shortest way from the face to the crown's surfaces, whether or not it has met metal."""

    def searched(some: Pose, shape: Shape, edge: Outline | None, rivals: Array | None) -> Array:
        found = least(curves(some.crown, edge), some, shape, refine, rivals)
        return found if some.crown.cap is None else np.minimum(found, to_dome(some))

    return where_not(gap_by_wedge(*pose), pose, edge, rivals, searched)


def curves(crown: Crown, edge: Outline | None = None) -> list[Curve[Pose]]:
    """Return the curves along which the gap is looked for; edge : the crown's outline, where it is known."""
    found = [Curve(_rim_to_plane)]
    if crown.cap is not None:
        found.append(Curve(_rim_to_dish))
    for index in range(len(crown.pockets)):
        found += [Curve(partial(_rim_to_floor, index)), Curve(partial(_floor_to_face, index))]
    if edge is None:
        return [*found, *(Curve(partial(_edge_to_face, one)) for one in edges(crown))]
    for one, seen in zip(edge.edge, edge.seen, strict=True):
        found.append(Curve(partial(_edge_to_face, one), partial(_to_face, seen)))
    return found


def _rim_to_plane(pose: Pose, turn: Array) -> Array:
    """Return the way from rim points straight to the crown plane, where metal is.

    A rim under the lip of a leaning pocket is below the plane, and clear: no way counts as negative.
    """
    seen = rim(pose.head, turn)
    foot = seen * np.array([1.0, 1.0, 0.0])
    return np.where(_is_surface(pose.crown, foot), np.abs(seen[..., 2]), np.inf)


def _rim_to_dish(pose: Pose, turn: Array) -> Array:
    """Return the way from rim points straight out to the dish, where metal is."""
    cap = _cap(pose.crown)
    centre = point(0.0, 0.0, cap.centre)
    offset = rim(pose.head, turn) - centre
    out = norm(offset)
    foot = centre + offset * (cap.sphere / out)[..., None]
    there = (cap.height < 0) & (foot[..., 2] <= 0) & _is_surface(pose.crown, foot)
    return np.where(there, np.abs(cap.sphere - out), np.inf)


def _rim_to_floor(index: int, pose: Pose, turn: Array) -> Array:
    """Return the way from rim points to a pocket's floor, where that is not cut away."""
    one = pose.crown.pockets[index]
    middle = floor_centre(one)
    seen = rim(pose.head, turn)
    offset = seen - middle
    aside = offset - np.vecdot(offset, one.axis)[..., None] * one.axis
    foot = middle + _shortened(aside, one.radius)
    return np.where(without(pose.crown, index).cut_away(foot), np.inf, norm(seen - foot))


def _floor_to_face(index: int, pose: Pose, turn: Array) -> Array:
    """Return the way from the rim of a pocket's floor to the face, by the turn about the pocket's axis."""
    one = pose.crown.pockets[index]
    seen = circle_of(floor_centre(one), one.axis, one.radius, turn)
    gone = without(pose.crown, index).cut_away(seen)
    return np.where(gone, np.inf, _to_face(seen, pose))


def _edge_to_face(edge: Edge, pose: Pose, turn: Array) -> Array:
    return _to_face(edge(pose.crown, turn), pose)


def to_dome(pose: Pose) -> Array:
    """Return the way from the face to the dome, where the dome's nearest point is metal."""
    cap = _cap(pose.crown)
    centre = point(0.0, 0.0, cap.centre)
    near = _nearest_on_face(pose.head, centre)
    out = norm(near - centre)
    foot = centre + (near - centre) * (cap.sphere / out)[..., None]
    there = (cap.height > 0) & (foot[..., 2] >= 0) & _is_surface(pose.crown, foot)
    return np.where(there, np.abs(out - cap.sphere), np.inf)


def _is_surface(crown: Crown, seen: Array) -> Flags:
    """Say whether points lie on the crown's own surface where that is not cut away."""
    on: Flags = (np.abs(seen[..., 2] - crown.surface(seen)) < SURFACE_MM) & ~crown.cut_away(seen)
    return on


def _to_face(seen: Array, pose: Pose) -> Array:
    """Return the way from points to the face; infinite from NaN."""
    away = norm(seen - _nearest_on_face(pose.head, seen))
    return np.where(np.isnan(away), np.inf, away)


def _nearest_on_face(head: Head, seen: Array) -> Array:
    """Return the face's point nearest to each of these points, (..., 3)."""
    offset = seen - head.centre
    aside = offset - np.vecdot(offset, head.stem)[..., None] * head.stem
    nearest: Array = head.centre + _shortened(aside, head.radius)
    return nearest


def _shortened(aside: Array, most: Array) -> Array:
    """Return vectors made no longer than something."""
    out = norm(aside)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(out > most, most / out, 1.0)
    short: Array = share[..., None] * aside
    return short


def _cap(crown: Crown) -> Cap:
    assert crown.cap is not None
    return crown.cap
