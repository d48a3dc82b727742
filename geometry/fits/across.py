"""Each piston and connecting rod against the other cylinder's spigot, and the pistons against each other, through the turn.

A piston is a solid round from its crown plane down to the skirt's lower edge, cut away where that has an arch: only the
thrust faces look at the other cylinder, since the V stands across the wrist pin, so that what is cut away at the pin's
sides changes nothing. Behind an arch nothing is taken to stand; the pin's bosses are beside it. Cylinders share the
crank centre's line; each stands along the crankshaft where its `offset` says. Crank angles count from the moving
piston's own top centre.

Source: `cut_tube` and `spigot` for the distances; the piston's height alone decides how close it comes to a spigot
that stands, so that it is looked for over its travel.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..core.answer import Missing, lacking, of_cylinder
from ..core.frames import Array, array, point, to_engine
from ..core.mapping import Flat, Reader, names
from ..core.minima import minima
from ..crank.crank import Crank, crank_of, turns_forward
from ..crank.firing import places as firing_places
from ..crank.heels import TURN
from ..engine.alternatives import case_deck
from ..engine.defaults import completed
from ..piston.head import Head
from ..piston.pair import between
from .cut_tube import MOST_RELIEFS, Apart, CutTube, Relief, apart, at_heights
from .spigot import Rod, nearest, places, relief_around

MOST_CYLINDERS = 4  # of which every one is held against every other
ARCH = ("piston.arch_width", "piston.arch_height")  # of the skirt, in its thrust faces
ROW = 181  # crank angles looked at first
CLOSER, LOOKS = 9, 6
SECTIONS, HEIGHTS, ANGLES = 180, 40, 121  # places and crank angles at which a relief is looked for
GROW_MM = 0.5  # by which a relief is made larger until it suffices
TRIES = 8
SAME_MM = 1e-11  # what rounding leaves between equals
DEAD_MM = 1e-6  # of a dead centre: nearer is there
HALVINGS = 60


class Mover(NamedTuple):
    """One cylinder's piston and connecting rod, and where they stand in the engine."""

    cylinder: str
    crank: Crank
    forward: bool
    lean: float
    offset: float
    radius: float  # of the piston
    height: float  # crown plane to the skirt's lower edge
    beam: float | None  # mm across the connecting rod's beam
    arches: tuple[Relief, ...] = ()  # in the lower edge of the skirt, at its thrust faces

    def tube(self, crank: float | Array = 0.0) -> CutTube:
        """Return the piston at a crank angle from its own top centre."""
        top = float(self.crank.height(array(crank), self.forward))
        return CutTube(0.0, self.radius, top - self.height, top, self.arches, self.lean, self.offset)

    def raised(self, crank: Array) -> Array:
        """Return how far the piston is over where it is at its own top centre, (...) [mm]; never above 0."""
        return np.minimum(self.crank.height(crank, self.forward) - self.crank.top, 0.0)

    def room(self, crank: Array, stands: CutTube, below: Array) -> Array:
        """Return how near the piston is to a tube that stands, at crank angles (K) [mm]; infinite: not below, (K)."""
        raised, row = np.unique(np.round(self.raised(crank), 9), return_inverse=True)
        most = np.full(raised.shape, -np.inf)
        np.maximum.at(most, row, below)
        found: Array = at_heights(self.tube(), stands, raised, most)[row]
        return np.where(found < below, found, np.inf)

    def angle_at(self, raised: float) -> float:
        """Return the crank angle at which the piston, going down, is so far over its top centre [rad]."""
        travel, aside = float(self.crank.travel), float(self.crank.aside(self.forward))
        short = float(self.crank.conrod_length - self.crank.throw)
        bottom = float(np.pi + np.arcsin(aside / short) - self.crank.from_upright(self.forward))
        if raised <= DEAD_MM - travel:
            return bottom
        if raised >= -DEAD_MM:
            return 0.0
        low, high = 0.0, bottom
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            above = float(self.crank.height(array(middle), self.forward) - self.crank.top) > raised
            low, high = (middle, high) if above else (low, middle)
        return (low + high) / 2

    def head(self, crank: Array) -> Head:
        """Return the piston at crank angles (K) as a short cylinder, as `pair` takes it; an arch does not count."""
        low = self.crank.height(crank, self.forward) - self.height
        base = to_engine(point(0.0, 0.0, low), self.lean, self.offset)
        axis = np.broadcast_to(to_engine(point(0.0, 0.0, 1.0), self.lean), base.shape)
        shape = base.shape[:-1]
        return Head(base, axis, np.full(shape, self.radius), np.full(shape, self.height))

    def rod(self, crank: Array) -> Rod:
        """Return the connecting rod at crank angles (K), round, as thick as its beam is wide."""
        assert self.beam is not None
        first, second = (
            to_engine(point(one[..., 0], 0.0, one[..., 1]), self.lean, self.offset)
            for one in self.crank.pins(crank, self.forward)
        )
        return Rod(first, second, array(self.beam / 2))


