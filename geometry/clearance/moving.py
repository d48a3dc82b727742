"""How much each entry moves a least clearance, and how sure the clearance is.

The derivative of a minimum is the derivative at the crank angle of the minimum, that angle held: moving the
angle changes a minimum by nothing to first order. Entries of the engine are varied through the mapping, all
in one batch; entries of cam and lobes move the lobe's lift at that angle, and the lift moves the clearance. A
crown's table of heights carries no doubt, so that nothing over it is proved.

A cam that is off shifts its lobe; a card that is off is taken as linear in the lobe's lift about that angle. The
noise of a lobe's readings is added in squares.

Source: the envelope theorem; the noise of a lobe's readings as in `fit`, the shape of a card's lobe as in `shape_doubt`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..cam.cam import Cam, CamLobe, Tables, shaped_by
from ..core.frames import Array, array
from ..core.mapping import Flat, Quantities, Reader, frozen
from ..doubt.budget import Budget, Doubt, budget
from ..doubt.derivatives import THREE, derivatives, told
from ..engine.engine import train_of
from ..piston.over_piston import over_piston
from ..piston.touch_entries import TABLE
from ..piston.valves_touch import ALLOWED_MM
from .situation import Asked, Placed, Situation, at_rest, clearance_at, trains_of, valve_of
from .valve_lift import ValveLift, valve_lift
from .valve_over_piston import ByCoordinates, over_valve

if TYPE_CHECKING:
    from .shape_doubt import Bounds, ShapeDoubt

NOTHING = 1e-7  # mm per mm, rad or plain: what rounding makes of no slope at all
STEP = 1e-3  # mm or rad, of a lobe's entries and of its lift


Ends = tuple[CamLobe, CamLobe]  # of one valve gear, with one entry a step more and a step less


class Weighed(NamedTuple):
    """How sure one clearance is, and what moves it."""

    budget: Budget
    slopes: dict[str, float]  # entry → mm per mm, rad or plain
    shape: ShapeDoubt | None = None  # of lobes known by their cards


def budgets(
    mapping: Flat,
    here: Situation,
    asked: Sequence[Asked],
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
    tables: Tables,
    alone: Flat | None = None,
) -> dict[str, Weighed]:
    """Return the linear budget of least clearances of one cylinder, by their keys.

    quantities : measured quantity → the entries that move with it, and their sign
    doubts     : quantity → its doubt, where stated
    tables     : what was read beside the job
    alone      : the mapping without the other cylinders, see `engine.alone`; all quantities move entries of it
    """
    own = mapping if alone is None else alone
    runs = here.runs is not at_rest
    groups = {name: paths for name, paths in quantities.items() if runs or _concerns(here.cylinder, paths)}
    table = slopes(own, here, asked, groups, tables)
    found: dict[str, Weighed] = {}
    ends: dict[tuple[str, str], Ends] = {}
    bounds: dict[int, Bounds] = {}
    for one in asked:
        moving = dict(table[one.key])
        noise, unsaid = 0.0, list[str]()
        for train, per_lift in per_lobe_lift(here, one).items():
            lobe = here.lifts[train].lobe
            noise = float(np.hypot(noise, per_lift * lobe.lift_doubt(one.angle)))
            if here.lifts[train].lash_unknown:
                unsaid.append(here.lifts[train].lash_unknown)
            if per_lift == 0.0:
                continue
            stated, bare = by_the_cam(own, here, train, one.angle, quantities, doubts, tables, ends)
            unsaid += bare
            for entry, slope in stated.items():
                moving[entry] = moving.get(entry, 0.0) + per_lift * slope
        moving = {entry: slope for entry, slope in moving.items() if abs(slope) > NOTHING}
        linear = budget(moving, doubts, mapping)
        unproved = dict.fromkeys(
            (*_crown_table(here, one), *linear.undoubted, *unsaid, *_one_plane(here, one))
        )
        whole = linear.widened(noise)._replace(undoubted=tuple(unproved))
        if one.what == "between" and here.touch is not None:
            whole = whole.widened(Doubt(ALLOWED_MM).standard)
        shape = _of_shapes(here, one, bounds)
        found[one.key] = Weighed(counted(whole, shape), moving, shape)
    return found


def _of_shapes(here: Situation, one: Asked, bounds: dict[int, Bounds]) -> ShapeDoubt | None:
    """Return what the shapes of cards' lobes do to a clearance, loaded where there are cards."""
    names = trains_of(here, one)
    if all(here.lifts[name].lobe.card is None for name in names):
        return None
    from .shape_doubt import shape_doubt

    return shape_doubt(here, one, names, bounds=bounds)


def counted(plain: Budget, shape: ShapeDoubt | None) -> Budget:
    """Return a budget with what the shapes of lobes add to it."""
    return plain if shape is None else plain.with_part(shape.entry, shape.below, shape.above)


def slopes(
    mapping: Flat, here: Situation, asked: Sequence[Asked], groups: Quantities, tables: Tables
) -> dict[str, dict[str, float]]:
    """Return how much groups of the engine's entries move least clearances, their lobes left as they are.

    Returns: {clearance's key: {group: mm per mm, rad or plain}}
    """
    if not groups:
        return {one.key: {} for one in asked}
    lobes = {
        (one, train): array(np.maximum(here.lifts[train].lobe.placed.lift(array(one.angle)), 0.0))
        for one in asked
        for train in trains_of(here, one)
    }

    def values(entered: Flat) -> dict[str, Array]:
        varied = here.runs(entered)
        over = over_piston(varied, here.cylinder, tables.crowns)
        trains = {name: train_of(varied, name) for _, name in lobes}
        found = {}
        for one in asked:
            placed = []
            for name in trains_of(here, one):
                lift = valve_lift(trains[name], here.lifts[name].lobe)
                assert isinstance(lift, ValveLift)
                valve = valve_of(one, over, name, lift, over_valve(varied, name, over, lift))
                placed.append(Placed(valve, one.lift_of(lift).at_lobe(lobes[one, name])))
            found[one.key] = _mirrored(here, one, clearance_at(one, placed))
        return found

    return derivatives(mapping, groups, values, THREE)


