"""The cut in the crown that gives a valve its clearance, offered only where the metal under it was measured.

By coordinates a pocket is cut deeper, or a new one square to the stem is cut, and made wide enough for the valve's
room in it. Where a dial reading is all that is known the cut is counted along the stem from where it now touches.
Over measured heights too, from where a cutter first touches them that is wider than the head by what the valve
needs all round: the table does not say what of it is pocket.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...core import targets
from ...core.frames import Array, array, norm, point
from ...core.mapping import Flat, Reader, frozen
from ...core.minima import minima
from ...engine.metal import metal
from ...piston.cycle import cycle_angles
from ...piston.drop import drop
from ...piston.head import Head
from ..clearances import nearest
from ..valve_over_piston import ByCoordinates, ByReading
from .remedy import CLOSE_MM, Case, Changed, Remedy, none, pumped_drop, solved

if TYPE_CHECKING:
    from ...piston.table import Heights

MOST_CUT_MM = 12.0
FINER = 4  # crank angles to each that is looked at first
WIDER = 5  # times a pocket is made wider whose edge stands too close beside the valve


def cut_pocket(case: Case) -> Remedy:
    """Return the cut that mends one valve's clearance to the piston."""
    over = case.over()
    assert over is not None
    if isinstance(over, ByReading):
        return _by_stem(case, over)
    if over.below.crown.heights is not None:
        return _into_heights(case, over)
    return _deeper(case) if over.own_pocket is not None else _new_pocket(case, over)


def _by_stem(case: Case, over: ByReading) -> Remedy:
    """Return how much deeper to cut along the stem, where a dial reading is all that is known."""
    share = float(np.cos(over.reading.measured.lean)) if case.short.name == "gap" else 1.0
    entry, lacking = f"{case.name}.pocket.depth", -case.spare(over) / share
    more = _steps_up(lacking, case.steps.length)
    now = Reader(case.mapping, ("",)).find(entry)
    depth = 0.0 if over.reading.measured.meets == "crown" else None if now is None else float(now)
    left = metal(case.mapping, case.here.cylinder, entry, None if depth is None else depth + more)
    if left.lacks:
        return none("pocket", entry, "", left)
    gives, up = case.short.value + more * share, None if case.pumped is None else pumped_drop(over)
    pumped = None if up is None else up + more
    return Remedy("pocket along the stem", entry, more, None, gives, "", left, {}, None, pumped=pumped)


def _into_heights(case: Case, over: ByCoordinates) -> Remedy:
    """Return how deep a wide cutter goes along the stem into a measured crown from where it first touches.

    The piston stands at top centre. The floor is square to the stem, as far below the face as the target asks
    where the face comes closest to such a floor; the wall stands as far beside the head wherever it is in the cut.
    """
    entry, stem = f"{case.name}.pocket.depth", over.head.stem
    assert over.below.crown.heights is not None
    closest = _closest_to_floor(over)
    level, up = closest - case.short.limit.value, None
    if case.pumped is not None:
        up = _closest_to_floor(over._replace(lift=over.lift.risen()))
        level = min(level, up - case.pumped)
    across = _steps_up(2 * (float(over.head.radius) + _beside_head(case, over)), case.steps.length)
    cutter = over.head._replace(radius=array(across / 2))
    way = drop(over.below.crown, cutter)
    touches = float(np.vecdot(cutter.centre, stem) - way)
    more = _steps_up(touches - level, case.steps.length)
    if more <= 0:
        return none("pocket", entry, "no cut along the stem is enough")
    floor = cutter.centre - (way + more) * stem
    depth = float(cutter.radius * np.hypot(stem[0], stem[1]) - floor[2])
    left = metal(
        case.mapping, case.here.cylinder, "", max(depth, _already(over.below.crown.heights, floor, cutter))
    )
    if left.lacks:
        return none("pocket", entry, "", left)
    also: Changed = {f"{case.name}.pocket.diameter": across}
    gives, pumped = (None if high is None else high - touches + more for high in (closest, up))
    return Remedy("pocket along the stem", entry, more, depth, gives, "", left, also, None, pumped=pumped)


def _already(ground: Heights, floor: Array, cutter: Head) -> float:
    """Return how deep the measured crown is where a cutter goes, its axis through a point [mm]: it may hold a pocket."""
    offset = ground.vertices - floor
    aside = norm(offset - np.vecdot(offset, cutter.stem)[:, None] * cutter.stem)
    return -float(ground.vertices[aside <= cutter.radius, 2].min(initial=0.0))


def _up_the_stem(over: ByCoordinates, crank: Array) -> Array:
    """Return how far up its stem the face is from the piston's zero at crank angles, (...) [mm]."""
    along: Array = np.vecdot(over.head.centre, over.head.stem) + over.head.stem[2] * over.descent(crank)
    return along - over.lift.at(crank)


