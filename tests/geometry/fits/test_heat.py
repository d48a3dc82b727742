"""What is left of a setting hot."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tallstack.cli.job.loading import load
from tallstack.geometry.core.answer import Missing
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.engine.defaults import HEATED
from tallstack.geometry.engine.engine import train_of
from tallstack.geometry.engine.materials import MATERIALS
from tallstack.geometry.fits import heat

from ...commands import EXAMPLES
from ...oracles.random_trains import TRAIN, random_mapping

HOT_LASH = EXAMPLES / "in_line_with_lash_for_hot" / "job.toml"


@pytest.mark.parametrize(
    ("there", "kind", "said"),
    [(0.1, "lash", ""), (0.1, "preload", ""), (0.0, "lash", "held off its seat"), (-0.1, "preload", "slack")],
)
def test_what_is_left_hot(there: float, kind: str, said: str) -> None:
    """Of `_held_open` alone: exactly at nought."""
    found = heat._held_open(array(there), kind)
    assert said in found
    assert bool(found) == bool(said)


def hot_mapping(seed: int, kind: str, hot: float) -> Flat:
    """Return a random gear whose parts are all of one stuff and equally hot, its gaskets without thickness."""
    mapping: dict[str, object] = dict(
        random_mapping(np.random.default_rng([seed, 9]), kind=kind, lash_at="valve")
    )  # type: ignore[arg-type]
    for gasket in ("base_gasket", "head_gasket"):
        mapping["stack.cylinder"] = float(mapping["stack.cylinder"]) + float(
            mapping.get(f"stack.{gasket}", 0.0)
        )  # type: ignore[arg-type]
        mapping[f"stack.{gasket}"] = 0.0
    for cut in ("case_cut", "head_cut"):
        mapping[f"stack.{cut}"] = 0.0
    mapping |= {f"{TRAIN}.lifter.lowered": 0.0, f"{TRAIN}.valve.sink": 0.0, "running.cold": 20.0}
    for part in HEATED:
        mapping |= {f"materials.{part}": "steel", f"running.hot_{part}": hot}
    mapping |= {f"{TRAIN}.valve.sits_lower_hot": 0.0}  # no head outgrows a seat of its own stuff
    return mapping  # type: ignore[return-value]


@pytest.mark.parametrize("kind", ["solid", "hydraulic"])
def test_an_engine_of_one_stuff_and_heat_only_grows(kind: str) -> None:
    """Every length grows by one share but the rocker's tip radius and what was wanted: the setting grows alike."""
    checked = 0
    for seed in range(12):
        mapping = hot_mapping(seed, kind, 120.0)
        mapping = {**mapping, f"{TRAIN}.rocker.tip_radius": 1e-9}
        found = heat.hot(mapping, TRAIN)
        if isinstance(found, Missing):
            continue
        name = "lash" if kind == "solid" else "preload"
        wanted = float(mapping[f"{TRAIN}.lifter.{name}"])  # type: ignore[arg-type]
        share = MATERIALS["steel"].expansion * 100.0
        assert float(found[f"{name}_change"].value) == pytest.approx(wanted * share, abs=2e-6)
        checked += 1
    assert checked >= 6


def test_no_heat_changes_nothing() -> None:
    found = heat.hot(hot_mapping(1, "solid", 20.0), TRAIN)
    assert not isinstance(found, Missing)
    assert float(found["lash_change"].value) == pytest.approx(0.0, abs=1e-9)


def test_a_hot_cylinder_takes_lash_and_the_cold_setting_makes_up_for_it() -> None:
    mapping = {
        **hot_mapping(2, "solid", 20.0),
        "materials.cylinder": "aluminium",
        "running.hot_cylinder": 170.0,
        "targets.hot_lash": 0.1,
    }
    found = heat.hot(mapping, TRAIN)
    assert not isinstance(found, Missing)
    change = float(found["lash_change"].value)
    assert change > 0.2  # the head rises away from a pushrod that stays as it is
    cold = float(found["cold_lash_for_it"].value)
    again = heat.hot({**mapping, f"{TRAIN}.lifter.lash": cold}, TRAIN)
    assert not isinstance(again, Missing)
    assert float(again["hot_lash"].value) == pytest.approx(0.1, abs=0.01)


