"""What the entries foretell for each check made on the bench, and what moves it.

    pushrod                 the length that just touches, without lash or preload, the plunger where it was
    valve lift              at a lift of the lifter, from where the valve is just closed
    valve lift at overlap   at a crank angle, top centre where none is given
    clay                    the least straight gap through the cycle
    drop                    by dial, the valve closed, at a crank angle
    deck                    the crown below the cylinder's top face, at top centre
    port gap                from one port face's centre straight to the other's
    stem tip                its centre above the head's gasket face, the valve closed
    chamber                 its volume
    valve to valve          the thickest wire that passes between two heads at a crank angle, by their coordinates;
                            where two valves touch foretells only that it is no less, see `clearances`

A pushrod or a drop that was measured beside coordinates is a check too: it counts as what it is, once. Each check is
of the engine as it now is, but for the parts of the stack that it says were in place.

Entries move where there is a `[[reading]]`, and only there. What was measured beside coordinates decides by itself
what it is of; `risk` tells how far it stands from what they foretell.

Source: the answers of the other modules; what moves a check as in `derivatives` and `moving`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ..cam.cam import CARD, Cam, Tables
from ..cam.shape_entries import UNIT, is_shape_entry, shape_entries
from ..clearance.clearances import MOST_READINGS as MOST
from ..clearance.clearances import nearest
from ..clearance.moving import budgets, by_the_cam, per_lobe_lift
from ..clearance.situation import Asked, Situation, situation
from ..clearance.valve_lift import ValveLift, kept_closed, valve_lift
from ..clearance.valve_over_piston import ByCoordinates, over_valve
from ..core.answer import Missing
from ..core.errors import GeometryError, MissingEntryError
from ..core.frames import Array, array, norm
from ..core.mapping import Flat, Quantities, Reader, frozen, names
from ..doubt.budget import FACTOR, Doubt
from ..doubt.derivatives import THREE, derivatives
from ..doubt.readings import Row
from ..engine.alone import each_alone, those_of
from ..engine.alternatives import valve_length
from ..engine.before import STEM, engine_before, quantities_before, was_read_before
from ..engine.defaults import STACK
from ..engine.engine import build, train_of
from ..fits import volume
from ..fits.ports import place
from ..gear.train import closed, motion
from ..piston.over_piston import over_piston
from ..piston.touch_entries import EDGES, TABLE
from ..piston.valves_touch import has_touch
from ..pushrod.pushrods import by_coordinates, required
from .check_kinds import BETWEEN, OF_TRAIN

STEP = 1e-3  # mm, of a lobe's lift
TRIED_LIFT_MM = 5.0  # of the lifter, at which a valve's lift would be read


class Check(NamedTuple):
    """One check: what it is of, and the quantity that was read."""

    name: str  # "reading.0", or "front.intake.measured_pushrod"
    kind: str
    of: str  # valve gear or cylinder
    own: str  # entry of what was read


class Found(NamedTuple):
    """The checks of an engine, and those that cannot be foretold with the entries they lack."""

    checks: tuple[Check, ...]
    lacks: dict[str, tuple[str, ...]]  # no entry: nothing is missing, but the parts cannot be put together


def checks(mapping: Flat, tables: Tables) -> Found:
    """Return every check of an engine: its readings, and what was measured beside coordinates."""
    found: list[Check] = []
    lacks: dict[str, tuple[str, ...]] = {}
    for index in range(MOST):
        stem = f"reading.{index}"
        reader = Reader(mapping, (f"{stem}.",))
        kind = reader.word("of")
        if not kind:
            continue
        of = reader.word("train" if kind in OF_TRAIN else "cylinder")
        if kind == BETWEEN and has_touch(Reader(mapping, (f"{of}.",))):
            continue  # told beside where the valves touch
        found.append(Check(stem, kind, of, f"{stem}.{'volume' if kind == 'chamber' else 'value'}"))
    for train in build(mapping).trains:
        if train.drawn is not None and train.measured is not None:
            entry = next(
                one
                for one in ("length", "checking_rod.turns", "checking_rod.closed")
                if f"{train.name}.measured_pushrod.{one}" in mapping
            )
            stem = f"{train.name}.measured_pushrod"
            found.append(Check(stem, "measured pushrod", train.name, f"{stem}.{entry}"))
        stem = f"{train.name}.measured_drop"
        if train.drawn is not None and f"{stem}.drop" in mapping:
            found.append(Check(stem, "measured drop", train.name, f"{stem}.drop"))
    kept = []
    for one in found:
        try:
            seen = _value(one, mapping, tables)
        except _LacksError as error:
            lacks[one.name] = error.entries
            continue
        if np.isfinite(seen):
            kept.append(one)
        else:
            lacks[one.name] = ()
    return Found(tuple(kept), lacks)


def possible(mapping: Flat, tables: Tables, made: Sequence[Check]) -> tuple[list[Check], Flat]:
    """Return the checks that could still be made and be foretold, and the mapping in which they stand.

    made : the checks there are
    """
    already = {(one.kind, one.of) for one in made}
    already |= {("pushrod", one.of) for one in made if one.kind == "measured pushrod"}
    already |= {("drop", one.of) for one in made if one.kind == "measured drop"}
    found: list[Check] = []
    engine = build(mapping)
    more: dict[str, float | str] = {}
    for kind in OF_TRAIN:
        for name in names(mapping, "trains"):
            drawn = engine.train(name).drawn is not None
            if (kind, name) in already or (kind in ("pushrod", "valve lift", "stem tip") and not drawn):
                continue
            one = Check(f"reading.{MOST + len(found)}", kind, name, f"reading.{MOST + len(found)}.value")
            more |= {
                f"{one.name}.of": kind,
                f"{one.name}.train": name,
                one.own: 0.0,
                f"{one.name}.as": "centres",
            }
            more[f"{one.name}.lifter_lift"] = TRIED_LIFT_MM
            found.append(one)
    for name in names(mapping, "cylinders"):
        if ("deck", name) not in already:
            one = Check(f"reading.{MOST + len(found)}", "deck", name, f"reading.{MOST + len(found)}.value")
            more |= {f"{one.name}.of": "deck", f"{one.name}.cylinder": name, one.own: 0.0}
            found.append(one)
    flat = frozen(mapping).with_(more)
    kept = []
    for one in found:
        try:
            seen = _value(one, flat, tables)
        except GeometryError:
            continue
        if np.isfinite(seen):
            kept.append(one)
    return kept, flat


class _LacksError(GeometryError):
    """A check needs entries that were not given."""

    def __init__(self, entries: Iterable[str]) -> None:
        self.entries = tuple(dict.fromkeys(entries))
        super().__init__(", ".join(self.entries))


def rows(
    found: Sequence[Check],
    mapping: Flat,
    tables: Tables,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
) -> list[Row]:
    """Return how much each check's foretold value exceeds what was read, and what moves that.

    mapping, quantities, doubts : as for `clearances`

    What the numbers of a card's shape move is told too, see `shape_doubts`: an entry is not to be blamed for what they may be.
    """
    known = {name: paths for name, paths in quantities.items() if _counts(paths, mapping)}
    plain = [one for one in found if one.kind not in BY_THE_CAM]
    table = (
        derivatives(
            mapping,
            known,
            lambda flat: {one.name: excess(one, flat, tables) for one in plain},
            THREE,
        )
        if plain and known
        else {one.name: {} for one in plain}
    )
    answer, alone = [], each_alone(mapping)
    ours = {cylinder: those_of(known, own) for cylinder, own in alone.items()}
    for one in found:
        value = float(excess(one, mapping, tables))  # first: it says what is wrong where nothing is foretold
        if one.kind in BY_THE_CAM:
            cylinder = one.of.partition(".")[0]
            slopes = _with_cam(one, alone[cylinder], tables, ours[cylinder], doubts)
        else:
            slopes = table[one.name]
        moving = {name: slope for name, slope in slopes.items() if abs(slope) > SMALL}
        answer.append(Row(one.name, value, moving, one.own))
    return answer


def _counts(paths: Mapping[str, float], mapping: Flat) -> bool:
    """Say whether a quantity's entries are numbers of this engine."""
    return all(path in mapping and not isinstance(mapping[path], (str, tuple)) for path in paths)