def _closest_to_floor(over: ByCoordinates) -> float:
    """Return how far up its stem the face is when it is closest to a floor square to that [mm]."""
    return minima(lambda crank, _: _up_the_stem(over, crank), cycle_angles())[0].value


def _beside_head(case: Case, over: ByCoordinates) -> float:
    """Return by how much a cutter's radius has to be more than the head's [mm].

    A falling piston moves a leaning head sideways over the floor, towards the head's upper side; that counts while
    that side is not clear above the crown.
    """
    crank, wanted, stem = cycle_angles(FINER), case.short.limit.value, over.head.stem
    sine, falls = np.hypot(stem[0], stem[1]), over.descent(crank)
    face = over.head.centre[2] + falls - over.lift.at(crank) * stem[2]
    within = face + over.head.radius * sine < over.below.crown.top + wanted
    within |= np.roll(within, 1) | np.roll(within, -1)  # it comes clear between two angles
    aside = float((falls * sine)[within].max(initial=0.0))
    return max(wanted, targets.WALL.wanted(case.mapping)) + aside


def _deeper(case: Case) -> Remedy:
    return _cut(case, float(Reader(case.mapping, ("",)).number(f"{case.name}.pocket.depth")), {})


def _new_pocket(case: Case, over: ByCoordinates) -> Remedy:
    """Return a pocket square to the stem, about where the valve stands when it is closest."""
    angle = array(case.short.angle)
    centre = over.head.centre + point(0.0, 0.0, over.descent(angle)) - over.lift.at(angle) * over.head.stem
    foot = centre - centre[2] / over.head.stem[2] * over.head.stem
    reader = Reader(case.mapping, (f"{case.name}.",))
    cut: Changed = {
        f"{case.name}.pocket.centre.x": float(foot[0]),
        f"{case.name}.pocket.centre.y": float(foot[1]),
        f"{case.name}.pocket.lean.x": float(reader.number("valve.lean.x")),
        f"{case.name}.pocket.lean.y": float(reader.number("valve.lean.y")),
        f"{case.name}.pocket.diameter": float(reader.number("valve.head_diameter"))
        + 2 * targets.WALL.wanted(case.mapping),
    }
    return _cut(case, 0.0, cut)


def _cut(case: Case, now: float, cut: Changed) -> Remedy:
    """Return a cut with the metal left under it, made wide enough for the valve's room in it.

    now : mm, the depth before it is cut;  cut : the pocket's other entries, where it is a new one
    """
    entry, wide = f"{case.name}.pocket.depth", f"{case.name}.pocket.diameter"
    first = float(Reader(frozen(case.mapping).with_(cut), ("",)).number(wide))
    width, found = first, None
    for _ in range(WIDER):

        def changed(by: float, width: float = width) -> Flat:
            return frozen(case.mapping).with_({**cut, wide: width, entry: now + by})

        as_it_is = case.now if not cut and width == first else None
        found = solved(case, changed, MOST_CUT_MM, as_it_is)
        if found is not None:
            break
        beside = _beside(case, changed(MOST_CUT_MM))
        if beside is None:
            break
        width += _steps_up(2 * beside, case.steps.length)
    left = metal(case.mapping, case.here.cylinder, "", None if found is None else now + found)
    if left.lacks:
        return none("pocket", entry, "", left)
    if found is None:
        return none("pocket", entry, f"no pocket up to {now + MOST_CUT_MM:g} mm deep is enough")
    there = frozen(case.mapping).with_({**cut, wide: width, entry: now + found})
    wider = _wide_enough(case, there)
    also = {**cut, **({wide: width} if width != first or cut else {}), **wider}
    there = there.with_(wider)
    return Remedy("pocket", entry, found, now + found, case.gives(case.over(there)), "", left, also, there)


def _beside(case: Case, mapping: Flat) -> float | None:
    """Return by how much the pocket's edge stands too close beside a valve that its floor is clear of."""
    over = case.over(mapping)
    if over is None:
        return None
    drops, gap = nearest(over)
    wanted = case.short.limit.value
    if not drops or gap is None or drops[0].value < wanted or gap.value >= wanted:
        return None
    return wanted - gap.value


def _steps_up(size: float, step: float) -> float:
    """Return a size rounded up to whole steps."""
    return float(np.ceil(size / step - 1e-6)) * step


def _wide_enough(case: Case, mapping: Flat) -> Changed:
    """Return the diameter at which the valve has its room in the pocket, where it is not wide enough."""
    wanted = targets.WALL.wanted(mapping)
    entry = f"{case.name}.pocket.diameter"
    now = diameter = float(Reader(mapping, ("",)).number(entry))
    for _ in range(3):
        over = case.over(frozen(mapping).with_({entry: diameter}))
        least = None if over is None else over.least_wall()
        if least is None or least.value >= wanted - CLOSE_MM:
            break
        diameter += _steps_up(2 * (wanted - least.value), case.steps.length)
    return {} if diameter == now else {entry: diameter}
