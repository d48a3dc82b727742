"""What heat does to the lash or the preload, running, just stopped and in the first minutes, by coordinates or heights.

By coordinates every part of the engine that was built grows by 1 + α·(hot - cold), however it was entered. What is
left of the case after a cut grows about the crank centre, what is left of the head about its gasket face, a rocker
with its arms, stations and the radius of its pad or roller; gaskets stay. Lifter and cam are steel: the cam's axis
rides on the case, and from there up they grow as their own stuff does. The pushrod that gives the wanted setting cold
is then put into the hot engine. By heights, without coordinates, the same sum is that of `heights`.

Just stopped, the valve falls to the head's temperature before anything else cools: then a preload is least. In the
first minutes valve and pushrod are hot and all else is cold: then a plunger is deepest, at most. A hot valve head
outgrows its seat and sits lower, which counts as an entry of its own. Expansions are entries, by default those of the
materials.

Source: linear expansion; the closures of `train` solved for the lifter, see `pushrods.fit`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from typing import NamedTuple

import numpy as np

from ..core.answer import TRAIN, Figure, Found, Missing, Value, Values, answers, of_cylinder
from ..core.errors import GeometryError, MissingEntryError
from ..core.frames import Array, array, point
from ..core.mapping import Flat, Reader
from ..core.targets import BOTTOM_LEAST, HOT_LASH, PRELOAD_LEAST, PRELOAD_MOST
from ..engine.alternatives import case_deck, head_face, stack_height, valve_length
from ..engine.defaults import HEATED, completed, has_heights
from ..engine.engine import COORDINATES, Train, train_of
from ..engine.materials import PER_MILLION
from ..gear.lifter import HOT_GAIN, HOT_LACKS
from ..gear.train import Drawn
from ..pushrod.pushrods import by_coordinates, fit, required, setting_lacks
from .full_lift import stands_of
from .heights import ALLOWED_MM, Heights, Shares, loss

LIFTER = "lifter"  # and cam: as hot as the case where nobody read it
SINKS = "valve.sits_lower_hot"
HEIGHTS = "heights"
NO_CENTRES = "a rod that was read in gauge seats and has a cup at an end: nothing tells how far its ball centres stand apart"
Grown = dict[str, Array]  # part → by what share of its size it has grown
Setting = Callable[
    [Grown, Array], Array
]  # shares, how much lower the valve sits [mm] → preload or lash there [mm]


@answers(
    TRAIN,
    "COLD TO HOT",
    asked_by=(".running.hot_",),
    takes=stands_of,
    hot_lash=Figure(
        "lash when hot",
        least=HOT_LASH,
        below_zero="",
        more=("lash to set cold for a wanted one hot", (HOT_LASH,)),
    ),
    hot_preload=Figure("preload when hot", least=PRELOAD_LEAST, most=PRELOAD_MOST, below_zero=""),
    stopped_preload=Figure("preload, hot and just stopped", least=PRELOAD_LEAST, below_zero="", main=False),
    stopped_lash=Figure("lash, hot and just stopped", below_zero="", main=False),
    lash_change=Figure("lash gained by heat", main=False),
    preload_change=Figure("preload gained by heat", main=False),
    change_by_heights=Figure("gained by heat, by heights alone", main=False),
    hot_room_to_bottom=Figure(
        "room to the plunger's bottom, hot",
        least=BOTTOM_LEAST,
        below_zero="the plunger bottoms when hot",
        at_nought="ON ITS BOTTOM",
        zero=True,
        main=False,
    ),
    first_minutes_room=Figure(
        "room to the plunger's bottom, first minutes",
        least=BOTTOM_LEAST,
        below_zero="the plunger bottoms in the first minutes, and holds its valve open",
        at_nought="ON ITS BOTTOM",
        zero=True,
        main=False,
    ),
    cold_lash_for_it=Figure("lash to set cold", main=False, headline=True, rounded=1.0),
)
def hot(mapping: Flat, train: str, stands: Array | None = None) -> Found:
    """Return the lash or preload of a hot engine whose pushrod gives the wanted one cold.

    stands : (...) [mm]  the preload that the pushrod as ordered gives there; None: the one that is wanted
    """
    full, _ = completed(mapping)
    gear = train_of(full, train)
    known = _known(full, gear)
    if isinstance(known, Missing):
        return known
    found, setting, by_heights = known
    hydraulic = gear.lifter.kind == "hydraulic"
    if stands is not None and hydraulic:
        assert gear.lifter.preload is not None
        found = found._replace(off=stands - gear.lifter.preload)
    try:
        figures = (_preload if hydraulic else _lash)(found, gear, setting)
    except GeometryError as error:
        return Missing.of((), str(error))
    if gear.drawn is None:
        at_valve = not hydraulic and gear.lifter.lash_at != "pushrod"
        by = Reader(full, (f"{train}.",)).number("rocker.ratio_at_seat") if at_valve else array(1.0)
        allowed = ALLOWED_MM * float(np.max(by))
        return {key: one._replace(allowed=allowed) for key, one in figures.items()}
    if by_heights is not None:
        wanted = gear.lifter.wanted
        assert wanted is not None
        beside = by_heights(found.running, found.sinks) - wanted
        figures["change_by_heights"] = Value(
            beside, note="a second way, beside the coordinates that are judged", allowed=ALLOWED_MM
        )
    return figures


def hot_gains(mapping: Flat, trains: Iterable[str]) -> dict[str, float | tuple[str, ...]]:
    """Return by how much more heat presses each hydraulic plunger than was wanted, at most, by its entry [mm].

    Running or in the first minutes, whichever is more; none of what gets less. Of what is not known it is what that
    lacks, and where nothing that could be entered leads to it, the coordinates that would.
    """
    full, _ = completed(mapping)
    found: dict[str, float | tuple[str, ...]] = {}
    for name in trains:
        gear = train_of(full, name)
        if gear.lifter.kind != "hydraulic":
            continue
        known = _known(full, gear)
        found[f"{name}.{HOT_LACKS}"] = (f"{name}.lifter.seat",)
        if isinstance(known, Missing):
            lacks = tuple(entry for entry in known.entries if entry not in full)
            if lacks:
                found[f"{name}.{HOT_LACKS}"] = lacks
            continue
        there, setting, _ = known
        with suppress(GeometryError):
            deepest = max(float(setting(there.running, there.sinks)), float(setting(there.first, array(0.0))))
            assert gear.lifter.preload is not None
            found[f"{name}.{HOT_GAIN}"] = max(0.0, round(deepest - float(gear.lifter.preload), 9))
            del found[f"{name}.{HOT_LACKS}"]
    return found


def per_kelvin(mapping: Flat, train: str) -> float | Missing:
    """Return what the cold setting gains for each K that all of the engine is warmer [mm], or what that lacks."""
    full, _ = completed(mapping)
    gear = train_of(full, train)
    known = _known(full, gear)
    if isinstance(known, Missing):
        return known
    there, setting, _ = known
    shares = {}
    for part in there.running:
        expansion = expansion_of(full, train, part)
        assert expansion is not None
        shares[part] = expansion * PER_MILLION
    try:
        return float(
            setting(shares, array(0.0))
            - setting({part: 0.0 * one for part, one in shares.items()}, array(0.0))
        )
    except GeometryError as error:
        return Missing.of((), str(error))


def _known(full: Flat, gear: Train) -> tuple[_States, Setting, Setting | None] | Missing:
    """Return what a valve gear's engine is like hot, what its setting becomes, and that by heights; or what they lack."""
    shares, lacks = _growth(full, gear.name), list(setting_lacks(gear))
    wanted = gear.lifter.wanted
    lacks = [*(() if isinstance(shares, dict) else shares.entries), *lacks]
    heights = _heights(full, gear)
    by_heights = None if isinstance(heights, Missing) else _by_heights(gear, heights)
    if gear.drawn is None and isinstance(heights, Missing):
        coordinates = gear.lacks.get(COORDINATES, ())
        lacks += coordinates or heights.entries
        if not lacks:  # nothing is lacking: its rod cannot be worked out
            return heights
    if lacks or wanted is None or not isinstance(shares, dict):
        return Missing.of(lacks)
    setting = by_heights if gear.drawn is None else _by_coordinates(full, gear)
    assert setting is not None
    sinks = Reader(full, (f"{gear.name}.",)).find(SINKS)
    there = _States(full, gear.name, shares, array(0.0) if sinks is None else sinks, array(0.0))
    return there, setting, by_heights


