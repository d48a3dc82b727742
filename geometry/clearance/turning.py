"""Where the moving parts stand at each crank angle of the whole cycle.

Crank angles count from the first cylinder's overlap top centre, in the direction of turning; each cylinder has its
own beside it, from its own overlap top centre. Places stand in each cylinder's own frame, x and z, the crank centre
at (0, 0):

               ● wrist pin (offset, z)
                ╲
                 ╲                       turning "forward" carries the pin from z towards +x
               r ╱● crank pin
                o

A cylinder whose firing angle was not entered is taken to fire at the first of its two top centres.

Source: `crank` for pin and piston, `firing` for the cylinders' places, `valve_lift` for the valve gear.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from ..cam.cam import lifted
from ..core.frames import Array, array
from ..core.mapping import Flat, Reader
from ..crank.crank import Crank, crank_of, turns_forward
from ..crank.firing import places
from ..crank.heels import CYCLE
from ..engine.defaults import completed
from .situation import Situation
from .valve_lift import ValveLift

HALF = CYCLE / 2


class Moving(NamedTuple):
    """One cylinder's crank pin and piston; (angles) each, mm."""

    own: Array  # rad from its own overlap top centre, -360° to 360°
    pin: Array  # (angles, 2) crank pin, x and z
    wrist: Array  # (angles, 2) wrist pin, x and z
    below: Array  # piston below its highest point


class Opening(NamedTuple):
    """One valve and its gear; (angles) each, mm. What is not known is None."""

    lift: Array  # of the valve
    lifter: Array | None  # of the lifter
    cosine: Array | None  # of the rocker's turn from the closed valve
    sine: Array | None
    drop: Array | None  # NaN where a dial reading does not tell it
    gap: Array | None


class Turning(NamedTuple):
    """One engine through its cycle."""

    crank: Array  # (angles) rad from the first cylinder's overlap top centre
    own: dict[str, Array]  # cylinder → its own angle
    cylinders: dict[str, Moving]  # those whose crank and piston are known
    valves: dict[str, Opening]  # by valve gear, those whose lift is known
    between: dict[str, Array]  # cylinder → (angles) distance between its two valves, mm, where it is known
    guessed: tuple[str, ...]  # cylinders whose firing angle was not entered
    lifts: dict[str, ValveLift]  # by valve gear, what tells its lift
    forward: bool  # the way it turns, or is taken to


def turning(mapping: Flat, situations: Mapping[str, Situation], crank: Array) -> Turning:
    """Return where the moving parts stand.

    mapping    : one engine, see `mapping`
    situations : each cylinder with its valves over their piston, as `situation.situation` tells it
    crank      : (angles) [rad]
    """
    full, _ = completed(mapping)
    forward = turns_forward(full)
    own: dict[str, Array] = {}
    moving: dict[str, Moving] = {}
    valves: dict[str, Opening] = {}
    apart: dict[str, Array] = {}
    guessed: list[str] = []
    for place in places(full):
        if place.fires_at is None:
            guessed.append(place.cylinder)
        later = place.top_centre if place.fires_at is None else place.fires_at
        angle = np.mod(crank - later + HALF, CYCLE) - HALF
        own[place.cylinder] = angle
        parts = crank_of(Reader(full, (f"{place.cylinder}.", "")))
        if np.isfinite(parts.throw) and np.isfinite(parts.conrod_length):
            moving[place.cylinder] = pins(parts._replace(compression_height=array(0.0)), angle, forward)
        here = situations.get(place.cylinder)
        for name, lift in {} if here is None else here.lifts.items():
            valves[name] = opening(lift, here, name, angle)
        pair = None if here is None or here.problems else here.apart()
        if pair is not None:
            apart[place.cylinder] = pair.at(angle)
    lifts = {name: lift for here in situations.values() for name, lift in here.lifts.items()}
    return Turning(crank, own, moving, valves, apart, tuple(guessed), lifts, forward)


def pins(parts: Crank, own: Array, forward: bool) -> Moving:
    """Return where a cylinder's two pins stand at its own crank angles, (angles) [rad]."""
    pin, wrist = parts.pins(own, forward)
    return Moving(own, pin, wrist, parts.descent(own, forward))


def opening(gear: ValveLift, here: Situation | None, name: str, own: Array) -> Opening:
    """Return one valve and its gear at its cylinder's own crank angles, (angles) [rad]."""
    lift, link = gear.at(own), gear.linkage
    lifter = None if gear.lobe.at_valve else gear.scale * lifted(gear.lobe, own)
    if lifter is None and link is not None:
        lifter = link.lifter_lift(lift)
    cosine = sine = None
    if lifter is not None and link is not None:
        stands = link.motion(lifter, array(0.0) if gear.pumped else link.down)
        cosine, sine = stands.cosine, stands.sine
    over = None if here is None else here.valves.get(name)
    drop, gap = (None, None) if over is None else (over.drop(own, lift), over.gap(own, lift))
    return Opening(lift, lifter, cosine, sine, drop, gap)
