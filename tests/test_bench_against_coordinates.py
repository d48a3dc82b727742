"""One engine answered by coordinates, and the same engine from what is read of it at the bench.

Engines as built, every point of rocker, valve and lifter known; of the same engine each reading is off by
anything up to its ±, and the bench answers from the readings alone, with the doubt that is told beside it.
The pushrod that the bench orders is put into the true engine, hot and cold; stuffs grow by anything that
their tables allow. All is read, or what somebody in a hurry reads: rod, stack, travel, lifter below the deck,
valve and the ratio near the seat. Bench and coordinates move their valves differently too: by the ratio at
full lift, and by the gear's own motion.

Figures, measured on two cores with CPython 3.11, 200 engines, least, 5 %, median, 95 % and greatest of bench
less coordinates, mm, then the share in which the bench promises more than its doubt (median) allows; limit:
3 %, of the 5 of every time one engine:

- cold, all read: preload -0.156 -0.117 -0.003 0.113 0.154, 2.0 % beyond 0.138; room to the plunger's bottom
  -0.157 -0.106 0.003 0.108 0.163, 1.0 % beyond 0.125; lash -0.226 -0.166 -0.008 0.157 0.253, 1.5 % beyond
  0.205
- cold, hurried: preload -0.176 -0.091 0.009 0.126 0.183, 2.5 % beyond 0.138; room -0.155 -0.115 -0.006 0.087
  0.145, 1.0 % beyond 0.126; lash -0.222 -0.152 0.013 0.172 0.234, 1.0 % beyond 0.205
- hot, all read: preload -0.214 -0.143 0.011 0.163 0.254, 2.5 % beyond 0.193; just stopped -0.210 -0.131 0.012
  0.165 0.242, 2.0 % beyond 0.187; room -0.283 -0.146 -0.006 0.140 0.257, 1.0 % beyond 0.191; in the first
  minutes -0.206 -0.141 -0.009 0.116 0.202, 1.0 % beyond 0.173; heat alone -0.192 -0.096 0.004 0.126 0.194,
  2.5 and the other way 2.0 % beyond 0.140; lash -0.367 -0.237 -0.040 0.121 0.287, 1.5 % beyond 0.222, just
  stopped -0.357 -0.227 -0.036 0.124 0.279, 2.0 % beyond 0.210: what a hot head sinks by is not counted
- hot, hurried: preload -0.305 -0.171 -0.007 0.154 0.218, 2.5 % beyond 0.194; just stopped -0.287 -0.153
  -0.007 0.147 0.218, 2.0 % beyond 0.188; room -0.251 -0.144 0.004 0.154 0.270, 1.5 % beyond 0.195; in the
  first minutes -0.211 -0.122 0.001 0.142 0.239, 3.0 % beyond 0.172; heat alone -0.176 -0.113 0.005 0.112
  0.156, 1.5 and none beyond 0.142; lash -0.289 -0.223 -0.050 0.149 0.219, none beyond 0.225, just stopped
  -0.261 -0.212 -0.042 0.142 0.215, none
- heat where all is read right and every stuff known: preload -0.007 -0.006 -0.002 0.000 0.001, lash -0.001
  0.000 0.003 0.010 0.012; limit: 0.010 and 0.015. In 60 engines that went by 0.99 with the growth across the
  cylinder times the pushrod's lean, which heights leave out
- two valves 0.3 to 10 mm apart: -0.294 -0.252 -0.011 0.200 0.346, none beyond 0.262; all read right -0.021
  -0.008 -0.001 0.000 0.000, limit: 0.010 more, what the rule allows itself
- valve over a plain crown: -0.171 -0.090 -0.008 0.075 0.101, 3.0 % beyond 0.090, of 300 others 1.0 %; all
  read right, of 100, -0.060 -0.051 -0.012 0.022 0.038 by the ratio at full lift, within 0.0001 by the ratio
  at the closest angle
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray
from tallstack.geometry.cam.cam import Cam, Tables
from tallstack.geometry.clearance.clearances import clearances, judged_on, nearest
from tallstack.geometry.clearance.situation import ByHeads, ByTouch, Situation, situation
from tallstack.geometry.clearance.valve_over_piston import ByCoordinates
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array, point, whole_lean
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.doubt.budget import Doubt
from tallstack.geometry.doubt.result import results
from tallstack.geometry.engine.defaults import as_taken, completed
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.engine.materials import MATERIALS, SPREAD
from tallstack.geometry.fits import heat
from tallstack.geometry.fits.full_lift import known
from tallstack.geometry.piston.drop import drop
from tallstack.geometry.piston.valves_touch import ALLOWED_MM
from tallstack.geometry.pushrod.ordering import Order, orders
from tallstack.geometry.pushrod.pushrods import fit

from .hydraulic_gears import HOT, Gear, some
from .oracles import grown_loop, raw_loop, valve_pair
from .oracles.random_trains import Entries
from .random_engines import TRAINS

START = 2611
MOST = 0.03  # share of the engines in which the bench may promise more than its doubt allows
STUFFS = {
    "case": ("cast aluminium",),
    "cylinder": ("cast aluminium", "grey iron"),
    "head": ("cast aluminium", "grey iron"),
    "valve": ("steel", "stainless steel", "titanium"),
    "rocker": ("steel", "aluminium"),
    "pushrod": ("steel", "aluminium"),
    "lifter": ("steel",),
}
OFF = {  # half-width of what is read; mm, rad, degC or plain
    "stack.cylinder": 0.05,
    "stack.base_gasket": 0.03,
    "stack.head_gasket": 0.05,
    "measured_pushrod.length": 0.1,
    "measured_pushrod.lean": float(np.radians(1.0)),
    "lifter.plunger_travel": 0.05,
    "lifter.below_deck": 0.5,
    "lifter.above_cam": 1.0,
    "rocker.cup_above_gasket": 0.5,
    "rocker.shaft_above_cup": 0.5,
    "rocker.shaft_above_tip": 0.5,
    "rocker.ratio_at_seat": 0.03,
    "rocker.ratio": 0.03,
    "valve.length": 0.1,
    "valves_touch.edge_intake": 0.03,
    "valves_touch.edge_exhaust": 0.03,
    "valves_touch.between_stems": float(np.radians(2.0)),
    "valves_touch.spread_off": float(np.radians(2.0)),
    "crank.stroke": 0.02,
    "crank.conrod_length": 0.1,
    "piston.pin_offset": 0.1,
    "measured_drop.drop": 0.05,
    "measured_drop.lean": float(np.radians(1.0)),
    "running.cold": 3.0,
}
HOT_OFF = 15.0  # degC, half-width of any temperature of a running engine
HURRIED = ("stack.", "measured_pushrod.length", "below_deck", "plunger_travel", "ratio", "valve.length")
STACK = ("base_gasket", "cylinder", "head_gasket")
EITHER_WAY = ("preload_change",)  # too much of it flatters the room at the plunger's other end
MOST_DOUBT_MM = {  # expanded
    "hot": 0.35,
    "cold": 0.3,
    "apart": 0.6,
    "piston": 0.5,
}
METHOD_MM = {"preload": 0.010, "lash": 0.015}  # by which heat by heights is off where all is read right
RULE_MM = 0.05  # by which two valves may be told nearer than they are, all read right
NO_SEAT_MM = 0.01  # height of a seat's cone
BODIES_MM = 2e-4  # by which heads of so many corners lie further apart than round ones
MANY = [5, pytest.param(200, marks=pytest.mark.study)]
HOW = pytest.mark.parametrize("hurried", [False, True], ids=["all", "hurried"])


class Bench(NamedTuple):
    """What was entered of an engine, each reading with its ±, what nobody read as the tool takes it."""

    mapping: Flat
    quantities: dict[str, dict[str, float]]
    doubts: dict[str, Doubt]


class Held(NamedTuple):
    """One answer from the bench beside the true one; mm."""

    bench: float
    true: float
    doubt: float  # expanded, as it is told beside the answer

    @property
    def off(self) -> float:
        return self.bench - self.true


def half_of(path: str) -> float:
    """Return within what a reading is right."""
    if ".hot_" in path:
        return HOT_OFF
    return next(half for entry, half in OFF.items() if f".{path}".endswith(f".{entry}"))


def entered(
    rng: np.random.Generator, words: Entries, read: Mapping[str, float], exact: Mapping[str, float]
) -> Bench:
    """Return what is entered; words, with wishes, are no readings, `exact` are right and carry no doubt."""
    halves = {path: half_of(path) for path in read}
    seen = {path: value + halves[path] * float(rng.uniform(-1, 1)) for path, value in read.items()}
    mapping: Entries = {**words, **exact, **seen}
    groups = {path: {path: 1.0} for path in (*seen, *exact)}
    ties, _ = as_taken(mapping)  # type: ignore[arg-type]
    for path, source in ties.items():
        mapping[path] = mapping[source]
        groups[source][path] = 1.0
    full, assumed = completed(mapping)  # type: ignore[arg-type]
    taken = {one.entry: Doubt(one.half_width) for one in assumed if one.half_width is not None}
    groups |= {entry: {entry: 1.0} for entry in taken}
    doubts = {path: Doubt(half) for path, half in halves.items()} | {path: Doubt(0.0) for path in exact}
    return Bench(full, groups, {**doubts, **taken})


def heated(gear: Gear) -> tuple[Entries, dict[str, float]]:
    """Return what an engine is made of, in words, then what it really is when it runs."""
    rng, train = gear.rng, gear.train
    words = {f"materials.{part}": str(rng.choice(stuffs)) for part, stuffs in STUFFS.items()}
    words[f"{train}.pushrod.material"] = words.pop("materials.pushrod")
    stuff = {**words, "materials.pushrod": words[f"{train}.pushrod.material"]}
    really = {"running.cold": float(rng.uniform(15, 25))}
    for part in STUFFS:
        entry = f"{train}.pushrod.expansion" if part == "pushrod" else f"materials.expansion_{part}"
        per_million = MATERIALS[stuff[f"materials.{part}"]].expansion * 1e6
        really[entry] = per_million * float(1 + SPREAD * rng.uniform(-1, 1))
    really |= {f"running.hot_{part}": float(rng.uniform(*ends)) for part, ends in HOT.items()}
    lower = 0.05 if train.endswith("exhaust") else 0.025
    really[f"{train}.valve.sits_lower_hot"] = lower * float(1 + rng.uniform(-1, 1))
    really[f"{train}.lifter.above_cam"] = float(rng.uniform(56, 84))
    return {**words}, really


def heights_of(gear: Gear, above_cam: float) -> dict[str, float]:
    """Return every height, the ratio near the seat, the parts of the stack and the plunger's travel."""
    at = grown_loop.read(gear.mapping, gear.train)
    own = {
        "lifter.below_deck": at.below_deck,
        "lifter.above_cam": above_cam,
        "lifter.plunger_travel": _number(gear, f"{gear.train}.lifter.plunger_travel"),
        "rocker.cup_above_gasket": at.above_gasket,
        "rocker.shaft_above_cup": at.shaft_over_cup,
        "rocker.shaft_above_tip": at.shaft_over_tip,
        "rocker.ratio_at_seat": at.ratio,
        "valve.length": at.valve,
    }
    return {
        **{f"stack.{part}": _number(gear, f"stack.{part}") for part in STACK},
        **{f"{gear.train}.{entry}": value for entry, value in own.items()},
    }