class Closest(NamedTuple):
    """Where a moving part comes closest to a spigot that stands."""

    gap: float  # mm; 0 or less: they meet
    at: float  # crank rad from the part's own top centre
    around: float  # rad around that spigot's bore
    apart: Apart | None = None  # of a piston: where on it, or on the spigot


class Spigots(NamedTuple):
    """Two spigots in their seats against each other."""

    cylinders: tuple[str, str]
    apart: Apart  # of the first one's spigot to the second one's
    around: tuple[float, float]  # rad around the bore of each, where they are nearest


class Across(NamedTuple):
    """One cylinder's piston and connecting rod against the other cylinder's spigot."""

    moving: str
    spigot: str
    piston: Closest
    conrod: Closest | None  # None: its beam was not measured
    solid: bool = True  # the skirt is taken as solid, since no arch was measured


class Pistons(NamedTuple):
    """Two pistons against each other."""

    cylinders: tuple[str, str]
    gap: float  # mm
    at: float  # crank rad from the first one's own top centre


def mover(mapping: Flat, cylinder: str, with_rod: bool = False) -> Mover | Missing:
    """Return a cylinder's piston, or what it lacks."""
    reader, own = of_cylinder(mapping, cylinder), Reader(mapping, (f"{cylinder}.",))
    moving = crank_of(reader)
    diameter, below = reader.number("piston.diameter"), reader.number("piston.skirt_below_pin")
    beam = reader.number("crank.conrod_beam_width") if with_rod else array(np.nan)
    lean, offset = own.number("lean"), own.find("offset")
    arch = [reader.find(entry) for entry in ARCH]
    missing = lacking([reader, own])
    if missing is not None:
        return missing
    return Mover(
        cylinder,
        moving,
        turns_forward(mapping),
        float(lean),
        0.0 if offset is None else float(offset),
        float(diameter) / 2,
        float(moving.compression_height + below),
        float(beam) if with_rod else None,
        _arches(float(diameter), *arch),
    )


def _arches(diameter: float, width: Array | None, height: Array | None) -> tuple[Relief, ...]:
    """Return the arches of a skirt, alike in both thrust faces; none where it is taken as solid."""
    if width is None or height is None or width <= 0 or height <= 0:
        return ()
    half = float(np.arcsin(np.clip(width / diameter, 0.0, 1.0)))
    return tuple(Relief(at, half, float(height)) for at in (0.0, np.pi))


def spigot_of(mapping: Flat, cylinder: str) -> CutTube | Missing:
    """Return a cylinder's spigot, or what it lacks."""
    full, _ = completed(mapping)
    reader, own = of_cylinder(full, cylinder), Reader(full, (f"{cylinder}.",))
    bore, outer = reader.number("stack.bore"), own.number("spigot.outer_diameter")
    deck = case_deck(reader) - reader.number("stack.case_cut")
    length, lean, offset = own.number("spigot.length"), own.number("lean"), own.find("offset")
    reliefs = []
    for index in range(MOST_RELIEFS):
        stem = f"spigot.reliefs.{index}."
        if own.has(f"spigot.reliefs.{index}"):
            at, width, height = (own.number(f"{stem}{one}") for one in ("at", "width", "height"))
            half = np.arcsin(np.clip(width / bore, 0.0, 1.0))
            reliefs.append(Relief(float(at), float(half), float(height)))
    missing = lacking([reader, own])
    if missing is not None:
        return missing
    return CutTube(
        float(bore) / 2,
        float(outer) / 2,
        float(deck - length),
        float(deck),
        tuple(reliefs),
        float(lean),
        0.0 if offset is None else float(offset),
    )


def piston_to_spigot(moving: Mover, stands: CutTube) -> Closest:
    """Return how close a piston comes to the other cylinder's spigot through the turn."""
    tube = moving.tube()
    found = apart(tube, stands, float(moving.crank.travel))
    at = (moving.angle_at(found.raised) + np.pi) % TURN - np.pi
    return Closest(found.gap, at, stands.around(found.second), found)


def spigot_to_spigot(names: tuple[str, str], first: CutTube, second: CutTube) -> Spigots:
    """Return how close two spigots in their seats are to each other."""
    found = apart(first, second)
    return Spigots(names, found, (first.around(found.first), second.around(found.second)))


