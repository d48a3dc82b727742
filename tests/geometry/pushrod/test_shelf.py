"""The shelf: every offer against its own geometry, and the best set against brute force.

Figures, measured on two cores with CPython 3.11:

- best set, 200 random small shelves, against every assignment: the same set; limit: none better
"""

from __future__ import annotations

import itertools
import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry import build, fit
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.targets import Limit, Source
from tallstack.geometry.core.verdict import Verdict
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.gear.adjusters import turns_to
from tallstack.geometry.pushrod import shelf
from tallstack.geometry.pushrod.adjusting import setting
from tallstack.geometry.pushrod.ordering import Order, orders
from tallstack.geometry.pushrod.shelf import Chosen, Offer, Rod, best_set, nearest_miss, offer

from ...commands import EXAMPLES
from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping
from ...seeded import few

PITCH = 25.4 / 24


def rod(label: str, length: float, **more: object) -> Rod:
    usual = {
        "label": label,
        "kind": "fixed",
        "shortest": length,
        "longest": length,
        "convention": "centres",
        "ball_diameter": None,
        "pitch": None,
        "flats": None,
        "count": 1,
    }
    return Rod(**{**usual, **more})  # type: ignore[arg-type]


def adjustable(label: str, shortest: float, longest: float, **more: object) -> Rod:
    thread = {"pitch": PITCH, "flats": 6, "count": 4}
    return rod(label, shortest, kind="adjustable", longest=longest, **{**thread, **more})


def order_of(mapping: dict[str, object]) -> Order:
    return orders(mapping, {}, {})[0]  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", few(range(30), 12))
def test_a_fixed_pushrod_gives_the_preload_that_the_second_solver_finds(seed: int) -> None:
    rng = np.random.default_rng([seed, 8])
    mapping = random_mapping(rng, kind="hydraulic")
    mapping[f"{TRAIN}.lifter.preload"], mapping[f"{TRAIN}.lifter.plunger_travel"] = 1.0, 3.0
    length = raw_loop.length(mapping, TRAIN) + rng.uniform(-1.5, 2.5)
    found = offer(order_of(mapping), rod("a", length))
    preload = raw_loop.preload(mapping, TRAIN, length)
    assert found.preload == pytest.approx(preload, abs=1e-9)
    assert found.fits == (0.3 <= preload <= 2.7)  # a tenth of the travel from either end
    if preload < 0.3:
        assert (found.way, found.miss) == ("too short", pytest.approx(0.3 - preload, abs=1e-9))


@pytest.mark.parametrize("seed", few(range(30), 12))
def test_an_adjustable_pushrod_is_set_to_the_nearest_flat(seed: int) -> None:
    rng = np.random.default_rng([seed, 9])
    mapping = random_mapping(rng, kind="hydraulic")
    mapping[f"{TRAIN}.lifter.preload"] = 1.0
    wanted = raw_loop.length(mapping, TRAIN)
    shortest = wanted - rng.uniform(0.5, 8.0)
    found = offer(order_of(mapping), adjustable("b", shortest, shortest + 12.0))
    assert found.flats is not None
    assert found.length == pytest.approx(shortest + found.flats * PITCH / 6, abs=1e-12)
    assert abs(found.length - wanted) <= PITCH / 12 + 1e-9
    assert found.turns == found.flats / 6
    assert found.thread_left == pytest.approx(shortest + 12.0 - found.length)
    zero = {**mapping, f"{TRAIN}.lifter.preload": 0.0}
    from_zero = (found.length - raw_loop.length(zero, TRAIN)) / PITCH
    assert found.turns_from_zero_lash == pytest.approx(from_zero, abs=1e-6)


def test_an_adjustable_pushrod_stops_where_its_thread_ends() -> None:
    mapping = random_mapping(np.random.default_rng(1), kind="hydraulic")
    mapping[f"{TRAIN}.lifter.preload"] = 1.0
    wanted = raw_loop.length(mapping, TRAIN)
    too_short = offer(order_of(mapping), adjustable("c", wanted - 9.0, wanted - 3.0))
    assert not too_short.fits
    assert too_short.way == "too short"
    assert too_short.thread_left is not None
    assert too_short.thread_left < PITCH / 6


