"""An engine of arrays from a mapping of one's own: every entry known, every value of its kind."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tallstack as ts

from ...clearance_jobs import by_coordinates
from ...commands import EXAMPLES
from ...test_library import GASKETS


def test_a_million_engines_and_one_go_through_the_same_call(job: ts.Job) -> None:
    gaskets = np.linspace(0.8, 1.8, 1001)
    engines = ts.build(job.mapping.with_({"stack.head_gasket": gaskets}))
    lengths = ts.required(engines.train("single.intake")).lengths["overall"]
    for index in (0, 500, 1000):
        alone = job.with_({"stack.head_gasket": float(gaskets[index])}).find("overall", "single.intake")
        assert isinstance(alone, ts.Result)
        assert lengths[index] == pytest.approx(alone.value, abs=1e-9)


@pytest.mark.parametrize(
    ("mapping", "error", "said"),
    [
        ({"stack.cylinder": [1.0, 2.0]}, TypeError, "stack.cylinder: a list is no value of an entry"),
        ({"stack.cilinder": 1.0}, ValueError, "stack.cilinder: no such entry; did you mean cylinder"),
        (
            {"stack.cylinder": "5 in"},
            TypeError,
            "stack.cylinder: '5 in' stands where a number in mm or rad belongs",
        ),
        (
            {"trains": ("a.intake",), "a.intake.lifter.kind": 1.0},
            TypeError,
            "1.0 stands where a word belongs",
        ),
        ({"trains": ("a.intake",), "a.intake.lifter.seed.x": 1.0}, ValueError, "no such entry"),
        ({"trains": "a.intake"}, TypeError, "trains: a tuple of names belongs here"),
        (("stack.cylinder", 1.0), TypeError, "a tuple is no engine"),
    ],
)
def test_what_is_no_engine_is_refused_in_words(mapping: Any, error: type[Exception], said: str) -> None:
    with pytest.raises(error, match=said):
        ts.build(mapping)


def test_a_mapping_of_ones_own_is_taken_where_it_is_one(tmp_path: Path) -> None:
    from tallstack.cli.job.loading import load

    for file in (GASKETS, by_coordinates(tmp_path)):
        entered: Mapping[str, Any] = {path: entry.value for path, entry in load(file).entries.items()}
        names = load(file).names
        own = ts.build({**entered, **names})
        theirs = ts.build(load(file).mapping)
        for name in names["trains"]:
            assert ts.required(own.train(name)).lengths == ts.required(theirs.train(name)).lengths


@pytest.mark.parametrize(
    ("more", "error", "said"),
    [
        ({"stack.hed_gasket": 0.8}, ValueError, "stack.hed_gasket: no such entry; did you mean head_gasket"),
        ({"stack.head_gasket": "0.9 mm"}, TypeError, "'0.9 mm' stands where a number"),
        ({"stack.head_gasket": (0.8, 0.9)}, TypeError, "stands where a number"),
        ({"single.intake.lifter.kind": np.array([1.0])}, TypeError, "stands where a word belongs"),
        ({"stack.head_gasket": np.array([1.0, None])}, TypeError, "a object array is no value"),
        ({"stack.head_gasket": np.array([1.0 + 1j])}, TypeError, "a complex128 array is no value"),
        ({"stack.head_gasket": True}, TypeError, "a bool is no value"),
        ({"stack.head_gasket": float("inf")}, ValueError, "stack.head_gasket: inf is not finite"),
        ({"stack.head_gasket": np.array([1.0, 1e308])}, ValueError, "too large for anything in a workshop"),
        ({"stack.head_gasket": 10**400}, ValueError, "too large for anything in a workshop"),
        (
            {"single.intake.measured_pushrod.as": "/"},
            ValueError,
            "measured_pushrod.as: '/' is no word of it; there are overall",
        ),
        ({None: 1.0}, TypeError, "None is no path of an entry"),
        ({3: np.array([1.0])}, TypeError, "3 is no path of an entry"),
        (
            {"stack.head_gasket": np.ones(2), "stack.cylinder": np.ones(3)},
            ValueError,
            r"stack.cylinder has the shape \(3,\) and stack.head_gasket \(2,\): arrays of one engine go together",
        ),
    ],
)
def test_a_job_s_mapping_is_looked_at_as_any_other(
    job: ts.Job, more: Any, error: type[Exception], said: str
) -> None:
    with pytest.raises(error, match=said):
        ts.required(ts.build(job.mapping.with_(more)).train("single.intake"))


@pytest.mark.parametrize("given", [None, 3, "single.intake", [[]], np.array([90.0, 100.0])])
def test_what_is_no_valve_gear_or_no_name_is_said(job: ts.Job, given: Any) -> None:
    with pytest.raises(TypeError, match="^train=.*give a valve gear of an engine"):
        ts.required(given)
    if not isinstance(given, str):
        with pytest.raises(TypeError, match="^name=.*give the name of a valve gear"):
            ts.build(job.mapping).train(given)


def test_parts_that_contradict_each_other_are_an_error_of_their_own() -> None:
    job = ts.load(EXAMPLES / "taller_twin_by_coordinates" / "job.toml")
    with pytest.raises(ts.GeometryError, match="ratio"):
        ts.build(job.mapping.with_({"front.intake.rocker.ratio": np.array([1.628, 3.0])}))
    alike = np.array([1.6279, 1.628])
    assert ts.build(job.mapping.with_({"front.intake.rocker.ratio": alike})).trains