SMALL = 1e-9  # a derivative that is rounding
BY_THE_CAM = ("valve lift at overlap", "clay", BETWEEN)


def excess(one: Check, flat: Flat, tables: Tables) -> Array:
    """Return how much what is foretold exceeds what was read, (...) [mm or mm³]."""
    value = _value(one, flat, tables)
    if one.kind in ("measured pushrod", "measured drop"):
        return value
    return value - Reader(flat, ("",)).number(one.own)


def _value(one: Check, flat: Flat, tables: Tables) -> Array:
    """Return what is foretold; for what was measured beside coordinates already less what was read.

    Raises:
        _LacksError: where it needs entries that were not given.
    """
    then = _then(one, flat)
    reader = Reader(then, (f"{one.name}.",))
    try:
        return {
            "pushrod": _pushrod,
            "valve lift": _valve_lift,
            "valve lift at overlap": _at_overlap,
            "clay": _clay,
            "drop": _drop,
            "deck": _deck,
            "port gap": _port_gap,
            "stem tip": _stem_tip,
            "chamber": _chamber,
            BETWEEN: _between,
            "measured pushrod": _beside_pushrod,
            "measured drop": _beside_drop,
        }[one.kind](one, then, reader, tables)
    except (MissingEntryError, _LacksError) as error:
        lacks = error.entries if isinstance(error, _LacksError) else next(iter(error.routes.values()), ())
        stem = STEM if _is_before(one, flat) else ""
        raise _LacksError(f"{stem}{entry}" for entry in lacks) from error


