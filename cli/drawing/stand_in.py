"""What stands in for an engine's places that nobody entered, so that it can be drawn as it moves, though not to scale.

Where a crank, a case deck or a valve gear's coordinates are not entered, places are invented that look like an engine's:
the valve in its seat, where it was entered or at the lean that was read, its rocker, a pushrod down to a lifter over the case. What is known
keeps its numbers: leans, stroke, connecting rod, the stack, the rocker's ratio; and pistons and valves go as far as
`turning` tells. One place that is invented makes the whole drawing one that is not to scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import numpy as np
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance.situation import situation
from tallstack.geometry.clearance.turning import Opening, Turning, turning
from tallstack.geometry.clearance.valve_lift import Linkage
from tallstack.geometry.core.frames import Array, array, from_lean, point, unit
from tallstack.geometry.core.mapping import Flat, Frozen, Reader, names
from tallstack.geometry.crank.crank import crank_of
from tallstack.geometry.engine import alternatives
from tallstack.geometry.engine.engine import Train, build
from tallstack.geometry.gear.train import Drawn, closed, turn_at_gap
from tallstack.geometry.pushrod.assembly import obstacles
from tallstack.geometry.pushrod.pushrods import by_coordinates

from .running import CROWN_ABOVE_PIN, HALF_BORE

# mm and rad, where no entry says
STROKE, ROD_SHARE, CYLINDER_SHARE = 100.0, 1.8, 1.35  # connecting rod of the stroke, cylinder of the bore
BASE_GASKET, HEAD_GASKET = 0.5, 1.0
LEAN, RATIO, ARM_ANGLE, TIP = math.radians(20.0), 1.6, math.radians(160.0), 6.0
FACE_SHARE, LENGTH_SHARE, ARM_SHARE, HEAD_SHARE = 0.24, 1.2, 0.3, 0.22  # of the bore
MOST_SHARE, RATIOS = 0.8, (0.8, 2.5)  # of the valve arm, how far it goes; between which a ratio is drawn
SEAT_BELOW, CUP_OUT = 14.0, 12.0  # lifter under the deck; pushrod at least so far off the axis
OF_GEAR = ("lifter.seat", "lifter.lean", "lifter.lowered", "rocker", "valve.face", "valve.lean", "valve.sink")
OF_VALVE = ("valve.length", "valve.tip_height")


class Standing(NamedTuple):
    """One engine as it is to be drawn."""

    mapping: Flat  # with every place it needs
    trains: dict[str, Train]
    turning: Turning  # of what is drawn
    to_scale: bool
    notes: tuple[str, ...]  # what was invented, and what does not move, in sentences


def standing(mapping: Flat, tables: Tables, found: Turning) -> Standing:
    """Return where the parts of an engine are drawn; found : where they stand as far as that is known."""
    trains = {one.name: one for one in build(mapping).trains}
    cylinders = names(mapping, "cylinders")
    no_crank = [one for one in cylinders if one not in found.cylinders]
    no_turn = [one for one in found.cylinders if not _turns(mapping, one)]
    no_deck = [
        one
        for one in cylinders
        if one not in (*no_crank, *no_turn) and not np.isfinite(_top_face(mapping, one))
    ]
    no_place = [name for name, one in trains.items() if one.drawn is None or obstacles(one)]
    to_scale = not (no_crank or no_turn or no_deck or no_place)
    whole = mapping if to_scale else Frozen(_with_places(mapping, trains, no_place))
    why = [f"the stroke or the connecting rod of {listed(no_crank)}"] if no_crank else []
    why += [f"a crank and a connecting rod that can turn, of {listed(no_turn)}"] if no_turn else []
    why += [f"how high the case deck of {listed(no_deck)} stands"] if no_deck else []
    why += [f"the coordinates of {listed(no_place)}"] if no_place else []
    notes = [f"NOT TO SCALE, places are invented that are not entered: {'; '.join(why)}."] if why else []
    if to_scale:
        moved = found
    else:
        trains = {one.name: one for one in build(whole).trains}
        moved, taken = _moved(whole, tables, found, trains)
        part = f"a rocker's ratio of {RATIO:g}, no lash and no preload where none is entered"
        notes += [f"Of the lift of {listed(taken)} not all is entered: drawn with {part}."] if taken else []
    still = [name for name in trains if name not in moved.valves or moved.valves[name].cosine is None]
    notes += [f"Drawn closed, its lift is not known: {listed(still)}."] if still else []
    return Standing(whole, trains, moved, to_scale, tuple(notes))


def listed(of: Iterable[str]) -> str:
    """Return names in words."""
    return ", ".join(one.replace(".", " ") for one in of)


def _turns(mapping: Flat, cylinder: str) -> bool:
    """Say whether a cylinder's crank can turn past its lowest."""
    parts = crank_of(Reader(mapping, (f"{cylinder}.", "")))
    return bool(parts.conrod_length - parts.throw > np.abs(np.nan_to_num(parts.pin_offset)))