def test_what_cannot_be_compared_is_refused_in_words() -> None:
    mapping = random_mapping(np.random.default_rng(1), kind="hydraulic")
    mapping |= {f"{TRAIN}.pushrod.ball_diameter_{side}": 7.9375 for side in ("low", "high")}
    wanted = raw_loop.length(mapping, TRAIN)
    order = order_of(mapping)
    small = offer(order, rod("d", wanted, ball_diameter=6.35))
    assert "its ball of 6.35 mm (0.250 in) does not match the lower one here, 7.94 mm (0.312 in)" in small.why
    gauge = offer(order, rod("e", wanted, convention="gauge"))
    assert "not known here without pushrod.gauge" in gauge.why
    assert nearest_miss([small, gauge]) is None
    assert math.isinf(small.miss)


def brute_force(offers: dict[str, list[Offer]], counts: dict[str, int]) -> Chosen | None:
    """Return the best of every possible assignment, compared as the ranking is stated."""
    best: tuple[tuple[object, ...], tuple[Offer, ...]] | None = None
    for taken in itertools.product(*offers.values()):
        labels = [one.label for one in taken]
        if not all(one.fits for one in taken) or any(labels.count(one) > counts[one] for one in labels):
            continue
        thread = min((one.thread_left for one in taken if one.thread_left is not None), default=math.inf)
        off = math.fsum(one.off for one in taken)
        rank = (len(set(labels)), round(off, 9), -round(thread, 9), tuple(labels))
        if best is None or rank < best[0]:
            best = (rank, taken)
    if best is None:
        return None
    return Chosen(best[1], best[0][0], math.fsum(one.off for one in best[1]), -best[0][2])  # type: ignore[arg-type, operator]


@pytest.mark.parametrize("seed", few(range(200), 80))
def test_no_assignment_of_a_small_shelf_is_better(seed: int) -> None:
    rng = np.random.default_rng([seed, 10])
    trains = [f"t{index}" for index in range(rng.integers(1, 5))]
    labels = [f"r{index}" for index in range(rng.integers(1, 6))]
    counts = {label: int(rng.integers(1, 5)) for label in labels}
    offers: dict[str, list[Offer]] = {}
    for train in trains:
        offers[train] = [
            Offer(
                label=label,
                train=train,
                kind="adjustable" if rng.random() < 0.5 else "fixed",
                fits=bool(rng.random() < 0.75),
                why="",
                miss=0.0,
                off=round(float(rng.uniform(0, 0.4)), 1),  # coarse, so that ties happen
                thread_left=round(float(rng.uniform(1, 9)), 0) if rng.random() < 0.5 else None,
            )
            for label in labels
        ]
    found, expected = best_set(offers, counts), brute_force(offers, counts)
    if expected is None:
        assert found is None
        return
    assert found is not None
    assert [one.label for one in found.offers] == [one.label for one in expected.offers]
    assert (found.kinds, found.off) == (expected.kinds, pytest.approx(expected.off))


@pytest.mark.parametrize("kind", ["hydraulic", "solid"])
@pytest.mark.parametrize("seed", range(6))
def test_a_miss_grows_with_the_length_it_misses_by_also_where_nothing_meets_any_more(
    kind: str, seed: int
) -> None:
    mapping = random_mapping(np.random.default_rng([seed, 11]), kind=kind)
    if kind == "hydraulic":
        mapping[f"{TRAIN}.lifter.preload"], mapping[f"{TRAIN}.lifter.plunger_travel"] = 1.0, 3.0
    order = order_of(mapping)
    assert order.required is not None
    wanted = float(order.required.lengths["centres"])
    off = np.concatenate([np.linspace(0.0, 6.0, 31), [8.0, 12.0, 20.0, 30.0, 60.0, 120.0]])
    for side, way in ((1.0, "too long"), (-1.0, "too short")):
        found = [offer(order, rod("a", wanted + side * more)) for more in off]
        misses = [one.miss for one in found]
        assert np.isfinite(misses).all()
        assert (np.diff(misses) >= 0).all()
        assert all(after > before for before, after in itertools.pairwise(misses) if before > 0)
        assert {one.way for one in found if not one.fits} == {way}
        numbers = [one.preload if kind == "hydraulic" else one.lash for one in found]
        assert not any(number is not None and math.isnan(number) for number in numbers)
        apart = [one for one, number in zip(found, numbers, strict=True) if number is None]
        assert all(one.why.startswith("is so far off that the parts no longer meet") for one in apart)
        assert bool(apart) == (kind == "solid" and order.train.lifter.lash_at == "valve")
        assert nearest_miss(found[-3:]) == found[-3]


