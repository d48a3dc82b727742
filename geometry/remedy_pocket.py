"""The cut in the crown that gives a valve its clearance, offered only where the metal under it was measured.

By coordinates a pocket is cut deeper, or a new one square to the stem is cut, and made wide enough for the valve's
room in it. Where a dial reading is all that is known the cut is counted along the stem from where it now touches.
"""

from __future__ import annotations

import numpy as np
from tallstack.geometry.clearance import nearest, target
from tallstack.geometry.frames import array, point
from tallstack.geometry.mapping import Flat, Reader
from tallstack.geometry.metal import metal
from tallstack.geometry.remedy import CLOSE_MM, Case, Changed, Remedy, none, solved
from tallstack.geometry.valve_over_piston import ByCoordinates, ByReading

MOST_CUT_MM = 12.0
WIDER = 5  # times a pocket is made wider whose edge stands too close beside the valve


def cut_pocket(case: Case) -> Remedy:
    """Return the cut that mends one valve's clearance to the piston."""
    over = case.over()
    assert over is not None
    if isinstance(over, ByReading):
        return _by_stem(case, over)
    return _deeper(case) if over.own_pocket is not None else _new_pocket(case, over)


def _by_stem(case: Case, over: ByReading) -> Remedy:
    """Return how much deeper to cut along the stem, where a dial reading is all that is known."""
    share = float(np.cos(over.reading.measured.lean)) if case.short.what == "gap" else 1.0
    entry, lacking = f"{case.name}.pocket.depth", -case.lacks(over) / share
    more = _steps_up(lacking, case.steps.length)
    now = Reader(case.mapping, ("",)).find(entry)
    depth = 0.0 if over.reading.measured.meets == "crown" else None if now is None else float(now)
    left = metal(case.mapping, case.here.cylinder, entry, None if depth is None else depth + more)
    if left.lacks:
        return none("pocket", entry, "", left)
    return Remedy(
        "pocket along the stem", entry, more, None, case.short.value + more * share, "", left, {}, None
    )


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
        + 2 * target(case.mapping, "wall").least,
    }
    return _cut(case, 0.0, cut)


def _cut(case: Case, now: float, cut: Changed) -> Remedy:
    """Return a cut with the metal left under it, made wide enough for the valve's room in it.

    now : mm, the depth before it is cut;  cut : the pocket's other entries, where it is a new one
    """
    entry, wide = f"{case.name}.pocket.depth", f"{case.name}.pocket.diameter"
    first = float(Reader({**case.mapping, **cut}, ("",)).number(wide))
    width, found = first, None
    for _ in range(WIDER):

        def changed(by: float, width: float = width) -> Flat:
            return {**case.mapping, **cut, wide: width, entry: now + by}

        found = solved(case, changed, MOST_CUT_MM)
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
    there = {**case.mapping, **cut, wide: width, entry: now + found}
    wider = _wide_enough(case, there)
    also = {**cut, **({wide: width} if width != first or cut else {}), **wider}
    there = {**there, **wider}
    return Remedy("pocket", entry, found, now + found, case.gives(case.over(there)), "", left, also, there)


def _beside(case: Case, mapping: Flat) -> float | None:
    """Return by how much the pocket's edge stands too close beside a valve that its floor is clear of."""
    over = case.over(mapping)
    if over is None:
        return None
    drops, gap = nearest(over)
    wanted = case.short.target.least
    if not drops or gap is None or drops[0].value < wanted or gap.value >= wanted:
        return None
    return wanted - gap.value


def _steps_up(size: float, step: float) -> float:
    """Return a size rounded up to whole steps."""
    return float(np.ceil(size / step - 1e-6)) * step


def _wide_enough(case: Case, mapping: Flat) -> Changed:
    """Return the diameter at which the valve has its room in the pocket, where it is not wide enough."""
    wanted = target(mapping, "wall").least
    entry = f"{case.name}.pocket.diameter"
    now = diameter = float(Reader(mapping, ("",)).number(entry))
    for _ in range(3):
        over = case.over({**mapping, entry: diameter})
        least = None if over is None else over.least_wall()
        if least is None or least.value >= wanted - CLOSE_MM:
            break
        diameter += _steps_up(2 * (wanted - least.value), case.steps.length)
    return {} if diameter == now else {entry: diameter}
