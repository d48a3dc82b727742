"""The swap: parts that add up to the whole, each with its cause.

Figures, measured on two cores with CPython 3.11:

- parts of a swap, 60 random changes, against the whole by the second solver: within 1e-6 mm; limit: 1e-6 mm
"""

from __future__ import annotations

import numpy as np
import pytest
from tallstack.geometry.pushrod.swap import swap

from ...oracles import raw_loop
from ...oracles.random_trains import TRAIN, random_mapping
from ...seeded import few

ENTRIES = {
    "stack.base_gasket": 0.4,
    "stack.cylinder": 5.0,
    "stack.head_gasket": 0.3,
    "stack.case_cut": 0.25,
    "stack.head_cut": 0.2,
    f"{TRAIN}.valve.sink": 0.3,
    f"{TRAIN}.valve.length": 0.2,
    f"{TRAIN}.lifter.lowered": 0.4,
    f"{TRAIN}.lifter.preload": 0.3,
    f"{TRAIN}.rocker.pushrod_arm": -0.6,
    f"{TRAIN}.rocker.shaft.x": 0.4,
}


def changed(mapping: dict[str, object], rng: np.random.Generator) -> dict[str, object]:
    some = [path for path in ENTRIES if rng.random() < 0.7]
    return {**mapping, **{path: float(mapping.get(path, 0.0)) + ENTRIES[path] for path in some}}  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", few(range(60), 24))
def test_the_parts_add_up_to_the_whole_which_the_second_solver_confirms(seed: int) -> None:
    rng = np.random.default_rng([seed, 20])
    before = random_mapping(rng, kind="hydraulic")
    before[f"{TRAIN}.lifter.preload"] = 0.8
    after = changed(before, rng)
    found = swap(before, after, TRAIN)  # type: ignore[arg-type]
    whole = raw_loop.length(after, TRAIN) - raw_loop.length(before, TRAIN)
    assert found.why_not == ""
    assert sum(part.change for part in found.parts) == pytest.approx(whole, abs=1e-6)
    assert found.after.length - found.before.length == pytest.approx(whole, abs=1e-9)  # type: ignore[operator]


@pytest.mark.parametrize(
    ("entry", "cause"),
    [
        ("stack.cylinder", "cylinder"),
        ("stack.head_gasket", "head gasket"),
        ("stack.case_cut", "case cut"),
        (f"{TRAIN}.valve.sink", "valve sunk"),
        (f"{TRAIN}.lifter.lowered", "lifter"),
        (f"{TRAIN}.lifter.preload", "wanted preload or lash"),
        (f"{TRAIN}.rocker.pushrod_arm", "rocker"),
    ],
)
def test_one_change_has_one_cause(entry: str, cause: str) -> None:
    before = random_mapping(np.random.default_rng(5), kind="hydraulic")
    before[f"{TRAIN}.lifter.preload"] = 0.8
    after = {**before, entry: float(before.get(entry, 0.0)) + 0.3}  # type: ignore[arg-type]
    (part,) = swap(before, after, TRAIN).parts  # type: ignore[arg-type]
    assert part.cause == cause


def test_a_change_of_lifter_kind_counts_as_one_step_where_half_of_it_has_no_length() -> None:
    rng = np.random.default_rng(6)
    before = random_mapping(rng, kind="hydraulic")
    after = {path: value for path, value in before.items() if "preload" not in path and "plunger" not in path}
    after |= {
        f"{TRAIN}.lifter.kind": "solid",
        f"{TRAIN}.lifter.lash": 0.1,
        f"{TRAIN}.lifter.lash_at": "valve",
    }
    found = swap(before, after, TRAIN)  # type: ignore[arg-type]
    whole = raw_loop.length(after, TRAIN) - raw_loop.length(before, TRAIN)
    assert sum(part.change for part in found.parts) == pytest.approx(whole, abs=1e-6)


def test_a_valve_gear_that_one_job_lacks_is_said_in_words() -> None:
    before = random_mapping(np.random.default_rng(5))
    after = {**before, "trains": ()}
    assert "no valve gear front.intake" in swap(before, after, TRAIN).why_not  # type: ignore[arg-type]
