"""At which crank angles a cylinder can be lowered along its axis while the other stands on its piston.

The lowered spigot sweeps a tube that has no upper end, its reliefs drawn upwards; while it comes down it must
meet neither piston, connecting rod nor spigot of the cylinder that is fitted. What it sweeps stands still, and so does
that spigot: where the two meet there is no angle at all. Of piston and rod the least distance of that tube decides at
each crank angle, and the angles at which it is more than the room that is wanted are the windows.
What a cylinder meets while it is lowered it would meet in its seat too, since the swept tube is the spigot and
what lies above it: a build that turns clear can be lowered at any angle, and the windows then say where there is
room for hands.

Crank angles count from the fitted piston's own top centre; a window begins within -180 to 180 degrees, and one
that crosses bottom centre ends past 180.

The connecting rod counts against the other spigot, for the same reason.

Source: the union of a body moved along a line; `cut_tube` and `spigot` for the distances.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.frames import Array, array
from ..core.mapping import Flat
from ..core.ranking import ranked
from ..core.search import Index
from ..core.verdict import NOTHING
from ..crank.heels import TURN
from .across import GROW_MM, HEIGHTS, SECTIONS, TRIES, Mover, leads
from .cut_tube import Apart, CutTube, Relief, apart, at_heights
from .spigot import AROUND, nearest, places, relief_around

ROW = 361  # crank angles looked at first
PARTS, LOOKS = 8, 5  # of the bracket of a window's end: a degree down to 3e-5
FIRST = 24  # heights looked at first
SAME_MM = 1e-7  # what is less apart is equal
LOWERED_MM = 200.0  # above the case deck, from where it comes down
DRAWN = 40  # sections looked at for a picture


class Window(NamedTuple):
    """Crank angles between which nothing is met; rad, ends later than it begins."""

    begins: float
    ends: float
    margin: float  # mm, the greatest distance within
    at: float  # rad, where


class DropOn(NamedTuple):
    """Lowering one cylinder while the other is fitted."""

    fitted: str
    lowered: str
    windows: tuple[Window, ...]
    safest: float | None  # rad; None: there is no window
    margin: float  # mm at the safest angle, or the least bad one where there is none
    best: float  # rad, that angle
    relief: Relief | None  # what to cut where there is no window
    always: bool  # nothing is met at any angle
    crown: float = np.nan  # mm, the lowered cylinder's own crown above its case deck at the best angle
    piston: Apart | None = None  # where that margin is the piston's; None: it is the connecting rod's
    past: Apart | None = None  # what it sweeps, to the spigot that is fitted; None: that was not measured

    @property
    def blocked(self) -> bool:
        """Whether its spigot meets the one that is fitted on its way down, at whatever angle."""
        return self.past is not None and self.past.gap <= NOTHING


def swept(stands: CutTube) -> CutTube:
    """Return what a spigot sweeps while it is lowered."""
    return stands._replace(top=stands.top + LOWERED_MM)


def clearance(fitted: Mover, lowered: CutTube, angles: Array) -> Array:
    """Return the least distance while lowering, at crank angles (K) [mm]: to piston and connecting rod."""
    return _clear(fitted, swept(lowered), angles)


def _clear(fitted: Mover, stands: CutTube, angles: Array, sections: int = AROUND) -> Array:
    """Return the least distance of a tube to piston and connecting rod, at crank angles (K) [mm]."""
    rods = nearest(stands, fitted.rod(angles).spread(), angles.size, sections == AROUND, sections).gap
    return np.minimum(rods, fitted.room(angles, stands, rods))


def _all_round(fitted: Mover, lowered: CutTube, angles: Array, wanted: float) -> Array:
    """Return what `clearance` does of a row of angles, where nothing but its greatest counts, and on which side of wanted.

    It is right where it is the greatest of a stretch of clear ones, or of all; elsewhere it is no more than it may be.

    Source: a piston's distance changes by no more than it moves, so that a few heights bound those between them.
    """
    stands = swept(lowered)
    rods = nearest(stands, fitted.rod(angles).spread(), angles.size).gap
    raised, row = np.unique(np.round(fitted.raised(angles), 9), return_inverse=True)
    below = np.full(raised.shape, -np.inf)
    np.maximum.at(below, row, rods)
    low, high = np.full(raised.shape, -np.inf), np.full(raised.shape, np.inf)
    ask, count = np.unique(np.linspace(0, raised.size - 1, FIRST).astype(np.intp)), FIRST
    while ask.size:
        found = at_heights(fitted.tube(), stands, raised[ask], below[ask])
        least, away = np.minimum(found, below[ask]), np.abs(raised[:, None] - raised[ask])
        low = np.maximum(low, (least - away).max(axis=-1))
        high = np.minimum(high, (found + away).min(axis=-1))
        low[ask], high[ask] = least, found
        unsure = _unsure(np.minimum(rods, low[row]), np.minimum(rods, high[row]), wanted, count)
        ask, count = np.unique(row[unsure]), 2 * count
    gaps: Array = np.minimum(rods, low[row])
    return gaps


def _unsure(gaps: Array, most: Array, wanted: float, count: int) -> Index:
    """Return some of a row of distances that have to be looked at, those that tell most of the others first.

    gaps, most : (K) [mm] between which each is;  count : of a stretch at most
    """
    either = np.flatnonzero((gaps <= wanted) & (most > wanted))
    if either.size:
        return either[:: -(-either.size // count)]
    clear = gaps > wanted
    edges = np.flatnonzero(np.diff(clear)) + 1
    found = []
    for part in np.split(np.arange(gaps.size), edges):
        if clear[part[0]] or not clear.any():
            may = part[(most[part] > gaps[part]) & (most[part] >= gaps[part].max() - SAME_MM)]
            found.append(may[np.argsort(-most[may], kind="stable")][:count])
    return np.concatenate(found)


def on_the_way(fitted: Mover, lowered: CutTube, angles: Array, raised: Array) -> Array:
    """Return the distance at crank angles (K) with the cylinder raised by (H) above its seat, (H, K) [mm]."""
    rows = []
    for one in raised.tolist():
        there = lowered._replace(low=lowered.low + one, top=lowered.top + one)
        rows.append(_clear(fitted, there, angles, DRAWN))
    return np.stack(rows)


def drop_on(
    fitted: Mover, lowered: CutTube, name: str, wanted: float = 0.0, stands: CutTube | None = None
) -> DropOn:
    """Return the windows for lowering a cylinder, and what to cut where there is none.

    wanted : mm, the room there has to be, of piston and connecting rod
    stands : the spigot that is fitted; None where it was not measured
    """
    past = None if stands is None else apart(swept(lowered), stands)
    found = _windowed(fitted, lowered, name, wanted)
    way, rod = swept(lowered), fitted.rod(array([found.best])).spread()
    rods = float(nearest(way, rod, 1).gap[0])
    piston = apart(fitted.tube(found.best), way, below=rods)
    found = found._replace(past=past, piston=piston if piston.gap < rods else None)
    if found.blocked:
        return found._replace(windows=(), safest=None, relief=None, always=False)
    return found


def _windowed(fitted: Mover, lowered: CutTube, name: str, wanted: float) -> DropOn:
    """Return the windows as far as piston and connecting rod go."""
    angles = np.linspace(-np.pi, np.pi, ROW)
    gaps = _all_round(fitted, lowered, angles, wanted)
    clear = gaps > wanted
    best = int(np.argmax(gaps >= gaps.max() - SAME_MM))  # of equal ones the first
    at, margin = float(angles[best]), float(gaps[best])
    if clear.all():
        whole = Window(-np.pi, np.pi, margin, at)
        return DropOn(fitted.cylinder, name, (whole,), at, margin, at, None, True)
    if not clear.any():
        cut = _relief(fitted, lowered, at, wanted)
        return DropOn(fitted.cylinder, name, (), None, margin, at, cut, False)
    windows = tuple(_windows(fitted, lowered, angles, gaps, wanted))
    safest = ranked(windows, lambda one: one.margin)[0]
    return DropOn(fitted.cylinder, name, windows, safest.at, safest.margin, safest.at, None, False)


def with_crown(mapping: Flat, found: DropOn, own: Mover, stands: CutTube) -> DropOn:
    """Return a lowering with where the lowered cylinder's own piston then stands."""
    angle = array(found.best + leads(mapping, found.fitted, found.lowered))
    return found._replace(crown=float(own.crank.height(angle, own.forward) - stands.top))