def test_a_set_of_the_demo_holds_when_measured_back() -> None:
    found = orders(
        build_mapping := random_mapping(np.random.default_rng(3), kind="hydraulic"),
        {},
        {},  # type: ignore[arg-type]
    )
    train = build(build_mapping).train(TRAIN)  # type: ignore[arg-type]
    needed = found[0].required
    assert needed is not None
    given = fit(train, array(needed.lengths["centres"]))
    assert given.preload == pytest.approx(build_mapping[f"{TRAIN}.lifter.preload"], abs=1e-9)


def test_a_pushrod_that_holds_the_valve_open_fits_nowhere_however_little() -> None:
    mapping = random_mapping(np.random.default_rng(8), kind="solid")
    mapping[f"{TRAIN}.lifter.lash"] = 0.005
    wanted = raw_loop.length(mapping, TRAIN)
    shut, held = (offer(order_of(mapping), rod("a", wanted + off)) for off in (-0.01, 0.01))
    assert shut.fits
    assert held.lash is not None
    assert held.lash < 0
    assert (held.fits, held.misses_limit) == (False, True)


NAME = "one.intake"


@pytest.mark.parametrize(
    ("flats", "longest", "miss", "said"),
    [
        (0, 260.0, 0.1, "short, fully closed"),
        (3, 260.0, 0.1, "short"),
        (3, 250.0, 0.1, "short, as long as it gets"),
        (0, 260.0, 0.0, "short"),
    ],
)
def test_a_thread_that_is_at_its_end_is_told_where_a_pushrod_misses(
    flats: int, longest: float, miss: float, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of `_judged` alone, with a `_Gear` and how the pushrod is `_Set`, in place of `_miss` a miss of exactly so much."""
    given = SimpleNamespace(preload=None, lash=array(0.3))
    monkeypatch.setattr(shelf, "fit", lambda *_: given)
    monkeypatch.setattr(shelf, "_miss", lambda *_: (miss, miss, "", "short"))
    ends = SimpleNamespace(low=SimpleNamespace(ball_diameter=None))
    lifter = SimpleNamespace(plunger_travel=None)
    train = SimpleNamespace(name=NAME, ends=ends, lifter=lifter, assembly=None)
    order: Any = SimpleNamespace(train=train, budget=None, required=None)
    rod = shelf.Rod("a", "adjustable", 250.0, longest, "centres", None, 1.0, 6, 1)
    assert shelf._judged(shelf._Gear(order), rod, shelf._Set(250.0, 0.0, flats)).why == said


@pytest.mark.parametrize(
    ("preload", "limits", "miss"),
    [
        (1.3, True, (0.0, 0.3)),
        (1.7, True, (0.2, 0.7)),
        (1.3, False, (np.inf, np.inf)),
        (None, True, (np.inf, np.inf)),
    ],
)
def test_a_preload_is_held_against_its_limits_where_it_has_both(
    preload: float | None, limits: bool, miss: tuple[float, float]
) -> None:
    """Of `_miss` alone: limits that an order always has both of, or none."""
    order: Any = SimpleNamespace(
        train=SimpleNamespace(lifter=SimpleNamespace(preload=array(1.0), lash=None, plunger_travel=None)),
        limits=SimpleNamespace(least=Limit(0.5, None, Source.SET), most=Limit(1.5, None, Source.SET))
        if limits
        else None,
    )
    assert shelf._miss(order, preload, None)[:2] == pytest.approx(miss)


@pytest.mark.parametrize(
    ("lash", "miss", "way"),
    [
        (0.50, (0.0, 0.0), ""),
        (0.52, (0.0, 0.02), ""),
        (0.60, (0.1, 0.1), "too short"),
        (0.40, (0.1, 0.1), "too long"),
    ],
)
def test_a_lash_within_a_thou_of_the_wish_misses_by_nothing(
    lash: float, miss: tuple[float, float], way: str
) -> None:
    """Of `_miss` alone, at a thou exactly."""
    lifter = SimpleNamespace(preload=None, lash=array(0.5))
    order: Any = SimpleNamespace(train=SimpleNamespace(lifter=lifter), limits=None)
    found = shelf._miss(order, None, lash)
    assert found[:2] == pytest.approx(miss)
    assert found[2] == way


@pytest.mark.parametrize("kind", ["pushrod screw", "valve screw", "pivot nut", "lifter screw"])
def test_what_the_gears_own_adjuster_takes_up_fits_and_gives_what_is_wanted(kind: str) -> None:
    """To the end of its thread: there the closed loop is solved anew for the turns that each pushrod asks for."""
    rng = np.random.default_rng(25)
    own = {"kind": kind, "pitch": 1.0, "flats": "6", "turns_in": 2.0, "turns_out": 1.5}
    mapping = random_mapping(rng, kind="solid", lash_at="valve")
    mapping |= {f"{TRAIN}.rocker.adjuster.{name}": one for name, one in own.items()}
    order, gear = order_of(mapping), train_of(mapping, TRAIN)
    told = setting(order.train, order.required)  # type: ignore[arg-type]
    assert told is not None
    assert told.shortest is not None
    assert told.longest is not None
    assert gear.drawn is not None
    assert gear.adjuster is not None
    wish = float(str(mapping[f"{TRAIN}.lifter.lash"]))
    for length, is_taken in (
        (told.shortest + 1e-6, True),
        (told.longest - 1e-6, True),
        (told.shortest - 0.1, False),
        (told.longest + 0.1, False),
    ):
        found = offer(order, rod("any", length))
        assert (found.fits, found.set_by) == (is_taken, kind)
        assert found.verdict is Verdict.UNPROVED  # lash is left; by coordinates alone
        assert found.miss == pytest.approx(0.0 if is_taken else 0.1)
        assert (found.lash, found.off) == (wish, 0.0 if is_taken else pytest.approx(0.1))
        turns = float(turns_to(gear.drawn, gear.adjuster, array(length), array(wish), "valve"))
        assert (-1.5 <= turns <= 2.0) is is_taken, turns


@pytest.mark.parametrize(
    ("turns", "words"), [(2.0, "takes it up"), (None, "how far its pivot nut turns is not entered")]
)
def test_a_measured_pushrod_is_taken_up_as_far_as_the_thread_goes_to_first_order(
    turns: float | None, words: str
) -> None:
    """Of a nut at the pivot by hand: a turn is its pitch times one and the reciprocal of the ratio, in pushrod."""
    mapping = dict(load(EXAMPLES / "in_line_with_pivot_nuts" / "job.toml").mapping)
    name = "one.intake"
    mapping |= {f"{name}.rocker.adjuster.turns_in": turns} if turns is not None else {}
    order = next(one for one in orders(mapping, {}, {}) if one.train.name == name)  # type: ignore[arg-type]
    needed, ratio = order.required, order.train.ratio
    assert needed is not None
    assert ratio is not None
    assert order.train.adjuster is not None
    most = 2.0 * 25.4 / 24 * (1 + 1 / float(ratio))
    assert order.train.adjuster.pitch == pytest.approx(25.4 / 24)
    needs = float(needed.lengths["centres"])
    found = offer(order, rod("any", needs - most + 1e-6))
    assert found.fits is (turns is not None)
    assert words in found.why
    if turns is not None:
        less = offer(order, rod("any", needs - most - 0.2))
        assert (less.fits, less.way) == (False, "too short")
        assert less.miss == pytest.approx(0.2, abs=2e-6)


@pytest.mark.parametrize("by", [-1e-15, 0.0, 1e-15])
def test_of_pushrods_that_miss_alike_but_for_rounding_the_first_by_its_label_is_nearest(by: float) -> None:
    short, long = (
        Offer(label, NAME, "fixed", False, "", miss, miss) for label, miss in (("a", 0.5), ("b", 0.5 + by))
    )
    assert nearest_miss([long, short]) == short
