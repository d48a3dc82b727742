"""The closed forms against general root finding on the raw loop equations, which share no code.

Random valve gears, hydraulic and solid, leaning every way; `tests/oracles/raw_loop.py` is the second solver.
240 of them every time, 2,000 as a study.

Figures, measured on two cores with CPython 3.11:

- lengths, 2,000 random trains against the second solver: within 1e-9 mm; limit: 1e-9 mm
- lifts of the same, reach above 0.1 mm, over the whole stroke: within 1e-9 mm; limit: 1e-9 mm
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from tallstack.geometry import Engine, build, fit, required
from tallstack.geometry.core.frames import Array, array
from tallstack.geometry.gear.train import closed, motion, tip_sweep
from tallstack.geometry.pushrod.assembly import comes_apart_at, obstacles

from .oracles import raw_loop
from .oracles.random_trains import PEAK, TRAIN, random_mapping, random_unreachable
from .seeded import few

CLOSE_MM = 1e-9
CLEAR_OF_TOGGLE_MM = 0.1
PLAIN = 2
IN_CHUNK = 60
LIFTS = np.array([0.0, 0.4, 1.7, 3.9, 6.2, PEAK])


def gear(mapping: Mapping[str, object]) -> Engine:
    return build(mapping)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "seed", [*few(range(4), PLAIN), *(pytest.param(one, marks=pytest.mark.study) for one in range(4, 34))]
)
def test_lengths_lifts_and_preloads_of_random_trains(seed: int) -> None:
    rng = np.random.default_rng([2026, seed])
    followed = 0
    for _ in range(IN_CHUNK):
        mapping = random_mapping(rng)
        train = gear(mapping).train(TRAIN)
        length = required(train).lengths["centres"]
        assert length == pytest.approx(raw_loop.length(mapping, TRAIN), abs=CLOSE_MM)
        followed += _same_motion(mapping, length)
        _same_setting(mapping, float(length) + rng.uniform(-0.5, 0.4))
    assert followed > IN_CHUNK * 5  # nearly every lift of nearly every gear was compared


def _same_motion(mapping: Mapping[str, object], length: Array) -> int:
    train = gear(mapping).train(TRAIN)
    assert train.drawn is not None
    down = array(0.0) if train.lifter.down is None else train.lifter.down
    found = motion(train.drawn, closed(train.drawn), length, LIFTS, down)
    lifts, _ = raw_loop.motion(mapping, TRAIN, LIFTS, float(length), down=float(down))
    sound = found.reach > CLEAR_OF_TOGGLE_MM
    assert np.abs(found.lift - lifts)[sound].max() < CLOSE_MM
    return int(sound.sum())


def _same_setting(mapping: Mapping[str, object], length: float) -> None:
    train = gear(mapping).train(TRAIN)
    given = fit(train, array(length))
    if train.lifter.kind == "hydraulic":
        assert given.preload == pytest.approx(raw_loop.preload(mapping, TRAIN, length), abs=CLOSE_MM)
        return
    expected = raw_loop.lash(mapping, TRAIN, length)
    assert given.held_open == pytest.approx(expected.held_mm, abs=CLOSE_MM)
    if expected.lash_mm > 0 or train.lifter.lash_at == "pushrod":
        assert given.lash == pytest.approx(expected.lash_mm, abs=CLOSE_MM)


def test_ratio_and_sweep_of_random_trains() -> None:
    rng = np.random.default_rng(77)
    for _ in range(20):
        mapping = random_mapping(rng)
        train = gear(mapping).train(TRAIN)
        assert train.drawn is not None
        length = required(train).lengths["centres"]
        down = array(0.0) if train.lifter.down is None else train.lifter.down
        pose = closed(train.drawn)
        found = motion(train.drawn, pose, length, array(3.0), down)
        slope = raw_loop.ratio(mapping, TRAIN, 3.0, float(length), down=float(down))
        assert found.ratio == pytest.approx(slope, abs=1e-7)
        top = motion(train.drawn, pose, length, array(PEAK), down)
        least, greatest = tip_sweep(train.drawn, pose, top.cosine, top.sine)
        dense = np.linspace(0.0, PEAK, 201)
        offsets = raw_loop.sweep(mapping, TRAIN, dense, float(length), down=float(down))
        # The oracle's sign follows the way the shaft was entered; ours points away from the shaft.
        aside = np.cross(train.drawn.axis, train.drawn.stem)
        offsets = offsets * np.sign(aside @ (closed(train.drawn).valve_dir))
        assert least <= offsets.min() + CLOSE_MM
        assert greatest >= offsets.max() - CLOSE_MM
        assert greatest - least == pytest.approx(float(np.ptp(offsets)), abs=2e-4)  # of 201 samples


def test_bottomed_plunger_holds_the_valve_open() -> None:
    rng = np.random.default_rng(5)
    for _ in range(40):
        mapping = random_mapping(rng, kind="hydraulic")
        train = gear(mapping).train(TRAIN)
        travel = train.lifter.plunger_travel
        assert travel is not None
        too_long = raw_loop.length({**mapping, f"{TRAIN}.lifter.preload": float(travel)}, TRAIN) + 0.3
        given = fit(train, array(too_long))
        held, _ = raw_loop.motion(mapping, TRAIN, [0.0], too_long, down=float(travel))
        assert given.held_open == pytest.approx(held[0], abs=CLOSE_MM)
        assert given.over_travel is not None
        assert given.over_travel > 0.2


@pytest.mark.parametrize("seed", few(range(150), 50))
def test_a_rocker_out_of_reach_is_said_in_words(seed: int) -> None:
    mapping = random_unreachable(np.random.default_rng(seed), why="closed")
    train = gear(mapping).train(TRAIN)
    with pytest.raises(raw_loop.Unreachable):
        raw_loop.length(mapping, TRAIN)
    assert np.isnan(required(train).lengths["centres"])
    (sentence,) = obstacles(train)
    assert "cannot meet the stem tip" in sentence
    assert "mm too far" in sentence


@pytest.mark.parametrize("seed", few(range(20), 8))
def test_a_toggle_on_the_way_is_found_where_the_second_solver_fails(seed: int) -> None:
    mapping = random_unreachable(np.random.default_rng(seed), why="toggle")
    train = gear(mapping).train(TRAIN)
    length = required(train).lengths["centres"]
    found = comes_apart_at(train, length, PEAK)
    assert found is not None
    down = 0.0 if train.lifter.down is None else float(train.lifter.down)
    if found > 1e-6:
        raw_loop.motion(mapping, TRAIN, [max(found - 1e-6, 0.0)], float(length), down=down)
    with pytest.raises(raw_loop.Unreachable):
        raw_loop.motion(mapping, TRAIN, [PEAK], float(length), down=down)


def test_a_batch_gives_what_each_engine_gives_alone() -> None:
    rng = np.random.default_rng(11)
    kind = {"kind": "solid", "lash_at": "valve"}
    mappings = [random_mapping(rng, **kind) for _ in range(50)]  # type: ignore[arg-type]
    keys = set().union(*mappings)
    together: dict[str, object] = {}
    for key in sorted(keys):
        values = [one.get(key, 0.0) for one in mappings]
        together[key] = np.array(values) if isinstance(values[0], float) else values[0]
    batch = required(gear(together).train(TRAIN))
    alone = [required(gear(one).train(TRAIN)) for one in mappings]
    for name in ("lean", "growth_per_stack", "reach", "across"):
        np.testing.assert_array_equal(getattr(batch, name), [getattr(one, name) for one in alone])
    np.testing.assert_array_equal(batch.lengths["centres"], [one.lengths["centres"] for one in alone])