def _is_before(one: Check, flat: Flat) -> bool:
    """Say whether a check was made on the engine as it was."""
    return one.name.startswith("reading.") and was_read_before(Reader(flat, ("",)), one.name)


def _then(one: Check, flat: Flat) -> Flat:
    """Return the engine that a check was made on: as it is or as it was, with the parts in place that the check names."""
    if _is_before(one, flat):
        flat = engine_before(flat, f"{one.name}.")
    cylinder = one.of.partition(".")[0]
    parts = {
        f"{cylinder}.stack.{part}": flat[f"{one.name}.stack.{part}"]
        for part in STACK
        if one.name.startswith("reading.") and f"{one.name}.stack.{part}" in flat
    }
    return frozen(flat).with_(parts) if parts else flat


def _pushrod(one: Check, flat: Flat, reader: Reader, _: Tables) -> Array:
    convention, down = reader.word("as", "overall"), reader.find("plunger.down")
    if down is None:
        bottomed = reader.word("plunger") == "bottomed"
        down = Reader(flat, (f"{one.of}.lifter.",)).number("plunger_travel") if bottomed else array(0.0)
    solid = Reader(flat, (f"{one.of}.lifter.",)).word("kind") == "solid"
    setting = {f"{one.of}.lifter.{'lash' if solid else 'preload'}": array(0.0) if solid else down}
    lengths = required(train_of(frozen(flat).with_(setting), one.of)).lengths
    if convention not in lengths:
        raise _LacksError(f"{one.of}.pushrod.{end}" for end in train_of(flat, one.of).ends.lacks(convention))
    return lengths[convention]


def _valve_lift(one: Check, flat: Flat, reader: Reader, _: Tables) -> Array:
    lift, train = reader.number("lifter_lift"), train_of(flat, one.of)
    if train.drawn is None:
        if train.ratio is None:
            raise _LacksError((f"{one.of}.rocker.ratio",))
        return lift * train.ratio
    solid = train.lifter.kind == "solid"
    setting = {f"{one.of}.lifter.{'lash' if solid else 'preload'}": 0.0}
    still = train_of(frozen(flat).with_(setting), one.of)
    assert still.drawn is not None
    return motion(
        still.drawn, closed(still.drawn), by_coordinates(still).lengths["centres"], lift, array(0.0)
    ).lift


def _situation(one: Check, flat: Flat, tables: Tables) -> Situation:
    cylinder = one.of if one.kind == BETWEEN else one.of.rpartition(".")[0]
    return situation(flat, cylinder, Cam(flat, tables))