class _States(NamedTuple):
    """What one valve gear's engine is like when it is hot."""

    full: Flat
    train: str
    running: Grown
    sinks: Array  # mm, by which the hot valve sits lower
    off: Array  # mm, by which the preload is another than wanted

    @property
    def stopped(self) -> Grown:
        """Just stopped: the valve at the head's temperature."""
        return {**self.running, "valve": _share(self.full, self.train, "valve", "head")}

    @property
    def first(self) -> Grown:
        """In the first minutes: valve and pushrod hot, all else cold."""
        return {
            part: share if part in ("valve", "pushrod") else 0.0 * share
            for part, share in self.running.items()
        }


def _preload(there: _States, gear: Train, setting: Setting) -> Values:
    """Return what a hydraulic lifter is left with at both its ends."""
    wanted, travel = gear.lifter.preload, gear.lifter.plunger_travel
    assert wanted is not None
    hot_one, stopped, first = (
        setting(shares, sinks) + there.off
        for shares, sinks in (
            (there.running, there.sinks),
            (there.stopped, there.sinks),
            (there.first, array(0.0)),
        )
    )
    found = {
        "hot_preload": Value(hot_one, note=_held_open(hot_one, "preload")),
        "stopped_preload": Value(stopped, note="the valve fallen to the head's temperature"),
        "preload_change": Value(hot_one - wanted - there.off, note="from cold to hot"),
    }
    if travel is not None:
        found["hot_room_to_bottom"] = Value(travel - hot_one, note="above the plunger's bottom, hot")
        note = "at most so little: valve and pushrod hot, all else still cold"
        found["first_minutes_room"] = Value(travel - first, note=note)
    return found