def rod_of(gear: Gear, *, bottomed: bool, thicker: float) -> dict[str, float]:
    """Return a rod that just touched, over another base gasket, and its whole lean."""
    down = _number(gear, f"{gear.train}.lifter.plunger_travel") if bottomed else 0.0
    gasket = _number(gear, "stack.base_gasket") + thicker
    then = {**gear.mapping, "stack.base_gasket": gasket, f"{gear.train}.lifter.preload": down}
    lean, _ = grown_loop.leans(then, gear.train)
    return {
        f"{gear.train}.measured_pushrod.length": raw_loop.length(then, gear.train),
        f"{gear.train}.measured_pushrod.lean": lean,
        f"{gear.train}.measured_pushrod.stack.base_gasket": gasket,
    }


class Case(NamedTuple):
    """One valve gear as it is, and what is read of it."""

    gear: Gear
    true: Flat
    words: Entries
    read: dict[str, float]
    really: dict[str, float]  # stuffs, temperatures and what only a hot engine shows


def case_of(gear: Gear, hurried: bool, solid: bool) -> Case:
    """Return a valve gear with what is read of it; solid : its lifter changed for one with lash."""
    train = gear.train
    words, really = heated(gear)
    bottomed = not solid and bool(gear.rng.random() < 0.5)
    rod = rod_of(gear, bottomed=bottomed, thicker=float(gear.rng.uniform(-3, 3)))
    read = {**heights_of(gear, really[f"{train}.lifter.above_cam"]), **rod}
    words |= {"cylinders": ("one",), "trains": (train,), f"{train}.measured_pushrod.as": "centres"}
    true: Entries = {**gear.mapping, **really}
    if solid:
        del read[f"{train}.lifter.plunger_travel"], true[f"{train}.lifter.plunger_travel"]
        del true[f"{train}.lifter.preload"]
        arms = [_number(gear, f"{train}.rocker.{arm}_arm") for arm in ("valve", "pushrod")]
        read[f"{train}.rocker.ratio"] = arms[0] / arms[1]
        own: Entries = {"kind": "solid", "lash": float(gear.rng.uniform(0.05, 0.3)), "lash_at": "valve"}
        true |= {f"{train}.lifter.{entry}": value for entry, value in own.items()}
    else:
        own = {entry: gear.mapping[f"{train}.lifter.{entry}"] for entry in ("kind", "preload")}
        words[f"{train}.measured_pushrod.plunger"] = "bottomed" if bottomed else "top stop"
    words |= {f"{train}.lifter.{entry}": value for entry, value in own.items()}
    if hurried:
        read = {path: value for path, value in read.items() if any(one in path for one in HURRIED)}
    return Case(gear, _flat(true), words, read, really)