def _crank(reader: Reader) -> float:
    at = reader.find("at")
    return 0.0 if at is None else float(at)


def _at_overlap(one: Check, flat: Flat, reader: Reader, tables: Tables) -> Array:
    here = _situation(one, flat, tables)
    if one.of not in here.lifts:
        raise _LacksError(entry for lacks in here.lacks.get(one.of, {}).values() for entry in lacks)
    return here.lifts[one.of].at(array(_crank(reader)))


def _clay(one: Check, flat: Flat, _: Reader, tables: Tables) -> Array:
    here = _situation(one, flat, tables)
    over = here.valves.get(one.of)
    gap = None if over is None else nearest(over)[1]
    if gap is None:
        lacks = [entry for lacks in here.lacks.get(one.of, {}).values() for entry in lacks]
        raise _LacksError(lacks or (f"{one.of}.valve.face",))
    return array(gap.value)


def _drop(one: Check, flat: Flat, reader: Reader, tables: Tables) -> Array:
    over = over_piston(flat, one.of.rpartition(".")[0], tables.crowns)
    valve = over_valve(flat, one.of, over, kept_closed(train_of(flat, one.of)))
    if isinstance(valve, dict):
        raise _LacksError(next((lacks for lacks in valve.values() if lacks), (f"{one.of}.valve.face",)))
    return valve.drop(array(_crank(reader)), array(0.0))


def _deck(one: Check, flat: Flat, _: Reader, __: Tables) -> Array:
    found = volume.squish(flat, one.of)
    if isinstance(found, Missing):
        raise _LacksError(found.entries)
    return found["deck"].value


def _port_gap(one: Check, flat: Flat, reader: Reader, _: Tables) -> Array:
    face, other = reader.word("face", "intake"), reader.word("other")
    ends = [place(flat, cylinder, f"{face}_face.centre") for cylinder in (one.of, other)]
    for end in ends:
        if isinstance(end, Missing):
            raise _LacksError(end.entries)
    first, second = (end for end in ends if not isinstance(end, Missing))
    return norm(second - first)


def _stem_tip(one: Check, flat: Flat, _: Reader, __: Tables) -> Array:
    train = Reader(flat, (f"{one.of}.",))
    face, stem, long = train.point("valve.face"), train.direction("valve.lean"), valve_length(train)
    sunk = train.find("valve.sink")
    if train.missing:
        raise _LacksError(train.missing)
    return face[..., 2] + (long + (array(0.0) if sunk is None else sunk)) * stem[..., 2]


def _chamber(one: Check, flat: Flat, _: Reader, __: Tables) -> Array:
    found = Reader(flat, (f"{one.of}.", "") if one.of else ("",)).find("chamber.volume")
    if found is None:
        raise _LacksError(("chamber.volume",))
    return found


def _between(one: Check, flat: Flat, reader: Reader, tables: Tables) -> Array:
    here = _situation(one, flat, tables)
    apart = here.apart()
    if apart is None:
        lacks = [entry for name in here.trains for entry in here.over.lacks.get(name, ())]
        raise _LacksError(lacks or (f"{one.of}.{TABLE}.{EDGES[0]}",))
    return apart.at(array(_crank(reader)))


def _beside_pushrod(one: Check, flat: Flat, _: Reader, __: Tables) -> Array:
    differ = required(train_of(flat, one.of)).coordinates_differ
    if differ is None:
        raise _LacksError((f"{one.of}.pushrod.ball_diameter_low", f"{one.of}.pushrod.ball_diameter_high"))
    return differ


def _beside_drop(one: Check, flat: Flat, _: Reader, tables: Tables) -> Array:
    over = over_piston(flat, one.of.rpartition(".")[0], tables.crowns)
    valve = over_valve(flat, one.of, over, kept_closed(train_of(flat, one.of)))
    if not isinstance(valve, ByCoordinates) or valve.differ is None:
        raise (
            _LacksError(entry for lacks in valve.values() for entry in lacks)
            if isinstance(valve, dict)
            else _LacksError(())
        )
    return valve.differ


