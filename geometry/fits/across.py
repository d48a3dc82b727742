"""Each piston and connecting rod against the other cylinder's spigot, and the pistons against each other, through the turn.

A piston is a solid round from its crown plane down to the skirt's lower edge. Cylinders share the crank centre's
line; each stands along the crankshaft where its `offset` says. Crank angles count from the moving piston's own
top centre.

Source: `spigot` for the distances; the piston's height alone decides how close it comes to a spigot that stands.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..core.answer import Missing, lacking, of_cylinder
from ..core.frames import Array, array, point, to_engine
from ..core.mapping import Flat, Reader, names
from ..core.minima import minima
from ..crank.crank import Crank, crank_of, turns_forward
from ..crank.firing import places as firing_places
from ..engine.alternatives import case_deck
from ..engine.defaults import completed
from ..piston.head import Head
from ..piston.pair import between
from .spigot import Relief, Rod, Round, Spigot, nearest, places, relief_around

TURN = 2 * np.pi
ROW = 181  # crank angles looked at first
CLOSER, LOOKS = 9, 6
SECTIONS, HEIGHTS, ANGLES = 180, 40, 121  # places and crank angles at which a relief is looked for
MOST_RELIEFS = 8
GROW_MM = 0.5  # by which a relief is made larger until it suffices
TRIES = 8
SAME_MM = 1e-11  # what rounding leaves between equals


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

    def piston(self, crank: Array) -> Round:
        """Return the piston at crank angles (K) from its own top centre."""
        low = self.crank.height(crank, self.forward) - self.height
        base = to_engine(point(0.0, 0.0, low), self.lean, self.offset)
        axis = np.broadcast_to(to_engine(point(0.0, 0.0, 1.0), self.lean), base.shape)
        return Round(base, axis, array(self.radius), array(self.height))

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


class Across(NamedTuple):
    """One cylinder's piston and connecting rod against the other cylinder's spigot."""

    moving: str
    spigot: str
    piston: Closest
    conrod: Closest | None  # None: its beam was not measured


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
    )


def spigot_of(mapping: Flat, cylinder: str) -> Spigot | Missing:
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
    return Spigot(
        float(bore) / 2,
        float(outer) / 2,
        float(deck - length),
        float(deck),
        tuple(reliefs),
        float(lean),
        0.0 if offset is None else float(offset),
    )


def piston_to_spigot(moving: Mover, stands: Spigot) -> Closest:
    """Return how close a piston comes to the other cylinder's spigot through the turn."""
    return _closest(moving.piston, stands)


def conrod_to_spigot(moving: Mover, stands: Spigot) -> Closest | None:
    """Return how close a connecting rod comes to the other cylinder's spigot; None where its beam was not measured."""
    if moving.beam is None:
        return None
    return _closest(moving.rod, stands)


def _closest(body: Callable[[Array], Round | Rod], stands: Spigot) -> Closest:
    """Return the least distance over a turn of a body, given at crank angles (K)."""
    angles = np.linspace(-np.pi, np.pi, ROW)
    found = nearest(stands, body(angles).spread(), angles.size, refine=False)
    middle, width = float(angles[_least(found.gap, angles)]), TURN / (ROW - 1)
    gap, at, around = np.inf, middle, 0.0
    for _ in range(LOOKS):
        closer = middle + width * np.linspace(-1.0, 1.0, CLOSER)
        there = nearest(stands, body(closer).spread(), closer.size)
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
        return between(head_of(first.piston(angle)), head_of(second.piston(angle + ahead)), refine)

    row: Array = array(np.arange(180) * (TURN / 180) - np.pi)
    least = minima(curve, row)[0]
    return Pistons((first.cylinder, second.cylinder), least.value, least.angle)


def leads(mapping: Flat, first: str, second: str) -> float:
    """Return how far past its own top centre one cylinder is while another stands at its own [rad]."""
    tops = {one.cylinder: one.top_centre for one in firing_places(mapping)}
    return tops[first] - tops[second]


def head_of(body: Round) -> Head:
    """Return a piston as a short cylinder, as `pair` takes it."""
    shape = body.base.shape[:-1]
    return Head(
        body.base, body.axis, np.broadcast_to(body.radius, shape), np.broadcast_to(body.height, shape)
    )


def relief_for(moving: Mover, stands: Spigot, wanted: float) -> Relief | None:
    """Return the relief that gives a wanted clearance; None where no lower edge that is cut does.

    Source: every place of both walls that is nearer than wanted at some crank angle, and a little more.
    """
    seen, around, high = places(stands, SECTIONS, HEIGHTS)
    near = np.full(seen.shape[:-1], np.inf)
    for angle in np.linspace(-np.pi, np.pi, ANGLES):
        body = moving.piston(array(angle))
        near = np.minimum(near, body.distance(seen))
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


def pairs(mapping: Flat) -> list[tuple[str, str]]:
    """Return every ordered pair of cylinders."""
    cylinders = names(mapping, "cylinders")
    return [(one, other) for one in cylinders for other in cylinders if one != other]
