"""Lengths required of a gear, what a given rod does in it, and how a rod stood where it was read."""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.mapping import Flat
from tallstack.geometry.engine.engine import build
from tallstack.geometry.gear.train import closed
from tallstack.geometry.pushrod.pushrods import direction_when_read, fit, required

from ...oracles.random_trains import TRAIN, random_mapping

NAME = "one.intake"


MEASURED: Flat = {
    "cylinders": ("one",),
    "trains": (NAME,),
    f"{NAME}.lifter.kind": "solid",
    f"{NAME}.lifter.lash": 0.0,
    f"{NAME}.lifter.lash_at": "pushrod",
    f"{NAME}.rocker.ratio": 1.6,
    f"{NAME}.measured_pushrod.length": 260.0,
    f"{NAME}.measured_pushrod.as": "overall",
    f"{NAME}.measured_pushrod.lean": 0.0,
}


def test_a_rod_whose_ends_were_not_measured_is_known_as_it_was_read_and_lacks_the_rest() -> None:
    found = required(build(MEASURED).train(NAME))
    assert set(found.lengths) == {"overall"}
    assert set(found.lacks) == {"centres", "theoretical", "gauge"}


@pytest.mark.parametrize(("long", "held"), [(0.5, 0.8), (0.0, 0.0), (-0.5, 0.0)])
def test_too_long_a_rod_holds_the_valve_open_by_its_ratio(long: float, held: float) -> None:
    found = fit(build(MEASURED).train(NAME), array(260.0 + long))
    assert found.lash is not None
    assert found.held_open is not None
    assert float(found.lash) == pytest.approx(-long)
    assert float(found.held_open) == pytest.approx(held)


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


@pytest.mark.parametrize("seed", range(6))
def test_coordinates_foretell_how_a_rod_stood_on_the_stack_it_was_read_on(seed: int) -> None:
    mapping = random_mapping(np.random.default_rng([seed, 3]), kind="hydraulic")
    rod = rod_then(mapping, plunger=0.7)
    own, since = f"{TRAIN}.measured_pushrod", {"lifter.lowered": 0.6, "valve.sink": 0.4}
    now = {
        **taller(mapping),
        **{f"{own}.stack.{path.partition('.')[2]}": mapping.get(path, 0.0) for path in STACK_NOW},
        **{f"{own}.{entry}": mapping.get(f"{TRAIN}.{entry}", 0.0) for entry in since},
        **{
            f"{TRAIN}.{entry}": float(mapping.get(f"{TRAIN}.{entry}", 0.0)) + by  # type: ignore[arg-type]
            for entry, by in since.items()
        },
        f"{own}.length": 250.0,
        f"{own}.as": "centres",
        f"{own}.plunger.down": 0.7,
        f"{own}.lean": 0.1,
    }
    found = direction_when_read(build(now).train(TRAIN))  # type: ignore[arg-type]
    assert found is not None
    assert found == pytest.approx(rod / np.linalg.norm(rod), abs=1e-12)
    assert direction_when_read(build(mapping).train(TRAIN)) is None  # type: ignore[arg-type]
