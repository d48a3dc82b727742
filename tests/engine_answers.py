"""What `geometry/` says of a batch of engines, as arrays by name, so that two batches can be held against each other."""

from __future__ import annotations

import numpy as np
from tallstack.geometry import build, fit, required
from tallstack.geometry.cam.cam import Cam, CamLobe, Tables
from tallstack.geometry.clearance.valve_lift import ValveLift, valve_lift
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates, over_valve
from tallstack.geometry.core.answer import Found, Missing, spread
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.core.minima import Minimum
from tallstack.geometry.core.search import SPACING
from tallstack.geometry.fits import across, skirt, volume
from tallstack.geometry.gear.train import closed, motion
from tallstack.geometry.piston.cycle import between_at, least_between
from tallstack.geometry.piston.over_piston import over_piston

from .oracles.random_trains import PEAK, TRAIN, Entries
from .random_engines import TRAINS

LIFTS = np.linspace(0.0, PEAK, 6)
LONGER_MM = 0.1
BARELY = float(1 - np.cos(SPACING))  # of how far a rim's lowest point is below its middle
CRANK = np.radians([-95.0, -28.0, -9.0, 0.0, 11.0, 33.0, 105.0])
RATIOS = ("lean", "growth", "ratio", "swing", "compression")  # of which lengths are no part
SQUARE, CUBE = ("area",), ("displacement",)

Answers = dict[str, Array]


def flat(mapping: Entries) -> Flat:
    """Return a mapping as the library's type."""
    return mapping  # type: ignore[return-value]


def of_gears(mapping: Entries, size: float = 1.0) -> Answers:
    """Return what is known of each of the valve gears of `random_engines.gears`, (engines, 1) or (engines, lifts).

    size : of lifter lifts and of what the pushrod is made longer by
    """
    train = build(spread(flat(mapping))).train(TRAIN)
    assert train.drawn is not None
    needed = required(train)
    length = needed.lengths["centres"]
    assert np.isfinite(length).all()
    down = array(0.0) if train.lifter.down is None else train.lifter.down
    found = motion(train.drawn, closed(train.drawn), length, size * LIFTS, down)
    longer = fit(train, length + size * LONGER_MM)
    setting = longer.preload if longer.lash is None else longer.lash
    told = {
        "centres": length,
        "lean": needed.lean,
        "growth": needed.growth_per_stack,
        "reach": needed.reach,
        "across": needed.across,
        "lift": found.lift,
        "ratio": found.ratio,
        "setting": setting,
        "held_open": longer.held_open,
    }
    return {name: value for name, value in told.items() if value is not None}


def valves(mapping: Entries) -> list[ByCoordinates]:
    """Return the two valves of an engine, or of a batch of them, over their piston."""
    engine, cam = build(flat(mapping)), Cam(flat(mapping), Tables())
    over = over_piston(flat(mapping), "one", {})
    found = []
    for name in TRAINS:
        lobe = cam.lobe_of(name)
        assert isinstance(lobe, CamLobe)
        lift = valve_lift(engine.train(name), lobe)
        assert isinstance(lift, ValveLift)
        known = over_valve(flat(mapping), name, over, lift)
        assert isinstance(known, ByCoordinates)
        found.append(known)
    return found


def of_engines(mapping: Entries, crank: Array = CRANK) -> Answers:
    """Return lengths, lifts, clearances at crank angles and the fits of one cylinder, for a batch of engines."""
    wide = spread(flat(mapping))
    engine, pair = build(wide), valves(dict(wide))
    found: Answers = {}
    for name, over in zip(TRAINS, pair, strict=True):
        lift = over.lift.at(crank)
        found |= {
            f"{name} centres": required(engine.train(name)).lengths["centres"],
            f"{name} lift": lift,
            f"{name} drop": over.drop(crank, lift),
            f"{name} gap": over.gap(crank, lift),
            f"{name} wall": wall_told(over, crank, lift),
        }
        assert np.isfinite(lift).all()
    found["between"] = between_at(pair[0].valve, pair[1].valve, crank)
    parts = (
        volume.displacement,
        volume.squish,
        skirt.swing,
        skirt.skirt_to_beam,
        skirt.skirt_to_counterweight,
    )
    for part in (*parts, skirt.beam_to_spigot):
        found |= _figures(part(flat(mapping), "one"))
    return found


def wall_told(over: ByCoordinates, crank: Array, lift: Array) -> Array:
    """Return the room to a pocket's wall; NaN where the rim is barely below the crown plane.

    Over less of the rim than from one turn looked at first to the next, which is where it dips by a few microns,
    the room may be told or not.
    """
    head = over.head
    sine = np.hypot(head.stem[..., 0], head.stem[..., 1])
    face = head.centre[..., 2] - lift * head.stem[..., 2] + over.descent(crank) - head.radius * sine
    barely = -BARELY * head.radius * sine
    dips = [(barely < low) & (low < 0) for low in (face, face + head.margin * head.stem[..., 2])]
    return np.where(dips[0] | dips[1], np.nan, over.wall(crank, lift))


def least_of(mapping: Entries) -> Answers:
    """Return the least clearances through the cycle of one engine."""
    pair = valves(mapping)
    found: Answers = {}
    for name, over in zip(TRAINS, pair, strict=True):
        drop = over.least_drop()[0]
        gap, wall = over.least_gap(drop.angle), over.least_wall()
        found |= {
            f"{name} {what}": _value(one) for what, one in (("drop", drop), ("gap", gap), ("wall", wall))
        }
    found["between"] = _value(least_between(pair[0].valve, pair[1].valve))
    return found


def power(name: str) -> int:
    """Return how an answer grows with the engine: as a length, or not, or as a volume."""
    return 0 if name.endswith(RATIOS) or name.startswith("swing") else 3 if name == "displacement" else 1


def of_crossing(mapping: Entries) -> Answers:
    """Return how close a twin's pistons, connecting rods and spigots come to the other cylinder; 0 of tubes that meet."""
    moving = {one: across.mover(flat(mapping), one, with_rod=True) for one in ("one", "two")}
    stands = {one: across.spigot_of(flat(mapping), one) for one in ("one", "two")}
    found: Answers = {}
    for one, other in (("one", "two"), ("two", "one")):
        here, there = moving[one], stands[other]
        assert not isinstance(here, Missing)
        assert not isinstance(there, Missing)
        rod = across.conrod_to_spigot(here, there)
        assert rod is not None
        found |= {
            f"{one} piston": array(max(across.piston_to_spigot(here, there).gap, 0.0)),
            f"{one} rod": array(rod.gap),
        }
    first, second = moving["one"], moving["two"]
    assert not isinstance(first, Missing)
    assert not isinstance(second, Missing)
    near, far = stands["one"], stands["two"]
    assert not isinstance(near, Missing)
    assert not isinstance(far, Missing)
    found["spigots"] = array(max(across.spigot_to_spigot(("one", "two"), near, far).apart.gap, 0.0))
    return {**found, "pistons": array(across.piston_to_piston(flat(mapping), first, second).gap)}


def _figures(found: Found) -> Answers:
    assert not isinstance(found, Missing), found
    return {name: array(one.value) for name, one in found.items()}


def _value(one: Minimum | None) -> Array:
    return array(np.inf if one is None else one.value)
