"""A valve's head against the piston: how far it could drop along its stem, its gap and its room.

The head is a disc of given radius, square to the stem, with a margin above it; everything is counted in
the piston's frame, z from the crown plane. A valve that opens by h moves by -h·n, and its drop is less
by exactly h: the lines along which it travels stay the same. So the drop of the closed valve against the
piston's height is all that has to be known.

           │ n                drop: along the stem, from above, to the first metal on any line of the rim
      ═════╪═════  disc       gap:  the shortest way from face or rim to crown, floor and pocket's edge
        ╲  ┊   ╱              wall: radial, from the rim to the wall of its own pocket
    ━━━━━╲_____╱━━━━

The lines of the rim are enough on a plane crown with one pocket: the metal that a line of the face meets is
never higher than that on some line of the rim, since a pocket is convex. Where two pockets meet, metal can
stand up under the face along the edges they make; on a dome or a dish the whole face is searched.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from tallstack.geometry.crown import Crown, Pocket, first_metal
from tallstack.geometry.crown_edges import Edge, edges, floor_centre
from tallstack.geometry.frames import Array, norm, point
from tallstack.geometry.search import circle_of, least_on_circle, least_on_disc, square_to

Flags = NDArray[np.bool_]
SURFACE_MM = 1e-7  # a point this near a surface lies on it


class Head(NamedTuple):
    """A valve's head in the piston's frame; mm."""

    centre: Array  # (..., 3) of the face
    stem: Array  # (..., 3) unit, out of the chamber
    radius: Array
    margin: Array


def rim(head: Head, turn: Array, up: float = 0.0) -> Array:
    """Return points of the rim: turn (..., K) [rad] about the stem, (..., K, 3) [mm].

    up : 0 at the face, 1 at the top of the margin
    """
    centre = head.centre + up * head.margin[..., None] * head.stem
    return circle_of(centre, head.stem, head.radius, turn)


def drop(crown: Crown, head: Head, refine: bool = True) -> Array:
    """Return how much further the head can travel along its stem before it touches, (...) [mm].

    refine : False leaves the rim's points as they are: at most a few µm too much, for a first search
    Returns: negative is minus the distance it must be drawn back to be clear.
    Source: the first metal from above on every line of the head; see the module.
    """

    def reached(turn: Array) -> Array:
        return -first_metal(crown, rim(head, turn), head.stem[..., None, :])

    least = least_on_circle(reached, head.radius.shape, refine)
    if crown.cap is not None:
        least = np.minimum(least, _least_on_face(crown, head, refine))
    elif len(crown.pockets) > 1:
        for edge in edges(crown):
            way = _way_under(crown, head, edge)
            least = np.minimum(least, least_on_circle(way, head.radius.shape, refine))
    return least


def _way_under(crown: Crown, head: Head, edge: Edge) -> Callable[[Array], Array]:
    """Return the way along the stem to an edge's points under the face, where they are metal."""

    def way(turn: Array) -> Array:
        seen = edge(turn)
        offset = seen - head.centre[..., None, :]
        along = np.vecdot(offset, head.stem[..., None, :])
        aside = norm(offset - along[..., None] * head.stem[..., None, :])
        there = (aside <= head.radius[..., None]) & np.isfinite(along)
        return np.where(there & ~crown.cut_away(seen), -along, np.inf)

    return way


def _least_on_face(crown: Crown, head: Head, refine: bool) -> Array:
    """Return the least way to metal inside the face, by closer and closer looks at its lowest places.

    Where cuts meet a dome or a dish, metal can stand up under the face on curves that no circle or line
    follows, so the face is searched.
    """
    first, second = square_to(head.stem)

    def way(across: Array, along: Array) -> Array:
        spot = across[..., None] * first[..., None, :] + along[..., None] * second[..., None, :]
        start = head.centre[..., None, :] + head.radius[..., None, None] * spot
        return -first_metal(crown, start, head.stem[..., None, :])

    return least_on_disc(way, head.radius.shape, refine)