def _top_face(mapping: Flat, cylinder: str) -> float:
    """Return the height of the head's gasket face; NaN where it is not known."""
    reader = Reader(mapping, (f"{cylinder}.", ""))
    deck = alternatives.case_deck(reader)
    return float(deck) if reader.find("stack.cylinder") is not None else math.nan


def _moved(
    whole: Flat, tables: Tables, found: Turning, trains: Mapping[str, Train]
) -> tuple[Turning, list[str]]:
    """Return where the parts go in their invented places, and whose lift rests on an invented ratio."""
    cam = Cam(whole, tables)
    here = {  # over invented pistons no valve is looked at
        name: situation(whole, name, cam)._replace(valves={}) for name in names(whole, "cylinders")
    }
    invented = turning(whole, here, found.crank)
    valves: dict[str, Opening] = {}
    taken: list[str] = []
    for name, train in trains.items():
        own = invented.own[train.cylinder]
        if name in found.lifts:
            valves[name] = follows(train, found.lifts[name].at(own))
        elif name in invented.lifts:
            valves[name] = follows(train, invented.lifts[name].at(own))
            taken.append(name)
    lifts = {**invented.lifts, **found.lifts}
    return invented._replace(valves=valves, guessed=found.guessed, lifts=lifts), taken


def follows(train: Train, lift: Array) -> Opening:
    """Return where a valve gear stands whose valve is lifted so far, (...) [mm]; its rocker goes as far as it can."""
    assert train.drawn is not None
    pose, down = closed(train.drawn), train.lifter.down
    length = by_coordinates(train, pose).lengths["centres"]
    link = Linkage(train.drawn, pose, length, array(0.0) if down is None else down)
    followed = np.minimum(lift, MOST_SHARE * train.drawn.valve_arm)
    cosine, sine, _ = turn_at_gap(train.drawn, pose, -followed)
    return Opening(lift, link.lifter_lift(followed) - link.lifter_lift(array(0.0)), cosine, sine, None, None)


def _with_places(mapping: Flat, trains: Mapping[str, Train], invented: Iterable[str]) -> dict[str, Any]:
    """Return the mapping with every place that a drawing needs."""
    found: dict[str, Any] = dict(mapping)
    cylinders = names(mapping, "cylinders")
    for cylinder in cylinders:
        _crank(found, cylinder)
    decks = [_deck(found, one) for one in cylinders if not np.isfinite(_deck_of(found, one))]
    for cylinder in cylinders:
        if not np.isfinite(_deck_of(found, cylinder)):
            found[f"{cylinder}.stack.case_deck"] = max(decks)
        _entry(
            found,
            cylinder,
            "stack.cylinder",
            _tops(found, cylinder) - _deck_of(found, cylinder) - BASE_GASKET,
        )
    for name in invented:
        _gear(found, trains[name])
    return found


def _entry(found: dict[str, Any], owner: str, entry: str, value: float | str) -> None:
    """Add an entry of a cylinder or a valve gear that has none."""
    if not any(f"{prefix}{entry}" in found for prefix in (f"{owner}.", "")):
        found[f"{owner}.{entry}"] = value


def _value(found: Flat, owner: str, entry: str, otherwise: float) -> float:
    one = Reader(found, (f"{owner}.", "")).find(entry)
    return otherwise if one is None else float(one)


def _crank(found: dict[str, Any], cylinder: str) -> None:
    for entry, value in (
        ("stack.bore", 2 * HALF_BORE),
        ("stack.base_gasket", BASE_GASKET),
        ("stack.head_gasket", HEAD_GASKET),
        ("piston.compression_height", CROWN_ABOVE_PIN),
        ("piston.pin_offset", 0.0),
        ("crank.stroke", STROKE),
    ):
        _entry(found, cylinder, entry, value)
    long = ROD_SHARE * _value(found, cylinder, "crank.stroke", STROKE)
    _entry(found, cylinder, "crank.conrod_length", long)
    if not _turns(found, cylinder):
        found |= {f"{cylinder}.crank.conrod_length": long, f"{cylinder}.piston.pin_offset": 0.0}


def _tops(found: Flat, cylinder: str) -> float:
    """Return the height of the crown at its highest."""
    return float(crank_of(Reader(found, (f"{cylinder}.", ""))).top)


def _deck_of(found: Flat, cylinder: str) -> float:
    return float(alternatives.case_deck(Reader(found, (f"{cylinder}.", ""))))