def _with_cam(
    one: Check, mapping: Flat, tables: Tables, quantities: Quantities, doubts: Mapping[str, Doubt]
) -> dict[str, float]:
    """Return what moves a check that rests on a lobe."""
    flat = _then(one, mapping)
    own, quantities = (
        quantities,
        quantities_before(quantities, f"{one.name}.") if _is_before(one, mapping) else quantities,
    )
    here = _situation(one, flat, tables)
    if one.kind == "clay":
        gap = nearest(here.valves[one.of])[1]
        assert gap is not None
        asked = Asked(one.of, "gap", gap.angle)
        slopes = dict(budgets(flat, here, [asked], quantities, doubts, tables)[asked.key].slopes)
        slopes |= _by_shape(here, one.of, gap.angle, per_lobe_lift(here, asked)[one.of])
    elif one.kind == BETWEEN:
        asked = Asked(one.of, "between", _crank(Reader(flat, (f"{one.name}.",))))
        slopes = dict(budgets(flat, here, [asked], quantities, doubts, tables)[asked.key].slopes)
        for name, per_lift in per_lobe_lift(here, asked).items():
            for entry, by in _by_shape(here, name, asked.angle, per_lift).items():
                slopes[entry] = slopes.get(entry, 0.0) + by
    else:
        slopes = _of_lift(one, flat, here, tables, quantities, doubts)
    for name, paths in own.items():
        if one.own in paths:
            slopes[name] = slopes.get(name, 0.0) - paths[one.own]
    return slopes


def _of_lift(
    one: Check,
    flat: Flat,
    here: Situation,
    tables: Tables,
    quantities: Quantities,
    doubts: Mapping[str, Doubt],
) -> dict[str, float]:
    """Return what moves a valve's lift at a crank angle."""
    at = _crank(Reader(flat, (f"{one.name}.",)))
    gear = here.lifts[one.of]
    lift = gear.lobe.placed.lift(array(at))

    def values(varied: Flat) -> dict[str, Array]:
        there = valve_lift(train_of(varied, one.of), gear.lobe)
        assert isinstance(there, ValveLift)
        return {one.name: there.at_lobe(np.maximum(lift, 0.0))}

    slopes = derivatives(flat, quantities, values, THREE)[one.name]
    ends = gear.at_lobe(np.maximum(lift + STEP * np.array([1.0, -1.0]), 0.0))
    per_lift = float(ends[0] - ends[1]) / (2 * STEP)
    stated, _ = by_the_cam(flat, here, one.of, at, quantities, doubts, tables)
    for name, slope in stated.items():
        slopes[name] = slopes.get(name, 0.0) + per_lift * slope
    return slopes | _by_shape(here, one.of, at, per_lift)


def _by_shape(here: Situation, train: str, crank: float, per_lift: float) -> dict[str, float]:
    """Return what the shape of a card's lobe moves at a crank angle, by its numbers; nothing of another lobe.

    per_lift : what a mm of the lobe's lift moves
    """
    lobe = here.lifts[train].lobe
    if lobe.card is None:
        return {}
    moves = lobe.card.lift_moves(lobe.placed.cam(array(crank)))
    return {name: per_lift * float(by) for name, by in zip(shape_entries(lobe.name), moves, strict=True)}


def shape_doubts(mapping: Flat, tables: Tables) -> dict[str, Doubt]:
    """Return the numbers of which the shapes of cards' lobes are drawn, in standard uncertainties, as quantities."""
    cam = Cam(mapping, tables)
    lobes = dict.fromkeys(path.split(".")[1] for path in mapping if path.startswith("lobe."))
    cards = [one for one in lobes if cam.source(one) == CARD]
    return {name: UNIT for one in cards for name in shape_entries(one)}


def by_shapes(row: Row) -> float:
    """Return by how much the shapes of cards' lobes may move what is foretold, about 95 % [mm]."""
    return FACTOR * math.hypot(*(slope for name, slope in row.slopes.items() if is_shape_entry(name)))


def moves_of(quantities: Quantities, shift: Mapping[str, float]) -> dict[str, float]:
    """Return by how much each entry moves."""
    moved: dict[str, float] = {}
    for name, by in shift.items():
        for path, sign in quantities.get(name, {}).items():
            moved[path] = moved.get(path, 0.0) + sign * by
    return moved