def bench_of(case: Case) -> Bench:
    """Return what is entered, each reading within its ±, the stuffs as their tables have them."""
    running = {path: value for path, value in case.really.items() if path.startswith("running.")}
    return entered(case.gear.rng, case.words, {**case.read, **running}, {})


def bench_read_right(case: Case) -> Bench:
    """Return what is entered where every reading is right, and every stuff and temperature known."""
    return entered(case.gear.rng, case.words, {}, {**case.really, **case.read})


def ordered(bench: Bench) -> Order:
    """Return the pushrod to order from the bench."""
    (found,) = orders(bench.mapping, bench.quantities, bench.doubts)
    return found


def cold(case: Case) -> dict[str, Held]:
    """Return the setting of an engine cold: the pushrod that the bench orders is put into the true engine."""
    train, order = case.gear.train, ordered(bench_of(case))
    assert order.required is not None
    gives = fit(train_of(case.true, train), order.required.lengths["centres"])
    true = gives.lash if gives.preload is None else gives.preload
    assert true is not None
    assert order.setting is not None
    found = {order.setting.key: Held(order.setting.value, float(true), order.setting.budget.expanded)}
    if order.room_left is not None:
        room = _number(case.gear, f"{train}.lifter.plunger_travel") - float(true)
        found["room_to_bottom"] = Held(order.room_left.value, room, order.room_left.budget.expanded)
    return found


