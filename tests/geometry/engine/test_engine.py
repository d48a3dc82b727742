"""`build`: what is absent is None and named, one gear is that of the whole engine, a batch is its engines."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.engine.engine import COORDINATES, MEASURED, build, train_of
from tallstack.geometry.pushrod.pushrods import required

from ...oracles.random_trains import TRAIN, random_mapping


def gear(seed: int = 1) -> dict[str, object]:
    return dict(random_mapping(np.random.default_rng(seed), kind="hydraulic"))


def test_nothing_entered_is_an_engine_of_nothing() -> None:
    assert build({"cylinders": (), "trains": ()})[:2] == ((), ())


def test_an_absent_part_is_none_and_what_its_route_needs_is_named() -> None:
    whole = build(gear()).train(TRAIN)
    assert whole.drawn is not None
    assert COORDINATES not in whole.lacks
    assert whole.measured is None
    entries = {path: value for path, value in gear().items() if not path.startswith(f"{TRAIN}.lifter.seat")}
    less = build(entries).train(TRAIN)
    assert less.drawn is None
    assert any("lifter.seat" in one for one in less.lacks[COORDINATES])
    assert MEASURED not in whole.lacks or whole.lacks[MEASURED]


def test_one_gear_alone_is_that_of_the_engine() -> None:
    entries: Flat = gear()
    one, other = train_of(entries, TRAIN), build(entries).train(TRAIN)
    assert repr(one) == repr(other)
    for ask in (lambda: train_of(entries, "rear.intake"), lambda: build(entries).train("rear.intake")):
        with pytest.raises(KeyError, match="rear.intake"):
            ask()


def test_a_batch_of_mappings_is_its_engines() -> None:
    entries = gear()
    name = next(path for path in entries if path.endswith("rocker.pushrod_arm"))
    arms = float(entries[name]) + np.array([0.0, 0.1, 0.2])  # type: ignore[arg-type]
    together = required(build(entries | {name: arms}).train(TRAIN)).lengths["centres"]
    alone = [float(required(build(entries | {name: arm}).train(TRAIN)).lengths["centres"]) for arm in arms]
    assert together == pytest.approx(alone, abs=1e-12)