def gap(crown: Crown, head: Head, refine: bool = True) -> Array:
    """Return the shortest way from the face or its rim to crown, pocket floor and pocket edge, (...) [mm].

    Returns: never above what it is; where the head has already met metal, its drop times the cosine of
    the stem's lean, negative
    Source: of two discs, or a disc and a curve, the nearest points lie on the rim of one of them.
    """
    shape = head.radius.shape
    ways = [least_on_circle(lambda turn: _rim_to_surface(crown, head, turn), shape, refine)]
    for edge in edges(crown):
        ways.append(least_on_circle(_to_edge(crown, head, edge), shape, refine))
    for index, one in enumerate(crown.pockets):
        others = Crown(crown.pockets[:index] + crown.pockets[index + 1 :], crown.cap)
        ways += [
            least_on_circle(_rim_to_floor(others, one, head), shape, refine),
            least_on_circle(_floor_to_face(others, one, head), shape, refine),
        ]
        if crown.cap is not None:  # its floor ends on a curve that no circle follows
            ways.append(least_on_disc(_floor_within(others, one, head), shape, refine))
    if crown.cap is not None:
        ways += [
            _to_dome(crown, head),
            least_on_circle(_to_cap_edge(crown, head), shape, refine),
            least_on_disc(_cap_within(crown, head), shape, refine),
        ]
    least = np.minimum.reduce([np.broadcast_to(way, shape) for way in ways])
    further = drop(crown, head, refine)
    return np.where(further <= 0, further * head.stem[..., 2], least)


def wall(one: Pocket, head: Head, refine: bool = True) -> Array:
    """Return the radial room between the rim and the wall of its own pocket, (...) [mm].

    Counts rim points below the crown plane, against wall that is there at their height; infinite where
    there are none.
    """

    def room(up: float, turn: Array) -> Array:
        seen = rim(head, turn, up)
        offset = seen - one.centre[..., None, :]
        along = np.vecdot(offset, one.axis[..., None, :])
        aside = offset - along[..., None] * one.axis[..., None, :]
        out = norm(aside)
        with np.errstate(invalid="ignore", divide="ignore"):
            foot = seen + aside * ((one.radius[..., None] - out) / out)[..., None]
        there = (seen[..., 2] < 0) & (foot[..., 2] <= 0)
        return np.where(there, one.radius[..., None] - out, np.inf)

    shape = head.radius.shape
    return np.minimum(
        least_on_circle(lambda turn: room(0.0, turn), shape, refine),
        least_on_circle(lambda turn: room(1.0, turn), shape, refine),
    )


def _rim_to_surface(crown: Crown, head: Head, turn: Array) -> Array:
    """Return the way from rim points straight down to the plane, or out to the dish, where metal is."""
    seen = rim(head, turn)
    foot = seen * np.array([1.0, 1.0, 0.0])
    down = np.where(_is_surface(crown, foot), seen[..., 2], np.inf)
    if crown.cap is None:
        return down
    offset = seen - point(0.0, 0.0, crown.cap.centre)[..., None, :]
    out = norm(offset)
    hit = (
        point(0.0, 0.0, crown.cap.centre)[..., None, :]
        + offset * (crown.cap.sphere[..., None] / out)[..., None]
    )
    in_dish = (crown.cap.height < 0)[..., None] & (hit[..., 2] <= 0) & _is_surface(crown, hit)
    return np.minimum(down, np.where(in_dish, crown.cap.sphere[..., None] - out, np.inf))


def _is_surface(crown: Crown, seen: Array) -> Flags:
    """Say whether points are the first metal from above: the crown's own surface, not cut away."""
    upright = np.broadcast_to(np.array([0.0, 0.0, 1.0]), seen.shape)
    on: Flags = np.abs(first_metal(crown, seen, upright)) < SURFACE_MM
    return on


def _to_edge(crown: Crown, head: Head, edge: Edge) -> Callable[[Array], Array]:
    """Return the way from the face to an edge's points, where they are metal."""

    def way(turn: Array) -> Array:
        seen = edge(turn)
        there = np.isfinite(seen[..., 0]) & ~crown.cut_away(seen)
        return np.where(there, _to_face(head, seen), np.inf)

    return way