def hot(case: Case, bench: Bench) -> dict[str, Held]:
    """Return what heat leaves of a setting: the pushrod that the bench orders is put into the true engine."""
    train, stands = case.gear.train, None
    if case.true[f"{train}.lifter.kind"] == "hydraulic":
        order = ordered(bench)
        assert order.required is not None
        stands = fit(train_of(case.true, train), order.required.lengths["centres"]).preload
    gear = known(train_of(bench.mapping, train), None)
    told = results(bench.mapping, heat.hot, train, bench.quantities, bench.doubts, gear)
    true = heat.hot(case.true, train, stands)
    assert not isinstance(told, Missing), told
    assert not isinstance(true, Missing), true
    return {key: Held(one.value, float(true[key].value), one.budget.expanded) for key, one in told.items()}


def broader(gear: Gear) -> Gear:
    """Return an engine with larger heads, which come nearer each other, and laws for lobes."""
    mapping = {path: value for path, value in gear.mapping.items() if ".card." not in path}
    for train in TRAINS:
        entry = f"{train}.valve.head_diameter"
        mapping[entry] = _number(gear, entry) + float(gear.rng.uniform(0, 5))
    for entry in ("law.name", "law.degrees"):
        mapping[f"lobe.exhaust.{entry}"] = mapping[f"lobe.intake.{entry}"]
    mapping["lobe.exhaust.law.peak"] = float(gear.rng.uniform(7, 9))
    return gear._replace(mapping=mapping)


