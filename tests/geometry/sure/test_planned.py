"""How a plan stands against what was built, and how sure each of its values is."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.core.frames import array
from tallstack.geometry.core.minima import Minimum
from tallstack.geometry.core.targets import COVER
from tallstack.geometry.doubt.budget import Budget, Doubt
from tallstack.geometry.sure import planned
from tallstack.geometry.sure.planned import Planned, Standing, standing_of

from ...clearance_jobs import by_coordinates
from ...results import result

NAME = "one.intake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


@pytest.mark.parametrize(
    ("built", "least", "most", "standing"),
    [
        (0.52, 0.5, 2.0, Standing.TIGHT),
        (1.02, 0.5, 2.0, Standing.AS_PLANNED),
        (1.02, 0.5, None, Standing.AS_PLANNED),
        (0.48, 0.5, None, Standing.MISSES),
        (1.02, None, 1.05, Standing.TIGHT),
        (1.5, 0.5, 2.0, Standing.BEYOND),
    ],
)
def test_how_a_value_stands(
    built: float, least: float | None, most: float | None, standing: Standing
) -> None:
    plan = Planned(1.0, 0.5 if built < 1 else 0.1, least=least, most=most)
    assert planned.standing_of(plan, built, Doubt(0.1)) == standing


def test_what_nothing_foretells_has_its_limit_all_the_same() -> None:
    common, own = (planned.of_limit(COVER, mapping) for mapping in ({}, {COVER.path: 2.0}))
    assert (common.value, common.least, common.limits_are_set) == (None, 1.524, False)
    assert (own.value, own.least, own.limits_are_set) == (None, 2.0, True)
    assert planned.standing_of(own, 1.9, None) is Standing.MISSES
    assert planned.standing_of(own, 2.1, Doubt(0.2)) is Standing.TIGHT
    assert planned.standing_of(own, 2.5, Doubt(0.2)) is Standing.WITHIN


def test_flats_that_were_counted_are_sure() -> None:
    assert planned.standing_of(Planned(3.0, 0.5), 3.0, planned.COUNTED) == Standing.AS_PLANNED
    assert planned.standing_of(Planned(3.0, 0.5), 4.0, planned.COUNTED) == Standing.BEYOND
    # A card's lobe may leave more room than it may take.
    assert planned.standing_of(Planned(3.0, 0.5, upward=1.2), 4.0, planned.COUNTED) == Standing.AS_PLANNED
    assert planned.standing_of(Planned(3.0, 0.5, upward=1.2), 2.4, planned.COUNTED) == Standing.BEYOND


@pytest.mark.parametrize(("what", "value"), [("drop", 1.0), ("gap", 0.6)])
def test_a_valve_is_planned_by_what_is_asked_of_it(job: JobFile, what: str, value: float) -> None:
    one: Any = SimpleNamespace(
        train=NAME,
        drop=(Minimum(1.0, 0.0), Minimum(1.5, 0.0)),
        gap=Minimum(0.6, 0.0),
        piston=result(value, key=what),
    )
    assert planned.of_valve(one, what, job.mapping, Tables(), {}, {}).value == value


def test_a_lift_is_as_sure_as_its_own_gear(job: JobFile) -> None:
    def doubt(name: str) -> float | None:
        quantities = {"arm": {f"{name}.rocker.valve_arm": 1.0}}
        return planned.of_lift(NAME, job.mapping, Tables(), quantities, {"arm": Doubt(0.2)}).doubt

    own, other = doubt(NAME), doubt("one.exhaust")
    assert own is not None
    assert own > 0.01
    assert other == 0.0


def test_a_length_in_another_convention_is_as_sure_as_its_direction(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing else in doubt; a half-width of 0.3 mm has a standard uncertainty of 0.3/√3, and twice that is told."""
    monkeypatch.setattr(planned, "derivatives", lambda *_: {NAME: {}})
    needed = SimpleNamespace(lengths={"centres": 250.0, "overall": 258.0}, along_doubt=array(0.3))
    order: Any = SimpleNamespace(
        required=needed,
        impossible=(),
        budget=None,
        convention="centres",
        train=SimpleNamespace(name=NAME),
        is_estimate=False,
    )
    found = planned.of_pushrod(order, "overall", {}, {}, {})
    assert found.value == 258.0
    assert found.doubt == pytest.approx(2 * 0.3 / np.sqrt(3.0))


@pytest.mark.parametrize(
    ("from_closed", "turns", "doubt", "undoubted"), [(True, 7.0, 0.5, ("a",)), (False, 2.0, 0.0, ())]
)
def test_turns_from_closed_are_as_sure_as_the_length(
    from_closed: bool, turns: float, doubt: float, undoubted: tuple[str, ...]
) -> None:
    """A length known within 0.4 mm and a thread of 0.8 mm; zero lash is felt."""
    offer: Any = SimpleNamespace(turns=7.0, flats=42, turns_from_zero_lash=2.0, flats_from_zero_lash=12)
    order: Any = SimpleNamespace(budget=Budget(0.2, {}, ("a",)))
    found = planned.of_shelf(offer, order, 0.8, False, from_closed)
    assert (found.value, found.undoubted) == (turns, undoubted)
    assert found.doubt == pytest.approx(doubt)


@pytest.mark.parametrize(
    ("plan", "built", "doubt", "expected"),
    [
        (Planned(1.0, 0.1), 1.1, Doubt(0.0), Standing.AS_PLANNED),  # exactly at the doubt
        (Planned(1.0, 0.1), 1.1001, Doubt(0.0), Standing.BEYOND),
        (Planned(1.0, 0.3), 1.5, Doubt(0.2, 1.0), Standing.AS_PLANNED),  # 3-4-5
        (Planned(1.0, 0.3), 1.501, Doubt(0.2, 1.0), Standing.BEYOND),
        (Planned(1.0, 0.1, ("a",)), 1.0, Doubt(0.1), Standing.UNJUDGED),
        (Planned(1.0, None), 1.0, Doubt(0.1), Standing.UNJUDGED),
        (Planned(1.0, 0.1), 1.0, None, Standing.UNJUDGED),
        (Planned(1.0, 0.1, (), 0.9), 0.9, None, Standing.UNJUDGED),
        (Planned(1.0, 0.1, (), 0.9), 0.899, None, Standing.MISSES),
        (Planned(1.0, 0.1, (), None, 1.2), 1.201, Doubt(1.0), Standing.MISSES),
        (Planned(), 1.0, Doubt(0.1), Standing.UNPLANNED),
        (Planned(None, None, (), -1.0, 1.0), 0.5, None, Standing.UNJUDGED),
        (Planned(None, None, (), -1.0, 1.0), 0.5, Doubt(0.2, 1.0), Standing.WITHIN),
        (Planned(None, None, (), -1.0, 1.0), 0.5, Doubt(0.26, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.3, (), 0.5), 0.8, Doubt(0.2, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.3, (), 0.5), 0.9, Doubt(0.2, 1.0), Standing.AS_PLANNED),
        (Planned(1.0, 0.3, ("a",), 0.5), 0.8, Doubt(0.2, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.1, (), 0.5), 0.6, Doubt(0.2, 1.0), Standing.TIGHT),
        (Planned(1.0, 0.0, (), 0.5), 0.55, Doubt(0.2, 1.0), Standing.BEYOND),
    ],
)
def test_how_what_was_set_stands(
    plan: Planned, built: float, doubt: Doubt | None, expected: Standing
) -> None:
    assert standing_of(plan, built, doubt) is expected