def _deck(found: Flat, cylinder: str) -> float:
    """Return the case deck under a cylinder whose top face is level with the crown at its highest."""
    long = _value(
        found, cylinder, "stack.cylinder", CYLINDER_SHARE * _value(found, cylinder, "stack.bore", 0.0)
    )
    return _tops(found, cylinder) - long - _value(found, cylinder, "stack.base_gasket", 0.0)


def _gear(found: dict[str, Any], train: Train) -> None:
    """Add a valve gear's places; what it has of them, but its sizes, gives way to them."""
    name, cylinder = train.name, train.cylinder
    reader = Reader(found, (f"{name}.", f"{cylinder}.", ""))
    bore = _value(found, cylinder, "stack.bore", 2 * HALF_BORE)
    side = -1.0 if _value(found, cylinder, "lean", 0.0) >= 0 else 1.0
    side *= 1.0 if train.port == "intake" else -1.0
    leans = [_value(found, name, entry, math.nan) for entry in ("valve.lean.x", "valve.lean.y")]
    if not all(math.isfinite(one) for one in leans):
        leans = [side * _value(found, name, "measured_drop.lean", LEAN), 0.0]
    stem = from_lean(array(leans[0]), array(leans[1]))
    side = math.copysign(1.0, float(stem[0])) if stem[0] else side
    head = _value(found, name, "valve.head_diameter", 2 * HEAD_SHARE * bore) / 2
    long = _value(found, name, "valve.length", LENGTH_SHARE * bore)
    arm = _value(found, name, "rocker.valve_arm", ARM_SHARE * bore)
    ratio = RATIO if train.ratio is None else min(max(float(train.ratio), RATIOS[0]), RATIOS[1])
    face = reader.point("valve.face")
    if not np.isfinite(face).all():
        low = head * math.hypot(float(stem[0]), float(stem[1]))
        face = point(side * FACE_SHARE * bore, 0.0, low + 1.0)
    gone = tuple(f"{name}.{one}" for one in (*OF_GEAR, *OF_VALVE))
    for path in [one for one in found if one.startswith(gone)]:
        del found[path]
    tip = face + long * stem
    out = unit(point(side * float(stem[2]), 0.0, -abs(float(stem[0]))))  # square to the stem, off the axis
    inward = side * float((tip - (arm + arm / ratio) * out)[0]) > CUP_OUT
    shaft = tip + TIP * stem + (-arm if inward else arm) * out
    drawn = Drawn(
        seat=point(0.0, 0.0, 0.0),
        lift_axis=point(0.0, 0.0, 1.0),
        shaft=shaft,
        axis=point(0.0, 1.0, 0.0),
        valve_arm=array(arm),
        pushrod_arm=array(arm / ratio),
        arm_angle=array(ARM_ANGLE),
        valve_station=array(0.0),
        pushrod_station=array(0.0),
        tip_radius=array(TIP),
        tip=tip,
        stem=stem,
    )
    cup = closed(drawn).cup
    stack = float(alternatives.stack_height(Reader(found, (f"{cylinder}.", ""))))
    seat = point(float(cup[0]), float(cup[1]), -SEAT_BELOW)
    rise = cup + point(0.0, 0.0, stack if math.isfinite(stack) else 0.0) - seat
    places = {
        "lifter.seat": seat,
        "rocker.shaft": shaft,
        "rocker.direction": drawn.axis,
        "valve.face": face,
    }
    for entry, place in places.items():
        found |= {f"{name}.{entry}.{axis}": float(value) for axis, value in zip("xyz", place, strict=True)}
    found |= {
        f"{name}.lifter.lean.x": math.atan2(float(rise[0]), float(rise[2])),
        f"{name}.lifter.lean.y": 0.0,
        f"{name}.lifter.lowered": 0.0,
        f"{name}.valve.sink": 0.0,
        f"{name}.valve.lean.x": leans[0],
        f"{name}.valve.lean.y": leans[1],
        f"{name}.valve.length": long,
        f"{name}.rocker.valve_arm": arm,
        f"{name}.rocker.pushrod_arm": arm / ratio,
        f"{name}.rocker.arm_angle": ARM_ANGLE,
        f"{name}.rocker.valve_station": 0.0,
        f"{name}.rocker.pushrod_station": 0.0,
        f"{name}.rocker.tip_radius": TIP,
    }
    if f"{name}.lifter.kind" not in found:
        found[f"{name}.lifter.kind"] = "hydraulic"
    setting = "lifter.lash" if found[f"{name}.lifter.kind"] == "solid" else "lifter.preload"
    _entry(found, name, setting, 0.0)