def _mirrored(here: Situation, one: Asked, pairs: Array) -> Array:
    """Return values a step up and a step down; for an infinite one, what the other makes it by its mirror image.

    A rim that just dips below the crown is over it a step further, where no room to a wall exists.
    """
    if one.what != "wall" or np.isfinite(pairs).all():
        return pairs
    lift = one.lift_of(here.lifts[one.name]).at(array(one.angle))
    middle = clearance_at(one, [Placed(here.valves[one.name], lift)])
    other = np.where(np.isfinite(pairs[::-1]), pairs[::-1], middle)
    return np.where(np.isfinite(pairs), pairs, 2 * middle - other)


def _crown_table(here: Situation, one: Asked) -> list[str]:
    """Return the entry that names the measured heights a clearance rests on, or nothing."""
    rests = one.what in ("drop", "gap") and isinstance(here.valves.get(one.name), ByCoordinates)
    return [here.over.crown_table] if rests and here.over.crown_table else []


def _one_plane(here: Situation, one: Asked) -> list[str]:
    """Return the entry without which two stems are taken to lie in one plane, where a clearance rests on that."""
    taken = one.what == "between" and here.touch is not None and here.touch.spread is None
    return [f"{here.cylinder}.{TABLE}.spread_off"] if taken else []


def _concerns(cylinder: str, paths: Mapping[str, float]) -> bool:
    """Say whether a quantity can move this cylinder's clearances through its geometry."""
    own = (f"{cylinder}.", "stack.", "crank.", "piston.", "chamber.")
    return any(
        (path.startswith(own) and ".measured_pushrod." not in path)
        or (path.startswith("lobe.") and (".dialled." in path or path.endswith(".lash_read")))  # the ratio
        for path in paths
    )


def per_lobe_lift(here: Situation, one: Asked) -> dict[str, float]:
    """Return how much a clearance moves with the lift of each lobe at its angle, mm per mm."""
    trains = trains_of(here, one)
    found = {}
    for moved in trains:
        placed = []
        for name in trains:
            lift = here.lifts[name]
            steady = lift.lobe.placed.lift(array(one.angle))
            lobe = steady + STEP * np.array([1.0, -1.0]) if name == moved else np.array([steady, steady])
            valve = valve_of(one, here.over, name, lift, here.valves.get(name))
            placed.append(Placed(valve, one.lift_of(lift).at_lobe(np.maximum(lobe, 0.0))))
        up, down = _mirrored(here, one, clearance_at(one, placed))
        found[moved] = float(told((up - down) / (2 * STEP), array([up, down]), STEP))
    return found


def by_the_cam(
    mapping: Flat,
    here: Situation,
    train: str,
    angle: float,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
    tables: Tables,
    ends: dict[tuple[str, str], Ends] | None = None,
) -> tuple[dict[str, float], list[str]]:
    """Return how much entries of cam and lobe move the lobe's lift at a crank angle, mm per mm or rad.

    ends : of this mapping, the lobes of valve gear and entry that are known, and those found here

    Returns: those of the timing and those with a stated doubt; names of the others, which have none
    """
    lobe = here.lifts[train].lobe
    prefix = f"lobe.{lobe.name}."
    rises = float(lobe.placed.velocity(array(angle)))
    later = -rises if lobe.placed.port == "intake" else rises
    timing = {"cam.advance": rises, f"{prefix}centreline": later}
    timing |= {entry: -rises * late for entry, late in here.later.items()}
    stated: dict[str, float] = {}
    bare: list[str] = []
    for root, paths in quantities.items():
        for path, sign in paths.items():
            if path == f"{prefix}lash_read" and lobe.lash is not None:
                stated[root] = stated.get(root, 0.0) + sign  # as much more lift as it was read with more lash
            if path in timing:
                stated[root] = stated.get(root, 0.0) + sign * timing[path]
            elif shaped_by(path, lobe, train):
                if root in doubts or lobe.gear is not None:  # the budget says whether it moves much
                    stated[root] = stated.get(root, 0.0) + sign * by_shape(
                        mapping, train, angle, path, tables, ends
                    )
                else:
                    bare.append(root)
    return stated, bare


def by_shape(
    mapping: Flat,
    train: str,
    angle: float,
    path: str,
    tables: Tables,
    ends: dict[tuple[str, str], Ends] | None = None,
) -> float:
    """Return how much an entry of a card or a law moves the lobe's lift at a crank angle; ends : as for `by_the_cam`."""
    known = {} if ends is None else ends
    if (train, path) not in known:
        known[train, path] = _stepped(mapping, train, path, tables)
    up, down = (float(lobe.placed.lift(array(angle))) for lobe in known[train, path])
    return (up - down) / (2 * STEP)


def _stepped(mapping: Flat, train: str, path: str, tables: Tables) -> Ends:
    """Return the lobe of a valve gear with an entry a step more and a step less."""
    found = []
    for step in (STEP, -STEP):
        lobe = Cam(frozen(mapping).with_({path: _number(mapping, path) + step}), tables).lobe_of(train)
        assert isinstance(lobe, CamLobe)
        found.append(lobe)
    return found[0], found[1]


def _number(mapping: Flat, path: str) -> float:
    return float(Reader(mapping, ("",)).number(path))