def touching(gear: Gear) -> valve_pair.Pair:
    """Return a cylinder's two heads as bodies, broad and thick as entered, without a seat's cone."""
    found = []
    for train in TRAINS:
        at, radius = raw_loop.points(gear.mapping, train), _number(gear, f"{train}.valve.head_diameter") / 2
        margin = _number(gear, f"{train}.valve.margin")
        found.append(valve_pair.Valve(at.F, at.n, radius, margin, seat=NO_SEAT_MM))
    return valve_pair.pair(found[0], found[1])


def touch_of(pair: valve_pair.Pair) -> dict[str, float]:
    """Return what is read of two valves pushed together."""
    edges, one, other = pair.edges(), pair.intake, pair.exhaust
    stems, heads = one.stem[:2] - other.stem[:2], one.centre[:2] - other.centre[:2]
    off = np.arccos(abs(stems @ heads) / np.linalg.norm(stems) / np.linalg.norm(heads))
    return {
        "one.valves_touch.edge_intake": edges[0],
        "one.valves_touch.edge_exhaust": edges[1],
        "one.valves_touch.between_stems": float(np.arccos(one.stem @ other.stem)),
        "one.valves_touch.spread_off": float(off),
    }


def standing(gear: Gear) -> Situation:
    """Return a cylinder as its coordinates have it."""
    return situation(_flat(gear.mapping), "one", Cam(_flat(gear.mapping), Tables()))


def ratio_of(gear: Gear, here: Situation, train: str) -> float:
    """Return the valve's whole lift over the lifter's, as it is dialled at full lift."""
    peak = here.lifts[train].lobe.peak[1]
    return float(grown_loop.opened(gear.mapping, train, [peak])[0]) / peak


def lobes_of(gear: Gear, trains: tuple[str, ...]) -> tuple[Entries, dict[str, float]]:
    """Return what is known of cam and lifters: words and wishes, then what is exact."""
    own = tuple(f"{train}.lifter.{entry}" for train in trains for entry in ("kind", "preload"))
    kept = {
        path: value for path, value in gear.mapping.items() if path.startswith(("lobe.", "crank.turns", *own))
    }
    exact = {
        path: float(str(value))
        for path, value in kept.items()
        if path.startswith("lobe.") and isinstance(value, float)
    }
    words = {path: value for path, value in kept.items() if path not in exact}
    return {**words, "cylinders": ("one",), "trains": trains}, exact


def valves_apart(gear: Gear) -> tuple[dict[str, Held], float]:
    """Return how near two valves come, then how far that is off with all read right."""
    here, pair = standing(gear), touching(gear)
    heads = here.apart()
    assert isinstance(heads, ByHeads)
    least, read = heads.least(), touch_of(pair)
    lifts = [float(here.lifts[train].at(array(least.angle))) for train in TRAINS]
    assert 0 <= pair.distance(*lifts) - least.value <= BODIES_MM
    right = _flat({**gear.mapping, **read})
    touch = situation(right, "one", Cam(right, Tables())).apart()
    assert isinstance(touch, ByTouch)

    read |= {f"{train}.rocker.ratio": ratio_of(gear, here, train) for train in TRAINS}
    words, exact = lobes_of(gear, TRAINS)
    bench = entered(gear.rng, words, read, exact)
    (found,) = clearances(bench.mapping, Tables(), bench.quantities, bench.doubts).pairs
    assert found.judged is not None, found
    apart = Held(found.judged.value, least.value, found.judged.budget.expanded)
    return {"apart": apart}, touch.least().value - least.value


