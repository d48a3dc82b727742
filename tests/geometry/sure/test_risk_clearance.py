"""Clearances of many builds: which lobes shift, where the whole search is taken, what is drawn once."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from tallstack.cli.job.file import JobFile
from tallstack.cli.job.loading import load
from tallstack.geometry.cam.cam import Tables
from tallstack.geometry.clearance import situation
from tallstack.geometry.clearance.clearances import clearances
from tallstack.geometry.clearance.situation import Asked, Situation
from tallstack.geometry.core import search
from tallstack.geometry.core.frames import array
from tallstack.geometry.doubt.draws import Block, block_of
from tallstack.geometry.doubt.result import Result
from tallstack.geometry.piston.nearby import Told
from tallstack.geometry.sure import risk_clearance
from tallstack.geometry.sure.risk import varied
from tallstack.geometry.sure.risk_clearance import Assembled, drawn, prepared

from ...clearance_jobs import by_coordinates
from ...random_jobs import drawn_job, job_text

NAME = "one.intake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> JobFile:
    return load(by_coordinates(Path(tmp_path_factory.mktemp("edges"))), ())


def test_places_over_a_floor_are_known_by_their_value(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of `_of_a_floor` alone, at values that are exactly those of a floor."""
    monkeypatch.setattr(risk_clearance, "face_to_floor", lambda *_: array([2.5]))
    monkeypatch.setattr(risk_clearance, "floor_to_face", lambda *_: array([2.0]))
    asked = SimpleNamespace(asked=SimpleNamespace(what="gap"))
    plain: Any = SimpleNamespace(one=asked, crown=SimpleNamespace(pockets=(None,)))
    known = risk_clearance._of_a_floor(plain, None, search.TURNS[:3], array([[2.0, 2.5, -2.0]]))
    assert known.tolist() == [[True, False, False]]


def test_a_quantity_that_shifts_the_lobes(job: JobFile) -> None:
    """Of `_off` alone: its signs cancel in the answers of lobes alike."""

    def off(port: str) -> dict[str, float]:
        placed = SimpleNamespace(port=port)
        lobe = SimpleNamespace(name="cam", placed=placed, lift_doubt=lambda _: 0.0, gear=None, carried=None)
        here: Any = SimpleNamespace(lifts={NAME: SimpleNamespace(lobe=lobe)})
        quantities = {"turned": {"cam.advance": 1.0}, "ground": {"lobe.cam.centreline": 1.0}}
        asked = situation.Asked(NAME, "drop", 0.0)
        return dict(risk_clearance._off(job.mapping, here, NAME, asked, quantities, Tables()).later)

    assert off("intake") == {"turned": -1.0, "ground": 1.0}
    assert off("exhaust") == {"turned": -1.0, "ground": -1.0}


def test_a_gap_past_contact_is_told_by_the_whole_search_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """In place of `_has_curves` and `_closed`, so that what is told is exactly so."""
    value = array([0.0, 0.0005, 0.5, 2.0])
    told = Told(value, np.ones(4, dtype=bool), value, value * 0, value)
    monkeypatch.setattr(risk_clearance, "_has_curves", lambda _: True)
    monkeypatch.setattr(risk_clearance, "_closed", lambda _: [])
    monkeypatch.setattr(risk_clearance, "followed", lambda *_: [told])
    monkeypatch.setattr(risk_clearance, "first_look", lambda *_: None)
    for what, sure in (("gap", [False, False, True, True]), ("drop", [True] * 4)):
        one = SimpleNamespace(seeds=(None,), asked=SimpleNamespace(what=what))
        here: Any = SimpleNamespace(one=one, pose=None, middle=value * 0)
        assert risk_clearance.near(here).sure.tolist() == sure


@pytest.mark.parametrize(("share", "slow"), [(0.1, True), (0.2, True), (0.3, False), (0.9, False)])
def test_drawing_is_slow_where_more_than_a_share_takes_the_whole_search(
    share: float, slow: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One build of four does."""
    nothing: Any = None
    monkeypatch.setattr(risk_clearance, "many", lambda *_: None)
    told = SimpleNamespace(sure=np.array([True, True, False, True]))
    monkeypatch.setattr(risk_clearance, "near", lambda _: told)
    assert risk_clearance.slow(nothing, {}, nothing, share) == slow


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> tuple[JobFile, Situation, Result, Asked]:
    """Return a job whose exhaust has a card, and that valve's clearance with nothing else in doubt."""
    job = load(by_coordinates(tmp_path_factory.mktemp("card")))
    found = clearances(job.mapping, Tables(), {}, {})
    exhaust = found.valves[1].piston
    assert exhaust is not None
    return job, found.situations["one"], exhaust, Asked("one.exhaust", exhaust.name, exhaust.angle)


def test_draws_draw_the_shape_once_for_each_lobe(bare: tuple[JobFile, Situation, Result, Asked]) -> None:
    """With nothing else in doubt builds differ by their shapes alone, and as much as the ends say."""
    job, here, exhaust, asked = bare
    assert exhaust.ends is not None
    built = Assembled()
    least = prepared(job.mapping, here, asked, {}, Tables(), exhaust.value - exhaust.ends[0], built)
    block = Block({}, 160, 1, 0)
    told = drawn(least, job.mapping, block)
    low, high = np.quantile(told, [0.025, 0.975])
    assert low == pytest.approx(exhaust.ends[0], abs=0.2)
    assert high == pytest.approx(exhaust.ends[1], abs=0.2)
    some = np.array([3, 11, 120])
    np.testing.assert_allclose(drawn(least, job.mapping, block.some(some)), told[some], atol=1e-6)


@pytest.mark.parametrize(("seed", "what"), [(52, "between"), (66, "between"), (52, "gap")])
def test_no_build_is_closer_at_any_crank_angle_than_it_is_told_to_be(
    seed: int, what: str, tmp_path: Path
) -> None:
    """Of valves that come nearly as close twice, and of a valve that meets the piston in some builds."""
    rng = np.random.default_rng([seed, 77])
    path = tmp_path / "job.toml"
    path.write_text(job_text(drawn_job(rng, twin=seed % 3 > 0), "mm", rng), encoding="utf-8")
    job = load(path).settled
    judged = next(one for one in job.clearances.judged if one.name == what)
    here = job.clearances.situations[judged.of.partition(".")[0]]
    asked = Asked(judged.of, what, judged.angle)
    least = prepared(job.mapping, here, asked, job.quantities, job.tables, judged.budget.expanded)
    builds = 80
    block = block_of({name: one for name, one in job.doubts.items() if name in job.quantities}, builds, 1)
    flat = varied(job.mapping, job.quantities, block)
    told = drawn(least, flat, block)
    many_ = risk_clearance.many(least._replace(built=Assembled()), flat, block)
    away = np.radians(np.arange(-20.0, 20.5, 0.5))
    seen = np.min([many_.clearance(np.full((1, builds), one))[0] for one in away], axis=0)
    assert (told <= seen + 1e-3).all()
    assert (np.abs(told - seen) < 0.05).mean() > 0.5
