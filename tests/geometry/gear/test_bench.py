"""The bench route against full geometry: one measured pushrod, carried to another stack."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry import MissingEntryError, build, fit, required
from tallstack.geometry.core.frames import array, norm, whole_lean
from tallstack.geometry.gear.train import closed

from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping
from ...seeded import few

STACK_NOW = {
    "stack.base_gasket": 0.9,
    "stack.cylinder": 5.2,
    "stack.head_gasket": -0.3,
    "stack.case_cut": 0.25,
    "stack.head_cut": 0.1,
}


def taller(mapping: dict[str, object]) -> dict[str, object]:
    grown = {path: float(mapping.get(path, 0.0)) + by for path, by in STACK_NOW.items()}  # type: ignore[arg-type]
    return {**mapping, **grown}


def rod_then(mapping: dict[str, object], plunger: float = 0.0) -> np.ndarray:
    """Return the pushrod as a vector on the stack of the mapping, valve closed."""
    drawn = build(mapping).train(TRAIN).drawn  # type: ignore[arg-type]
    assert drawn is not None
    return closed(drawn).cup - (drawn.seat - plunger * drawn.lift_axis)


def by_bench(mapping: dict[str, object], two_views: bool = False, **lifter: object) -> dict[str, object]:
    """Return a mapping that knows only what a bench tells: one rod, its lean, the stack then and now."""
    rod = rod_then(mapping)
    then = {f"{TRAIN}.measured_pushrod.{path}": mapping.get(path, 0.0) for path in STACK_NOW}
    lean: dict[str, object] = {f"{TRAIN}.measured_pushrod.lean": float(whole_lean(rod))}
    if two_views:
        views = np.arctan(rod[:2] / rod[2])
        lean = {f"{TRAIN}.measured_pushrod.lean.{axis}": float(views[i]) for i, axis in enumerate("xy")}
        lean |= {f"{TRAIN}.lifter.lean.{axis}": mapping[f"{TRAIN}.lifter.lean.{axis}"] for axis in "xy"}
    now = taller(mapping)
    return {
        "cylinders": ("front",),
        "trains": (TRAIN,),
        **{path: now[path] for path in STACK_NOW},
        **then,
        **lean,
        f"{TRAIN}.measured_pushrod.length": float(norm(rod)),
        f"{TRAIN}.measured_pushrod.as": "centres",
        f"{TRAIN}.measured_pushrod.plunger": "top",
        **{f"{TRAIN}.lifter.{name}": value for name, value in lifter.items()},
    }


def centres(mapping: dict[str, object]) -> float:
    return float(required(build(mapping).train(TRAIN)).lengths["centres"])  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", few(range(200), 60))
def test_at_zero_preload_with_the_true_lean_the_two_routes_agree(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng(seed), kind="hydraulic")
    mapping[f"{TRAIN}.lifter.preload"] = 0.0
    bench = by_bench(mapping, kind="hydraulic", preload=0.0)
    assert centres(bench) == pytest.approx(raw_loop.length(taller(mapping), TRAIN), abs=1e-9)


@pytest.mark.parametrize("seed", few(range(200), 60))
def test_preload_costs_no_more_than_the_angle_that_was_not_measured(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng(seed), kind="hydraulic")
    preload = float(mapping[f"{TRAIN}.lifter.preload"])  # type: ignore[arg-type]
    now = taller(mapping)
    rod = rod_then(now)
    drawn = build(now).train(TRAIN).drawn  # type: ignore[arg-type]
    assert drawn is not None
    bound = preload * (1 - rod @ drawn.lift_axis / norm(rod))
    bench = by_bench(mapping, kind="hydraulic", preload=preload)
    assert abs(centres(bench) - raw_loop.length(now, TRAIN)) <= bound + 1e-9


@pytest.mark.parametrize("seed", few(range(100), 40))
def test_two_views_of_the_rod_and_the_lifter_s_lean_make_preload_exact(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng(seed), kind="hydraulic")
    preload = float(mapping[f"{TRAIN}.lifter.preload"])  # type: ignore[arg-type]
    bench = by_bench(mapping, two_views=True, kind="hydraulic", preload=preload)
    assert centres(bench) == pytest.approx(raw_loop.length(taller(mapping), TRAIN), abs=1e-9)


@pytest.mark.parametrize("seed", range(60))
def test_two_whole_leans_bound_the_angle_and_carry_it_as_doubt(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng(seed), kind="hydraulic")
    preload = float(mapping[f"{TRAIN}.lifter.preload"])  # type: ignore[arg-type]
    bench = by_bench(mapping, kind="hydraulic", preload=preload)
    bench |= {f"{TRAIN}.lifter.lean.{axis}": mapping[f"{TRAIN}.lifter.lean.{axis}"] for axis in "xy"}
    found = required(build(bench).train(TRAIN))  # type: ignore[arg-type]
    differ = abs(float(found.lengths["centres"]) - raw_loop.length(taller(mapping), TRAIN))
    assert differ <= float(found.along_doubt) + preload**2 / 200


@pytest.mark.parametrize(("place", "travel"), [("bottomed", 3.4), ("down", 1.3)])
def test_a_plunger_that_was_down_is_counted(place: str, travel: float) -> None:
    mapping = random_mapping(np.random.default_rng(8), kind="hydraulic")
    mapping[f"{TRAIN}.lifter.preload"] = travel
    bench = by_bench(mapping, kind="hydraulic", preload=travel, plunger_travel=travel)
    rod = rod_then(mapping, travel)
    bench[f"{TRAIN}.measured_pushrod.length"] = float(norm(rod))
    bench[f"{TRAIN}.measured_pushrod.lean"] = float(whole_lean(rod))
    if place == "down":
        del bench[f"{TRAIN}.measured_pushrod.plunger"]
        bench[f"{TRAIN}.measured_pushrod.plunger.down"] = travel
    else:
        bench[f"{TRAIN}.measured_pushrod.plunger"] = place
    # As far down then as it is wanted now: only the stack's growth is left.
    assert centres(bench) == pytest.approx(raw_loop.length(taller(mapping), TRAIN), abs=1e-6)


def test_lash_at_the_valve_is_divided_by_the_ratio() -> None:
    mapping = random_mapping(np.random.default_rng(21), kind="solid", lash_at="valve")
    bench = by_bench(mapping, kind="solid", lash=0.2, lash_at="valve")
    without = by_bench(mapping, kind="solid", lash=0.0, lash_at="pushrod")
    bench[f"{TRAIN}.rocker.ratio"] = 1.6
    assert centres(without) - centres(bench) == pytest.approx(0.2 / 1.6, abs=1e-12)


@pytest.mark.parametrize("seed", range(40))
def test_a_length_and_its_preload_are_inverses(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng(seed), kind="hydraulic")
    bench = by_bench(mapping, two_views=seed % 2 == 0, kind="hydraulic", preload=0.9, plunger_travel=3.0)
    train = build(bench).train(TRAIN)  # type: ignore[arg-type]
    assert fit(train, array(centres(bench))).preload == pytest.approx(0.9, abs=1e-9)


def test_a_lean_wrong_by_one_degree_costs_little_on_an_ordinary_swap() -> None:
    mapping = random_mapping(np.random.default_rng(2), kind="hydraulic")
    mapping[f"{TRAIN}.lifter.preload"] = 0.0
    bench = by_bench(mapping, kind="hydraulic", preload=0.0)
    bench[f"{TRAIN}.measured_pushrod.lean"] = np.radians(3.0)
    wrong = {**bench, f"{TRAIN}.measured_pushrod.lean": np.radians(4.0)}
    assert abs(centres(wrong) - centres(bench)) < 0.02


def test_both_routes_on_one_train_show_their_difference() -> None:
    mapping = random_mapping(np.random.default_rng(4), kind="hydraulic")
    preload = float(mapping[f"{TRAIN}.lifter.preload"])  # type: ignore[arg-type]
    both = {**taller(mapping), **by_bench(mapping, two_views=True, kind="hydraulic", preload=preload)}
    both[f"{TRAIN}.measured_pushrod.length"] = float(both[f"{TRAIN}.measured_pushrod.length"]) - 0.5  # type: ignore[arg-type]
    found = required(build(both).train(TRAIN))  # type: ignore[arg-type]
    assert found.basis == "measured pushrod"
    assert found.coordinates_differ == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize(
    ("entry", "expected"),
    [("stack.case_cut", -0.25), ("stack.head_cut", -0.25), (f"{TRAIN}.lifter.lowered", 0.25)],
)
def test_what_was_removed_since_counts_as_done_after_the_reading(entry: str, expected: float) -> None:
    mapping = random_mapping(np.random.default_rng(14), kind="hydraulic")
    bench = by_bench(mapping, kind="hydraulic", preload=0.9)
    before = {path: value for path, value in bench.items() if not path.endswith("_cut")}
    changed = centres({**before, entry: 0.25}) - centres(before)
    assert changed == pytest.approx(expected, rel=0.15)
    # Unless the reading says that it was so already.
    already = f"{TRAIN}.measured_pushrod.{entry.removeprefix(f'{TRAIN}.')}"
    assert centres({**before, entry: 0.25, already: 0.25}) == pytest.approx(centres(before), abs=1e-12)


def test_a_valve_sunk_since_needs_the_ratio() -> None:
    mapping = random_mapping(np.random.default_rng(14), kind="hydraulic")
    bench = {**by_bench(mapping, kind="hydraulic", preload=0.9), f"{TRAIN}.valve.sink": 0.3}
    with pytest.raises(MissingEntryError, match="rocker.ratio"):
        centres(bench)
    without = centres({**bench, f"{TRAIN}.valve.sink": 0.0, f"{TRAIN}.rocker.ratio": 1.5})
    assert without - centres({**bench, f"{TRAIN}.rocker.ratio": 1.5}) == pytest.approx(0.2, abs=1e-4)