def _lash(there: _States, gear: Train, setting: Setting) -> Values:
    """Return what a solid lifter's lash is hot, and what to set it to cold."""
    wanted = gear.lifter.lash
    assert wanted is not None
    hot_one = setting(there.running, there.sinks)
    note = _held_open(hot_one, "lash")
    if not note and not there.sinks.any():
        note = "a hot valve head that outgrows its seat adds up to 0.1 mm (0.004 in) more, not counted"
    found = {
        "hot_lash": Value(hot_one, note=note),
        "stopped_lash": Value(
            setting(there.stopped, there.sinks),
            note="what a feeler finds on a stopped engine: the valve fallen to the head's temperature",
        ),
        "lash_change": Value(hot_one - wanted, note="from cold to hot"),
    }
    target = Reader(there.full, ("targets.",)).find("hot_lash")
    if target is not None:
        cold = wanted + target - hot_one
        note = "to be set cold for the hot lash wanted"
        if np.ndim(cold) == 0 and cold < 0:
            note = "less than none: heat alone gives more lash than is wanted hot"
        found["cold_lash_for_it"] = Value(cold, note=note)
    return found


def _held_open(there: Array, kind: str) -> str:
    if np.ndim(there) or there > 0:
        return ""
    if kind == "lash":
        return "none left: the valve is held off its seat when hot"
    return "none left: there is slack when hot"


def _heights(full: Flat, gear: Train) -> Heights | Missing:
    """Return the heights of a valve gear that count when it gets hot, or what they lack."""
    own, holder = Reader(full, (f"{gear.name}.",)), of_cylinder(full, gear.name.rpartition(".")[0])
    if not has_heights(own) and gear.drawn is not None:
        return Missing.of(("lifter.below_deck",))
    deck, cylinder = own.number("lifter.below_deck"), holder.number("stack.cylinder")
    stack, valve = stack_height(holder), valve_length(own)
    ratio = own.find("rocker.ratio_at_seat")
    if ratio is None:
        own.lack("rocker.ratio")
        ratio = array(np.nan)
    lacks = [*own.missing, *holder.missing]
    rod = None
    try:
        needed = required(gear)
        rod = needed.lengths.get("centres")
        if rod is None:  # it was read in another convention, and its ends are not measured
            ends = needed.lacks["centres"]
            if not ends:
                return Missing.of((), NO_CENTRES)
            lacks += [f"{gear.name}.pushrod.{one}" for one in ends]
    except GeometryError as error:
        lacks += [entry for entries in gear.lacks.values() for entry in entries]
        if isinstance(error, MissingEntryError):
            lacks += [entry for entries in error.routes.values() for entry in entries if entry not in lacks]
        lacks += [] if gear.measured is not None or gear.lacks else [f"{gear.name}.measured_pushrod.length"]
        if not lacks:
            return Missing.of((), str(error))
    if lacks or rod is None:
        return Missing.of(lacks)
    above = own.find("rocker.cup_above_gasket")
    return Heights(
        above_cam=own.number("lifter.above_cam"),
        below_deck=deck,
        cylinder=cylinder,
        above_gasket=rod - stack - deck if above is None else above,
        shaft_over_cup=own.number("rocker.shaft_above_cup"),
        valve=valve,
        shaft_over_tip=own.number("rocker.shaft_above_tip"),
        rod=rod,
        ratio=ratio,
    )