def _rim_to_floor(others: Crown, one: Pocket, head: Head) -> Callable[[Array], Array]:
    """Return the way from rim points to a pocket's floor, by the turn about the stem."""

    def way(turn: Array) -> Array:
        seen = rim(head, turn)
        offset = seen - floor_centre(one)[..., None, :]
        high = np.vecdot(offset, one.axis[..., None, :])
        aside = offset - high[..., None] * one.axis[..., None, :]
        out = norm(aside)
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(out > one.radius[..., None], one.radius[..., None] / out, 1.0)
        foot = floor_centre(one)[..., None, :] + share[..., None] * aside
        there = (foot[..., 2] <= others.surface(foot)) & _not_cut(others, foot, one)
        return np.where(there, norm(seen - foot), np.inf)

    return way


def _floor_to_face(others: Crown, one: Pocket, head: Head) -> Callable[[Array], Array]:
    """Return the way from the rim of a pocket's floor to the face, by the turn about the pocket's axis."""

    def way(turn: Array) -> Array:
        seen = circle_of(floor_centre(one), one.axis, one.radius, turn)
        there = (seen[..., 2] <= others.surface(seen)) & _not_cut(others, seen, one)
        return np.where(there, _to_face(head, seen), np.inf)

    return way


def _floor_within(others: Crown, one: Pocket, head: Head) -> Callable[[Array, Array], Array]:
    """Return the way from places of a pocket's floor, as shares of its radius, to the face."""
    first, second = square_to(one.axis)

    def way(across: Array, along: Array) -> Array:
        spot = across[..., None] * first[..., None, :] + along[..., None] * second[..., None, :]
        seen = floor_centre(one)[..., None, :] + one.radius[..., None, None] * spot
        there = (seen[..., 2] <= others.surface(seen)) & _not_cut(others, seen, one)
        return np.where(there, _to_face(head, seen), np.inf)

    return way


def _cap_within(crown: Crown, head: Head) -> Callable[[Array, Array], Array]:
    """Return the way from places of the dome or dish, as shares of its radius, to the face."""
    cap = crown.cap
    assert cap is not None

    def way(across: Array, along: Array) -> Array:
        flat = point(cap.radius * across, cap.radius * along, 0.0)
        seen = flat + point(0.0, 0.0, crown.surface(flat))
        return np.where(_is_surface(crown, seen), _to_face(head, seen), np.inf)

    return way


def _to_dome(crown: Crown, head: Head) -> Array:
    """Return the way from the face to the dome, where the dome's nearest point is metal."""
    cap = crown.cap
    assert cap is not None
    centre = point(0.0, 0.0, cap.centre)
    near = _nearest_on_face(head, centre[..., None, :])[..., 0, :]
    out = norm(near - centre)
    hit = centre + (near - centre) * (cap.sphere / out)[..., None]
    there = (cap.height > 0) & (hit[..., 2] >= 0) & _is_surface(crown, hit)
    return np.where(there, out - cap.sphere, np.inf)


def _to_cap_edge(crown: Crown, head: Head) -> Callable[[Array], Array]:
    """Return the way from the face to the edge of a dome or dish, by the turn about the cylinder's axis."""
    cap = crown.cap
    assert cap is not None

    def way(turn: Array) -> Array:
        upright = point(0.0, 0.0, 1.0)
        seen = circle_of(point(0.0, 0.0, 0.0), upright, cap.radius, turn)
        return np.where(_is_surface(Crown(crown.pockets, None), seen), _to_face(head, seen), np.inf)

    return way


def _not_cut(others: Crown, seen: Array, one: Pocket) -> Flags:
    """Say whether points of a pocket's floor or chord are not cut away by anything else."""
    along = np.broadcast_to(one.axis[..., None, :], seen.shape)
    stays: Flags = first_metal(others, seen, along) >= -SURFACE_MM
    return stays


def _to_face(head: Head, seen: Array) -> Array:
    return norm(seen - _nearest_on_face(head, seen))


def _nearest_on_face(head: Head, seen: Array) -> Array:
    """Return the face's point nearest to each of these points, (..., K, 3)."""
    offset = seen - head.centre[..., None, :]
    high = np.vecdot(offset, head.stem[..., None, :])
    aside = offset - high[..., None] * head.stem[..., None, :]
    out = norm(aside)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(out > head.radius[..., None], head.radius[..., None] / out, 1.0)
    nearest: Array = head.centre[..., None, :] + share[..., None] * aside
    return nearest