def test_what_heat_adds_to_a_preload_is_added_to_what_the_plunger_can_rise() -> None:
    """Of a pushrod that grows while the cylinder stays: against the preload that it gives, running and just started."""
    mapping = {
        **hot_mapping(3, "hydraulic", 20.0),
        "materials.pushrod": "aluminium",
        "running.hot_pushrod": 120.0,
        "running.hot_valve": 300.0,
        f"{TRAIN}.lifter.plunger_travel": 4.0,
    }
    found = heat.hot(mapping, TRAIN)
    assert not isinstance(found, Missing)
    wanted = float(mapping[f"{TRAIN}.lifter.preload"])  # type: ignore[arg-type]
    gains = heat.hot_gains(mapping, [TRAIN])
    deepest = 4.0 - float(found["first_minutes_room"].value)
    assert gains == {f"{TRAIN}.lifter.hot_gain": pytest.approx(deepest - wanted)}
    assert deepest - wanted > 0.1
    rises = train_of({**mapping, **gains}, TRAIN).lifter
    assert float(rises.hot_gain) == pytest.approx(deepest - wanted)  # type: ignore[arg-type]


def test_heat_that_takes_preload_away_adds_nothing_and_of_a_solid_lifter_nothing_is_said() -> None:
    mapping = {
        **hot_mapping(3, "hydraulic", 20.0),
        "materials.cylinder": "aluminium",
        "running.hot_cylinder": 200.0,
    }
    assert heat.hot_gains(mapping, [TRAIN]) == {f"{TRAIN}.lifter.hot_gain": 0.0}
    assert heat.hot_gains(hot_mapping(3, "solid", 90.0), [TRAIN]) == {}
    del mapping["running.hot_head"]  # type: ignore[attr-defined]
    assert heat.hot_gains(mapping, [TRAIN]) == {f"{TRAIN}.lifter.hot_gain_lacks": ("running.hot_head",)}


@pytest.mark.parametrize("kind", ["solid", "hydraulic"])
def test_what_a_kelvin_of_the_cold_engine_does_is_what_all_parts_a_little_warmer_do(kind: str) -> None:
    checked = 0
    for seed in range(6):
        warm = hot_mapping(seed, kind, 30.0)
        slope, found = heat.per_kelvin(warm, TRAIN), heat.hot(warm, TRAIN)
        if isinstance(slope, Missing) or isinstance(found, Missing):
            continue
        change = found["lash_change" if kind == "solid" else "preload_change"].value
        assert slope == pytest.approx(float(change) / 10.0, rel=1e-3, abs=1e-8)
        checked += 1
    assert checked


def test_what_a_kelvin_does_needs_what_its_parts_are_made_of() -> None:
    bare = {
        path: value
        for path, value in hot_mapping(3, "solid", 90.0).items()
        if not path.startswith("materials.")
    }
    assert isinstance(heat.per_kelvin(bare, TRAIN), Missing)


def test_a_rod_read_over_ends_that_nobody_measured_lacks_them_in_words() -> None:
    """By heights the rod counts between its balls' centres, whatever it was read over."""
    full = load(EXAMPLES / "in_line_with_lash_for_hot" / "job.toml").mapping
    train = "one.exhaust"
    assert not isinstance(heat.hot(full, train), Missing)
    ends = ("ball_diameter_low", "ball_diameter_high", "hole_low", "hole_high")
    bare = {path: value for path, value in full.items() if not path.endswith(ends)}
    found = heat.hot(bare, train)
    assert isinstance(found, Missing)
    assert {f"{train}.pushrod.{one}" for one in ends} <= set(found.entries)
    theoretical = heat.hot({**bare, f"{train}.measured_pushrod.as": "theoretical"}, train)
    assert isinstance(theoretical, Missing)
    assert set(theoretical.entries) == {f"{train}.pushrod.{one}" for one in ends[:2]}
    assert isinstance(heat.per_kelvin(bare, train), Missing)
    assert heat.hot_gains(bare, [train]) == {}  # of a solid lifter


def test_a_rod_gauged_between_two_cups_lacks_nothing_and_has_no_heights(tmp_path: Path) -> None:
    """Its length from centre to centre is not known by anything that could be entered: told as that, no failure."""
    text = HOT_LASH.read_text(encoding="utf-8").replace(
        'kind = "solid"\nlash = 0.22', 'kind = "hydraulic"\npreload = 1.0'
    )
    lines = [line for line in text.splitlines() if not line.startswith(("lash_at", "hot_lash"))]
    cups = 'as = "gauge"\ngauge = 4.5\nend_low = "cup"\nend_high = "cup"\ncup_rim = 1.0\nplunger = "top"'
    path = tmp_path / "job.toml"
    path.write_text("\n".join(lines).replace('as = "overall"', cups), encoding="utf-8")
    job = load(path)
    found = heat.hot(job.mapping, "one.exhaust")
    assert isinstance(found, Missing)
    assert found.entries == ()
    assert "gauge" in found.why
    assert "cup" in found.why
    assert train_of(job.mapping, "one.exhaust").lifter.pumped_lacks == ("one.exhaust.lifter.seat",)