def conrod_to_spigot(moving: Mover, stands: CutTube) -> Closest | None:
    """Return how close a connecting rod comes to the other cylinder's spigot; None where its beam was not measured."""
    if moving.beam is None:
        return None
    angles = np.linspace(-np.pi, np.pi, ROW)
    found = nearest(stands, moving.rod(angles).spread(), angles.size, refine=False)
    middle, width = float(angles[_least(found.gap, angles)]), TURN / (ROW - 1)
    gap, at, around = np.inf, middle, 0.0
    for _ in range(LOOKS):
        closer = middle + width * np.linspace(-1.0, 1.0, CLOSER)
        there = nearest(stands, moving.rod(closer).spread(), closer.size)
        best = _least(there.gap, closer)
        gap = min(gap, float(there.gap.min()))
        at, around = float(closer[best]), float(there.around[best])
        middle, width = at, width / 4
    return Closest(gap, (at + np.pi) % TURN - np.pi, around % TURN)


def _least(gap: Array, angles: Array) -> int:
    """Return which of a row of gaps is the least; of equals the one nearest top centre."""
    level = gap <= gap.min() + SAME_MM
    return int(np.where(level, np.abs(angles), np.inf).argmin())


def piston_to_piston(mapping: Flat, first: Mover, second: Mover) -> Pistons:
    """Return how close two pistons come to each other through the turn."""
    ahead = leads(mapping, first.cylinder, second.cylinder)

    def curve(angle: Array, refine: bool) -> Array:
        return between(first.head(angle), second.head(angle + ahead), refine)

    row: Array = array(np.arange(180) * (TURN / 180) - np.pi)
    least = minima(curve, row)[0]
    return Pistons((first.cylinder, second.cylinder), least.value, least.angle)


def leads(mapping: Flat, first: str, second: str) -> float:
    """Return how far past its own top centre one cylinder is while another stands at its own [rad]."""
    tops = {one.cylinder: one.top_centre for one in firing_places(mapping)}
    return tops[first] - tops[second]


def relief_for(moving: Mover, stands: CutTube, wanted: float) -> Relief | None:
    """Return the relief that gives a wanted clearance; None where no lower edge that is cut does.

    Source: every place of both walls that is nearer than wanted at some crank angle, and a little more.
    """
    seen, around, high = places(stands, SECTIONS, HEIGHTS)
    near = np.full(seen.shape[:-1], np.inf)
    for angle in np.linspace(-np.pi, np.pi, ANGLES):
        near = np.minimum(near, moving.tube(angle).distance(seen))
    cut = relief_around(stands, near.min(axis=0), around, high, wanted + GROW_MM / 2)
    for _ in range(TRIES if cut is not None else 0):
        assert cut is not None
        there = piston_to_spigot(moving, stands._replace(reliefs=(*stands.reliefs, cut)))
        if there.gap >= wanted:
            return cut
        cut = cut._replace(half=cut.half + GROW_MM / stands.inner, height=cut.height + GROW_MM)
        if cut.height >= stands.top - stands.low:
            return None
    return None


def middle_reliefs(first: CutTube, second: CutTube, wanted: float) -> tuple[Relief, Relief] | None:
    """Return the reliefs that keep two spigots a wanted distance apart, one for each; of no width where none is needed.

    None where one would reach the case deck, or more than half the way round.

    Each is kept half of it off the plane through the crank's axis that halves the V: of a pair that is its own mirror
    image that is no more than is needed, of others it is enough.

    Source: X = z sin λ - r cos φ cos λ, the distance from that plane of a place at angle φ from the side that faces it.
    """
    apart_by = (float(first.lean - second.lean) + np.pi) % TURN - np.pi
    found = []
    for tube, facing in ((first, np.pi if apart_by > 0 else 0.0), (second, 0.0 if apart_by > 0 else np.pi)):
        up, out = np.sin(abs(apart_by) / 2), np.cos(abs(apart_by) / 2) * float(tube.outer)
        short = float(tube.low) * up - wanted / 2
        if short >= out:
            found.append(Relief(facing, 0.0, 0.0))
            continue
        if up <= 0 or short <= 0:
            return None
        height = (out + wanted / 2) / up - float(tube.low)
        if height >= tube.top - tube.low:
            return None
        found.append(Relief(facing, float(np.arccos(short / out)), float(height)))
    return found[0], found[1]


def pairs(mapping: Flat) -> list[tuple[str, str]]:
    """Return every ordered pair of cylinders."""
    cylinders = names(mapping, "cylinders")
    return [(one, other) for one in cylinders for other in cylinders if one != other]