def _windows(fitted: Mover, lowered: CutTube, angles: Array, gaps: Array, wanted: float) -> list[Window]:
    """Return the stretches of a row of angles that are clear, their ends closed in on together."""
    turn, room = angles[:-1], gaps[:-1]  # a whole turn, its first angle once
    count, step = turn.size, TURN / (angles.size - 1)
    first = int(np.argmin(room > wanted))  # begin where it is not clear
    runs: list[list[int]] = [[]]
    for index in ((np.arange(count) + first) % count).tolist():
        if room[index] > wanted:
            runs[-1].append(index)
        elif runs[-1]:
            runs.append([])
    runs = [run for run in runs if run]
    clear = np.array([turn[run[end]] for run in runs for end in (0, -1)])
    met = clear + np.tile([-step, step], len(runs))
    ends = _closed_in(fitted, lowered, clear, met, wanted)
    found = []
    for index, run in enumerate(runs):
        begins, stops = float(ends[2 * index]), float(ends[2 * index + 1])
        most = max(float(room[one]) for one in run)
        best = next(one for one in run if room[one] >= most - SAME_MM)
        begins += TURN if begins < -np.pi else 0.0
        stops += TURN if stops < begins else 0.0
        found.append(Window(begins, stops, float(room[best]), float(turn[best])))
    return sorted(found)


def _closed_in(fitted: Mover, lowered: CutTube, clear: Array, met: Array, wanted: float) -> Array:
    """Return the angles between clear ones and ones that are not, at which there is just the room, (N) to (N)."""
    shares = np.linspace(0.0, 1.0, PARTS + 1)
    for _ in range(LOOKS):
        between = clear[:, None] + shares * (met - clear)[:, None]
        room = clearance(fitted, lowered, between.ravel()).reshape(between.shape)
        room[:, 0], room[:, -1] = np.inf, -np.inf
        last = np.argmax(room <= wanted, axis=1)
        rows = np.arange(len(clear))
        clear, met = between[rows, last - 1], between[rows, last]
    return clear


def _relief(fitted: Mover, lowered: CutTube, at: float, wanted: float) -> Relief | None:
    """Return a relief that opens a window at an angle, or None where no lower edge that is cut does."""
    angle = np.array([at])
    seen, around, high = places(lowered, SECTIONS, HEIGHTS)
    piston, rod = fitted.tube(at), fitted.rod(array(at))
    near = np.minimum(piston.distance(seen), rod.distance(seen)).min(axis=0)
    cut = relief_around(lowered, near, around, high, wanted + GROW_MM)
    for _ in range(TRIES if cut is not None else 0):
        assert cut is not None
        way = lowered._replace(reliefs=(*lowered.reliefs, cut))
        if float(clearance(fitted, way, angle)[0]) > wanted:
            return cut
        cut = cut._replace(half=cut.half + GROW_MM / lowered.inner, height=cut.height + GROW_MM)
    return None