def over_piston(gear: Gear) -> dict[str, Held]:
    """Return how near a valve comes to a plain crown, its drop read over another base gasket."""
    here, train = standing(gear), gear.train
    over = here.valves[train]
    assert isinstance(over, ByCoordinates)
    thicker = float(gear.rng.uniform(-1, 3))
    then = over.head._replace(centre=over.head.centre + point(0.0, 0.0, thicker))
    read = {f"stack.{part}": _number(gear, f"stack.{part}") for part in STACK}
    read |= {
        entry: _number(gear, entry) for entry in ("crank.stroke", "crank.conrod_length", "piston.pin_offset")
    }
    read |= {
        f"{train}.rocker.ratio": ratio_of(gear, here, train),
        f"{train}.measured_drop.drop": float(drop(over.below.crown, then)),
        f"{train}.measured_drop.lean": float(whole_lean(over.head.stem)),
        f"{train}.measured_drop.stack.base_gasket": _number(gear, "stack.base_gasket") + thicker,
    }
    words, exact = lobes_of(gear, (train,))
    bench = entered(gear.rng, {**words, f"{train}.measured_drop.meets": "crown"}, read, exact)
    (valve,) = clearances(bench.mapping, Tables(), bench.quantities, bench.doubts).valves
    assert valve.piston is not None, valve
    drops, gap = nearest(over)
    _, least = judged_on(drops[0], gap)
    return {"piston": Held(valve.piston.value, least.value, valve.piston.budget.expanded)}


def holds(rows: list[dict[str, Held]], most_doubt: float) -> None:
    """Hold all engines to the share that may promise more than its doubt allows; of a few, one."""
    allowed = max(1.0, MOST * len(rows))
    for key in rows[0]:
        off, doubt = (np.array([getattr(row[key], what) for row in rows]) for what in ("off", "doubt"))
        beyond, below = int(np.sum(off > doubt)), int(np.sum(-off > doubt))
        said = f"{key}: {spread(off)} beyond {beyond}, {below} below; doubt {np.median(doubt):.3f}"
        print(said)
        assert beyond <= allowed, said
        assert key not in EITHER_WAY or below <= allowed, said
        assert 0 < doubt.min() <= doubt.max() <= most_doubt, (said, doubt.max())


def spread(off: NDArray[np.float64]) -> str:
    """Return the least, 5 %, median, 95 % and greatest in words."""
    return " ".join(f"{one:.4f}" for one in np.quantile(off, [0, 0.05, 0.5, 0.95, 1]))


@HOW
@pytest.mark.parametrize("many", MANY)
def test_a_setting_cold(hurried: bool, many: int) -> None:
    for solid in (False, True):
        gears = some("built", START, many)
        holds([cold(case_of(gear, hurried, solid)) for gear in gears], MOST_DOUBT_MM["cold"])


@HOW
@pytest.mark.parametrize("many", MANY)
def test_a_setting_hot(hurried: bool, many: int) -> None:
    for solid in (False, True):
        cases = [case_of(gear, hurried, solid) for gear in some("built", START + 1, many)]
        holds([hot(case, bench_of(case)) for case in cases], MOST_DOUBT_MM["hot"])


@pytest.mark.parametrize("many", MANY)
def test_heat_by_heights_where_all_is_read_right(many: int) -> None:
    """What is left is what grows across the cylinder, times the pushrod's lean."""
    for solid, key in ((False, "preload"), (True, "lash")):
        cases = [case_of(gear, False, solid) for gear in some("built", START + 2, many)]
        off = np.array([hot(case, bench_read_right(case))[f"{key}_change"].off for case in cases])
        print(key, spread(off))
        assert np.abs(off).max() <= METHOD_MM[key], spread(off)


@pytest.mark.parametrize("many", MANY)
def test_two_valves(many: int) -> None:
    """With all read right they are never told further apart than they are."""
    found = [valves_apart(broader(gear)) for gear in some("built", START + 3, many)]
    off = np.array([right for _, right in found])
    print(spread(off))
    assert -RULE_MM <= off.min() <= off.max() <= ALLOWED_MM, spread(off)
    holds([row for row, _ in found], MOST_DOUBT_MM["apart"])


@pytest.mark.parametrize("many", MANY)
def test_a_valve_over_its_piston(many: int) -> None:
    gears = some("built", START + 4, many)
    holds([over_piston(broader(gear)) for gear in gears], MOST_DOUBT_MM["piston"])


def _flat(mapping: Entries) -> Flat:
    return mapping  # type: ignore[return-value]


def _number(gear: Gear, path: str) -> float:
    return float(str(gear.mapping[path]))
