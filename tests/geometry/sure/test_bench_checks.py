"""Checks that could be made on the bench, their names, the stack they stand on, and what moves them."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.core.errors import GeometryError
from tallstack.geometry.core.frames import array
from tallstack.geometry.sure import bench_checks
from tallstack.geometry.sure.bench_checks import Check

from ...clearance_jobs import by_coordinates

NAME = "one.intake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


def test_checks_that_could_be_made_have_names_of_their_own(job: JobFile) -> None:
    found, _ = bench_checks.possible(job.mapping, Tables(), [])
    kinds = {(one.kind, one.of) for one in found}
    assert {("pushrod", NAME), ("stem tip", "one.exhaust"), ("deck", "one")} <= kinds
    assert len({one.name for one in found}) == len(found)
    assert all(one.own.startswith(f"{one.name}.") for one in found)
    made = [Check("reading.0", "pushrod", NAME, "reading.0.value")]
    less, _ = bench_checks.possible(job.mapping, Tables(), made)
    assert kinds - {(one.kind, one.of) for one in less} == {("pushrod", NAME)}


def test_a_check_was_made_on_the_stack_that_it_says() -> None:
    """Of `_then` alone: every check goes through it."""
    flat: Any = {"one.stack.head_gasket": 1.0}
    one = Check("reading.3", "drop", NAME, "reading.3.value")
    then: Any = {**flat, "reading.3.stack.head_gasket": 1.5}
    assert bench_checks._then(one, then)["one.stack.head_gasket"] == 1.5
    assert bench_checks._then(one, flat)["one.stack.head_gasket"] == 1.0


def test_the_lobe_moves_a_lift_that_nothing_else_of_it_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    """A gear of a ratio of 1.5; the cam moves the lobe's lift by 2 mm to a unit, the gear's own part by 0.5.

    Of `_of_lift` alone, with slopes that are exact.
    """
    monkeypatch.setattr(bench_checks, "derivatives", lambda *_: {"reading.0": {"both": 0.5}})
    monkeypatch.setattr(bench_checks, "by_the_cam", lambda *_: ({"both": 2.0, "noise": 2.0}, []))
    placed = SimpleNamespace(lift=lambda _: array(4.0))
    gear = SimpleNamespace(lobe=SimpleNamespace(placed=placed, card=None), at_lobe=lambda lift: 1.5 * lift)
    here: Any = SimpleNamespace(lifts={NAME: gear})
    one = Check("reading.0", "lift", NAME, "reading.0.value")
    found = bench_checks._of_lift(one, {}, here, Tables(), {}, {})
    assert found == pytest.approx({"both": 3.5, "noise": 3.0})


@pytest.mark.parametrize("kind", ["clay", "valve lift at overlap"])
def test_a_check_on_parts_that_do_not_meet_is_refused_and_does_not_fail(job: JobFile, kind: str) -> None:
    """Readings may move the entries so far that the valve gear cannot be put together any more."""
    one = Check("reading.0", kind, "one.intake", "reading.0.value")
    apart = job.mapping.with_({"reading.0.value": array(1.0), "one.intake.valve.length": array(190.0)})
    with pytest.raises(GeometryError):
        bench_checks.rows([one], apart, Tables(), job.quantities, job.doubts)