def _by_heights(gear: Train, heights: Heights) -> Setting:
    """Return what a setting becomes by heights; see `heights`."""
    solid, at_valve = gear.lifter.kind == "solid", gear.lifter.lash_at != "pushrod"
    wanted = gear.lifter.wanted

    def setting(shares: Grown, sinks: Array) -> Array:
        assert wanted is not None
        lost = loss(heights, Shares(**shares)) + sinks / heights.ratio
        found: Array = wanted + lost * (heights.ratio if at_valve else 1.0) if solid else wanted - lost
        return found

    return setting


def _by_coordinates(full: Flat, gear: Train) -> Setting:
    """Return what a setting becomes with every part of the engine grown."""
    cold = gear._replace(measured=None)
    drawn = cold.drawn
    assert drawn is not None
    length = by_coordinates(cold).lengths["centres"]

    def setting(shares: Grown, sinks: Array) -> Array:
        warm = cold._replace(drawn=_grown(full, gear.name, drawn, shares, sinks))
        found = fit(warm, length * (1.0 + shares["pushrod"]))
        there = found.preload if cold.lifter.kind == "hydraulic" else found.lash
        assert there is not None
        return there

    return setting


def _grown(full: Flat, train: str, cold: Drawn, shares: Grown, sinks: Array) -> Drawn:
    """Return a valve gear's coordinates with every part grown, the hot valve so much lower."""
    own, holder = Reader(full, (f"{train}.",)), of_cylinder(full, train.rpartition(".")[0])
    more = {part: 1.0 + share for part, share in shares.items()}
    deck = case_deck(holder) - holder.number("stack.case_cut")
    face = head_face(holder) + holder.number("stack.head_cut")
    risen = face + shares["case"] * deck + shares["cylinder"] * holder.number("stack.cylinder")

    def of_head(spot: Array) -> Array:
        return (spot - point(0.0, 0.0, face)) * more["head"][..., None] + point(0.0, 0.0, risen)

    stem = valve_length(own)[..., None] * cold.stem
    on_cam = own.number("lifter.above_cam")[..., None] * cold.lift_axis
    return cold._replace(
        seat=(cold.seat - on_cam) * more["case"][..., None] + on_cam * more[LIFTER][..., None],
        shaft=of_head(cold.shaft),
        tip=of_head(cold.tip - stem) + stem * more["valve"][..., None] - sinks[..., None] * cold.stem,
        valve_arm=cold.valve_arm * more["rocker"],
        pushrod_arm=cold.pushrod_arm * more["rocker"],
        valve_station=cold.valve_station * more["rocker"],
        pushrod_station=cold.pushrod_station * more["rocker"],
        tip_radius=cold.tip_radius * more["rocker"],
    )


def expansion_of(mapping: Flat, train: str, part: str) -> Array | None:
    """Return how a part of a valve gear's engine grows, millionths per kelvin; None where nobody said."""
    own = Reader(mapping, (f"{train}.",)).find("pushrod.expansion") if part == "pushrod" else None
    return Reader(mapping, ("materials.",)).find(f"expansion_{part}") if own is None else own


def _share(mapping: Flat, train: str, part: str, as_hot_as: str) -> Array:
    """Return by what share a part grows from cold to the temperature of one that was read."""
    running, expansion = Reader(mapping, ("running.",)), expansion_of(mapping, train, part)
    assert expansion is not None
    found: Array = expansion * PER_MILLION * (running.number(f"hot_{as_hot_as}") - running.number("cold"))
    return found


def _is_named(mapping: Flat, train: str, part: str) -> bool:
    """Say whether somebody said what a part is made of."""
    return f"materials.{part}" in mapping or (part == "pushrod" and f"{train}.pushrod.material" in mapping)


def _growth(mapping: Flat, train: str) -> Grown | Missing:
    """Return by what share each part grows from cold to hot."""
    running = Reader(mapping, ("running.",))
    running.number("cold")
    shares: Grown = {}
    lacks: list[str] = []
    for part in HEATED:
        heated = part if part != LIFTER or running.has(f"hot_{LIFTER}") else "case"
        running.number(f"hot_{heated}")
        if expansion_of(mapping, train, part) is None:
            lacks += [] if part == LIFTER or _is_named(mapping, train, part) else [f"materials.{part}"]
            continue
        shares[part] = _share(mapping, train, part, heated)
    lacks += running.missing
    return Missing.of(lacks) if lacks else shares
